import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.burning.beam import cleared_width_mm, fill_verdict
from core.burning.coupon_reading import (
    Bounds,
    CouponReading,
    PatchSeen,
    WidthSeen,
    figure_origin,
    read_coupon,
    with_learned,
)
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.errors import JobError, UnreadableError
from core.sheet.stock import MIRRORED_ACRYLIC_3

TRUE_SPOT, TRUE_CLEARING, TRUE_FROSTING = 0.150, 0.22, 0.70
TRUE_MACHINE = replace(CO2_FLATBED, spot_mm=TRUE_SPOT)
TRUE_STOCK = replace(MIRRORED_ACRYLIC_3, clearing_dose_j_mm2=TRUE_CLEARING, frosting_dose_j_mm2=TRUE_FROSTING)


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


@settings(max_examples=60)
@given(clearing=st.floats(0.08, 0.35), frosting=st.floats(0.45, 1.2), spot=st.floats(0.1, 0.2))
def test_bounds_from_looks_always_hold_the_truth(clearing, frosting, spot):
    machine = replace(CO2_FLATBED, spot_mm=spot)
    stock = replace(MIRRORED_ACRYLIC_3, clearing_dose_j_mm2=clearing, frosting_dose_j_mm2=frosting)
    made = replace(coupon("speed-power"), machine=machine)
    learned = read_coupon(made, CouponReading(code=made.code, patches=looks_of(made, machine, stock)))
    assert learned.clearing_bounds.low <= clearing <= learned.clearing_bounds.high * (1 + 1e-12)
    assert learned.frosting_bounds.low <= frosting <= learned.frosting_bounds.high * (1 + 1e-12)


def test_one_clean_patch_clicked_gives_its_recipe():
    made = coupon("speed-power")
    clean = next(patch for patch in made.patches if patch.verdict == "clean")
    seen = (PatchSeen(label=clean.label, look="clean"),)
    learned = read_coupon(made, CouponReading(code=made.code, read="2024-06-02", patches=seen))
    stock, _ = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="2024-06-02")
    assert replace(stock.fill, origin=clean.recipe.origin) == clean.recipe
    assert stock.fill.origin.kind == "measured" and clean.label in stock.fill.origin.note


def test_a_bound_on_one_side_moves_a_figure_only_as_far_as_it_must():
    made = coupon("pitch-ladder")
    fine = made.patches[-1]
    peak = fill_verdict(fine.recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3).peak_dose_j_mm2
    assert peak > MIRRORED_ACRYLIC_3.frosting_dose_j_mm2
    seen = CouponReading(code=made.code, patches=(PatchSeen(label=fine.label, look="clean"),))
    learned = read_coupon(made, seen)
    assert learned.frosting_dose_j_mm2 is None and "one-sided" in codes(learned)
    stock, _ = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="")
    assert stock.frosting_dose_j_mm2 == pytest.approx(peak)
    assert stock.clearing_dose_j_mm2 == MIRRORED_ACRYLIC_3.clearing_dose_j_mm2  # the bound allows it


def test_contradicting_patches_are_named_and_teach_nothing():
    made = coupon("pitch-ladder")
    first, last = made.patches[0], made.patches[-1]
    seen = (PatchSeen(label=first.label, look="frosts"), PatchSeen(label=last.label, look="clean"))
    learned = read_coupon(made, CouponReading(code=made.code, patches=seen))
    (finding,) = [finding for finding in learned.findings if finding.code == "patches-contradict"]
    assert first.label in finding.message and last.label in finding.message
    assert learned.frosting_dose_j_mm2 is None
    stock, _ = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="")
    assert stock.frosting_dose_j_mm2 == MIRRORED_ACRYLIC_3.frosting_dose_j_mm2


