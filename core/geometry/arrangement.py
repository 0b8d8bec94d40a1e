"""Rings that cross each other and themselves, resolved into valid polygons by winding number.

The plane is cut up by all rings (their *arrangement*, M. de Berg et al., Computational Geometry, ch. 2 and 8): edges
are split where they meet, the winding number on the left of every piece is summed up along the rings, and the pieces
with inside on one side only are joined to polygons. Coordinates are whole multiples of a tiny unit, so that "left of",
"on" and "same point" are exact. All of it in arrays: cost grows with edges and crossings, not with how they lie.

Several *groups* of rings (say, one a shape) are resolved at once without seeing each other.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.path import Floats

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]
FillRule = Literal["nonzero", "evenodd"]

UNIT_MM = 1e-6
"""Grid on which edges meet; coarser only for drawings beyond half a metre (see ``grid_unit_mm``)."""

_REACH = 2**29
"""Largest coordinate in units: products of differences then stay within 64 bits."""

_MAX_PASSES = 6
_COARSENING = 32
_MAX_COARSENINGS = 3
"""Where rounding never comes to rest, coarser grids are tried too and the one with the least doubt is kept."""
MAX_PAIRS = 40_000_000
"""Pairs of edges looked at before giving up: some 10 s of work."""
MAX_EDGES = 2_000_000
"""Pieces of edges before giving up: some 10 s and 1 GiB."""


class TooTangledError(Exception):
    """More crossings than can be resolved in reasonable time and memory."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rings:
    """Closed rings end to end: points (n, 2), ``starts`` (r + 1,) with the end last, group of each ring (r,).

    The first point of a ring is not repeated at its end. Groups are numbered from 0.
    """

    points: Floats
    starts: NDArray[np.intp]
    group: NDArray[np.intp]


@dataclass(slots=True, kw_only=True, eq=False)
class _Edges:
    """Directed edges in ring order, whole units: (n, 2), (n, 2), ring of each (n,).

    moved: those that are not known to be clear of all others, (n,).
    """

    tail: Ints
    head: Ints
    ring: NDArray[np.intp]
    moved: Bools


def grid_unit_mm(points: Floats) -> float:
    """The unit in which these points fit, mm."""
    return max(UNIT_MM, float(np.abs(points).max(initial=0.0)) / _REACH)


def resolved(rings: Rings, rule: FillRule, *, group_count: int) -> NDArray[np.object_]:
    """One valid Polygon or MultiPolygon a group (group_count,), what its rings enclose by the fill rule.

    Raises TooTangledError when there are more crossings than can be handled.
    """
    result = np.full(group_count, shapely.MultiPolygon(), object)
    least_doubt = None
    for coarsening in range(_MAX_COARSENINGS):
        unit = grid_unit_mm(rings.points) * _COARSENING**coarsening
        edges = _disentangled(rings, unit)
        if not len(edges.tail):
            return result
        tried = _Plane(edges, rings.group)
        doubt = (not tried.consistent, int(edges.moved.sum()))
        if least_doubt is None or doubt < least_doubt:
            least_doubt, plane, plane_unit = doubt, tried, unit
        if least_doubt == (False, 0):
            break
    left, right = plane.left_winding, plane.left_winding - plane.turns
    if rule == "nonzero":
        boundary = (left != 0) & (right == 0)
    else:
        boundary = (left % 2 == 1) & (right % 2 == 0)
    _fill_groups(result, plane, boundary, plane_unit)
    if least_doubt != (False, 0):
        invalid = ~shapely.is_valid(result)
        result[invalid] = [only_polygons(region) for region in shapely.make_valid(result[invalid])]
    return result


def _disentangled(rings: Rings, unit: float) -> _Edges:
    """Edges on a grid of that unit that meet at their ends only; ``moved`` marks those that may still not."""
    edges = _split_where_they_meet(_edges(rings, unit), rings.group)
    settled = 1.2 * len(edges.tail) + 100
    for _ in range(_MAX_PASSES):
        if len(edges.tail) > MAX_EDGES:
            raise TooTangledError
        # roundings add few pieces; many are a tangle of edges within a few units, which a coarser grid joins
        if not edges.moved.any() or len(edges.tail) > settled:
            break
        edges = _split_where_they_meet(edges, rings.group)
    return edges


