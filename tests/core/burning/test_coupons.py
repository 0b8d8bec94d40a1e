from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import box

from core.burning.beam import cleared_width_mm, fill_verdict
from core.burning.coupon import COUPON_KINDS, LEAST_PATCH_MM
from core.burning.coupon_laying import GAP_MM, LEAST_TEXT_MM, MARGIN_MM
from core.burning.coupon_tables import recipe_in_reach
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_DESKTOP, CO2_FLATBED
from core.burning.score_letters import text_width_mm
from core.errors import JobError
from core.sheet.recipes import Recipe
from core.sheet.stock import BACK_PAINTED_ACRYLIC_3, MIRRORED_ACRYLIC_3, MIRRORED_GLASS_4, PVC_3, STARTING_STOCKS

KINDS = tuple(COUPON_KINDS)


def coupon(kind, stock=MIRRORED_ACRYLIC_3, machine=CO2_FLATBED, **options):
    return make_coupon(kind, stock, machine, **options)


@given(
    kind=st.sampled_from(KINDS),
    width=st.floats(10.0, 400.0),
    height=st.floats(10.0, 300.0),
    stock=st.sampled_from([stock for stock in STARTING_STOCKS if stock.cut]),
    machine=st.sampled_from([CO2_FLATBED, CO2_DESKTOP]),
)
def test_whatever_fits_lies_apart_on_the_piece_and_is_labelled(kind, width, height, stock, machine):
    try:
        made = coupon(kind, stock, machine, width_mm=width, height_mm=height)
    except JobError as error:
        assert "too small" in error.message
        return
    piece = box(0, 0, width, height).buffer(-MARGIN_MM + 1e-6)
    patches = [box(p.x_mm, p.y_mm, p.x_mm + p.width_mm, p.y_mm + p.height_mm) for p in made.patches]
    texts = [
        box(t.x_mm, t.y_mm, t.x_mm + text_width_mm(t.text, height_mm=t.height_mm), t.y_mm + t.height_mm)
        for t in made.labels
    ]
    assert all(piece.contains(part) for part in patches + texts)
    least_width, least_height = LEAST_PATCH_MM[kind]
    for number, patch in enumerate(made.patches):
        assert patch.width_mm >= least_width and patch.height_mm >= least_height - 1e-9
        assert all(patches[number].distance(other) >= GAP_MM - 1e-6 for other in patches[number + 1 :])
        assert not any(patches[number].intersects(text) for text in texts)
    captions = made.labels[1:]
    assert [text.text for text in captions] == [f"{patch.label} {patch.caption}" for patch in made.patches]
    assert min(text.height_mm for text in captions) >= LEAST_TEXT_MM - 1e-9
    assert len({patch.label for patch in made.patches}) == len(made.patches)


@pytest.mark.parametrize("kind", ["pitch-ladder", "speed-power", "two-angles"])
@pytest.mark.parametrize("machine", [CO2_FLATBED, CO2_DESKTOP])
@pytest.mark.parametrize("stock", [MIRRORED_ACRYLIC_3, BACK_PAINTED_ACRYLIC_3, MIRRORED_GLASS_4])
def test_fill_coupons_hold_clean_patches_and_what_lies_beside_them(kind, machine, stock):
    made = coupon(kind, stock, machine)
    looks = {patch.verdict for patch in made.patches}
    assert "clean" in looks
    assert "leaves lines" in looks or "not reached" in looks
    if kind != "two-angles":
        assert "frosts" in looks
    for patch in made.patches:
        verdict = fill_verdict(patch.recipe, machine, stock)
        assert (patch.verdict, patch.expected) == (verdict.verdict, verdict.words)
        assert patch.recipe.speed_mm_s <= machine.max_speed_mm_s


@pytest.mark.parametrize("kind", ["pitch-ladder", "speed-power", "two-angles", "cut-ladder"])
def test_the_recipe_itself_is_among_the_patches(kind):
    made = coupon(kind)
    own = MIRRORED_ACRYLIC_3.cut if kind == "cut-ladder" else MIRRORED_ACRYLIC_3.fill
    found = [
        patch
        for patch in made.patches
        if (patch.recipe.speed_mm_s, patch.recipe.power_pct) == (own.speed_mm_s, own.power_pct)
        and patch.recipe.pitch_mm == pytest.approx(own.pitch_mm)
    ]
    assert found


def test_pitch_ladder_varies_the_pitch_alone():
    made = coupon("pitch-ladder", width_mm=60, height_mm=40)
    assert {replace(patch.recipe, pitch_mm=1.0) for patch in made.patches} == {
        replace(MIRRORED_ACRYLIC_3.fill, pitch_mm=1.0)
    }
    pitches = [patch.recipe.pitch_mm for patch in made.patches]
    assert pitches == sorted(pitches, reverse=True)


