"""Pitch and lines per inch.

Sources: NBS Circular 572 addendum (1960) and NIST SP 811 App. B: the inch is 25.4 mm exactly since 1 July 1959; W3C CSS
Values and Units, absolute lengths: 96 px, 72 pt, 6 pc an inch.
"""

import pytest

from core.units import MM_PER_INCH, MM_PER_UNIT, lpi_from_pitch_mm, pitch_mm_from_lpi


@pytest.mark.parametrize(
    ("lines_per_inch", "pitch_um"),
    [
        (127, 200),
        (250, 101.6),
        (254, 100),
        (300, 84.6667),
        (500, 50.8),
        (508, 50),
        (600, 42.3333),
        (1000, 25.4),
        (1200, 21.1667),
    ],
)
def test_pitch(lines_per_inch: float, pitch_um: float) -> None:
    assert pitch_mm_from_lpi(lines_per_inch) * 1000 == pytest.approx(pitch_um, rel=1e-5)


@pytest.mark.parametrize(("pitch_mm", "lines_per_inch"), [(0.1, 254), (0.08, 317.5), (0.05, 508)])
def test_lines_per_inch(pitch_mm: float, lines_per_inch: float) -> None:
    assert lpi_from_pitch_mm(pitch_mm) == pytest.approx(lines_per_inch, rel=1e-12)


def test_css_lengths() -> None:
    units = [MM_PER_UNIT[unit] for unit in ("px", "pt", "pc")]
    assert units == pytest.approx([0.264583, 0.352778, 4.23333], rel=1e-5)
    assert [1 / units[0], 100 / units[0], 100 * units[0]] == pytest.approx([3.77953, 377.953, 26.4583], rel=1e-5)


def test_not_the_survey_inch() -> None:
    """The US survey inch is 1000/39.37 mm, 25.4001 mm: two millionths longer."""
    assert pytest.approx(1000 / 39.37, rel=1e-7) != MM_PER_INCH
