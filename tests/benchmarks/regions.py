"""Large regions for the benchmarks, drawn by rule."""

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Point, Polygon


def many_circles(columns: int = 70, rows: int = 36, *, pitch_mm: float = 8.3, quad_segs: int = 10) -> MultiPolygon:
    """A grid of circles over 600 x 300 mm: 2520 of them with 40 edges each are 100,800 edges."""
    return MultiPolygon(
        [
            Point(5 + column * pitch_mm, 5 + row * pitch_mm).buffer(3.5, quad_segs=quad_segs)
            for column in range(columns)
            for row in range(rows)
        ]
    )


def wavy_blobs(columns: int = 20, rows: int = 10, *, edges: int = 500, seed: int = 1) -> MultiPolygon:
    """A grid of blobs with irregular, fine outlines over 600 x 300 mm: 100,000 short edges."""
    random = np.random.default_rng(seed)
    turn = np.linspace(0, 2 * np.pi, edges, endpoint=False)
    blobs = []
    for column in range(columns):
        for row in range(rows):
            waves = np.arange(2, 40)
            size = random.normal(size=len(waves)) / waves
            phase = random.uniform(0, 2 * np.pi, len(waves))
            radius = 11 * (1 + 0.12 * (size[:, None] * np.cos(waves[:, None] * turn + phase[:, None])).sum(0))
            centre = np.array([15 + 30 * column, 15 + 30 * row])
            blobs.append(Polygon(centre + radius[:, None] * np.column_stack([np.cos(turn), np.sin(turn)])))
    return MultiPolygon([blob for blob in blobs if shapely.is_valid(blob)])
