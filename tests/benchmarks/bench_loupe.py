"""The loupe on a large sheet; the reference is GEOS testing each sample against the buffered spans in view."""

from collections.abc import Iterable
from dataclasses import replace
from functools import partial

import numpy as np
import shapely

from core.burning.loupe import FillLoupe, fill_loupe, look
from core.burning.machines import CO2_FLATBED
from core.burning.scan_rows import ScanRows, scan_rows
from core.geometry.affine import apply
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
    spans = _spans_in_window(fill.rows, x0_mm=x0 - half, y0_mm=y0 - half, x1_mm=x1 + half, y1_mm=y1 + half)
    cleared = shapely.union_all(shapely.buffer(shapely.linestrings(spans.reshape(-1, 2, 2)), half))
    step = (x1 - x0) / SAMPLES
    x, y = np.meshgrid(x0 + (np.arange(SAMPLES) + 0.5) * step, y0 + (np.arange(SAMPLES) + 0.5) * step)
    shapely.prepare(cleared)
    return shapely.contains_xy(cleared, x, y)


def _spans_in_window(rows: ScanRows, *, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float) -> np.ndarray:
    """Spans that may show in a window of the bed frame, as bed-frame segments (m, 4): x0 y0 x1 y1.

    Rows are found by binary search, so the cost is that of the rows in view.
    """
    corners = np.array([[x0_mm, y0_mm], [x1_mm, y0_mm], [x1_mm, y1_mm], [x0_mm, y1_mm]])
    seen = apply(rows.from_bed, corners)
    (left, top), (right, bottom) = seen.min(0), seen.max(0)
    row_a, row_b = np.searchsorted(rows.row_y_mm, [top, bottom], side="left")
    part = slice(rows.row_starts[row_a], rows.row_starts[row_b])
    index, x0, x1 = rows.row_index[part], rows.x0_mm[part], rows.x1_mm[part]
    near = (x1 >= left) & (x0 <= right)
    y = rows.row_y_mm[index[near]]
    ends = np.stack([x0[near], y, x1[near], y], axis=-1).reshape(-1, 2)
    return apply(rows.to_bed, ends).reshape(-1, 4)
