"""The plane engine: rings resolved by a fill rule, regions united, taken out of each other, offset. mm in, mm out.

The only module that knows ``manifold3d``, whose CrossSection is Clipper2's sweep over whole numbers (B. R. Vatti, A
generic solution to polygon clipping, 1992; A. Johnson, Clipper2): it works in units of 1e-8 mm. Vertices go in rounded
to ``GRID_MM``, so that what nearly coincides coincides, and crossings come out rounded to the engine's unit. A region's
area is then right to ``GRID_MM`` times the length of its rings. Coordinates beyond ``REACH_MM`` are scaled into it, and
both grids with them.

What the engine does not bound is bounded here: numbers that are none, crossings, and edges that lie side by side under
its sweep (its time grows with their number summed over all heights where an edge begins). It keeps the interpreter
lock while it works, so its jobs are kept small.
"""

import itertools
from collections.abc import Iterable
from dataclasses import replace
from typing import Literal

import numpy as np
import shapely
from manifold3d import CrossSection
from manifold3d import FillRule as EngineRule
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.bands import chained, clamped, cross
from core.geometry.path import Floats
from core.geometry.rings import NOTHING, Rings, assemble, linear_rings, nest, only_polygons, rings_of, tidy, unpinched

FillRule = Literal["nonzero", "evenodd"]

GRID_MM = 1e-6
REACH_MM = 1e6

MAX_CROSSINGS = 3_000_000
"""Crossings of a group before giving up: some 3 s and 1 GiB."""
MAX_SWEPT = 2_000_000_000
"""Edges under the sweep, summed over all heights, before giving up: some 5 s in bands."""
MAX_BANDS = 32
_EASY = 2_000_000
"""So much under the sweep at once is a tenth of a second."""
_FEW_EDGES = 1_500
"""So few edges are quick, however they lie."""
_SAMPLED_PAIRS = 20_000_000
_BOXES_AT_ONCE = 4_000
_MANY_EDGES = 20_000
_MANY_PARTS = 32
"""From so many parts on it pays to look which of them are met."""
_ENGINE_RULE = {"nonzero": EngineRule.NonZero, "evenodd": EngineRule.EvenOdd}


class TooTangledError(Exception):
    """More crossings than can be resolved in reasonable time and memory."""


def enclosed(rings: Rings, rule: FillRule, *, group_count: int) -> NDArray[np.object_]:
    """What the rings of each group enclose by the fill rule (group_count,): valid, groups don't see each other.

    Groups whose rings neither cross nor touch go by who lies in whom, in bulk and without rounding. Raises
    TooTangledError.
    """
    result = np.full(group_count, NOTHING, object)
    rings = tidy(rings)
    if not len(rings.group):
        return result
    tangled = ~nest(result, rings, rule)
    if tangled.any():
        _resolve(result, rings, tangled, rule)
    return result


def resolved(rings: Rings, rule: FillRule, *, group_count: int) -> NDArray[np.object_]:
    """``enclosed``, all of it by the engine."""
    result = np.full(group_count, NOTHING, object)
    rings = tidy(rings)
    if len(rings.group):
        _resolve(result, rings, np.ones(len(rings.group), bool), rule)
    return result


def united(regions: Iterable[BaseGeometry]) -> BaseGeometry:
    """The union of polygonal regions, valid.

    Parts that reach no part of another region are left as they are: parts of one region never overlap. Of the others,
    few are united by GEOS, which does not round, many by the engine, which takes half as long.
    """
    parts, of = shapely.get_parts(
        np.array([region for region in regions if not region.is_empty], object), return_index=True
    )
    if len(parts) < 2:
        return parts[0] if len(parts) else NOTHING
    meeting = _meeting(shapely.bounds(parts), of)
    alone, parts = parts[~meeting], parts[meeting]
    whole = _united_by_engine(parts) if shapely.get_num_coordinates(parts).sum() > _MANY_EDGES else None
    whole = _united_by_geos(parts) if whole is None else whole
    return shapely.MultiPolygon([*alone, *shapely.get_parts(whole)]) if len(alone) else whole


def united_unrounded(regions: Iterable[BaseGeometry], *, apart: bool = False) -> BaseGeometry:
    """``united`` where borders that coincide must leave no sliver between them: nothing is rounded if that can be.

    apart: most of many regions meet no other, which is quicker then; rings may start elsewhere.
    """
    unite = shapely.disjoint_subset_union_all if apart else shapely.union_all
    return _united_by_geos(np.array(list(regions), object), unite)


