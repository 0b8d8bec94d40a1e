"""Closed rings in bulk, and polygons put together from rings that do not cross."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.path import Floats

Indices = NDArray[np.intp]
Bools = NDArray[np.bool_]

NOTHING: BaseGeometry = shapely.MultiPolygon()

_SAME_POINT_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rings:
    """Closed rings end to end: points (n, 2), ``starts`` (r + 1,) with the end last, group of each ring (r,).

    The first point of a ring is not repeated at its end. Groups are numbered from 0.
    """

    points: Floats
    starts: Indices
    group: Indices

    @property
    def lengths(self) -> Indices:
        """Points of each ring, (r,)."""
        return np.diff(self.starts)

    @property
    def following(self) -> Indices:
        """Index of the point after each one, around its ring, (n,)."""
        result = np.arange(1, len(self.points) + 1)
        filled = self.lengths > 0
        result[self.starts[1:][filled] - 1] = self.starts[:-1][filled]
        return result

    def areas(self) -> Floats:
        """Signed area of each ring, positive from x towards y, (r,); none may be empty."""
        local = self.points - np.repeat(self.points[self.starts[:-1]], self.lengths, axis=0)
        ahead = local[self.following]
        result: Floats = np.add.reduceat(local[:, 0] * ahead[:, 1] - local[:, 1] * ahead[:, 0], self.starts[:-1]) / 2
        return result


def rings_of(arrays: list[Floats], group: Indices) -> Rings:
    """Arrays of points (n, 2), one a ring, as rings."""
    return Rings(
        points=np.concatenate(arrays) if arrays else np.zeros((0, 2)),
        starts=np.cumsum([0, *map(len, arrays)]).astype(np.intp),
        group=group,
    )


def linear_rings(rings: Rings) -> NDArray[np.object_]:
    """The rings as geometries, (r,)."""
    return geometries(shapely.linearrings(rings.points, indices=np.repeat(np.arange(len(rings.group)), rings.lengths)))


def selected(rings: Rings, which: Bools) -> Rings:
    """Those of the rings that are marked (r,)."""
    lengths = rings.lengths
    return Rings(
        points=rings.points[np.repeat(which, lengths)],
        starts=np.concatenate([[0], np.cumsum(lengths[which])]).astype(np.intp),
        group=rings.group[which],
    )


def tidy(rings: Rings) -> Rings:
    """Points closer than a nanometre to the one before dropped, then rings that are no rings; not finite ones too."""
    lengths = rings.lengths
    number = np.repeat(np.arange(len(lengths)), lengths)
    points = rings.points
    bad = np.zeros(len(lengths), bool)
    bad[number[~np.isfinite(points).all(axis=1)]] = True
    keep = ~bad[number]
    if len(points):
        before = np.arange(-1, len(points) - 1)
        filled = lengths > 0
        before[rings.starts[:-1][filled]] = rings.starts[1:][filled] - 1
        with np.errstate(invalid="ignore"):
            keep &= np.abs(points - points[before]).max(axis=1) > _SAME_POINT_MM
    left = np.bincount(number[keep], minlength=len(lengths))
    keep &= (left >= 3)[number]
    left = np.where(left >= 3, left, 0)
    used = left > 0
    return Rings(
        points=points[keep],
        starts=np.concatenate([[0], np.cumsum(left[used])]).astype(np.intp),
        group=rings.group[used],
    )


def nest(result: NDArray[np.object_], rings: Rings, rule: str) -> Bools:
    """Writes groups whose rings neither cross nor touch into ``result``, by who lies in whom; which rings they were.

    rule: "nonzero" or "evenodd". The rings must be tidy.
    """
    linear = linear_rings(rings)
    order = np.argsort(rings.group, kind="stable")
    groups, begin = np.unique(rings.group[order], return_index=True)
    lines = shapely.multilinestrings(
        linear[order], indices=np.repeat(np.arange(len(groups)), np.diff(np.append(begin, len(order))))
    )
    simple = np.zeros(len(result), bool)
    simple[groups] = shapely.is_simple(lines)
    plain: Bools = simple[rings.group]
    some = np.flatnonzero(plain)
    if not len(some):
        return plain
    group, linear = rings.group[some], linear[some]
    areas = rings.areas()[some]
    winding = np.sign(areas).astype(np.int64)
    outside = np.zeros(len(some), np.int64)
    inner, outer = _containing_pairs(rings, linear, some, group)
    np.add.at(outside, inner, winding[outer])
    inside = outside + winding
    if rule == "nonzero":
        is_in, is_out = inside != 0, outside != 0
    else:
        is_in, is_out = inside % 2 == 1, outside % 2 == 1
    edge = is_in != is_out
    assemble(result, linear[edge], np.where(is_in, 1.0, -1.0)[edge] * np.abs(areas[edge]), group[edge])
    return plain


def _containing_pairs(
    rings: Rings, linear: NDArray[np.object_], some: Indices, group: Indices
) -> tuple[Indices, Indices]:
    """Pairs (inner, outer) of rings of one group where outer lies around inner."""
    sizes = np.bincount(group)
    shared_group = np.flatnonzero(sizes[group] > 1)
    none = np.zeros(0, np.intp)
    if not len(shared_group):
        return none, none
    discs = geometries(shapely.polygons(linear[shared_group]))
    shapely.prepare(discs)
    eyes = rings.points[rings.starts[:-1][some[shared_group]]]
    tree = shapely.STRtree(discs)
    if len(shared_group) < 200:
        inner, outer = tree.query(shapely.points(eyes), predicate="within")
        same = (group[shared_group][inner] == group[shared_group][outer]) & (inner != outer)
        return shared_group[inner[same]], shared_group[outer[same]]
    # many groups lie over each other in artwork: leave out strangers before looking closely
    inner, outer = tree.query(shapely.points(eyes))
    same = (group[shared_group][inner] == group[shared_group][outer]) & (inner != outer)
    inner, outer = inner[same], outer[same]
    within = shapely.contains_xy(discs[outer], eyes[inner, 0], eyes[inner, 1])
    return shared_group[inner[within]], shared_group[outer[within]]


def unpinched(rings: Rings) -> Rings:
    """Rings that come by a point more than once, as rings that don't."""
    number = np.repeat(np.arange(len(rings.group)), rings.lengths)
    order = np.lexsort((rings.points[:, 1], rings.points[:, 0], number))
    points, of_ring = rings.points[order], number[order]
    again = (points[1:] == points[:-1]).all(axis=1) & (of_ring[1:] == of_ring[:-1])
    pinched = np.unique(of_ring[1:][again])
    if not len(pinched):
        return rings
    whole = np.ones(len(rings.group), bool)
    whole[pinched] = False
    kept = selected(rings, whole)
    loops: list[Floats] = []
    groups: list[int] = []
    for i in pinched.tolist():
        own = _loops(rings.points[rings.starts[i] : rings.starts[i + 1]])
        loops += own
        groups += [int(rings.group[i])] * len(own)
    return Rings(
        points=np.concatenate([kept.points, *loops]),
        starts=np.concatenate([kept.starts, kept.starts[-1] + np.cumsum([len(loop) for loop in loops], dtype=np.intp)]),
        group=np.concatenate([kept.group, np.array(groups, np.intp)]),
    )


