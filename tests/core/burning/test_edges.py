from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, Point, box

from core.burning.beam import clearing_line
from core.burning.coverage import coverage
from core.burning.dose import ClearingLine
from core.burning.edges import EDGE_S, compensated, edge_shift
from core.burning.machines import CO2_FLATBED
from core.burning.scan_rows import scan_rows
from core.sheet.stock import MIRRORED_ACRYLIC_3 as STOCK
from tests.references.numerical_dose import bared_by_grid

LINE = clearing_line(STOCK.fill, CO2_FLATBED, STOCK)
PITCH_MM = STOCK.fill.pitch_mm


@pytest.mark.parametrize("s", [1.0, EDGE_S, 0.0])
def test_shift_along_rows_is_what_is_bared_beyond_an_upright_edge(s: float) -> None:
    region = box(0, 0, 1, 20 * PITCH_MM)
    rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=0.0)
    bared = bared_by_grid(rows, LINE, s, (-0.2, 7 * PITCH_MM, 0.6, 13 * PITCH_MM), 0.001)
    beyond = bared.intersection(box(-1, 8 * PITCH_MM, 0.5, 12 * PITCH_MM)).area / (4 * PITCH_MM) - 0.5
    assert edge_shift(LINE, pitch_mm=PITCH_MM, s=s).along_mm == pytest.approx(beyond, abs=5e-4)


@pytest.mark.parametrize("s", [1.0, EDGE_S, 0.0])
@pytest.mark.parametrize("pitch_mm", [0.021, PITCH_MM, 0.1])
def test_shift_across_rows_is_what_is_bared_beyond_a_level_edge_on_average(s: float, pitch_mm: float) -> None:
    region = box(0, 0, 3, 8 * pitch_mm)
    rows = scan_rows(region, pitch_mm=pitch_mm, angle_deg=0.0)
    bared = bared_by_grid(rows, LINE, s, (1.4, -0.3, 1.5, 4 * pitch_mm), 0.001)
    beyond = -bared.bounds[1]
    assert edge_shift(LINE, pitch_mm=pitch_mm, s=s).across_mm == pytest.approx(beyond, abs=1.2e-3)


@pytest.mark.parametrize("angle_deg", [0.0, 90.0, 17.0])
def test_a_compensated_plate_is_bared_nearer_to_what_is_drawn(angle_deg: float) -> None:
    region = Point(0, 0).buffer(2).union(box(1, -0.4, 4, 0.4))

    def missed(one: shapely.Geometry) -> float:
        rows = scan_rows(one, pitch_mm=PITCH_MM, angle_deg=angle_deg)
        found = coverage(region, rows, LINE, clearing_s=EDGE_S, spill_s=EDGE_S)
        return found.left_over_mm2 + found.spill_mm2

    moved = compensated(region, LINE, pitch_mm=PITCH_MM, angle_deg=angle_deg)
    assert not moved.kept
    assert missed(moved.region) < 0.6 * missed(region)


def test_along_and_across_are_moved_apart() -> None:
    moved = compensated(box(0, 0, 3, 2), LINE, pitch_mm=PITCH_MM, angle_deg=0.0)
    x0, y0, x1, y1 = moved.region.bounds
    assert (x0, 3 - x1) == pytest.approx((moved.shift.along_mm,) * 2, abs=1e-4)
    assert (y0, 2 - y1) == pytest.approx((moved.shift.across_mm,) * 2, abs=1e-4)
    turned = compensated(box(0, 0, 3, 2), LINE, pitch_mm=PITCH_MM, angle_deg=90.0)
    assert turned.region.bounds[0] == pytest.approx(moved.shift.across_mm, abs=1e-4)


def test_what_would_vanish_is_kept_and_told() -> None:
    hair = box(3.5, 1, 8, 1.015)
    region = shapely.union_all([box(0, 0, 3.5, 2), hair])
    moved = compensated(region, LINE, pitch_mm=PITCH_MM, angle_deg=0.0)
    assert moved.shift.across_mm > 0.0075
    assert len(moved.kept) == 1
    assert moved.region.intersection(hair).area > 0.95 * hair.area
    assert moved.kept[0].within(hair.buffer(0.02))


def test_lines_that_bare_nothing_move_nothing() -> None:
    weak = ClearingLine(spot_mm=0.137, peak_j_mm2=0.01, clearing_dose_j_mm2=0.19)
    region = MultiPolygon([box(0, 0, 1, 1), box(2, 0, 2.01, 1)])
    assert compensated(region, weak, pitch_mm=0.05, angle_deg=0.0).region.equals(region)


@settings(max_examples=30, deadline=None)
@given(power=st.floats(0.15, 3.0), pitch=st.floats(0.01, 0.2), angle=st.floats(0, 180))
def test_a_plate_stays_whole_and_moves_by_no_more_than_a_spot(power: float, pitch: float, angle: float) -> None:
    line = replace(LINE, peak_j_mm2=power)
    moved = compensated(box(0, 0, 3, 2), line, pitch_mm=pitch, angle_deg=angle)
    assert moved.region.geom_type == "Polygon"
    assert moved.region.hausdorff_distance(box(0, 0, 3, 2)) <= np.hypot(2 * line.spot_mm, pitch + 2 * line.spot_mm)
