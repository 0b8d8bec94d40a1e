from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.burning.beam import cleared_width_mm, fill_verdict
from core.burning.chance import fill_chance
from core.burning.coupon_bounds import clearing_bounds, frosting_bounds
from core.burning.coupon_reading import read_coupon, with_learned
from core.burning.coupon_seen import CouponReading, PatchSeen, WidthSeen
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.burning.recipe_advice import clean_grid
from core.burning.unknowns import FIGURES, beliefs_of, draws_of, figure_origin, from_scale, slope_at
from core.errors import JobError, UnreadableError
from core.sheet.stock import MIRRORED_ACRYLIC_3

TRUE_SPOT, TRUE_CLEARING, TRUE_FROSTING = 0.150, 0.22, 0.70
TRUE_MACHINE = replace(CO2_FLATBED, spot_mm=TRUE_SPOT)
TRUE_STOCK = replace(MIRRORED_ACRYLIC_3, clearing_dose_j_mm2=TRUE_CLEARING, frosting_dose_j_mm2=TRUE_FROSTING)


@cache
def coupon(kind, **options):
    return make_coupon(kind, MIRRORED_ACRYLIC_3, CO2_FLATBED, made="2024-06-01", **options)


def looks_of(made, machine=TRUE_MACHINE, stock=TRUE_STOCK):
    """What would be seen on the coupon were this the true machine and stock."""
    return tuple(
        PatchSeen(label=patch.label, look=fill_verdict(patch.recipe, machine, stock).verdict) for patch in made.patches
    )


def widths_of(made, noise_mm=0.0, seed=0):
    random = np.random.default_rng(seed)
    return tuple(
        WidthSeen(label=patch.label, width_mm=max(0.0, width + random.normal(0, noise_mm)) if width else 0.0)
        for patch in made.patches
        for width in [cleared_width_mm(patch.recipe, TRUE_MACHINE, TRUE_STOCK)]
        for _ in range(3)
    )


def codes(learned):
    return {finding.code for finding in learned.findings}


def test_line_widths_give_spot_and_clearing_dose_and_the_profiles_take_them():
    made = coupon("line-widths")
    reading = CouponReading(code=made.code, read="2024-06-02", widths=widths_of(made, noise_mm=0.002))
    learned = read_coupon(made, reading)
    assert learned.spot_mm.low <= TRUE_SPOT <= learned.spot_mm.high
    assert learned.clearing_dose_j_mm2.low <= TRUE_CLEARING <= learned.clearing_dose_j_mm2.high
    stock, machine = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="2024-06-02")
    assert machine.spot_mm == learned.spot_mm.value
    assert stock.clearing_dose_j_mm2 == learned.clearing_dose_j_mm2.value
    origin = figure_origin(stock, "clearing_dose_j_mm2")
    assert (origin.kind, origin.date) == ("measured", "2024-06-02")
    assert made.code in origin.note
    assert origin.standard_error == learned.clearing_dose_j_mm2.standard_error
    assert figure_origin(stock, "frosting_dose_j_mm2") == MIRRORED_ACRYLIC_3.origin


@pytest.mark.parametrize("kind", ["pitch-ladder", "speed-power"])
def test_looks_of_patches_bound_the_true_doses(kind):
    made = coupon(kind)
    machine = replace(CO2_FLATBED, spot_mm=TRUE_SPOT)
    learned = read_coupon(replace(made, machine=machine), CouponReading(code=made.code, patches=looks_of(made)))
    assert "patches-contradict" not in codes(learned)
    assert learned.clearing_bounds.low < TRUE_CLEARING <= learned.clearing_bounds.high
    assert learned.frosting_bounds.low < TRUE_FROSTING <= learned.frosting_bounds.high
    assert learned.frosting_dose_j_mm2.low <= TRUE_FROSTING <= learned.frosting_dose_j_mm2.high
    assert learned.clearing_dose_j_mm2.low <= TRUE_CLEARING <= learned.clearing_dose_j_mm2.high


@settings(max_examples=20, deadline=None)
@given(clearing=st.floats(0.08, 0.35), frosting=st.floats(0.45, 1.2), spot=st.floats(0.1, 0.2))
def test_bounds_from_looks_always_hold_the_truth(clearing, frosting, spot):
    machine = replace(CO2_FLATBED, spot_mm=spot)
    stock = replace(MIRRORED_ACRYLIC_3, clearing_dose_j_mm2=clearing, frosting_dose_j_mm2=frosting)
    made = coupon("speed-power")
    looks = [(made.patch(seen.label), seen.look) for seen in looks_of(made, machine, stock)]
    clears, frosts = clearing_bounds(looks, machine), frosting_bounds(looks, machine, MIRRORED_ACRYLIC_3)
    assert clears.low <= clearing <= clears.high * (1 + 1e-12)
    assert frosts.low <= frosting <= frosts.high * (1 + 1e-12)