def _edges(rings: Rings, unit: float) -> _Edges:
    points = np.rint(rings.points / unit).astype(np.int64)
    count = len(points)
    ring = np.repeat(np.arange(len(rings.group)), np.diff(rings.starts))
    following = np.arange(1, count + 1)
    filled = np.diff(rings.starts) > 0
    following[rings.starts[1:][filled] - 1] = rings.starts[:-1][filled]
    heads = points[following] if count else points
    # a ring flat in y encloses nothing and would have no edge to look sideways from
    tall = np.zeros(len(rings.group), bool)
    keep = (points != heads).any(axis=1)
    np.logical_or.at(tall, ring[keep], points[keep, 1] != heads[keep, 1])
    keep &= tall[ring]
    return _Edges(tail=points[keep], head=heads[keep], ring=ring[keep], moved=np.ones(int(keep.sum()), bool))


def _cross(a: Ints, b: Ints) -> Ints:
    result: Ints = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    return result


def _split_where_they_meet(edges: _Edges, group: NDArray[np.intp]) -> _Edges:
    """Edges with a vertex wherever two of a group cross, touch or begin to overlap."""
    on_edge: list[NDArray[np.intp]] = []
    at: list[Ints] = []
    for first, second in _close_pairs(edges, group[edges.ring]):
        _meeting_points(edges, first, second, on_edge, at)
    owner = np.concatenate(on_edge) if on_edge else np.zeros(0, np.intp)
    if not len(owner):
        return replace(edges, moved=np.zeros(len(edges.tail), bool))
    points = np.concatenate(at)
    count = len(edges.tail)
    along = ((points - edges.tail[owner]) * (edges.head - edges.tail)[owner]).sum(axis=1)
    order = np.lexsort((along, owner))
    owner, points = owner[order], points[order]
    new = np.ones(len(owner), bool)
    new[1:] = (owner[1:] != owner[:-1]) | (points[1:] != points[:-1]).any(axis=1)
    owner, points = owner[new], points[new]
    added = np.bincount(owner, minlength=count)
    first_slot = np.concatenate([[0], np.cumsum(added + 1)])
    tail = np.empty((int(first_slot[-1]), 2), np.int64)
    head = np.empty_like(tail)
    nth = np.arange(len(owner)) - np.repeat(np.cumsum(added) - added, added)
    slots = first_slot[owner] + nth
    tail[first_slot[:-1]] = edges.tail
    tail[slots + 1] = points
    head[slots] = points
    head[first_slot[1:] - 1] = edges.head
    ring, moved = np.repeat(edges.ring, added + 1), np.repeat(added > 0, added + 1)
    keep = (tail != head).any(axis=1)
    return _Edges(tail=tail[keep], head=head[keep], ring=ring[keep], moved=moved[keep])


def _close_pairs(edges: _Edges, group: NDArray[np.intp]) -> Iterator[tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """Blocks of index pairs (first < second), same group, whose boxes meet."""
    if not len(group):
        return
    ends = np.stack([edges.tail, edges.head], axis=1).astype(float)
    slack = 2.0
    if len(ends) > 2000:
        ends = ends @ _levelling_rotation(ends)
    low, high = ends.min(axis=1) - slack, ends.max(axis=1) + slack
    shift = _side_by_side(low, high, group)[group]
    low[:, 0] += shift
    high[:, 0] += shift
    boxes = geometries(shapely.linestrings(np.stack([low, high], axis=1)))
    tree = shapely.STRtree(boxes)
    asking = np.flatnonzero(edges.moved)
    step = 20_000
    seen = 0
    for start in range(0, len(asking), step):
        some = asking[start : start + step]
        first, second = tree.query(boxes[some])
        first = some[first]
        seen += len(first)
        if seen > MAX_PAIRS:
            raise TooTangledError
        once = (first < second) | ~edges.moved[second]
        first, second = first[once], second[once]
        same = group[first] == group[second]
        yield first[same], second[same]


def _levelling_rotation(ends: Floats) -> Floats:
    """The turn that lays the commonest direction (and the one square to it) along the axes: boxes get thin."""
    along = ends[:, 1] - ends[:, 0]
    length = np.hypot(along[:, 0], along[:, 1])
    angle = np.arctan2(along[:, 1], along[:, 0])
    turn = np.arctan2((length * np.sin(4 * angle)).sum(), (length * np.cos(4 * angle)).sum()) / 4
    return np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])


