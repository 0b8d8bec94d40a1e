from dataclasses import replace

import pytest

from core.burning.chance import fill_chance
from core.burning.coupon_reading import read_coupon, with_learned
from core.burning.coupon_seen import CouponReading, PatchSeen
from core.burning.coupons import make_coupon
from core.burning.dose import line_peak_j_mm2
from core.burning.learning import learn
from core.burning.machines import CO2_FLATBED
from core.burning.next_coupon import next_coupon
from core.burning.recipe_advice import clean_grid
from core.burning.unknowns import beliefs_of, draws_of
from core.sheet.recipes import Origin
from core.sheet.stock import MIRRORED_ACRYLIC_3
from tests.core.burning.simulated import simulated
from tests.references.endless_lines import hatch_dose_j_mm2

FILL = MIRRORED_ACRYLIC_3.fill


def offer_for(stock=MIRRORED_ACRYLIC_3, **options):
    return next_coupon(FILL, CO2_FLATBED, stock, fill_chance(FILL, CO2_FLATBED, stock), **options)


def test_an_unsure_fill_is_offered_a_scrap_that_makes_it_surer():
    offer = offer_for()
    made = make_coupon(
        offer.kind, MIRRORED_ACRYLIC_3, CO2_FLATBED, width_mm=offer.width_mm, height_mm=offer.height_mm, recipe=FILL
    )
    assert made.patches
    assert offer.chance_now == fill_chance(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3).clean
    assert offer.chance_after > 0.9 > offer.chance_now
    assert 4 < offer.minutes < 30
    assert f"{offer.width_mm:g} x {offer.height_mm:g} mm scrap" in offer.words and "in 100" in offer.words


def test_only_what_fits_the_offcut_is_offered():
    assert offer_for(sizes_mm=((10.0, 8.0),)) is None
    offer = offer_for(sizes_mm=((60.0, 40.0),))
    assert (offer.width_mm, offer.height_mm) == (60.0, 40.0)


def test_nothing_is_offered_where_all_is_known():
    sure = tuple(
        (name, Origin(kind="measured", standard_error=error))
        for name, error in (
            ("clearing_dose_j_mm2", 0.002),
            ("frosting_dose_j_mm2", 0.008),
            ("coat_adding_s", 0.01),
            ("sheet_adding_s", 0.02),
        )
    )
    assert offer_for(replace(MIRRORED_ACRYLIC_3, figure_origins=sure)) is None


def test_what_is_foreseen_comes_true_on_average():
    """Burn the offered scrap on drawn machines, learn from it for real, take the best recipe then, look how it does."""
    import numpy as np

    from core.burning.chance import limits
    from core.burning.unknowns import draws_at

    offer = offer_for(sizes_mm=((60.0, 40.0),))
    made = make_coupon(offer.kind, MIRRORED_ACRYLIC_3, CO2_FLATBED, width_mm=60, height_mm=40, recipe=FILL)
    prior, random, came_out = beliefs_of(CO2_FLATBED, MIRRORED_ACRYLIC_3), np.random.default_rng(2), []
    kind = "widths" if offer.kind == "line-widths" else "looks"
    for number in range(20):
        truth, seen = simulated(prior, CO2_FLATBED, [(patch.recipe, kind) for patch in made.patches], random)
        held = learn(prior, CO2_FLATBED, seen, seed=number).beliefs()
        grid = clean_grid(FILL, CO2_FLATBED, draws_of(held, CO2_FLATBED, count=512))
        row, column = np.unravel_index(int(np.argmax(grid.clean)), grid.clean.shape)
        burned = draws_at(np.tile(truth, (50, 1)), random.standard_normal((50, 8)), CO2_FLATBED)
        at = limits(FILL, CO2_FLATBED, burned, pitch_mm=float(grid.pitches_mm[row]))
        energy = float(np.exp(grid.log_energies[column]))
        came_out.append(((energy >= at.clear) & (energy < at.frost)).mean())
    assert np.mean(came_out) == pytest.approx(offer.chance_after, abs=0.08)


def test_passes_tell_how_hits_add_up():
    made = make_coupon("passes", MIRRORED_ACRYLIC_3, CO2_FLATBED, width_mm=80, height_mm=60)
    assert {patch.recipe.passes for patch in made.patches} == {1, 2, 4}
    for s in (0.55, 0.97):
        learned = _read_passes(made, s)
        stock, machine = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code="X", date="")
        assert stock.coat_adding_s == pytest.approx(s, abs=0.12)
        assert stock.learned_on == machine.name or not stock.learned_together


def _read_passes(made, coat_s):
    seen = []
    for patch in made.patches:
        recipe = patch.recipe
        peak = line_peak_j_mm2(power_w=recipe.power_pct, speed_mm_s=recipe.speed_mm_s, spot_mm=0.137)
        figures = {"peak_j_mm2": peak, "pitch_mm": recipe.pitch_mm, "spot_mm": 0.137, "passes": recipe.passes}
        look = "clean"
        if hatch_dose_j_mm2(0.5, s=coat_s, **figures) < 0.19:
            look = "leaves lines" if hatch_dose_j_mm2(0.0, s=coat_s, **figures) >= 0.19 else "not reached"
        if hatch_dose_j_mm2(0.0, s=0.5, **figures) >= 0.80:
            look = "frosts"
        seen.append(PatchSeen(label=patch.label, look=look))
    return read_coupon(made, CouponReading(code=made.code, patches=tuple(seen)))
