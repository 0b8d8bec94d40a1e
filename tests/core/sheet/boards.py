"""Scratched pieces and a footprint that the placing tests share, and the brute-force search they are held against."""

import numpy as np
import shapely

from core.sheet.ground import RIGHT_ANGLES_DEG, Footprint, PlacingOptions, Turned, ground_of, measured
from core.sheet.offcuts import sheet_region
from core.sheet.placement import Flaw, Sheet

HOLE = tuple((72 + 9 * np.cos(a), 30 + 9 * np.sin(a)) for a in np.linspace(0, 2 * np.pi, 24, endpoint=False))
ODD = (
    ((0.0, 0.0), (120.0, 6.0), (112.0, 70.0), (80.0, 78.0), (60.0, 62.0), (34.0, 80.0), (4.0, 66.0)),
    tuple((float(x), float(y)) for x, y in HOLE),
)


def scratched(outline=(), *, width_mm=120.0, height_mm=80.0, seed=0, count=14):
    """A sheet with scattered points, scratches and patches on both surfaces."""
    random = np.random.default_rng(seed)
    flaws = []
    for number in range(count):
        kind = ("point", "line", "patch")[number % 3]
        start = random.uniform((0, 0), (width_mm, height_mm))
        steps = {"point": [(0, 0)], "line": [(0, 0), random.uniform(-14, 14, 2)], "patch": [(0, 0), (5, 1), (3, 6)]}
        points = tuple((float(x), float(y)) for x, y in start + np.array(steps[kind], float))
        flaws.append(
            Flaw(
                kind=kind,
                points=points,
                width_mm=0.8,
                surface=("coat", "clear face")[number // 3 % 2],
                noted_from=("front", "back")[number % 2],
            )
        )
    return Sheet(width_mm=width_mm, height_mm=height_mm, thickness_mm=3.0, outline=outline, flaws=tuple(flaws))


def l_plate():
    """An L-shaped plate with a hole and two fills: no symmetry at all."""
    plate = shapely.Polygon([(0, 0), (42, 0), (42, 13), (15, 13), (15, 27), (0, 27)])
    finished = plate.difference(shapely.Point(7, 20).buffer(3))
    cleared = shapely.union(shapely.box(18, 3, 39, 10), shapely.box(3, 2, 12, 14))
    return Footprint(burned=plate.buffer(0.1, join_style="mitre"), finished=finished, cleared=cleared)


def brute_force(footprint, sheet, options=None, *, step_mm=1.0):
    """The best of all places on a grid from the sheet's top left corner, each measured with exact regions."""
    options = options or PlacingOptions()
    ground = ground_of(sheet, options)
    x0, y0, x1, y1 = sheet_region(sheet).bounds
    best = None
    for angle_deg in RIGHT_ANGLES_DEG:
        turned = Turned(footprint, angle_deg)
        u0, v0, u1, v1 = turned.bounds
        for y in np.arange(y0 - v0, y1 - v1 + 1e-9, step_mm):
            for x in np.arange(x0 - u0, x1 - u1 + 1e-9, step_mm):
                there = measured(ground, turned, float(x), float(y))
                if there is not None and (best is None or there.rank < best.rank):
                    best = there
    return best
