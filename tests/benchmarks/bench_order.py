"""Line order; the references are nearest neighbour by plain search over all lines left, and a general solver."""

import math
from collections.abc import Iterable

import numpy as np

from core.burning.line_order import ordered_paths
from core.geometry.path import Path, ellipse, polyline
from tests.benchmarks import Line, timed
from tests.benchmarks.routing import Point, solver_jumps_mm
from tests.core.burning.jumps import jumps_mm

_SOLVER_S = 60


def run() -> Iterable[Line]:
    for count in (2_000, 20_000):
        paths = _letters(count)
        ours = timed(lambda paths=paths: ordered_paths(paths))
        plain = timed(lambda paths=paths: _nearest_by_search(paths))
        short = 0.7124 * math.sqrt(count / 2 * 600 * 300)
        yield Line(
            name=f"line order, {count:,} outlines, half of them inner",
            time_s=ours.time_s,
            reference="nearest neighbour by search, outlines unordered",
            reference_s=plain.time_s,
            peak_mib=ours.peak_mib,
            note=f"jumps {jumps_mm(ours.result, (0, 0)) / 1000:.1f} m, plain {plain.result / 1000:.1f} m, "
            f"given {jumps_mm(paths, (0, 0)) / 1000:.1f} m, a short way past all {short / 1000:.1f} m",
        )

    yield from _against_a_solver()


def _against_a_solver() -> Iterable[Line]:
    """Jumps beside OR-tools' routing (guided local search); wanted: at most 3 % longer, 6 % for clusters."""
    for count, clusters in ((50, 0), (200, 0), (500, 0), (1000, 0), (300, 20), (1000, 20)):
        lines = _lines(count, clusters)
        paths = [polyline(np.array(line)) for line in lines]
        ours = timed(lambda paths=paths: ordered_paths(paths))
        jumps = jumps_mm(ours.result, (0, 0))
        try:
            solver_mm = solver_jumps_mm(lines, (0.0, 0.0), time_s=_SOLVER_S)
            note = f"jumps {jumps:.0f} mm, solver {solver_mm:.0f} mm: {100 * (jumps / solver_mm - 1):+.1f} %"
        except ImportError:
            note = f"jumps {jumps:.0f} mm; no solver installed"
        yield Line(
            name=f"line order, {count:,} lines {'in clusters' if clusters else 'scattered'}",
            time_s=ours.time_s,
            reference="OR-tools' routing",
            reference_s=float(_SOLVER_S),
            peak_mib=ours.peak_mib,
            note=note,
        )


def _lines(count: int, clusters: int) -> list[tuple[Point, Point]]:
    """Lines of 2 to 15 mm over a sheet of 400 x 300 mm."""
    random = np.random.default_rng(count + clusters)
    middles = random.uniform(0, 1, (count, 2)) * [400, 300]
    if clusters:
        centres = random.uniform(0, 1, (clusters, 2)) * [400, 300]
        middles = centres[random.integers(0, clusters, count)] + random.normal(0, 6, (count, 2))
    angles, halves = random.uniform(0, 2 * np.pi, count), random.uniform(1, 7.5, count)
    reach = np.column_stack([np.cos(angles) * halves, np.sin(angles) * halves])
    return [(tuple(a), tuple(b)) for a, b in zip((middles - reach).tolist(), (middles + reach).tolist(), strict=True)]


def _letters(count: int) -> list[Path]:
    places = np.random.default_rng(2).uniform(0, 1, (count // 2, 2)) * [600, 300]
    return [ellipse((x, y), r, r) for x, y in places.tolist() for r in (1.2, 0.5)]


def _nearest_by_search(paths: list[Path]) -> float:
    begins = np.array([path.start_points[0] for path in paths])
    left, here, total = np.ones(len(paths), bool), np.zeros(2), 0.0
    for _ in paths:
        gaps = np.where(left, np.hypot(*(begins - here).T), np.inf)
        chosen = int(np.argmin(gaps))
        total += float(gaps[chosen])
        left[chosen], here = False, begins[chosen]
    return total