def test_one_clean_patch_clicked_gives_its_recipe():
    made = coupon("speed-power")
    clean = next(patch for patch in made.patches if patch.verdict == "clean")
    seen = (PatchSeen(label=clean.label, look="clean"),)
    learned = read_coupon(made, CouponReading(code=made.code, read="2024-06-02", patches=seen))
    stock, _ = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="2024-06-02")
    assert replace(stock.fill, origin=clean.recipe.origin) == clean.recipe
    assert stock.fill.origin.kind == "measured" and clean.label in stock.fill.origin.note


def test_a_look_on_one_side_moves_a_figure_to_that_side():
    made = coupon("pitch-ladder")
    fine = made.patches[-1]
    peak = fill_verdict(fine.recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3).peak_dose_j_mm2
    assert peak > MIRRORED_ACRYLIC_3.frosting_dose_j_mm2
    seen = CouponReading(code=made.code, patches=(PatchSeen(label=fine.label, look="clean"),))
    learned = read_coupon(made, seen)
    assert "one-sided" in codes(learned)
    stock, _ = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="")
    before, after = (fill_chance(fine.recipe, CO2_FLATBED, one).frosts for one in (MIRRORED_ACRYLIC_3, stock))
    assert 0.05 < after < 0.8 * before  # an uncertain look, no hard bound


def test_contradicting_patches_are_named_and_one_is_taken_for_a_misreading():
    made = coupon("pitch-ladder")
    first, last = made.patches[0], made.patches[-1]
    seen = (PatchSeen(label=first.label, look="frosts"), PatchSeen(label=last.label, look="clean"))
    learned = read_coupon(made, CouponReading(code=made.code, patches=seen))
    (finding,) = [finding for finding in learned.findings if finding.code == "patches-contradict"]
    assert first.label in finding.message and last.label in finding.message
    assert "odd-reading" in codes(learned)
    stock, _ = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="")
    assert stock.frosting_dose_j_mm2 == pytest.approx(MIRRORED_ACRYLIC_3.frosting_dose_j_mm2, rel=0.25)


def test_a_patch_that_disagrees_with_widths_is_named():
    lines, ladder = coupon("line-widths"), coupon("pitch-ladder")
    both = replace(ladder, patches=(*ladder.patches, *(replace(p, label=f"L{p.label}") for p in lines.patches)))
    widths = tuple(replace(seen, label=f"L{seen.label}") for seen in widths_of(lines, noise_mm=0.001))
    coarse = PatchSeen(label=ladder.patches[0].label, look="clean")
    learned = read_coupon(both, CouponReading(code="X", widths=widths, patches=(coarse,)))
    (odd,) = [finding.message for finding in learned.findings if finding.code == "odd-reading"]
    assert odd.startswith(f"Patch {ladder.patches[0].label} ")
    assert learned.clearing_dose_j_mm2.value == pytest.approx(TRUE_CLEARING, rel=0.1)


def test_defocused_lines_give_the_spot_in_focus():
    made = coupon("line-widths", recipe=replace(MIRRORED_ACRYLIC_3.fill, focus_mm=0.8))
    learned = read_coupon(made, CouponReading(code=made.code, widths=widths_of(made)))
    assert learned.spot_mm.low < TRUE_SPOT < learned.spot_mm.high
    assert learned.clearing_dose_j_mm2.low < TRUE_CLEARING < learned.clearing_dose_j_mm2.high


def test_lines_of_different_speeds_are_learned_from_without_a_straight_line_through_them():
    made = coupon("speed-power")
    apart = [replace(patch, recipe=replace(patch.recipe, pitch_mm=1.0)) for patch in made.patches]
    made = replace(made, patches=tuple(apart))
    learned = read_coupon(made, CouponReading(code=made.code, widths=widths_of(made)[:24]))
    assert learned.fit is None
    assert learned.clearing_dose_j_mm2.low < TRUE_CLEARING < learned.clearing_dose_j_mm2.high


def test_widths_that_allow_no_sensible_dose_are_refused():
    made = coupon("line-widths")
    strong = made.patches[-4:]
    widths = tuple(
        WidthSeen(label=patch.label, width_mm=0.100 + 0.0001 * number) for number, patch in enumerate(strong)
    )
    with pytest.raises(UnreadableError, match="can't be"):
        read_coupon(made, CouponReading(code=made.code, widths=widths))


