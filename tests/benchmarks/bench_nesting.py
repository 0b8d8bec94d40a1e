"""Nesting in a strip, where a strip solver (spyrrow) is the reference; it is given its time, the densities compared."""

from collections.abc import Iterable, Sequence

import shapely

from core.sheet.copies import Wanted, nested
from tests.benchmarks import Line, timed
from tests.references.tilings import instances

_SOLVER_S = 10

try:
    import spyrrow
except ImportError:
    spyrrow = None


def run() -> Iterable[Line]:
    """Density in a strip: what the shapes take of the strip's height times the length that is used."""
    for name, wanted, height_mm, length_mm in (*instances(), *_signs()):
        area_mm2 = sum(one.count * one.shape.area for one in wanted)
        room = shapely.box(0, 0, 4 * length_mm, height_mm)
        ours = timed(lambda room=room, wanted=wanted: nested(room, wanted, spacing_mm=0.0, cell_mm=0.5))
        note = f"density {area_mm2 / height_mm / ours.result.width_mm:.3f}, left over {ours.result.left_over}"
        theirs_s = None
        if spyrrow is not None:
            theirs = timed(lambda wanted=wanted, height_mm=height_mm: _strip(wanted, height_mm))
            theirs_s, note = theirs.time_s, f"{note}; strip solver {area_mm2 / height_mm / theirs.result:.3f}"
        yield Line(
            name=f"nesting, {name}",
            time_s=ours.time_s,
            reference="strip solver",
            reference_s=theirs_s,
            peak_mib=ours.peak_mib,
            note=note,
        )


def _signs() -> Iterable[tuple[str, list[Wanted], float, float]]:
    l_shape = shapely.Polygon([(0, 0), (30, 0), (30, 10), (10, 10), (10, 30), (0, 30)])
    arch = shapely.union(shapely.Point(20, 20).buffer(20), shapely.box(0, 20, 40, 60))
    ring = shapely.Point(0, 0).buffer(25).difference(shapely.Point(0, 0).buffer(15))
    yield "24 angles", [Wanted(name="angle", shape=l_shape, count=24)], 120.0, 140.0
    yield "12 arched tags", [Wanted(name="arch", shape=arch, count=12)], 130.0, 300.0
    dot = Wanted(name="dot", shape=shapely.Point(0, 0).buffer(14), count=8)
    yield "8 rings and 8 discs that fit in them", [Wanted(name="ring", shape=ring, count=8), dot], 110.0, 250.0


def _strip(wanted: Sequence[Wanted], height_mm: float) -> float:
    """The length that the strip solver needs."""
    items = [spyrrow.Item(one.name, list(one.shape.exterior.coords), one.count, list(one.angles_deg)) for one in wanted]
    instance = spyrrow.StripPackingInstance("strip", height_mm, items)
    config = spyrrow.StripPackingConfig(total_computation_time=_SOLVER_S, num_workers=2, seed=1)
    return float(instance.solve(config).width)
