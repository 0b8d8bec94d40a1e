import itertools

import numpy as np
import pytest

from core.burning.score_letters import _GLYPHS, text_path, text_width_mm
from core.geometry.flattening import flatten
from core.geometry.path import LINE


def strokes_of(letter):
    return {tuple(map(tuple, np.round(part, 6))) for part in flatten(text_path(letter, height_mm=6.0)).parts()}


def test_every_letter_is_different_and_stays_between_cap_line_and_descender():
    for letter in _GLYPHS:
        path = text_path(letter, height_mm=6.0)
        points = flatten(path).points
        assert (path.kinds == LINE).all()
        assert not path.closed.any()
        assert points.min() >= 0.0
        assert points[:, 0].max() <= 4.0 and points[:, 1].max() <= 8.0
    alike = [(a, b) for a, b in itertools.combinations(_GLYPHS, 2) if strokes_of(a) == strokes_of(b)]
    assert alike == []


def test_no_stroke_is_without_length():
    path = text_path("".join(_GLYPHS), height_mm=3.0)
    assert np.hypot(*(path.end_points - path.start_points).T).min() > 0.1


def test_width_is_where_the_last_stroke_ends():
    path = text_path("HOME", height_mm=3.0)
    assert flatten(path).points[:, 0].max() == pytest.approx(text_width_mm("HOME", height_mm=3.0))
    assert text_width_mm("", height_mm=3.0) == 0.0


def test_accents_are_dropped_and_the_unknown_is_a_box():
    assert strokes_of("é") == strokes_of("e")
    assert len(strokes_of("雨")) == 1
    assert strokes_of("雨") != strokes_of("O")


def test_matrix_moves_and_mirrors():
    plain = flatten(text_path("R", height_mm=6.0)).points
    mirrored = flatten(text_path("R", height_mm=6.0, matrix=(-1.0, 0.0, 0.0, 1.0, 10.0, 2.0))).points
    assert mirrored == pytest.approx(np.column_stack([10.0 - plain[:, 0], plain[:, 1] + 2.0]))
