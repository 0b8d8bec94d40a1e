"""Nesting in a strip beside a strip solver (spyrrow) on one thread, both for the same time; densities are compared.

Ours counts processor time, the solver time on the clock: on a busy machine the solver gets less.
"""

from collections.abc import Iterable, Sequence

import numpy as np
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
    """Density: what the shapes take of the part that one straight cut parts off the strip."""
    for name, wanted, height_mm in _sets():
        area_mm2 = sum(one.count * one.shape.area for one in wanted)
        room = shapely.box(0, 0, 2 * area_mm2 / height_mm, height_mm)
        ours = timed(lambda room=room, wanted=wanted: nested(room, wanted, spacing_mm=0.0, time_s=_SOLVER_S))
        note = f"density {area_mm2 / ours.result.strip_mm2:.3f}, left over {ours.result.left_over}"
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


def _sets() -> Iterable[tuple[str, list[Wanted], float]]:
    """Name, shapes, height of the strip."""
    random = np.random.default_rng(7)
    yield "25 concave shapes, all different", [_alone(n, _concave(random)) for n in range(25)], 150.0
    triangles = [shapely.Polygon(random.uniform(0, 40, (3, 2))) for _ in range(30)]
    yield "30 triangles, all different", [_alone(n, shape) for n, shape in enumerate(triangles)], 120.0
    discs = [shapely.Point(0, 0).buffer(radius, quad_segs=8) for radius in random.uniform(5, 18, 20)]
    yield "20 discs, all different", [_alone(n, shape) for n, shape in enumerate(discs)], 100.0
    for name, wanted, height_mm, _ in (*instances(), *_signs()):
        yield name, wanted, height_mm
    yield "100 discs", [Wanted(name="disc", shape=shapely.Point(0, 0).buffer(10, quad_segs=16), count=100)], 200.0


def _alone(number: int, shape: shapely.Polygon) -> Wanted:
    return Wanted(name=str(number), shape=shape)


def _concave(random: np.random.Generator) -> shapely.Polygon:
    """A star of six to nine corners, long and short in turn."""
    while True:
        angles = np.sort(random.uniform(0, 2 * np.pi, random.integers(6, 10)))
        even = np.arange(len(angles)) % 2 == 0
        reach = np.where(even, random.uniform(14, 24, len(angles)), random.uniform(5, 13, len(angles)))
        shape = shapely.Polygon(np.column_stack([np.cos(angles) * reach, np.sin(angles) * reach]))
        if shape.is_valid:
            return shape


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
    config = spyrrow.StripPackingConfig(total_computation_time=_SOLVER_S, num_workers=1, seed=1)
    return float(instance.solve(config).width)