def _meeting_points(
    edges: _Edges,
    first: NDArray[np.intp],
    second: NDArray[np.intp],
    on_edge: list[NDArray[np.intp]],
    at: list[Ints],
) -> None:
    """Where edges cross, and vertices that lie on another edge or within a unit of it.

    Taking in what lies within a unit keeps later roundings from pushing an edge over a vertex (snap rounding,
    J. D. Hobby, Practical segment intersection with finite precision output, 1999).
    """
    a, b, c, d = edges.tail[first], edges.head[first], edges.tail[second], edges.head[second]
    ab, cd = b - a, d - c
    side_c, side_d = _cross(ab, c - a), _cross(ab, d - a)
    side_a, side_b = _cross(cd, a - c), _cross(cd, b - c)
    crossing = (np.sign(side_c) * np.sign(side_d) < 0) & (np.sign(side_a) * np.sign(side_b) < 0)
    if crossing.any():
        share = side_a[crossing] / (side_a[crossing] - side_b[crossing])
        points = a[crossing] + np.rint(ab[crossing] * share[:, None]).astype(np.int64)
        for end in (a, b, c, d):
            beside = np.abs(points - end[crossing]).max(axis=1) <= 2
            points[beside] = end[crossing][beside]
        for owner, start, end in ((first, a, b), (second, c, d)):
            inner = (points != start[crossing]).any(axis=1) & (points != end[crossing]).any(axis=1)
            on_edge.append(owner[crossing][inner])
            at.append(points[inner])
    ab_length, cd_length = np.hypot(ab[:, 0], ab[:, 1]), np.hypot(cd[:, 0], cd[:, 1])
    for side, length, point, owner, start, along in (
        (side_c, ab_length, c, first, a, ab),
        (side_d, ab_length, d, first, a, ab),
        (side_a, cd_length, a, second, c, cd),
        (side_b, cd_length, b, second, c, cd),
    ):
        touching = np.abs(side) <= length
        if touching.any():
            p, low, way = point[touching], start[touching], along[touching]
            reach = ((p - low) * way).sum(axis=1)
            inner = (
                (reach > 0) & (reach < (way * way).sum(axis=1)) & (p != low).any(axis=1) & (p != low + way).any(axis=1)
            )
            on_edge.append(owner[touching][inner])
            at.append(p[inner])