def _loops(ring: Floats) -> list[Floats]:
    """One ring cut apart where it comes back to a point; what encloses nothing is dropped."""
    nodes = np.unique(ring, axis=0, return_inverse=True)[1].ravel().tolist()
    loops: list[Floats] = []
    stack: list[int] = []
    place: dict[int, int] = {}
    for at, node in [*enumerate(nodes), (0, nodes[0])]:
        if node in place:
            loop = stack[place[node] :]
            del stack[place[node] + 1 :]
            for gone in loop[1:]:
                del place[nodes[gone]]
            if len(loop) > 2:
                loops.append(ring[loop])
        else:
            place[node] = len(stack)
            stack.append(at)
    return loops


def assemble(result: NDArray[np.object_], rings: NDArray[np.object_], areas_mm2: Floats, group: Indices) -> None:
    """Writes each group's polygons into ``result``: rings of positive area are shells, of negative area their holes.

    Rings must not cross; a hole goes to the smallest shell of its group around it.
    """
    is_shell = areas_mm2 > 0
    shells = np.flatnonzero(is_shell)
    polygons = geometries(shapely.polygons(rings[shells]))
    holes = np.flatnonzero(areas_mm2 < 0)
    if len(holes):
        of_shell = _shell_of_holes(rings, areas_mm2, group, shells, polygons, holes)
        order = np.argsort(of_shell, kind="stable")
        order = order[of_shell[order] >= 0]
        with_holes, begin = np.unique(of_shell[order], return_index=True)
        for shell, some in zip(with_holes, np.split(holes[order], begin)[1:], strict=True):
            polygons[shell] = shapely.polygons(rings[shells[shell]], rings[some])
    order = np.argsort(group[shells], kind="stable")
    groups, begin = np.unique(group[shells][order], return_index=True)
    polygons = polygons[order]
    whole = polygons[begin]
    several = np.flatnonzero(np.diff(begin, append=len(order)) > 1)
    if len(several):
        number = np.repeat(np.arange(len(groups)), np.diff(begin, append=len(order)))
        together = np.isin(number, several)
        whole[several] = shapely.multipolygons(polygons[together], indices=np.searchsorted(several, number[together]))
    for at in np.flatnonzero(~shapely.is_valid(whole)).tolist():  # rings share a stretch or pass each other by a unit
        own = polygons[begin[at] : np.append(begin, len(order))[at + 1]]
        whole[at] = _mended(_together(np.array([_mended(polygon) for polygon in own], object)))
    result[groups] = whole


