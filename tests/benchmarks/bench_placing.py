"""Placing on a scratched sheet at 0.25 mm; the reference measures every place of a 4 mm grid with exact regions."""

from collections.abc import Iterable

import numpy as np
import shapely

from core.sheet.ground import Footprint
from core.sheet.offcuts import outline_of
from core.sheet.placement import Sheet
from core.sheet.placing import place
from tests.benchmarks import Line, timed
from tests.core.sheet.boards import brute_force, l_plate, scratched

_STEP_MM = 4.0


def run() -> Iterable[Line]:
    plain = scratched(width_mm=600.0, height_mm=300.0, seed=3, count=20)
    for name, sheet in (("600 x 300 mm", plain), ("600 x 300 mm, odd outline with a hole", _odd(plain))):
        for what, footprint in (("a plate of 42 x 27 mm", l_plate()), ("a sign of 240 x 130 mm", _sign())):
            ours = timed(lambda sheet=sheet, footprint=footprint: place(footprint, sheet), repeats=3)
            grid = timed(lambda sheet=sheet, footprint=footprint: brute_force(footprint, sheet, step_mm=_STEP_MM))
            found, best = ours.result, grid.result
            yield Line(
                name=f"placing {what} on {name}, 20 flaws",
                time_s=ours.time_s,
                reference=f"all places of a {_STEP_MM:g} mm grid, 1/256 of ours",
                reference_s=grid.time_s,
                peak_mib=ours.peak_mib,
                note=f"shows {found.shown_mm2:.2f} mm² (grid {best.shown_mm2:.2f}), "
                f"rest {found.rest_mm2 / 100:.0f} cm² (grid {best.rest_mm2 / 100:.0f})",
            )


def _odd(sheet: Sheet) -> Sheet:
    outline = shapely.Polygon([(0, 10), (400, 0), (600, 60), (590, 300), (420, 270), (300, 300), (0, 280)])
    outline = outline.difference(shapely.Point(380, 120).buffer(25))
    return Sheet(width_mm=600.0, height_mm=300.0, thickness_mm=3.0, outline=outline_of(outline), flaws=sheet.flaws)


def _sign() -> Footprint:
    """An oval plate with 40 round fills."""
    oval = shapely.affinity.scale(shapely.Point(0, 0).buffer(1, quad_segs=64), 120, 65)
    places = np.random.default_rng(4).uniform((-75, -38), (75, 38), (40, 2))
    cleared = shapely.union_all(shapely.buffer(shapely.points(places), 6.0))
    return Footprint(burned=oval.buffer(0.075), finished=oval, cleared=cleared)
