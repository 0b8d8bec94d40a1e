"""Figures as people read them."""

import pytest

from app.words.wording import area_text, pitch_text
from core.units import MM_PER_INCH


@pytest.mark.parametrize(
    ("area", "text"),
    [
        (0, "0.00 mm²"),
        (0.5e-6, "under 0.000001 mm²"),
        (0.00123, "0.00123 mm²"),
        (0.817, "0.817 mm²"),
        (1.05, "1.05 mm²"),
        (82.59, "82.6 mm²"),
        (11188.6, "11\u202f189 mm²"),
    ],
)
def test_areas_keep_three_figures(area: float, text: str) -> None:
    assert area_text(area) == text
    assert area_text(area * MM_PER_INCH**2, inches=True) == text.replace("mm²", "in²")


def test_a_pitch_follows_mm_and_inch() -> None:
    assert pitch_text(MM_PER_INCH / 600) == "0.0423 mm (600 LPI)"
    assert pitch_text(MM_PER_INCH / 600, inches=True) == "0.001667 in (600 LPI)"