def _together(polygons: NDArray[np.object_]) -> BaseGeometry:
    return polygons[0] if len(polygons) == 1 else shapely.MultiPolygon(shapely.get_parts(polygons).tolist())


def _mended(region: BaseGeometry) -> BaseGeometry:
    if shapely.is_valid(region):
        return region
    return only_polygons(shapely.make_valid(region, method="structure", keep_collapsed=False))


def _shell_of_holes(
    rings: NDArray[np.object_],
    areas_mm2: Floats,
    group: Indices,
    shells: Indices,
    polygons: NDArray[np.object_],
    holes: Indices,
) -> Indices:
    """Index into ``shells`` for each hole, -1 where there is none."""
    found = np.full(len(holes), -1, np.intp)
    shells_in_group = np.bincount(group[shells], minlength=int(group.max()) + 1)
    only = np.full(len(shells_in_group), -1, np.intp)
    only[group[shells]] = np.arange(len(shells))
    lone = shells_in_group[group[holes]] == 1
    found[lone] = only[group[holes[lone]]]
    rest = np.flatnonzero(~lone)
    if not len(rest):
        return found
    # the middle of a hole's first edge lies inside its shell: rings touch at vertices only
    coordinates, which = shapely.get_coordinates(rings[holes[rest]], return_index=True)
    first = np.searchsorted(which, np.arange(len(rest)))
    eyes = (coordinates[first] + coordinates[first + 1]) / 2
    shapely.prepare(polygons)
    hole, shell = shapely.STRtree(polygons).query(shapely.points(eyes))
    same = group[holes[rest[hole]]] == group[shells[shell]]
    hole, shell = hole[same], shell[same]
    around = shapely.intersects_xy(polygons[shell], eyes[hole, 0], eyes[hole, 1])
    hole, shell = hole[around], shell[around]
    order = np.lexsort((-areas_mm2[shells[shell]], hole))  # the smallest comes last and is kept
    found[rest[hole[order]]] = shell[order]
    return found


def geometries(made: object) -> NDArray[np.object_]:
    """What a vectorised shapely call made of arrays, as the array that it is."""
    return np.asarray(made, object)


def only_polygons(geometry: BaseGeometry) -> BaseGeometry:
    """The polygons of a geometry, lines and points dropped."""
    if geometry.geom_type in ("Polygon", "MultiPolygon"):
        return geometry
    parts = shapely.get_parts(shapely.get_parts([geometry]))
    result: BaseGeometry = shapely.multipolygons(parts[shapely.get_type_id(parts) == 3])
    return result