def test_widths_that_disagree_with_patches_are_told():
    lines, ladder = coupon("line-widths"), coupon("pitch-ladder")
    both = replace(ladder, patches=(*ladder.patches, *(replace(p, label=f"L{p.label}") for p in lines.patches)))
    widths = tuple(replace(seen, label=f"L{seen.label}") for seen in widths_of(lines, noise_mm=0.001))
    coarse = PatchSeen(label=ladder.patches[0].label, look="clean")
    assert "widths-and-patches-disagree" in codes(
        read_coupon(both, CouponReading(code="X", widths=widths, patches=(coarse,)))
    )


def test_defocused_lines_leave_the_machines_spot_alone():
    made = coupon("line-widths", recipe=replace(MIRRORED_ACRYLIC_3.fill, focus_mm=0.5))
    learned = read_coupon(made, CouponReading(code=made.code, widths=widths_of(made)))
    assert learned.spot_mm is None and learned.clearing_dose_j_mm2 is not None
    assert "defocused-spot" in codes(learned)


def test_lines_of_different_speeds_are_not_fitted_together():
    made = coupon("speed-power")
    widths = tuple(WidthSeen(label=patch.label, width_mm=0.1) for patch in made.patches)
    with pytest.raises(UnreadableError, match="different speeds"):
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


def test_wide_bounds_do_not_replace_a_dose_that_was_measured_more_surely():
    lines, ladder = coupon("line-widths"), coupon("pitch-ladder")
    fitted = read_coupon(lines, CouponReading(code=lines.code, widths=widths_of(lines, noise_mm=0.001)))
    stock, machine = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, fitted, code=lines.code, date="2024-06-02")
    coarse = CouponReading(code=ladder.code, patches=(PatchSeen(label="A1", look="leaves lines"),))
    wide = read_coupon(replace(ladder, machine=machine), coarse)
    assert wide.clearing_dose_j_mm2.low < stock.clearing_dose_j_mm2 < wide.clearing_dose_j_mm2.high
    kept, _ = with_learned(stock, machine, wide, code=ladder.code, date="2024-06-03")
    assert kept == stock
    other = replace(stock, clearing_dose_j_mm2=2.0)  # sure as it was, it can't be true any more
    moved, _ = with_learned(other, machine, wide, code=ladder.code, date="2024-06-03")
    assert moved.clearing_dose_j_mm2 == wide.clearing_dose_j_mm2.value


def test_one_patch_has_one_look():
    made = coupon("pitch-ladder")
    clean, frosts = (PatchSeen(label="A5", look=look) for look in ("clean", "frosts"))
    with pytest.raises(UnreadableError, match="both “clean” and “frosts”"):
        read_coupon(made, CouponReading(code=made.code, patches=(clean, replace(frosts, label="a5"))))
    twice = read_coupon(made, CouponReading(code=made.code, patches=(clean, clean)))
    assert twice.fill is not None and twice == read_coupon(made, CouponReading(code=made.code, patches=(clean,)))


def test_equal_doses_with_unlike_looks_contradict_each_other():
    """Along x and along y a patch gets the same dose: if one frosts and one does not, it tells no dose."""
    made = coupon("two-angles")
    across, down = (patch for patch in made.patches if patch.recipe.lines_per_inch == pytest.approx(600))
    seen = (PatchSeen(label=across.label, look="clean"), PatchSeen(label=down.label, look="frosts"))
    learned = read_coupon(made, CouponReading(code=made.code, patches=seen))
    assert learned.frosting_dose_j_mm2 is None and "patches-contradict" in codes(learned)
    stock, _ = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="2024-06-02")
    assert stock.frosting_dose_j_mm2 == MIRRORED_ACRYLIC_3.frosting_dose_j_mm2


def test_estimate_of_bounds_is_their_geometric_middle():
    estimate = Bounds(low=0.2, high=0.8).estimate()
    assert estimate.value == pytest.approx(0.4)
    assert estimate.standard_error == pytest.approx(0.6 / math.sqrt(12))
    assert not Bounds(low=0.2).closed and not Bounds(high=0.8).closed and Bounds(low=1.0, high=0.5).contradicted
