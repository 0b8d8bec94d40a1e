"""A piece that is burned to be read: coupons and the offcuts of trials are one thing."""

import pytest

from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.burning.patches import BurnedPiece
from core.errors import JobError
from core.sheet.stock import MIRRORED_ACRYLIC_3


@pytest.fixture(scope="module")
def coupon():
    return make_coupon("speed-power", MIRRORED_ACRYLIC_3, CO2_FLATBED)


def test_each_patch_is_found_by_its_label_and_by_its_middle_and_close_to_its_edges(coupon):
    assert isinstance(coupon, BurnedPiece) and len(coupon.patches) > 4
    for patch in coupon.patches:
        assert coupon.patch(f" {patch.label.lower()} ") is patch
        for share in (0.001, 0.5, 0.999):
            at = patch.x_mm + share * patch.width_mm, patch.y_mm + share * patch.height_mm
            assert coupon.patch_at(*at) is patch


def test_patches_lie_on_the_piece_and_beside_each_other(coupon):
    for patch in coupon.patches:
        assert patch.x_mm >= 0 and patch.x_mm + patch.width_mm <= coupon.width_mm
        assert patch.y_mm >= 0 and patch.y_mm + patch.height_mm <= coupon.height_mm
    assert coupon.patch_at(-1.0, -1.0) is None and coupon.patch_at(coupon.width_mm + 1.0, 1.0) is None


def test_a_label_that_is_not_there_is_told_with_those_that_are(coupon):
    with pytest.raises(JobError) as told:
        coupon.patch("Z99")
    assert coupon.code in told.value.message and coupon.patches[0].label in told.value.hint