class _Plane:
    """The arrangement: nodes, half-edges sorted around each node, and the winding number left of each half-edge.

    A half-edge h < count runs from the lower to the higher node of an undirected edge; h + count runs back.
    ``turns[h]`` is how many more rings run along h than against it: left winding less right winding.
    """

    def __init__(self, edges: _Edges, group_of_ring: NDArray[np.intp]) -> None:
        self._number_nodes(edges, group_of_ring)
        low, high = np.minimum(self._from, self._to), np.maximum(self._from, self._to)
        keys, which = np.unique(low * np.int64(len(self.node_points)) + high, return_inverse=True)
        self.count = len(keys)
        forward = self._from == low
        turns = np.bincount(which, weights=np.where(forward, 1, -1), minlength=self.count).astype(np.int64)
        ends = np.empty((self.count, 2), np.int64)
        ends[which, 0], ends[which, 1] = low, high
        self.origin = np.concatenate([ends[:, 0], ends[:, 1]])
        self.target = np.concatenate([ends[:, 1], ends[:, 0]])
        self.turns = np.concatenate([turns, -turns])
        self._sort_around_nodes()
        self.consistent = self._wind(edges.ring, np.where(forward, which, which + self.count))

    def twin(self, half_edges: Ints) -> Ints:
        """The same edges walked the other way."""
        return np.where(half_edges < self.count, half_edges + self.count, half_edges - self.count)

    def _number_nodes(self, edges: _Edges, group_of_ring: NDArray[np.intp]) -> None:
        group = group_of_ring[edges.ring]
        points = np.concatenate([edges.tail, edges.head])
        both = np.concatenate([group, group])
        order = np.lexsort((points[:, 1], points[:, 0], both))
        points, both = points[order], both[order]
        new = np.ones(len(points), bool)
        new[1:] = (points[1:] != points[:-1]).any(axis=1) | (both[1:] != both[:-1])
        number = np.empty(len(points), np.int64)
        number[order] = np.cumsum(new) - 1
        self.node_points: Ints = points[new]
        self.node_group: NDArray[np.intp] = both[new]
        self._from, self._to = number[: len(edges.tail)], number[len(edges.tail) :]

    def _sort_around_nodes(self) -> None:
        """``order`` lists half-edges node by node, each node's counter-clockwise; ``sector[h]`` sums turns up to h."""
        along = (self.node_points[self.target] - self.node_points[self.origin]).astype(float)
        angle = np.arctan2(along[:, 1], along[:, 0])
        self.order: Ints = np.lexsort((angle, self.origin)).astype(np.int64)
        sums = np.cumsum(self.turns[self.order])
        node = self.origin[self.order]
        first = np.ones(len(node), bool)
        first[1:] = node[1:] != node[:-1]
        start = np.flatnonzero(first)
        before = np.concatenate([[0], sums])[start]
        self.sector = np.empty(len(sums), np.int64)
        self.sector[self.order] = sums - np.repeat(before, np.diff(np.append(start, len(node))))

    def _wind(self, ring: NDArray[np.intp], half_edge: Ints) -> bool:
        """Fills ``left_winding``; False where the sums disagree, so that some meeting must have been missed."""
        count = len(ring)
        first = np.ones(count, bool)
        first[1:] = ring[1:] != ring[:-1]
        start = np.flatnonzero(first)
        stop = np.append(start[1:], count)
        following = np.arange(1, count + 1)
        following[stop - 1] = start
        arrived = self.twin(half_edge)
        step = self.sector[half_edge[following]] - (self.sector[arrived] - self.turns[arrived])
        sums = np.concatenate([[0], np.cumsum(step)])
        closes = sums[stop] == sums[start]
        base, chosen = self._winding_beside_rings(ring, half_edge, start, stop)
        relative = sums[:-1] - np.repeat(sums[chosen], stop - start)
        winding = relative + np.repeat(base, stop - start)
        self.left_winding = np.zeros(2 * self.count, np.int64)
        self.left_winding[half_edge] = winding
        self.left_winding[arrived] = winding - self.turns[half_edge]
        agrees = bool((self.left_winding[half_edge] == winding).all())
        return agrees and bool(closes.all())

    def _winding_beside_rings(
        self, ring: NDArray[np.intp], half_edge: Ints, start: NDArray[np.intp], stop: NDArray[np.intp]
    ) -> tuple[Ints, NDArray[np.intp]]:
        """Winding left of one edge of each ring, by looking along +x from its middle, and which edge that was."""
        rise = np.abs(self.node_points[self.target[half_edge], 1] - self.node_points[self.origin[half_edge], 1])
        # the tallest edge of each ring
        order = np.lexsort((rise, ring))
        chosen = order[stop - 1]
        seen_from = half_edge[chosen]
        a, b = self.node_points[self.origin[seen_from]], self.node_points[self.target[seen_from]]
        eye2 = a + b  # doubled, so that the middle stays whole
        right = np.zeros(len(chosen), np.int64)
        for eye, edge in self._edges_to_the_right(eye2, self.node_group[self.origin[seen_from]]):
            other = edge != np.where(seen_from < self.count, seen_from, seen_from - self.count)[eye]
            eye, edge = eye[other], edge[other]
            p, q = 2 * self.node_points[self.origin[edge]], 2 * self.node_points[self.target[edge]]
            y = eye2[eye, 1]
            up, down = (p[:, 1] <= y) & (q[:, 1] > y), (q[:, 1] <= y) & (p[:, 1] > y)
            # halves of doubled differences keep the products within 64 bits
            side = np.sign(_cross((q - p) // 2, eye2[eye] - p))
            change = np.where(up & (side > 0), 1, 0) - np.where(down & (side < 0), 1, 0)
            np.add.at(right, eye, change * self.turns[edge])
        rising = b[:, 1] > a[:, 1]
        # y up or down alike: of an edge that rises, +x is on the right
        return np.where(rising, right + self.turns[seen_from], right), chosen

    def _edges_to_the_right(
        self, eye2: Ints, group: NDArray[np.intp]
    ) -> Iterator[tuple[NDArray[np.intp], NDArray[np.intp]]]:
        """Blocks of (index of eye, undirected edge) that may be met by a ray along +x within the group."""
        p, q = self.node_points[self.origin[: self.count]], self.node_points[self.target[: self.count]]
        edge_group = self.node_group[self.origin[: self.count]]
        if len(eye2) * self.count <= 4_000_000:
            step = max(1, 1_000_000 // self.count)
            for begin in range(0, len(eye2), step):
                y = eye2[begin : begin + step, 1, None]
                meets = (np.minimum(p[:, 1], q[:, 1]) * 2 <= y) & (np.maximum(p[:, 1], q[:, 1]) * 2 > y)
                meets &= edge_group == group[begin : begin + step, None]
                eye, edge = np.nonzero(meets)
                yield eye + begin, edge
            return
        low, high = np.minimum(p, q).astype(float), np.maximum(p, q).astype(float)
        shift = _side_by_side(low, high, edge_group)
        low[:, 0] += shift[edge_group]
        high[:, 0] += shift[edge_group]
        tree = shapely.STRtree(geometries(shapely.linestrings(np.stack([low, high], axis=1))))
        far = np.full(len(shift), -np.inf)
        np.maximum.at(far, edge_group, high[:, 0])
        eyes = eye2 / 2
        rays = np.stack(
            [np.column_stack([eyes[:, 0] + shift[group], eyes[:, 1]]), np.column_stack([far[group], eyes[:, 1]])],
            axis=1,
        )
        step = 5000
        for begin in range(0, len(rays), step):
            eye, edge = tree.query(shapely.linestrings(rays[begin : begin + step]))
            same = edge_group[edge] == group[eye + begin]
            yield eye[same] + begin, edge[same]


def _side_by_side(low: Floats, high: Floats, group: NDArray[np.intp]) -> Floats:
    """Shifts in x, one a group number, that lay the groups side by side without touching."""
    count = int(group.max()) + 1
    left, right = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(left, group, low[:, 0])
    np.maximum.at(right, group, high[:, 0])
    used = np.isfinite(left)
    widths = np.where(used, right - left + 4.0, 0.0)
    begins = np.cumsum(widths) - widths
    shift: Floats = np.where(used, begins - left, 0.0)
    return shift


def _fill_groups(result: NDArray[np.object_], plane: _Plane, boundary: Bools, unit: float) -> None:
    ring_nodes = _trace(plane, boundary)
    if not ring_nodes:
        return
    lengths = np.array([len(nodes) for nodes in ring_nodes])
    nodes = np.concatenate([np.asarray(ring, np.int64) for ring in ring_nodes])
    starts = np.cumsum(lengths) - lengths
    points = plane.node_points[nodes]
    area2 = _doubled_areas(points.astype(float), starts, lengths)
    group = plane.node_group[nodes[starts]]
    ring_index = np.repeat(np.arange(len(lengths)), lengths)
    linear = shapely.linearrings(points * unit, indices=ring_index)
    assemble(result, linear, area2 * unit * unit / 2, group)


def _doubled_areas(points: Floats, starts: NDArray[np.intp], lengths: NDArray[np.intp]) -> Floats:
    following = np.arange(1, len(points) + 1)
    following[starts + lengths - 1] = starts
    # about each ring's own first point: small numbers, small rounding
    local = points - np.repeat(points[starts], lengths, axis=0)
    ahead = local[following]
    result: Floats = np.add.reduceat(local[:, 0] * ahead[:, 1] - local[:, 1] * ahead[:, 0], starts)
    return result


def _trace(plane: _Plane, boundary: Bools) -> list[list[int]]:
    """Rings of nodes with inside on the left; none meets itself."""
    edges = np.flatnonzero(boundary)
    if not len(edges):
        return []
    taking_part = boundary.copy()
    taking_part[plane.twin(edges)] = True
    order = plane.order[taking_part[plane.order]]
    node = plane.origin[order]
    first = np.ones(len(order), bool)
    first[1:] = node[1:] != node[:-1]
    start = np.flatnonzero(first)
    previous = np.arange(-1, len(order) - 1)
    previous[start] = np.append(start[1:], len(order)) - 1
    clockwise = np.full(2 * plane.count, -1, np.int64)
    clockwise[order] = order[previous]
    following = np.full(2 * plane.count, -1, np.int64)
    following[edges] = clockwise[plane.twin(edges)]
    next_edge = following.tolist()
    origin = plane.origin.tolist()
    waiting = bytearray(boundary.astype(np.uint8).tobytes())
    rings = []
    for begin in edges.tolist():
        if not waiting[begin]:
            continue
        ring = []
        edge = begin
        while edge >= 0 and waiting[edge]:
            waiting[edge] = 0
            ring.append(origin[edge])
            edge = next_edge[edge]
        rings.extend(_simple_rings(ring))
    return rings


def _simple_rings(nodes: list[int]) -> list[list[int]]:
    """A ring that comes by the same node more than once, as rings that don't."""
    if len(set(nodes)) == len(nodes):
        return [nodes] if len(nodes) > 2 else []
    rings: list[list[int]] = []
    stack: list[int] = []
    place: dict[int, int] = {}
    for node in [*nodes, nodes[0]]:
        if node in place:
            loop = stack[place[node] :]
            del stack[place[node] + 1 :]
            for gone in loop[1:]:
                del place[gone]
            if len(loop) > 2:
                rings.append(loop)
        else:
            place[node] = len(stack)
            stack.append(node)
    return rings


def assemble(
    result: NDArray[np.object_], rings: NDArray[np.object_], areas_mm2: Floats, group: NDArray[np.intp]
) -> None:
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
    bad = ~shapely.is_valid(polygons)
    polygons[bad] = [only_polygons(shapely.make_valid(polygon)) for polygon in polygons[bad]]
    order = np.argsort(group[shells], kind="stable")
    groups, begin = np.unique(group[shells][order], return_index=True)
    for number, own in zip(groups, np.split(polygons[order], begin)[1:], strict=True):
        if len(own) == 1:
            result[number] = own[0]
            continue
        parts = own if not bad.any() else shapely.get_parts(own)
        result[number] = shapely.multipolygons(parts)
        if bad.any() and not shapely.is_valid(result[number]):
            result[number] = only_polygons(shapely.make_valid(result[number]))


def _shell_of_holes(
    rings: NDArray[np.object_],
    areas_mm2: Floats,
    group: NDArray[np.intp],
    shells: NDArray[np.intp],
    polygons: NDArray[np.object_],
    holes: NDArray[np.intp],
) -> NDArray[np.intp]:
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
    eyes = shapely.points((coordinates[first] + coordinates[first + 1]) / 2)
    shapely.prepare(polygons)
    tree = shapely.STRtree(polygons)
    hole, shell = tree.query(eyes, predicate="intersects")
    same = group[holes[rest[hole]]] == group[shells[shell]]
    hole, shell = hole[same], shell[same]
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
