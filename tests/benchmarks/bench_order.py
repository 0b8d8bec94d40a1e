"""Line order; the reference is nearest neighbour by plain search over all lines left."""

import math
from collections.abc import Iterable

import numpy as np

from core.burning.line_order import jumps_mm, ordered_paths
from core.geometry.path import Path, ellipse
from tests.benchmarks import Line, timed


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
