import math
from dataclasses import replace

import pytest

from core.burning.batches import learned_of_batch, of_batch, with_batch_kept
from core.burning.coupon_reading import read_coupon, with_learned
from core.burning.coupon_seen import CouponReading, PatchSeen
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.burning.unknowns import figure_origin, standard_error, with_figure
from core.sheet.batches import NO_BATCH, Batch
from core.sheet.recipes import Origin
from core.sheet.stock import MIRRORED_ACRYLIC_3

MAY, JUNE, JULY = (Batch(supplier="Harbour Sheets", delivery=month, colour="silver") for month in ("5", "6", "7"))


def measured(stock, batch, dose, error=0.004):
    origin = Origin(kind="measured", standard_error=error)
    return with_batch_kept(stock, with_figure(of_batch(stock, batch), "clearing_dose_j_mm2", dose, origin))


def test_a_batch_keeps_its_own_doses_and_the_stock_its():
    stock = measured(measured(MIRRORED_ACRYLIC_3, MAY, 0.21), JUNE, 0.17)
    assert of_batch(stock, MAY).clearing_dose_j_mm2 == 0.21
    assert of_batch(stock, JUNE).clearing_dose_j_mm2 == 0.17
    assert of_batch(of_batch(stock, MAY), JUNE) == of_batch(stock, JUNE)
    own = of_batch(of_batch(stock, MAY), NO_BATCH)
    assert own == stock and own.clearing_dose_j_mm2 == MIRRORED_ACRYLIC_3.clearing_dose_j_mm2
    assert learned_of_batch(stock, MAY) and not learned_of_batch(stock, JULY)


def test_another_batch_starts_from_the_stocks_spread_widened_by_what_batches_differed():
    near = measured(measured(MIRRORED_ACRYLIC_3, MAY, 0.200), JUNE, 0.204)
    far = measured(measured(MIRRORED_ACRYLIC_3, MAY, 0.15), JUNE, 0.26)
    errors = [standard_error(of_batch(stock, JULY), "clearing_dose_j_mm2") for stock in (near, far)]
    assert 0.004 < errors[0] < errors[1]
    assert of_batch(near, JULY).clearing_dose_j_mm2 == pytest.approx(0.201, abs=0.004)
    assert errors[0] == pytest.approx(0.2 * math.hypot(0.082, 0.057), rel=0.15)  # of one more batch, by hand
    fresh = of_batch(MIRRORED_ACRYLIC_3, JULY)
    assert standard_error(fresh, "clearing_dose_j_mm2") == pytest.approx(0.25 * 0.19)
    assert "others" in figure_origin(of_batch(near, JULY), "clearing_dose_j_mm2").note


def test_a_coupon_teaches_its_own_batch():
    made = make_coupon("speed-power", of_batch(MIRRORED_ACRYLIC_3, MAY), CO2_FLATBED)
    assert made.stock.batch == MAY
    seen = tuple(PatchSeen(label=patch.label, look=patch.verdict) for patch in made.patches)
    learned = read_coupon(made, CouponReading(code=made.code, patches=seen))
    stock, _ = with_learned(made.stock, CO2_FLATBED, learned, code=made.code, date="2024-06-02")
    kept = with_batch_kept(MIRRORED_ACRYLIC_3, stock)
    assert learned_of_batch(kept, MAY) and kept.batch == NO_BATCH
    assert of_batch(kept, MAY).clearing_dose_j_mm2 == stock.clearing_dose_j_mm2
    assert kept.clearing_dose_j_mm2 == MIRRORED_ACRYLIC_3.clearing_dose_j_mm2
    assert replace(kept, batches=(), fill=MIRRORED_ACRYLIC_3.fill) == MIRRORED_ACRYLIC_3
