"""Run time of many lines and rows; the reference is the same look-ahead as a plain loop over segments."""

import math
from collections.abc import Iterable

import numpy as np

from core.burning.machines import CO2_FLATBED
from core.burning.motion import corner_speed_mm_s
from core.burning.run_time import fill_time_s, lines_time_s
from core.burning.scan_rows import scan_rows
from core.geometry.path import polyline
from core.sheet.recipes import Recipe
from tests.benchmarks import Line, timed
from tests.benchmarks.regions import many_circles

CUT = Recipe(speed_mm_s=60.0, power_pct=75.0)
FILL = Recipe(speed_mm_s=800.0, power_pct=20.0)


def run() -> Iterable[Line]:
    random = np.random.default_rng(4)
    points = np.cumsum(random.normal(0, 1.5, (100_001, 2)), axis=0)
    path = polyline(points)
    ours = timed(lambda: lines_time_s([path], CUT, CO2_FLATBED, start_mm=tuple(points[0].tolist())), repeats=3)
    plain = timed(lambda: _plain_loop_s(points))
    assert math.isclose(ours.result, plain.result, rel_tol=1e-6)
    yield Line(
        name="run time, 100,000 segments",
        time_s=ours.time_s,
        reference="plain loop over segments",
        reference_s=plain.time_s,
        peak_mib=ours.peak_mib,
        note=f"{ours.result:,.0f} s of burning",
    )
    rows = scan_rows(many_circles(), pitch_mm=FILL.pitch_mm, angle_deg=0.0)
    filled = timed(lambda: fill_time_s(rows, FILL, CO2_FLATBED), repeats=3)
    yield Line(
        name=f"run time, {len(rows):,} spans in {len(rows.row_y_mm):,} rows",
        time_s=filled.time_s,
        peak_mib=filled.peak_mib,
        note=f"{filled.result:,.0f} s of burning",
    )


def _plain_loop_s(points: np.ndarray) -> float:
    legs = np.diff(points, axis=0)
    lengths = np.hypot(*legs.T)
    units = legs / lengths[:, None]
    turns = np.arccos(np.clip((units[1:] * units[:-1]).sum(1), -1, 1))
    a, v = CO2_FLATBED.line_acceleration_mm_s2, CUT.speed_mm_s
    corners = corner_speed_mm_s(turns, deviation_mm=CO2_FLATBED.corner_deviation_mm, acceleration_mm_s2=a)
    speeds = [0.0, *np.minimum(corners, v).tolist(), 0.0]
    lengths = lengths.tolist()
    for i, length in enumerate(lengths):
        speeds[i + 1] = min(speeds[i + 1], math.sqrt(speeds[i] ** 2 + 2 * a * length))
    for i in range(len(lengths) - 1, -1, -1):
        speeds[i] = min(speeds[i], math.sqrt(speeds[i + 1] ** 2 + 2 * a * lengths[i]))
    total = 0.0
    for i, h in enumerate(lengths):
        v0, v1 = speeds[i], speeds[i + 1]
        ramps = (2 * v * v - v0 * v0 - v1 * v1) / (2 * a)
        if ramps <= h:
            total += (2 * v - v0 - v1) / a + (h - ramps) / v
        else:
            total += (2 * math.sqrt((2 * a * h + v0 * v0 + v1 * v1) / 2) - v0 - v1) / a
    return total
