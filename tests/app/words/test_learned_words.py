"""What readings tell in words; no Qt."""

from app.words.learned_words import changed_words, estimate_text, learned_lines
from core.burning.calibration import Estimate
from core.burning.coupon_reading import read_coupon
from core.burning.coupon_seen import CouponReading, PatchSeen, WidthSeen
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.sheet.stock import MIRRORED_ACRYLIC_3


def coupon(kind):
    return make_coupon(kind, MIRRORED_ACRYLIC_3, CO2_FLATBED, made="2024-06-01")


def test_figures_are_told_with_their_intervals():
    looks = [(patch.label, patch.verdict) for patch in coupon("speed-power").patches]
    seen = tuple(PatchSeen(label=label, look=look) for label, look in looks)
    lines = learned_lines(read_coupon(coupon("speed-power"), CouponReading(code="", patches=seen)))
    for start in ("Clearing dose 0.1", "Frosting dose 0."):
        assert any(line.startswith(start) and "J/mm² (95 %: " in line for line in lines)


def test_a_fit_is_told_with_its_interval_and_a_missing_line_once():
    made = coupon("line-widths")
    seen = [WidthSeen(label=label, width_mm=width) for label, width in (("B1", 0.087), ("B3", 0.106), ("B5", 0.123))]
    seen += [WidthSeen(label="A5", width_mm=0.0)] * 3
    lines = learned_lines(read_coupon(made, CouponReading(code=made.code, widths=tuple(seen))))
    assert any(line.startswith("Clearing dose 0.") and "J/mm² (95 %: " in line for line in lines)
    assert sum("nothing was bared" in line for line in lines) == 1


def test_an_open_interval_is_told_as_open():
    estimate = Estimate(value=14_720.0, standard_error=3_800.0, low=3_446.0, high=float("inf"))
    assert estimate_text(estimate, "mm/s²") == "14720 ± 3800 mm/s² (95 %: 3446 mm/s² and more)"


def test_what_changed_is_named():
    assert "no figure" in changed_words(())
    assert changed_words(("a",)) == "a in the shop book has learned from it."
    assert changed_words(("a", "b")) == "a and b in the shop book have learned from it."
