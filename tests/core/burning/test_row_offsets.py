from dataclasses import replace

import numpy as np
import pytest
from shapely.geometry import box

from core.artwork.drawing import ArtworkSource
from core.burning.beam import clearing_line
from core.burning.coverage import coverage
from core.burning.machines import CO2_FLATBED
from core.burning.row_offsets import as_laid, held_recipe, row_shifts_mm
from core.burning.scan_rows import scan_rows
from core.job.job import new_job
from core.job.prepare import prepare
from core.sheet.stock import MIRRORED_ACRYLIC_3 as STOCK

ART = b"""<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="30mm" viewBox="0 0 40 30">
<path d="M9 9H15V13H9Z"/></svg>"""


def test_a_late_beam_lies_further_on_in_the_direction_of_travel() -> None:
    machine = replace(CO2_FLATBED, beam_delay_ms=0.05, both_way_offset_mm=0.01)
    assert row_shifts_mm(4, speed_mm_s=800, machine=machine) == pytest.approx([0.04, -0.03, 0.04, -0.03])
    one_way = replace(machine, scans_both_ways=False)
    assert row_shifts_mm(3, speed_mm_s=800, machine=one_way) == pytest.approx([0.04, 0.04, 0.04])
    assert not row_shifts_mm(3, speed_mm_s=800, machine=CO2_FLATBED).any()


def test_rows_that_do_not_meet_leave_more_coat_and_spill_more() -> None:
    region = box(0, 0, 2, 2)
    rows = scan_rows(region, pitch_mm=STOCK.fill.pitch_mm, angle_deg=0.0)
    line = clearing_line(STOCK.fill, CO2_FLATBED, STOCK)
    off = as_laid(rows, STOCK.fill, replace(CO2_FLATBED, both_way_offset_mm=0.1))
    assert np.array_equal(off.x0_mm[::2], rows.x0_mm[::2])
    assert off.x0_mm[1::2] == pytest.approx(rows.x0_mm[1::2] + 0.1)
    good, bad = (coverage(region, one, line) for one in (rows, off))
    assert bad.left_over_mm2 > good.left_over_mm2 + 0.02
    assert bad.spill_mm2 > good.spill_mm2
    assert as_laid(rows, STOCK.fill, CO2_FLATBED) is rows


def test_pitches_are_whole_row_steps_and_told_in_both_units() -> None:
    machine = replace(CO2_FLATBED, least_row_step_mm=0.025)
    assert held_recipe(STOCK.fill, machine).pitch_mm == pytest.approx(0.05)
    assert held_recipe(replace(STOCK.fill, pitch_mm=0.001), machine).pitch_mm == pytest.approx(0.025)
    assert held_recipe(STOCK.fill, CO2_FLATBED) is STOCK.fill
    plan = prepare(new_job(ArtworkSource(name="a.svg", data=ART), machine=machine))
    told = next(one.message for one in plan.findings if one.code == "row-step")
    assert "0.0423 mm (600 LPI)" in told and "0.0500 mm (508 LPI)" in told
    fill = next(layer for layer in plan.layers if layer.layer.id == "fill")
    assert fill.rows is not None and fill.rows.pitch_mm == pytest.approx(0.05)
    assert fill.verdict is not None
    assert fill.verdict.width_margin_pct == pytest.approx(100 * (fill.verdict.cleared_width_mm / 0.05 - 1))


def test_both_directions_are_in_the_coverage_of_a_job() -> None:
    spills = []
    for offset_mm in (0.0, 0.1):
        job = new_job(ArtworkSource(name="a.svg", data=ART), machine=replace(CO2_FLATBED, both_way_offset_mm=offset_mm))
        fill = next(layer for layer in prepare(job).layers if layer.layer.id == "fill")
        assert fill.coverage is not None
        spills.append(fill.coverage.left_over_mm2)
    assert spills[1] > spills[0] + 0.05
