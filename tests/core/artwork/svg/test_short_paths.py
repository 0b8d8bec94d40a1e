"""Path data read in one go comes out as path by path."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.svg.path_data import parse_path
from core.artwork.svg.short_paths import ManyPaths, read_short_paths

COPIES = 120
"""Enough that every one of the texts is read in one go, however long."""

numbers = st.sampled_from(
    ["0", "1", "-2", "3.25", "-.5", "7e2", "1e-3", "+4", "5.", ".5.5", "12345678.9", "--1", "1e999"]
)
separators = st.sampled_from([" ", ",", " , ", "\n", "", ",,"])
plain_numbers = st.integers(-999, 999).map(lambda n: f"{n / 100}")


def _command(draw_from, between, *, exact: bool):
    @st.composite
    def command(draw) -> str:
        letter = draw(st.sampled_from("MLHVCSQTZmlhvcsqtz" if exact else "MLHVCSQTZAmlhvcsqtzaX"))
        size = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "Z": 0}.get(letter.upper(), 7)
        count = size * draw(st.integers(1, 2)) if exact else draw(st.integers(0, 7))
        return letter + "".join(draw(between) + draw(draw_from) for _ in range(count))

    return command()


sound = st.lists(_command(plain_numbers, st.sampled_from([" ", ","]), exact=True), max_size=6).map(
    lambda commands: "M 3 4 " + " ".join(commands).replace(" ,", " ").replace("z,", "z ")
)
sound = sound.map(lambda text: "".join(c for i, c in enumerate(text) if not (c == "," and text[i - 1].isalpha())))
strange = st.lists(_command(numbers, separators, exact=False), max_size=5).map("".join)


def _same(texts: list[str], many: ManyPaths, *, all_read: bool) -> None:
    row = subpath = 0
    for text, rows, subpaths in zip(texts, many.rows.tolist(), many.subpaths.tolist(), strict=True):
        expected = parse_path(text)
        assert rows or not all_read or not len(expected.path), text
        if rows:
            assert expected.error_at is None, text
            assert np.array_equal(many.segments[row : row + rows], expected.path.segments), text
            assert np.array_equal(many.kinds[row : row + rows], expected.path.kinds), text
            assert np.array_equal(many.starts[subpath : subpath + subpaths], expected.path.starts), text
            assert np.array_equal(many.closed[subpath : subpath + subpaths], expected.path.closed), text
        row, subpath = row + rows, subpath + subpaths
    assert row == len(many.segments) and subpath == len(many.starts)


@settings(max_examples=60)
@given(st.lists(sound, min_size=1, max_size=4))
def test_sound_data_is_read_in_one_go_and_as_by_itself(texts) -> None:
    texts = texts * COPIES
    _same(texts, read_short_paths(texts), all_read=True)


@settings(max_examples=60)
@given(st.lists(st.one_of(strange, strange.map("M1 2".__add__), sound), min_size=1, max_size=4))
def test_strange_data_is_left_alone_or_read_as_by_itself(texts) -> None:
    texts = texts * COPIES
    _same(texts, read_short_paths(texts), all_read=False)


@pytest.mark.parametrize(
    "text", ["", " ", "L1 2", "M1", "M1 2L", "M,1 2", "M1 2,,3 4", "M1 2z3", "M1 2L3 é", "M1-", "M1.2.3 4", "M1 2e3"]
)
def test_a_mistake_costs_its_own_path_only(text: str) -> None:
    good = "M1 2h3v4z"
    many = read_short_paths([good, text] * COPIES)
    assert many.rows.tolist() == [3, 0] * COPIES


def test_a_few_long_paths_among_short_ones_are_left_to_be_read_alone() -> None:
    many = read_short_paths(["M0 0" + "l1 1" * 50, *["M0 0l1 1"] * COPIES])
    assert many.rows.tolist() == [0, *[1] * COPIES]


def test_few_paths_are_left_to_be_read_alone() -> None:
    assert not read_short_paths(["M0 0l1 1"] * 5).rows.any()
