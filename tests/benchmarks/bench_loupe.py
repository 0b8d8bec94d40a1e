"""The loupe on a large sheet; the reference is GEOS testing each sample against the buffered spans in view."""

from collections.abc import Iterable
from dataclasses import replace
from functools import partial

import numpy as np
import shapely

from core.burning.loupe import FillLoupe, fill_loupe, look
from core.burning.machines import CO2_FLATBED
from core.burning.scan_rows import scan_rows, spans_in_window
from core.sheet.stock import MIRRORED_ACRYLIC_3
from tests.benchmarks import Line, timed
from tests.benchmarks.regions import many_circles

SCREEN_MM_PER_SAMPLE = 25.4 / 96
SAMPLES = 240


def run() -> Iterable[Line]:
    region = many_circles()
    for angle_deg in (0.0, 37.0):
        yield from _lines(region, angle_deg)


def _lines(region: shapely.MultiPolygon, angle_deg: float) -> Iterable[Line]:
    recipe = replace(MIRRORED_ACRYLIC_3.fill, scan_angle_deg=angle_deg)
    rows = scan_rows(region, pitch_mm=recipe.pitch_mm, angle_deg=angle_deg)
    made = timed(lambda: fill_loupe(region, rows, recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3), repeats=3)
    yield Line(name=f"loupe, made ready, 100,000 edges, 600 LPI, {angle_deg:g} deg", time_s=made.time_s)
    for magnification in (10, 50, 200):
        size = SAMPLES * SCREEN_MM_PER_SAMPLE / magnification
        windows = [(x, y, x + size, y + size) for x, y in _edge_places(region)]
        times = [timed(partial(look, [made.result], window), repeats=5) for window in windows]
        worst = max(times, key=lambda timing: timing.time_s)
        yield Line(
            name=f"loupe, {magnification} times, worst of {len(windows)} places, {angle_deg:g} deg",
            time_s=worst.time_s,
            peak_mib=worst.peak_mib,
            reference="GEOS, cleared or not only",
            reference_s=timed(partial(_by_geos, made.result, windows[0]), repeats=3).time_s,
            note="30 ms wanted",
        )


def _edge_places(region: shapely.MultiPolygon) -> list[tuple[float, float]]:
    points = shapely.get_coordinates(region)
    return [tuple(point) for point in points[:: len(points) // 12].tolist()]


def _by_geos(fill: FillLoupe, window: tuple[float, float, float, float]) -> np.ndarray:
    x0, y0, x1, y1 = window
    half = fill.cleared_width_mm / 2
    spans = spans_in_window(fill.rows, x0_mm=x0 - half, y0_mm=y0 - half, x1_mm=x1 + half, y1_mm=y1 + half)
    cleared = shapely.union_all(shapely.buffer(shapely.linestrings(spans.reshape(-1, 2, 2)), half))
    step = (x1 - x0) / SAMPLES
    x, y = np.meshgrid(x0 + (np.arange(SAMPLES) + 0.5) * step, y0 + (np.arange(SAMPLES) + 0.5) * step)
    shapely.prepare(cleared)
    return shapely.contains_xy(cleared, x, y)
