"""Coverage of a large sheet; the reference is GEOS uniting the spans, each drawn as the contour of its own dose.

The reference would take hours on the whole, so it runs on a part of the same spans: a lower bound of its time, since
its union grows faster than the number of spans. It knows single hits only; the careful figures also count what all
hits together would spill. Processor time of both, so that a busy machine tells nearly the same.
"""

import time
from collections.abc import Callable, Iterable

from shapely.geometry import MultiPolygon, box

from core.burning.coverage import coverage
from core.burning.dose import ClearingLine
from core.burning.scan_rows import scan_rows
from tests.benchmarks import Line, Result, Timing, timed
from tests.benchmarks.regions import many_circles, wavy_blobs
from tests.references.moved_spans import areas_by_geos_mm2

PITCH_MM = 25.4 / 600
LINE = ClearingLine(spot_mm=0.137, peak_j_mm2=0.2912, clearing_dose_j_mm2=0.19)


def _timed(work: Callable[[], Result], *, repeats: int = 1) -> Timing[Result]:
    return timed(work, repeats=repeats, clock=time.process_time)


def run() -> Iterable[Line]:
    for name, region in (("100,000 edges in circles", many_circles()), ("100,000 edges in blobs", wavy_blobs())):
        for angle_deg in (0.0, 37.0):
            rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=angle_deg)
            ours = _timed(lambda region=region, rows=rows: coverage(region, rows, LINE))
            yield Line(
                name=f"coverage, {name}, 600 LPI, {angle_deg:g} deg",
                time_s=ours.time_s,
                peak_mib=ours.peak_mib,
                note=f"{len(rows):,} spans",
            )
    yield from _against_geos(many_circles(columns=16, rows=6), "circles")
    yield from _against_geos(wavy_blobs(columns=4, rows=4), "blobs")
    finer = scan_rows(many_circles(), pitch_mm=PITCH_MM / 2, angle_deg=0.0)
    ours = _timed(lambda: coverage(many_circles(), finer, LINE))
    yield Line(
        name="coverage, 100,000 edges in circles, 1200 LPI",
        time_s=ours.time_s,
        peak_mib=ours.peak_mib,
        note=f"{len(finer):,} spans",
    )
    stripes = MultiPolygon([box(0, 0.3 * j, 600, 0.3 * j + 0.2) for j in range(1000)])
    rows = scan_rows(stripes, pitch_mm=PITCH_MM, angle_deg=0.0)
    ours = _timed(lambda: coverage(stripes, rows, LINE))
    yield Line(name="coverage, 1,000 stripes 600 mm long", time_s=ours.time_s, peak_mib=ours.peak_mib)


def _against_geos(region: MultiPolygon, what: str) -> Iterable[Line]:
    rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=0.0)
    geos = _timed(lambda: areas_by_geos_mm2(region, rows, LINE, points=16))
    left_over, spill = geos.result
    for name, spill_s in (("single hits", 1.0), ("careful", 0.0)):
        ours = _timed(lambda spill_s=spill_s: coverage(region, rows, LINE, spill_s=spill_s), repeats=2)
        assert abs(ours.result.left_over_mm2 - left_over) <= max(0.02 * left_over, 1e-3 * region.area)
        if spill_s == 1.0:
            assert abs(ours.result.spill_mm2 - spill) <= max(0.02 * spill, 1e-3 * region.area)
        yield Line(
            name=f"coverage, {len(region.geoms)} {what}, {len(rows):,} spans, {name}",
            time_s=ours.time_s,
            reference="GEOS union of the same moved spans",
            reference_s=geos.time_s,
            peak_mib=ours.peak_mib,
            at_least=40.0,
        )