def test_lines_stand_apart_and_reach_from_nothing_to_wide():
    made = coupon("line-widths")
    for patch in made.patches:
        lines = patch.height_mm / patch.recipe.pitch_mm
        assert lines == pytest.approx(round(lines)) and lines >= 3
        assert patch.recipe.pitch_mm > 5 * cleared_width_mm(patch.recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert made.patches[0].expected == "nothing bared"
    assert sum("wide" in patch.expected for patch in made.patches) >= 5
    assert len({patch.recipe.speed_mm_s for patch in made.patches}) == 1


def test_a_weak_machine_burns_the_lines_slower():
    weak = replace(CO2_FLATBED, rated_power_w=20.0)
    made = coupon("line-widths", machine=weak)
    assert made.patches[0].recipe.speed_mm_s < MIRRORED_ACRYLIC_3.fill.speed_mm_s
    assert made.patches[-1].recipe.power_pct == 100.0
    assert sum("wide" in patch.expected for patch in made.patches) >= 5


@given(power=st.floats(1.0, 100.0), rated=st.floats(5.0, 200.0), speed=st.floats(10.0, 3000.0))
def test_recipe_in_reach_bares_coat_and_leaves_alone_what_does(power, rated, speed):
    machine = replace(CO2_FLATBED, rated_power_w=rated)
    fill = Recipe(speed_mm_s=speed, power_pct=power)
    reached = recipe_in_reach(fill, machine, MIRRORED_ACRYLIC_3)
    assert cleared_width_mm(reached, machine, MIRRORED_ACRYLIC_3) > 0
    assert reached.speed_mm_s <= machine.max_speed_mm_s and reached.power_pct <= 100.0
    if speed <= machine.max_speed_mm_s and cleared_width_mm(fill, machine, MIRRORED_ACRYLIC_3) > 0:
        assert reached == fill


def test_code_tells_coupons_apart_and_is_the_same_again():
    first = coupon("pitch-ladder", made="2024-06-01")
    assert first == coupon("pitch-ladder", made="2024-06-01")
    others = [coupon("pitch-ladder", made="2024-06-02"), coupon("two-angles", made="2024-06-01")]
    assert len({first.code, *(other.code for other in others)}) == 3
    assert first.labels[0].text.startswith(first.code)


def test_patch_is_found_by_its_label():
    made = coupon("pitch-ladder")
    assert made.patch(" a2 ").label == "A2"
    with pytest.raises(JobError, match="no patch Z9"):
        made.patch("Z9")


def test_patch_is_found_by_a_click():
    made = coupon("speed-power")
    for patch in made.patches:
        assert made.patch_at(patch.x_mm + patch.width_mm / 2, patch.y_mm + 0.1) == patch
        assert made.patch_at(patch.x_mm - 0.5, patch.y_mm) is None


def test_what_must_not_be_burned_or_cut_is_refused():
    with pytest.raises(JobError, match="hydrogen chloride"):
        coupon("pitch-ladder", PVC_3)
    with pytest.raises(JobError, match="must not be cut"):
        coupon("cut-ladder", MIRRORED_GLASS_4)


def test_too_small_names_a_size_that_does():
    with pytest.raises(JobError) as caught:
        coupon("speed-power", width_mm=20.0, height_mm=20.0)
    width, height = (float(word) for word in caught.value.hint.split() if word.isdecimal())
    assert coupon("speed-power", width_mm=width + 1, height_mm=height + 1).patches
    for size in ((0.0, 80.0), (float("nan"), 80.0), (-5.0, 80.0)):
        with pytest.raises(JobError):
            coupon("speed-power", width_mm=size[0], height_mm=size[1])
    with pytest.raises(JobError, match="no coupon"):
        coupon("rainbow")


@pytest.mark.parametrize("kind", COUPON_KINDS)
def test_nothing_is_tried_around_a_recipe_without_power(kind):
    with pytest.raises(JobError, match="without power"):
        make_coupon(kind, MIRRORED_ACRYLIC_3, CO2_FLATBED, recipe=replace(MIRRORED_ACRYLIC_3.fill, power_pct=0.0))


def test_speeds_of_a_weak_machine_are_whole_figures():
    weak = replace(CO2_FLATBED, rated_power_w=7.3)
    fill = recipe_in_reach(MIRRORED_ACRYLIC_3.fill, weak, MIRRORED_ACRYLIC_3)
    assert cleared_width_mm(fill, weak, MIRRORED_ACRYLIC_3) > 0
    for kind in ("speed-power", "line-widths"):
        for patch in make_coupon(kind, MIRRORED_ACRYLIC_3, weak).patches:
            assert float(f"{patch.recipe.speed_mm_s:.2g}") == patch.recipe.speed_mm_s