def _united_by_geos(  # type: ignore[no-untyped-def]
    parts: NDArray[np.object_], unite=shapely.disjoint_subset_union_all
) -> BaseGeometry:
    try:
        return only_polygons(unite(parts))
    except shapely.errors.GEOSException:  # near-coincident edges, or an offset that crosses itself
        mended = [only_polygons(one) for one in shapely.make_valid(parts)]
        return only_polygons(shapely.union_all(mended, grid_size=GRID_MM))


def _united_by_engine(parts: NDArray[np.object_]) -> BaseGeometry | None:
    """None where that is too much for it."""
    outlines, ring = shapely.get_coordinates(shapely.get_rings(shapely.orient_polygons(parts)), return_index=True)
    first = np.searchsorted(ring, np.arange(ring[-1] + 2))
    try:
        region: BaseGeometry = resolved(
            Rings(points=outlines, starts=first, group=np.zeros(len(first) - 1, np.intp)), "nonzero", group_count=1
        )[0]
    except TooTangledError:
        return None
    return region


def _meeting(boxes: Floats, of: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Which boxes (n, 4) meet one of another owner, (n,); ``of``: each one's owner."""
    found = np.zeros(len(boxes), bool)
    whole: NDArray[np.object_] = np.asarray(shapely.box(*boxes.T))
    tree = shapely.STRtree(whole)
    for begin in range(0, len(boxes), _BOXES_AT_ONCE):
        here, there = tree.query(whole[begin : begin + _BOXES_AT_ONCE])
        found[begin + here[of[begin + here] != of[there]]] = True
    return found


def subtracted(region: BaseGeometry, taken: BaseGeometry) -> BaseGeometry:
    """What of a region is left when another is taken out of it, valid."""
    return _overlay(shapely.difference, region, _met(region, taken))


def shared(region: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What two regions have in common, valid."""
    parts, others = shapely.get_parts(region), shapely.get_parts(other)
    if min(len(parts), len(others)) < _MANY_PARTS:
        return _overlay(shapely.intersection, region, other)
    # a part that both have meets nothing else of either
    here, there = shapely.STRtree(others).query(parts)
    same = shapely.equals_exact(parts[here], others[there])
    both, here, there = parts[here[same]], np.delete(parts, here[same]), np.delete(others, there[same])
    if not len(both):
        return _overlay(shapely.intersection, region, other)
    if not (len(here) and len(there)):
        return shapely.MultiPolygon(both.tolist())
    rest = _overlay(shapely.intersection, *(shapely.MultiPolygon(left.tolist()) for left in (here, there)))
    return shapely.MultiPolygon([*both, *shapely.get_parts(rest)])


def _met(region: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """Those of many parts that a region meets: the others have no say in what is taken out of it."""
    parts = shapely.get_parts(other)
    if len(parts) < _MANY_PARTS:
        return other
    shapely.prepare(region)
    return shapely.MultiPolygon(parts[shapely.intersects(region, parts)].tolist())


def _overlay(operation, region: BaseGeometry, other: BaseGeometry) -> BaseGeometry:  # type: ignore[no-untyped-def]
    try:
        return only_polygons(operation(region, other))
    except shapely.errors.GEOSException:  # near-coincident edges, or an offset that crosses itself
        mended = (only_polygons(shapely.make_valid(one)) for one in (region, other))
        return only_polygons(operation(*mended, grid_size=GRID_MM))


def _resolve(result: NDArray[np.object_], rings: Rings, which: NDArray[np.bool_], rule: FillRule) -> None:
    """Writes the groups of the rings that are marked into ``result``, one after the other."""
    scale = min(1.0, REACH_MM / max(1e-300, float(np.abs(rings.points).max())))
    points = np.round(rings.points * scale, 6)
    order = np.flatnonzero(which)
    order = order[np.argsort(rings.group[order], kind="stable")]
    groups, begin = np.unique(rings.group[order], return_index=True)
    found: list[Floats] = []
    counts = []
    for own in np.split(order, begin)[1:]:
        here = _swept([points[rings.starts[i] : rings.starts[i + 1]] for i in own.tolist()], rule)
        found += here
        counts.append(len(here))
    if found:
        whole = unpinched(rings_of(found, np.repeat(groups, counts)))
        assemble(result, linear_rings(replace(whole, points=whole.points / scale)), whole.areas(), whole.group)


def _swept(rings: list[Floats], rule: FillRule) -> list[Floats]:
    """The rings around what these enclose, outlines counter-clockwise (x to y), holes clockwise; none cross.

    Raises TooTangledError.
    """
    points = np.concatenate(rings)
    if len(points) <= _FEW_EDGES:
        return _found(rings, rule)
    edges = np.stack([points, np.concatenate([np.roll(ring, -1, axis=0) for ring in rings])], axis=1)
    if _crossings(edges) > MAX_CROSSINGS:
        raise TooTangledError
    turn, swept = _easy_turn(edges)
    if swept > MAX_SWEPT:
        raise TooTangledError
    rings = rings if turn is None else [np.round(ring @ turn, 6) for ring in rings]
    found = _in_bands(rings, rule, min(round((swept / _EASY) ** 0.5), MAX_BANDS))
    return found if turn is None else [ring @ turn.T for ring in found]


def _found(rings: list[Floats], rule: FillRule) -> list[Floats]:
    found: list[Floats] = CrossSection(rings, _ENGINE_RULE[rule]).to_polygons()
    return found


def _easy_turn(edges: Floats) -> tuple[Floats | None, int]:
    """The turn of the plane under which the sweep has least to do, None where it is easy as it is; and how much."""
    least, best = _under_sweep(edges[..., 1]), None
    for turn in (_QUARTER_TURN, _levelling_turn(edges)):
        if least < _EASY:
            break
        swept = _under_sweep((edges @ turn)[..., 1])
        if swept < least / 2:
            least, best = swept, turn
    return best, least


_QUARTER_TURN: Floats = np.array([[0.0, -1.0], [1.0, 0.0]])


def _under_sweep(heights: Floats) -> int:
    """Edges (n, 2) that a sweep has before it, summed over all heights where one begins or ends."""
    level = np.unique(heights, return_inverse=True)[1].reshape(-1, 2)
    return int(np.abs(level[:, 1] - level[:, 0]).sum())


def _levelling_turn(edges: Floats) -> Floats:
    """The turn that lays the commonest direction along x."""
    along = edges[:, 1] - edges[:, 0]
    length, angle = np.hypot(along[:, 0], along[:, 1]), np.arctan2(along[:, 1], along[:, 0])
    turn = np.arctan2((length * np.sin(2 * angle)).sum(), (length * np.cos(2 * angle)).sum()) / 2
    return np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])


def _crossings(edges: Floats) -> float:
    """About how many pairs of edges (n, 2, 2) cross, from a sample of them."""
    count = int(np.clip(_SAMPLED_PAIRS // len(edges), 40, 200))
    some = np.random.default_rng(1).permutation(len(edges))[:count]
    low, high = edges.min(axis=1).T.copy(), edges.max(axis=1).T.copy()
    hits = 0
    for i in some.tolist():
        meet = np.flatnonzero((low[0] <= high[0, i]) & (high[0] >= low[0, i]))
        meet = meet[(low[1, meet] <= high[1, i]) & (high[1, meet] >= low[1, i])]
        a, b, c, d = edges[i, 0], edges[i, 1], edges[meet, 0], edges[meet, 1]
        apart = cross(b - a, c - a) * cross(b - a, d - a) < 0
        hits += int(np.count_nonzero(apart & (cross(d - c, a - c) * cross(d - c, b - c) < 0)))
    return hits * len(edges) / len(some) / 2


def _in_bands(rings: list[Floats], rule: FillRule, count: int) -> list[Floats]:
    """The sweep band by band along x, so that fewer edges lie side by side under it."""
    if count < 2:
        return _found(rings, rule)
    points = np.concatenate(rings)
    # between two steps of the grid: no vertex and no upright edge lies on a border
    steps = np.unique(np.round(np.quantile(points[:, 0], np.linspace(0, 1, count + 1)[1:-1]), 6))
    borders = np.round(steps + GRID_MM / 2, 8)
    limits = [-np.inf, *borders.tolist(), np.inf]
    whole = rings_of(rings, np.zeros(len(rings), np.intp))
    found = [
        [np.round(ring, 8) for ring in _found(clamped(whole, low, high), rule)]
        for low, high in itertools.pairwise(limits)
    ]
    joined = chained(found, borders)
    if joined is None and count == MAX_BANDS:
        raise TooTangledError
    return _found(rings, rule) if joined is None else joined
