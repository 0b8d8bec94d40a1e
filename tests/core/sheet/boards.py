"""Scratched pieces and a footprint that the placing tests share, and the brute-force search they are held against."""

import numpy as np
import shapely

from core.sheet.ground import RIGHT_ANGLES_DEG, Footprint, Placed, PlacingOptions, Turned, ground_of
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
    """The best of all places on a grid from the sheet's top left corner, each measured with exact regions (GEOS)."""
    ground = ground_of(sheet, options or PlacingOptions())
    x0, y0, x1, y1 = sheet_region(sheet).bounds
    places = []
    for angle_deg in RIGHT_ANGLES_DEG:
        turned = Turned(footprint, angle_deg)
        u0, v0, u1, v1 = turned.bounds
        xs, ys = np.arange(x0 - u0, x1 - u1 + 1e-9, step_mm), np.arange(y0 - v0, y1 - v1 + 1e-9, step_mm)
        at = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
        burned = _moved(turned.burned, at)
        at = at[np.any([shapely.contains(room, burned) for room in ground.grown], axis=0)]
        shown_mm2 = np.zeros(len(at))
        for flaws, hidden in ((ground.coat_flaws, turned.cleared), (ground.face_flaws, shapely.Polygon())):
            for flaw in flaws:
                seen = shapely.intersection(_moved(flaw, -at), turned.finished)
                shown_mm2 += shapely.area(shapely.difference(seen, hidden))
        x, y = at.T
        rest_mm2 = np.maximum(ground.rest.across(u0 + x, u1 + x), ground.rest.down(v0 + y, v1 + y))
        places += [
            Placed(x_mm=x, y_mm=y, rotation_deg=angle_deg, shown_mm2=shown, rest_mm2=rest)
            for (x, y), shown, rest in zip(at.tolist(), shown_mm2.tolist(), rest_mm2.tolist(), strict=True)
        ]
    return min(places, key=lambda placed: placed.rank)


def _moved(polygon, offsets):
    """The polygon put at each offset (n, 2)."""
    shell, *holes = [shapely.get_coordinates(ring)[None] + offsets[:, None] for ring in shapely.get_rings(polygon)]
    if not holes:
        return shapely.polygons(shell)
    return shapely.polygons(shapely.linearrings(shell), np.stack([shapely.linearrings(hole) for hole in holes], axis=1))
