"""Spreading rate and wet film against the figures that coatings makers' guides print.

Relation: ISO 3233-3:2015 and ISO 23811 (volume of non-volatile matter); theoretical spreading rate in m²/L is ten times
the volume solids in percent over the dry film thickness in µm.
"""

import pytest

from core.errors import UnreadableError
from core.finishing.amounts import amount_of, spreading_rate_m2_l, volume_ml, wet_film_um
from core.finishing.paints import Paint, starting_paint


@pytest.mark.parametrize(
    ("solids_pct", "dry_um", "rate"),
    [(45, 30, 15), (30, 20, 15), (35, 25, 14), (50, 50, 10), (60, 40, 15), (100, 1, 1000)],
)
def test_theoretical_spreading_rate(solids_pct: float, dry_um: float, rate: float) -> None:
    assert spreading_rate_m2_l(solids_pct, dry_um) == pytest.approx(rate)


def test_spreading_rate_in_us_units() -> None:
    """One US gallon of pure solids covers 1604 ft² at one mil, as coatings guides print (231 in³ / 0.001 in / 144)."""
    gallon_l, foot_m, mil_um = 3.785411784, 0.3048, 25.4
    assert spreading_rate_m2_l(100, mil_um) * gallon_l / foot_m**2 == pytest.approx(1604, abs=0.5)


def test_wet_film() -> None:
    assert wet_film_um(45, 30) == pytest.approx(66.6667, abs=1e-3)
    assert wet_film_um(45, 30, thinner_pct=10) == pytest.approx(73.3333, abs=1e-3)


def test_volume_with_losses() -> None:
    """0.02 m² at 15 m²/L, two coats, 30 % lost."""
    assert volume_ml(20_000, coats=2, rate_m2_l=15, loss_share=0.3) == pytest.approx(3.80952, abs=1e-5)


def test_volume_is_that_of_the_wet_film() -> None:
    """Without loss, the litres equal area times wet film: the two formulas are one."""
    area_mm2 = 5000.0
    by_rate = volume_ml(area_mm2, coats=1, rate_m2_l=spreading_rate_m2_l(45, 50), loss_share=0)
    assert by_rate == pytest.approx(area_mm2 * wet_film_um(45, 50) / 1000 / 1000)
    assert by_rate == pytest.approx(0.555556, abs=1e-6)


def test_cans_are_whole_ones() -> None:
    paint = Paint(name="a", colour="#000000", spreading_rate_m2_l=10, loss_share=0.5, can_ml=100, price=8)
    amount = amount_of(paint, 1e6, pieces=2)  # 2 m², two coats, half lost: 800 ml
    assert amount.volume_ml == pytest.approx(800)
    assert (amount.cans, amount.to_buy, amount.price) == (pytest.approx(8), 8, pytest.approx(64))
    film = amount_of(starting_paint("f", "#000000", "film"), 700)
    assert film.area_mm2 == pytest.approx(1000)
    assert film.volume_ml == 0


@pytest.mark.parametrize(("solids", "dry"), [(0, 30), (45, 0), (101, 30), (float("nan"), 30)])
def test_senseless_figures(solids: float, dry: float) -> None:
    with pytest.raises(UnreadableError):
        spreading_rate_m2_l(solids, dry)
    with pytest.raises(UnreadableError):
        volume_ml(1, coats=1, rate_m2_l=0, loss_share=0)
    with pytest.raises(UnreadableError):
        volume_ml(1, coats=1, rate_m2_l=1, loss_share=1)
