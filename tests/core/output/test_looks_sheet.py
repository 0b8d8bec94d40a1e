"""The sheet of expected looks: whole sentences, and swatches that show what the verdicts say."""

import pytest
from lxml import etree

from core.burning.coupon import COUPON_KINDS
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.output.looks_sheet import looks_sheet_svg
from core.sheet.stock import MIRRORED_ACRYLIC_3

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("kind", COUPON_KINDS)
def test_every_expectation_stands_there_whole(kind):
    coupon = make_coupon(kind, MIRRORED_ACRYLIC_3, CO2_FLATBED)
    page = etree.fromstring(looks_sheet_svg(coupon))
    told = " ".join(text.text for text in page.iter(f"{SVG}text")).casefold()
    for patch in coupon.patches:
        assert patch.expected.rstrip(".").casefold() in told


def test_no_coat_is_drawn_in_the_swatch_of_a_clean_patch():
    coupon = make_coupon("pitch-ladder", MIRRORED_ACRYLIC_3, CO2_FLATBED)
    page = etree.fromstring(looks_sheet_svg(coupon))
    boxes = [
        (*(float(one.get(name, "0")) for name in ("x", "y", "width", "height")), one.get("fill"))
        for one in page.iter(f"{SVG}rect")
    ]
    squares = [box for box in boxes if box[4] == "#999"]
    fills = [patch for patch in coupon.patches if patch.purpose == "fill"]
    assert len(squares) == len(fills)
    for patch, (x, y, _, size, _) in zip(fills, squares, strict=True):
        bared, to = 0.0, y
        for _, top, _, height, _ in sorted(
            box for box in boxes if box[4] == "#fff" and box[0] == x and y <= box[1] < y + size
        ):
            bared += max(0.0, top + height - max(top, to))
            to = max(to, top + height)
        share = bared / size
        if patch.verdict in ("clean", "frosts"):
            assert share == pytest.approx(1.0, abs=1e-3)
        else:
            assert share < 0.99
