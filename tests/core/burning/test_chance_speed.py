"""The chance of a wide fill is asked for while figures are typed: it must come at once."""

from functools import partial

from core.burning.chance import fill_chance
from core.burning.machines import CO2_FLATBED
from core.sheet.stock import MIRRORED_ACRYLIC_3
from tests.quickest import quickest_s

BOUND_S = 0.05


def test_two_thousand_draws_go_through_the_model_under_50_ms_of_processor() -> None:
    fill_chance(MIRRORED_ACRYLIC_3.fill, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    work = partial(fill_chance, MIRRORED_ACRYLIC_3.fill, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert quickest_s(work, within_s=BOUND_S, most=20) <= BOUND_S
