"""Coverage of a large sheet; the reference is GEOS buffering each span and uniting all.

The reference would take hours on the whole, so it runs on a part of the same spans: a lower bound of its time, since
its union grows faster than the number of spans.
"""

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, box

from core.burning.coverage import coverage
from core.burning.scan_rows import ScanRows, scan_rows
from tests.benchmarks import Line, timed
from tests.benchmarks.regions import many_circles, wavy_blobs

PITCH_MM = 25.4 / 600
WIDTH_MM = 0.0633


def run() -> Iterable[Line]:
    for name, region in (("100,000 edges in circles", many_circles()), ("100,000 edges in blobs", wavy_blobs())):
        for angle_deg in (0.0, 37.0):
            rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=angle_deg)
            ours = timed(lambda region=region, rows=rows: coverage(region, rows, cleared_width_mm=WIDTH_MM))
            yield Line(
                name=f"coverage, {name}, 600 LPI, {angle_deg:g} deg",
                time_s=ours.time_s,
                peak_mib=ours.peak_mib,
                note=f"{len(rows):,} spans",
            )
    yield from _against_geos(many_circles(columns=16, rows=6))
    finer = scan_rows(many_circles(), pitch_mm=PITCH_MM / 2, angle_deg=0.0)
    ours = timed(lambda: coverage(many_circles(), finer, cleared_width_mm=WIDTH_MM))
    yield Line(
        name="coverage, 100,000 edges in circles, 1200 LPI",
        time_s=ours.time_s,
        peak_mib=ours.peak_mib,
        note=f"{len(finer):,} spans",
    )
    stripes = MultiPolygon([box(0, 0.3 * j, 600, 0.3 * j + 0.2) for j in range(1000)])
    rows = scan_rows(stripes, pitch_mm=PITCH_MM, angle_deg=0.0)
    ours = timed(lambda: coverage(stripes, rows, cleared_width_mm=WIDTH_MM))
    yield Line(name="coverage, 1,000 stripes 600 mm long", time_s=ours.time_s, peak_mib=ours.peak_mib)


def _against_geos(region: MultiPolygon) -> Iterable[Line]:
    rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=0.0)
    ours = timed(lambda: coverage(region, rows, cleared_width_mm=WIDTH_MM), repeats=2)
    geos = timed(lambda: _geos(region, rows))
    left_over, spill = geos.result
    assert abs(ours.result.left_over_mm2 - left_over) <= max(0.01 * left_over, 1e-4 * region.area)
    assert abs(ours.result.spill_mm2 - spill) <= max(0.01 * spill, 1e-4 * region.area)
    yield Line(
        name=f"coverage, {len(region.geoms)} circles, {len(rows):,} spans",
        time_s=ours.time_s,
        reference="GEOS buffer + union of the same spans",
        reference_s=geos.time_s,
        peak_mib=ours.peak_mib,
    )


def _geos(region: MultiPolygon, rows: ScanRows) -> tuple[float, float]:
    y = rows.row_y_mm[rows.row_index]
    spans = shapely.linestrings(np.stack([rows.x0_mm, y, rows.x1_mm, y], -1).reshape(-1, 2, 2))
    cleared = shapely.union_all(shapely.buffer(spans, WIDTH_MM / 2, quad_segs=16))
    return region.difference(cleared).area, cleared.difference(region).area