def test_cut_ladder_gives_the_fastest_cut_below_the_first_that_held():
    made = coupon("cut-ladder")
    seen = [
        PatchSeen(label=patch.label, look="through" if patch.recipe.speed_mm_s <= 15 else "holds on")
        for patch in made.patches
    ]
    learned = read_coupon(made, CouponReading(code=made.code, patches=tuple(seen)))
    assert learned.cut.speed_mm_s == max(p.recipe.speed_mm_s for p in made.patches if p.recipe.speed_mm_s <= 15)
    seen[0] = replace(seen[0], look="holds on")
    learned = read_coupon(made, CouponReading(code=made.code, patches=tuple(seen)))
    assert learned.cut is None and "cuts-contradict" in codes(learned)


def test_nothing_read_and_unknown_patches_are_told():
    made = coupon("pitch-ladder")
    with pytest.raises(UnreadableError, match="Nothing was read"):
        read_coupon(made, CouponReading(code=made.code))
    with pytest.raises(JobError, match="no patch Q7"):
        read_coupon(made, CouponReading(code=made.code, patches=(PatchSeen(label="Q7", look="clean"),)))


@pytest.mark.parametrize(("kind", "look"), [("pitch-ladder", "through"), ("cut-ladder", "clean")])
def test_a_look_that_its_patch_can_not_have_is_refused(kind, look):
    made = coupon(kind)
    with pytest.raises(UnreadableError, match=f"can't be “{look}”"):
        read_coupon(made, CouponReading(code=made.code, patches=(PatchSeen(label="A1", look=look),)))


def test_a_look_adds_next_to_nothing_to_a_dose_that_was_measured_surely():
    lines, ladder = coupon("line-widths"), coupon("pitch-ladder")
    fitted = read_coupon(lines, CouponReading(code=lines.code, widths=widths_of(lines, noise_mm=0.001)))
    stock, machine = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, fitted, code=lines.code, date="2024-06-02")
    coarse = CouponReading(code=ladder.code, patches=(PatchSeen(label="A1", look="leaves lines"),))
    wide = read_coupon(replace(ladder, machine=machine, stock=stock), coarse)
    kept, _ = with_learned(stock, machine, wide, code=ladder.code, date="2024-06-03")
    assert kept.clearing_dose_j_mm2 == stock.clearing_dose_j_mm2


def test_what_is_kept_says_what_was_learned():
    """The profiles hold the posterior: their beliefs have its means, errors and correlations."""
    made = coupon("speed-power")
    reading = CouponReading(code=made.code, patches=looks_of(made))
    learned = read_coupon(made, reading)
    stock, machine = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="2024-06-02")
    held = beliefs_of(machine, stock)
    for k, name in enumerate(FIGURES):
        estimate = getattr(learned, name)
        if estimate is not None:
            assert float(from_scale(name, held.means[k])) == pytest.approx(estimate.value)
            assert held.errors[k] / slope_at(name, held.means[k]) == pytest.approx(estimate.standard_error, rel=1e-6)
    clearing, frosting = learned.clearing_dose_j_mm2, learned.frosting_dose_j_mm2
    assert clearing.standard_error < 0.6 * 0.25 * 0.19 and frosting.standard_error < 0.6 * 0.25 * 0.80
    best = [
        clean_grid(MIRRORED_ACRYLIC_3.fill, pair[0], draws_of(beliefs_of(*pair), pair[0], count=1024)).clean.max()
        for pair in ((CO2_FLATBED, MIRRORED_ACRYLIC_3), (machine, stock))
    ]
    assert best[1] > best[0]  # a scrap read makes a clean piece surer


def test_one_patch_has_one_look():
    made = coupon("pitch-ladder")
    clean, frosts = (PatchSeen(label="A5", look=look) for look in ("clean", "frosts"))
    with pytest.raises(UnreadableError, match="both “clean” and “frosts”"):
        read_coupon(made, CouponReading(code=made.code, patches=(clean, replace(frosts, label="a5"))))
    twice = read_coupon(made, CouponReading(code=made.code, patches=(clean, clean)))
    assert twice.fill is not None and twice == read_coupon(made, CouponReading(code=made.code, patches=(clean,)))


def test_equal_doses_with_unlike_looks_contradict_each_other():
    """Along x and along y a patch gets the same dose: if one frosts and one does not, that is told."""
    made = coupon("two-angles")
    across, down = (patch for patch in made.patches if patch.recipe.lines_per_inch == pytest.approx(600))
    seen = (PatchSeen(label=across.label, look="clean"), PatchSeen(label=down.label, look="frosts"))
    learned = read_coupon(made, CouponReading(code=made.code, patches=seen))
    assert "patches-contradict" in codes(learned)
