"""Scan rows of a large sheet; the reference is GEOS intersecting each row with the region."""

from collections.abc import Iterable

import shapely

from core.burning.scan_rows import scan_rows
from tests.benchmarks import Line, timed
from tests.benchmarks.regions import many_circles

PITCH_MM = 25.4 / 600


def run() -> Iterable[Line]:
    region = many_circles()
    for angle_deg in (0.0, 37.0):
        ours = timed(lambda angle_deg=angle_deg: scan_rows(region, pitch_mm=PITCH_MM, angle_deg=angle_deg))
        yield Line(
            name=f"rows, 100,000 edges, 600 x 300 mm, 600 LPI, {angle_deg:g} deg",
            time_s=ours.time_s,
            peak_mib=ours.peak_mib,
            note=f"{len(ours.result):,} spans",
        )
    rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=0.0)
    sample = rows.row_y_mm[:: len(rows.row_y_mm) // 50]
    left, _, right, _ = region.bounds
    lines = shapely.linestrings([[(left - 1, y), (right + 1, y)] for y in sample])
    geos = timed(lambda: shapely.intersection(lines, region))
    yield Line(
        name="rows, same region, 0 deg",
        time_s=timed(lambda: scan_rows(region, pitch_mm=PITCH_MM, angle_deg=0.0)).time_s,
        reference="GEOS row by row, scaled up from a sample",
        reference_s=geos.time_s * len(rows.row_y_mm) / len(sample),
    )
