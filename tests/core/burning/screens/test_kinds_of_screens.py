"""Each kind of screen on an even grey: as much of it is span as was asked for, and nothing shorter than can be made."""

import numpy as np
import pytest

from core.burning.dose import ClearingLine
from core.burning.screens.bared_rows import band_covered_mm, bared_heights_mm, bared_share, covered_mm
from core.burning.screens.dots import DotScreen
from core.burning.screens.grain import GrainScreen
from core.burning.screens.lines import LineScreen
from core.burning.screens.spans import Spans
from core.burning.screens.tone_source import ToneSource

PITCH_MM, WIDE_MM, HIGH_MM = 0.1, 24.0, 16.0
SCREENS = {
    "lines": LineScreen(pitch_mm=PITCH_MM, cell_mm=0.6, span_mm=0.1, gap_mm=0.1),
    "dots": DotScreen(pitch_mm=PITCH_MM, dot_mm=1.2, angle_deg=45.0, span_mm=0.0, gap_mm=0.0, step_mm=0.02),
    "grain": GrainScreen(pitch_mm=PITCH_MM, cell_mm=0.1),
}


def even(share):
    return ToneSource(
        wanted=np.full((160, 240), share, np.float32), to_px=(10.0, 0.0, 0.0, 10.0, 0.0, 0.0),
        bounds_mm=(0.0, 0.0, WIDE_MM, HIGH_MM), px_mm=0.1,
    )  # fmt: skip


def as_asked(shares):
    return shares


@pytest.mark.parametrize("kind", SCREENS)
@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_an_even_grey_is_spans_of_that_share(kind, share):
    spans = SCREENS[kind].spans(even(share), as_asked)
    made = float((spans.x1_mm - spans.x0_mm).sum()) * PITCH_MM / (WIDE_MM * HIGH_MM)
    assert made == pytest.approx(share, abs=0.02)
    assert spans.row.max() < spans.row_count == round(HIGH_MM / PITCH_MM)
    assert spans.x0_mm.min() >= 0 and spans.x1_mm.max() <= WIDE_MM + 1e-9
    same_row = spans.row[1:] == spans.row[:-1]
    assert (spans.x0_mm[1:] > spans.x1_mm[:-1])[same_row].all()  # in order, none touching


@pytest.mark.parametrize("kind", SCREENS)
def test_white_burns_nothing_and_black_burns_every_row_from_end_to_end(kind):
    assert len(SCREENS[kind].spans(even(0.0), as_asked)) == 0
    black = SCREENS[kind].spans(even(1.0), as_asked)
    inner = np.clip(black.x1_mm, 1, WIDE_MM - 1) - np.clip(black.x0_mm, 1, WIDE_MM - 1)
    per_row = np.bincount(black.row, weights=inner, minlength=black.row_count)
    assert per_row.mean() == pytest.approx(WIDE_MM - 2, rel=0.005)


def test_light_lines_are_left_out_in_order_rather_than_made_too_short():
    screen = SCREENS["lines"]
    spans = screen.spans(even(0.05), as_asked)
    inside = (spans.x0_mm > 1) & (spans.x1_mm < WIDE_MM - 1)
    assert (spans.x1_mm - spans.x0_mm)[inside] == pytest.approx(screen.span_mm)


def rows_of(count):
    row = np.arange(count)
    return Spans(
        pitch_mm=PITCH_MM, y0_mm=0.0, row_count=count, row=row, x0_mm=np.zeros(count), x1_mm=np.full(count, 9.0)
    )


def test_a_long_span_bares_its_lines_width_and_rows_between_them_add_up():
    """Far from its ends a row clears where peak exp(-2 y² / w²) passes the clearing dose: y = w sqrt(ln(ratio) / 2)."""
    line = ClearingLine(spot_mm=0.15, peak_j_mm2=0.02, clearing_dose_j_mm2=0.01)
    height = 0.075 * np.sqrt(np.log(2.0) / 2)
    x = np.linspace(4.0, 5.0, 40)
    heights = bared_heights_mm(rows_of(6), line, x)
    assert heights == pytest.approx(np.full((6, 40), height))
    assert covered_mm(heights, PITCH_MM) == pytest.approx(np.full((5, 40), 2 * height))
    assert band_covered_mm(heights, PITCH_MM)[1:-1] == pytest.approx(np.full((4, 40), 2 * height))
    assert bared_share(rows_of(6), line, from_mm=4.0, to_mm=5.0, rows=(0, 5)) == pytest.approx(2 * height / PITCH_MM)
    weak = ClearingLine(spot_mm=0.15, peak_j_mm2=0.009, clearing_dose_j_mm2=0.01)
    assert not bared_heights_mm(rows_of(6), weak, x).any()


def test_a_picture_is_seen_where_it_lies_and_nowhere_else():
    wanted = np.array([[0.0, 1.0]], np.float32)
    source = ToneSource(wanted=wanted, to_px=(1.0, 0.0, 0.0, 1.0, 0.0, 0.0), bounds_mm=(0, 0, 2, 1), px_mm=1.0)
    x = np.array([-0.5, 0.5, 1.0, 1.5, 2.5])
    assert source.at(x, np.full(5, 0.5)).tolist() == [0.0, 0.0, 0.5, 1.0, 0.0]
    assert source.area_mm2 == 2.0
    lattice = source.on_lattice(0.25, 0.5)
    assert (lattice.bounds_mm[1] - 0.25) / 0.5 == round((lattice.bounds_mm[1] - 0.25) / 0.5)
