import pytest
from hypothesis import given
from hypothesis import strategies as st

from core.errors import UnreadableError
from core.units import (
    MM_PER_UNIT,
    duration_text,
    length_text,
    lpi_from_pitch_mm,
    parse_length_mm,
    parse_sheet_size_mm,
    pitch_mm_from_lpi,
)


@pytest.mark.parametrize(
    ("text", "length_mm"),
    [("3", 3.0), ("3 mm", 3.0), ("1/8 in", 3.175), ("1 1/2 in", 38.1), ('0.5"', 12.7), ("2cm", 20.0), ("-4.5", -4.5)],
)
def test_lengths_as_people_type_them(text, length_mm):
    assert parse_length_mm(text) == pytest.approx(length_mm, rel=1e-12)


@pytest.mark.parametrize(
    "text", ["", "abc", "3 furlongs", "1/0 in", "1e999", "nan", "3,5", "--3", "1.2.3", "１２", "٣ mm", "१/८ in"]
)
def test_what_is_no_length_is_refused_in_one_sentence(text):
    with pytest.raises(UnreadableError) as error:
        parse_length_mm(text)
    assert error.value.message


def test_sheet_sizes():
    assert parse_sheet_size_mm("300x200x3") == (300, 200, 3)
    assert parse_sheet_size_mm("300 × 200") == (300, 200, None)
    assert parse_sheet_size_mm("12x8x1/8 in") == pytest.approx((304.8, 203.2, 3.175))


@pytest.mark.parametrize("text", ["300", "0x200x3", "-1x2x3", "axbxc", "1x2x3x4", ""])
def test_sheet_sizes_that_make_no_sheet(text):
    with pytest.raises(UnreadableError):
        parse_sheet_size_mm(text)


@given(st.floats(1, 5000))
def test_pitch_and_lines_per_inch_are_each_other_s_inverse(lines_per_inch):
    assert lpi_from_pitch_mm(pitch_mm_from_lpi(lines_per_inch)) == pytest.approx(lines_per_inch, rel=1e-12)


@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_no_pitch_without_lines(value):
    with pytest.raises(UnreadableError):
        pitch_mm_from_lpi(value)
    with pytest.raises(UnreadableError):
        lpi_from_pitch_mm(value)


@given(st.sampled_from(sorted(MM_PER_UNIT)), st.floats(0.001, 1000))
def test_every_unit_is_read_back(unit, number):
    assert parse_length_mm(f"{number!r} {unit}") == pytest.approx(number * MM_PER_UNIT[unit], rel=1e-12)


def test_words_for_people():
    assert [duration_text(t) for t in (8.4, 400, 3900, 59.6)] == ["8 s", "6 min 40 s", "1 h 05 min", "1 min 00 s"]
    assert length_text(12.34) == "12.3 mm"
    assert length_text(25.4, inches=True) == "1.000 in"
