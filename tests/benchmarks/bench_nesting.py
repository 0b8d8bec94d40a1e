"""Nesting in a strip beside a strip solver (spyrrow) on one thread, both for the same processor time.

Densities are compared. The solver counts time on the clock: it is given as much longer as the machine is busy, and ours
then as much processor time as the solver had.
"""

import time
from collections.abc import Iterable, Sequence

import numpy as np
import shapely

from core.sheet.copies import Wanted, nested
from tests.benchmarks import Line, timed
from tests.references.tilings import instances

_SOLVER_S = 10
_SPIN_S = 0.5

try:
    import spyrrow
except ImportError:
    spyrrow = None


def run() -> Iterable[Line]:
    """Density: what the shapes take of the part that one straight cut parts off the strip."""
    for name, wanted, height_mm in sets():
        yield line(name, wanted, height_mm)
    yield _plates()


def line(name: str, wanted: Sequence[Wanted], height_mm: float) -> Line:
    area_mm2 = sum(one.count * one.shape.area for one in wanted)
    room = shapely.box(0, 0, 2 * area_mm2 / height_mm, height_mm)
    theirs = None
    if spyrrow is not None:
        clock_s = _SOLVER_S / _processor_share()
        theirs = timed(lambda: _strip(wanted, height_mm, round(clock_s)), clock=time.process_time)
    budget_s = _SOLVER_S if theirs is None else theirs.time_s
    ours = timed(lambda: nested(room, wanted, spacing_mm=0.0, time_s=budget_s), clock=time.process_time)
    note = f"density {area_mm2 / ours.result.strip_mm2:.3f}, left over {ours.result.left_over}"
    if theirs is not None:
        note = f"{note}; strip solver {area_mm2 / height_mm / theirs.result:.3f}"
    return Line(
        name=f"nesting, {name}",
        time_s=ours.time_s,
        reference="strip solver",
        reference_s=None if theirs is None else theirs.time_s,
        peak_mib=ours.peak_mib,
        note=note,
    )


def _plates() -> Line:
    plate = shapely.box(0, 0, 60, 20).buffer(-4).buffer(4)
    plate = plate.difference(shapely.MultiPoint([(5, 10), (55, 10)]).buffer(1.5))
    wanted = [Wanted(name="plate", shape=plate, count=200)]
    ours = timed(lambda: nested(shapely.box(0, 0, 900, 600), wanted), clock=time.process_time)
    return Line(
        name="nesting, 200 copies of a name plate",
        time_s=ours.time_s,
        reference="2 s",
        reference_s=2.0,
        at_least=1.0,
        note=f"density of the box {ours.result.density:.3f}, left over {ours.result.left_over}",
    )


def _processor_share() -> float:
    """How much of a processor this thread is given at the moment."""
    clock_s, own_s = time.perf_counter(), time.thread_time()
    while time.thread_time() - own_s < _SPIN_S:
        pass
    return min(1.0, _SPIN_S / (time.perf_counter() - clock_s))


def sets() -> Iterable[tuple[str, list[Wanted], float]]:
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


def _strip(wanted: Sequence[Wanted], height_mm: float, clock_s: int) -> float:
    """The length that the strip solver needs."""
    items = [spyrrow.Item(one.name, list(one.shape.exterior.coords), one.count, list(one.angles_deg)) for one in wanted]
    instance = spyrrow.StripPackingInstance("strip", height_mm, items)
    config = spyrrow.StripPackingConfig(total_computation_time=clock_s, num_workers=1, seed=1)
    return float(instance.solve(config).width)
