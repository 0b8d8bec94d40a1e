"""Combs burned by a machine that lags, read, and learned from: the figures come back, whatever the turn and the side.

What is burned is taken from the rows of the prepared job, shifted by the elementary rule: at a speed v rows that run
along +x of the bed lie off by v times the delay, rows that run back by the offset less that.
"""

from dataclasses import replace

import numpy as np
import pytest

from core.burning.calibration import Estimate
from core.burning.coupon_reading import read_coupon, with_learned
from core.burning.coupon_seen import CouponReading, PairSeen
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.burning.row_combs import PAIRS, RowShift, fit_row_shifts, lines_of_comb
from core.errors import UnreadableError
from core.geometry.affine import apply
from core.job.coupon_job import coupon_job
from core.job.prepare import prepare
from core.sheet.faces import turn_matrix
from core.sheet.stock import MIRRORED_ACRYLIC_3

DELAY_MS, OFFSET_MM = 0.06, 0.05


def burned_and_read(made):
    """For each patch which pair a maker sees lined up in its upper row, and in its lower one."""
    plan = prepare(coupon_job(made))
    to_read = turn_matrix(made.turn, plan.job.sheet)  # bed to front; the same the other way round
    seen = []
    for patch, layer in zip(made.patches, plan.layers, strict=False):
        rows, speed = layer.rows, patch.recipe.speed_mm_s
        found = {}
        for number, row_y in enumerate(rows.row_y_mm):
            lag = speed * DELAY_MS / 1000
            shift = lag if number % 2 == 0 else OFFSET_MM - lag
            own = rows.row_index == number
            middles = (rows.x1_mm[own][:-1] + rows.x0_mm[own][1:]) / 2 + shift
            places = np.column_stack([middles, np.full(len(middles), row_y)])
            if made.read_from == "front":
                places = apply(to_read, places)
            off = np.sort(places[:, 0]) - np.array(lines_of_comb(patch.x_mm, patch.width_mm))
            pair = np.interp(0.0, off, np.arange(PAIRS) - PAIRS // 2)
            found[float(places[0, 1])] = round(2 * pair) / 2
        upper, *lower = [found[y] for y in sorted(found)]
        seen.append(PairSeen(label=patch.label, pair=upper, second=lower[0] if lower else None))
    return seen


def comb(kind, **options):
    return make_coupon(kind, MIRRORED_ACRYLIC_3, CO2_FLATBED, width_mm=90.0, height_mm=60.0, **options)


@pytest.mark.parametrize("side", ["front", "back"])
@pytest.mark.parametrize("turn", ["sideways", "endways"])
@pytest.mark.parametrize("kind", ["both-way-comb", "beam-delay"])
def test_what_combs_show_gives_delay_and_offset_back(kind, turn, side):
    made = comb(kind, turn=turn, read_from=side)
    learned = read_coupon(made, CouponReading(code=made.code, read="2026-11-30", pairs=tuple(burned_and_read(made))))
    delay, offset = learned.beam_delay_ms, learned.both_way_offset_mm
    assert isinstance(delay, Estimate) and delay.low < DELAY_MS < delay.high
    assert delay.value == pytest.approx(DELAY_MS, abs=0.012)
    assert (offset is None) == (kind == "beam-delay")
    if offset is not None:
        assert offset.low < OFFSET_MM < offset.high and offset.value == pytest.approx(OFFSET_MM, abs=0.02)
    _, machine = with_learned(MIRRORED_ACRYLIC_3, CO2_FLATBED, learned, code=made.code, date="2026-11-30")
    assert machine.beam_delay_ms == delay.value
    assert machine.both_way_offset_mm == (0.0 if offset is None else offset.value)
    assert dict(machine.figure_origins)["beam_delay_ms"].standard_error == delay.standard_error


def test_an_odd_pair_is_told_and_what_a_comb_has_not_is_refused():
    made = comb("both-way-comb")
    seen = burned_and_read(made)
    odd = [replace(seen[0], pair=seen[0].pair - 4), *seen[1:]]
    assert "odd-reading" in [one.code for one in read_coupon(made, CouponReading(code="X", pairs=tuple(odd))).findings]
    for pair in (PairSeen(label="A1", pair=1.0), PairSeen(label="A1", pair=9.0, second=0.0)):
        with pytest.raises(UnreadableError, match="pair"):
            read_coupon(made, CouponReading(code="X", pairs=(pair,)))
    with pytest.raises(UnreadableError, match="no comb"):
        ladder = comb("pitch-ladder")
        read_coupon(ladder, CouponReading(code="X", pairs=(PairSeen(label="A1", pair=1.0),)))


def test_second_rows_at_one_speed_tell_nothing_apart():
    one = RowShift(label="A1", speed_mm_s=800.0, shift_mm=0.1, step_mm=0.04, second=True)
    with pytest.raises(UnreadableError, match="one speed"):
        fit_row_shifts([one, one])
    first = replace(one, second=False)
    assert fit_row_shifts([first, first]).beam_delay_ms.value == pytest.approx(0.125)
