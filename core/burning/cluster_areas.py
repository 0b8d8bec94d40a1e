"""Exact areas within clusters of edges and round span ends: region, left-over coat, spill.

Every curve of a cluster is a straight edge or an arc of the cleared half-width, so all places where curves meet are
roots of quadratics. Between two neighbouring such places the order of the curves along x is fixed, and the integral of
each curve has a closed form. Nothing is sampled, except in a cluster of so many curves (dense texture, with less than
the cleared width between its parts) that all pairs would be too many: that one is cut at fixed places and at its
flattest edges' ends, which is good to about a thousandth.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.burning.strips import Clusters, Ends, Floats, Ints, Lattice, Pieces

Flags = NDArray[np.bool_]
States = NDArray[np.int32]

MAX_PAIR_CUTS = 2000
EVEN_CUTS = 63
MAX_END_CUTS = 64
NUMBERS_AT_ONCE = 500_000
PAIRWISE_UP_TO = 10
_ROOMS = np.array([0, 1, 2, 3, 4, 5, 6, 8, 10, 12, 16, 24, 32, 48, 64, 96, 128, 192, 256])
_SAME_MM = 1e-9
_FAR_MM = 1e6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClusterAreas:
    """mm², (c,) each: of the region, of coat left over in it, of coat removed outside it."""

    region: Floats
    left_over: Floats
    spill: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Batch:
    """Some clusters, their members padded to equal counts; x is counted from each cluster's left border.

    (c,): width, inside, covered. Pieces (p, c): xa, ta, xb, tb, sign; padding has ta == tb. Ends (e, c): x, side,
    t_row, t_from, t_to (where the row lies and acts); padding has side 0 and lies far off.
    """

    width: Floats
    inside: Flags
    covered: NDArray[np.int64]
    xa: Floats
    ta: Floats
    xb: Floats
    tb: Floats
    sign: Floats
    x: Floats
    side: Floats
    t_row: Floats
    t_from: Floats
    t_to: Floats


def cluster_areas(clusters: Clusters, pieces: Pieces, ends: Ends, lattice: Lattice) -> ClusterAreas:
    """Areas of all clusters. Congruent clusters along one long edge are worked out once."""
    like = _first_alike(clusters, pieces, ends, lattice)
    distinct = np.flatnonzero(like == np.arange(len(clusters)))
    areas = np.zeros((3, len(clusters)))
    piece_rooms, end_rooms = (
        _rooms(starts[distinct + 1] - starts[distinct]) for starts in (clusters.piece_starts, clusters.end_starts)
    )
    for piece_room, end_room in sorted(set(zip(piece_rooms.tolist(), end_rooms.tolist(), strict=True))):
        some = distinct[(piece_rooms == piece_room) & (end_rooms == end_room)]
        numbers = (_cut_count(piece_room, end_room) + 4) * (piece_room + end_room + 4)
        step = max(1, NUMBERS_AT_ONCE // numbers)
        for start in range(0, len(some), step):
            which = some[start : start + step]
            areas[:, which] = _areas(_batch(which, clusters, pieces, ends, lattice, piece_room, end_room), lattice)
    region, left_over, spill = areas[:, like]
    return ClusterAreas(region=region, left_over=left_over, spill=spill)


def _rooms(counts: Ints) -> Ints:
    """The counts rounded up to a few sizes, so that clusters of like size are worked out together."""
    rooms = np.append(_ROOMS, max(int(counts.max(initial=0)), int(_ROOMS[-1])))
    result: Ints = rooms[np.searchsorted(rooms, counts)]
    return result


def _pair_cuts(piece_room: int, end_room: int) -> int:
    return 2 * piece_room * end_room + end_room * (end_room - 1)


def _cut_count(piece_room: int, end_room: int) -> int:
    pairs = _pair_cuts(piece_room, end_room)
    return 2 * piece_room + pairs if pairs <= MAX_PAIR_CUTS else EVEN_CUTS + min(2 * piece_room, MAX_END_CUTS)


def _first_alike(clusters: Clusters, pieces: Pieces, ends: Ends, lattice: Lattice) -> Ints:
    """For each cluster the index of one of the same shape, (c,); often its own.

    Looked for along edges: clusters of one edge that crosses the whole strip and of one end a slot, in the order of
    the pieces, so that the strips along one edge are neighbours.
    """
    slots = 2 * lattice.reach
    end_count = np.diff(clusters.end_starts)
    plain = np.flatnonzero((np.diff(clusters.piece_starts) == 1) & (end_count <= slots))
    piece = clusters.piece_order[clusters.piece_starts[plain]]
    whole = (pieces.ta[piece] == 0.0) & (pieces.tb[piece] == lattice.pitch_mm)
    along = np.argsort(piece[whole])
    plain, piece = plain[whole][along], piece[whole][along]

    row_of_cluster = np.full(len(clusters), -1, np.intp)
    row_of_cluster[plain] = np.arange(len(plain))
    row = np.repeat(row_of_cluster, end_count)
    end, row = clusters.end_order[row >= 0], row[row >= 0]
    cell = row * slots + ends.slot[end]
    look = np.zeros((2 * slots + 3, len(plain)))
    look[ends.slot[end], row] = ends.x[end] - pieces.xa[piece[row]]
    look[slots + ends.slot[end], row] = ends.side[end]
    look[-3] = pieces.xb[piece] - pieces.xa[piece]
    look[-2] = clusters.inside[plain]
    look[-1] = clusters.covered[plain]
    single = np.bincount(cell, minlength=slots * len(plain)).reshape(len(plain), slots).max(axis=1, initial=0) <= 1

    same = np.zeros(len(plain), bool)
    same[1:] = single[1:] & single[:-1]
    for values in look:
        same[1:] &= np.abs(np.diff(values)) <= _SAME_MM
    like = np.arange(len(clusters))
    like[plain] = plain[np.maximum.accumulate(np.where(same, 0, np.arange(len(plain))))]
    return like


def _batch(
    which: Ints,
    clusters: Clusters,
    pieces: Pieces,
    ends: Ends,
    lattice: Lattice,
    piece_room: int,
    end_room: int,
) -> _Batch:
    piece, is_piece = _members(which, clusters.piece_starts, clusters.piece_order, piece_room)
    end, is_end = _members(which, clusters.end_starts, clusters.end_order, end_room)
    t_row, t_from, t_to = np.array(
        [lattice.span_of_slot(slot) for slot in range(2 * lattice.reach)] or [(0.0, 0.0, 0.0)]
    ).T
    slot = ends.slot[end]
    lo = clusters.lo[which]
    return _Batch(
        width=clusters.hi[which] - lo,
        inside=clusters.inside[which],
        covered=clusters.covered[which],
        xa=pieces.xa[piece] - lo,
        ta=np.where(is_piece, pieces.ta[piece], 0.0),
        xb=pieces.xb[piece] - lo,
        tb=np.where(is_piece, pieces.tb[piece], 0.0),
        sign=np.where(is_piece, pieces.sign[piece], 0.0),
        x=np.where(is_end, ends.x[end] - lo, _FAR_MM),
        side=np.where(is_end, ends.side[end], 0.0),
        t_row=t_row[slot],
        t_from=t_from[slot],
        t_to=t_to[slot],
    )


def _members(which: Ints, starts: Ints, order: Ints, room: int) -> tuple[Ints, Flags]:
    """Indices of the clusters' members, padded, (room, c), and which of them are real."""
    place = np.arange(room)[:, None]
    real = place < starts[which + 1] - starts[which]
    return (order[np.where(real, starts[which] + place, 0)] if len(order) else np.zeros(real.shape, np.intp)), real


def _areas(batch: _Batch, lattice: Lattice) -> Floats:
    """(3, c): region, left-over, spill."""
    cluster, t0, t1 = _slices(batch, lattice)
    height, middle = t1 - t0, (t0 + t1) / 2
    state = batch.inside[cluster] + _SPAN * _spans_over_border(batch.covered[cluster], middle, lattice)
    at_middle, mean_x, changes = _curves(batch, lattice, cluster, t0, t1)
    after = state + _sum_up_to(at_middle, changes)
    before = after - changes
    last = state + changes.sum(0)
    areas = np.empty((3, len(batch.width)))
    for i, holds in enumerate((_in_region, _left_over, _spilt)):
        # the integral over x of a function that is 0 or 1, by its steps: width · last value - Σ x · step
        steps = holds(after).astype(np.int8) - holds(before)
        integral = batch.width[cluster] * holds(last) - (mean_x * steps).sum(0)
        areas[i] = np.bincount(cluster, height * integral, minlength=len(batch.width))
    return areas


# What holds at a place is one number: 1 if the region is there, and _SPAN for each span that clears it.
_SPAN = 2


def _in_region(state: States) -> Flags:
    result: Flags = state & 1 == 1
    return result


def _left_over(state: States) -> Flags:
    result: Flags = state == 1
    return result


def _spilt(state: States) -> Flags:
    result: Flags = (state > 1) & (state & 1 == 0)
    return result


def _slices(batch: _Batch, lattice: Lattice) -> tuple[Ints, Floats, Floats]:
    """Slices in t over which no curves of a cluster meet: cluster, from, to; (m,) each."""
    cuts = _cuts(batch, lattice)
    long_enough = np.diff(cuts, axis=1) > 1e-12 * lattice.pitch_mm
    cluster, at = np.nonzero(long_enough)
    return cluster, cuts[cluster, at], cuts[cluster, at + 1]


def _curves(batch: _Batch, lattice: Lattice, cluster: Ints, t0: Floats, t1: Floats) -> tuple[Floats, Floats, States]:
    """Curves in each slice, (n, m) each: x in the slice's middle, mean x, change of the state on passing towards +x.

    Curves that are not in a slice change nothing.
    """
    height, middle = t1 - t0, (t0 + t1) / 2
    ta, tb, xa, xb = (values[:, cluster] for values in (batch.ta, batch.tb, batch.xa, batch.xb))
    piece_x = xa + (middle - ta) / np.where(tb > ta, tb - ta, 1.0) * (xb - xa)
    enters = batch.sign[:, cluster] * ((ta < middle) & (middle < tb))

    side, x, row = batch.side[:, cluster], batch.x[:, cluster], batch.t_row[:, cluster]
    acts = (batch.t_from[:, cluster] < middle) & (middle < batch.t_to[:, cluster])
    h = lattice.half_width_mm
    end_x = x + side * _half_chord(middle - row, h)
    mean_end_x = x + side * (_segment(t1 - row, h) - _segment(t0 - row, h)) / height

    changes = np.concatenate([enters, -_SPAN * side * acts]).astype(np.int32)
    return np.concatenate([piece_x, end_x]), np.concatenate([piece_x, mean_end_x]), changes


def _sum_up_to(x: Floats, weights: States) -> States:
    """For each curve the sum of weights of the curves up to it along x, itself with them; all (n, m)."""
    total = np.empty_like(weights)
    if len(x) <= PAIRWISE_UP_TO:
        for i in range(len(x)):  # of curves at the same x the one listed first counts as first
            before = np.concatenate([x[: i + 1] <= x[i], x[i + 1 :] < x[i]])
            total[i] = (weights * before).sum(0)
        return total
    order = np.argsort(x, axis=0, kind="stable")
    np.put_along_axis(total, order, np.cumsum(np.take_along_axis(weights, order, 0), axis=0), 0)
    return total


def _spans_over_border(covered: NDArray[np.int64], t: Floats, lattice: Lattice) -> States:
    """How many spans lie over a cluster's left border at t, (n,)."""
    count = np.zeros(len(t), np.int32)
    for slot in range(2 * lattice.reach):
        _, t_from, t_to = lattice.span_of_slot(slot)
        count += (covered >> slot & 1 == 1) & (t_from < t) & (t < t_to)
    return count


def _cuts(batch: _Batch, lattice: Lattice) -> Floats:
    """Where in t the order of the curves may change, sorted, (c, k); repeats are harmless."""
    (piece_room, clusters), end_room = batch.xa.shape, len(batch.x)
    acts_over = lattice.half_width_mm - (lattice.reach - 1) * lattice.pitch_mm
    fixed = np.array([[0.0], [lattice.pitch_mm], [acts_over], [lattice.pitch_mm - acts_over]])
    found = [np.repeat(fixed, clusters, axis=1)]
    if _pair_cuts(piece_room, end_room) <= MAX_PAIR_CUTS:
        found += [batch.ta, batch.tb]
        found += [_edge_meets_arc(batch, end, lattice.half_width_mm) for end in range(end_room)]
        found += [_arcs_meet(batch, end, lattice.half_width_mm) for end in range(end_room - 1)]
    else:
        found += [np.repeat(_spread_cuts(fixed), clusters, axis=1), _flattest_ends(batch)]
    cuts = np.concatenate(found).T.copy()
    np.clip(cuts, 0.0, lattice.pitch_mm, out=cuts)
    cuts.sort(axis=1)
    return cuts


def _spread_cuts(fixed: Floats) -> Floats:
    """Cuts between the fixed ones, closer towards these, where round ends begin and end steeply; (k, 1)."""
    share = (1 - np.cos(np.linspace(0.0, np.pi, EVEN_CUTS // 3 + 1))) / 2
    borders = np.sort(fixed[:, 0])
    return (borders[:-1, None] + share * np.diff(borders)[:, None]).reshape(-1, 1)


def _edge_meets_arc(batch: _Batch, end: int, h: float) -> Floats:
    """t of the points where each edge meets one end's arc, (2p, c); 0 where that changes nothing."""
    dx, dt = batch.xb - batch.xa, batch.tb - batch.ta
    ex, et = batch.xa - batch.x[end], batch.ta - batch.t_row[end]
    length2 = np.maximum(dx * dx + dt * dt, 1e-300)
    half_b = ex * dx + et * dt
    root = np.sqrt(np.maximum(half_b * half_b - length2 * (ex * ex + et * et - h * h), 0.0))
    shares = np.clip(np.stack([-half_b - root, -half_b + root]) / length2, 0.0, 1.0)
    return _where_seen(batch, h, (end, end), batch.xa + shares * dx, batch.ta + shares * dt).reshape(-1, len(dx.T))


def _arcs_meet(batch: _Batch, end: int, h: float) -> Floats:
    """t of the points where one end's arc meets that of each end after it, as above."""
    later = slice(end + 1, None)
    dx, dt = batch.x[later] - batch.x[end], batch.t_row[later] - batch.t_row[end]
    apart2 = np.maximum(dx * dx + dt * dt, 1e-300)
    offset = np.sqrt(np.maximum(h * h / apart2 - 0.25, 0.0))
    offset = np.stack([-offset, offset])
    x, t = batch.x[end] + dx / 2 - dt * offset, batch.t_row[end] + dt / 2 + dx * offset
    return _where_seen(batch, h, (end, later), x, t).reshape(-1, len(dx.T))


def _where_seen(batch: _Batch, h: float, ends: tuple[int, int | slice], x: Floats, t: Floats) -> Floats:
    """t where the point lies on the outer side of both ends' discs and within no other end's disc, else 0.

    Within a disc all is cleared anyway, whatever the order of the curves that meet there.
    """
    seen = np.ones(t.shape, bool)
    for end in ends:
        seen &= batch.side[end] != 0
        seen &= batch.side[end] * (x - batch.x[end]) > -1e-6 * h
    within = h * h * (1 - 1e-6)
    for other in range(len(batch.x)):
        seen &= (x - batch.x[other]) ** 2 + (t - batch.t_row[other]) ** 2 >= within
    result: Floats = np.where(seen, t, 0.0)
    return result


def _flattest_ends(batch: _Batch) -> Floats:
    """Ends of the edges that run furthest along x: cutting there keeps level edges exact."""
    keep = min(len(batch.xa), MAX_END_CUTS // 2)
    flattest = np.argsort(-np.abs(batch.xb - batch.xa), axis=0)[:keep]
    return np.concatenate([np.take_along_axis(ends, flattest, 0) for ends in (batch.ta, batch.tb)])


def _half_chord(u: Floats, h: float) -> Floats:
    """Half the chord of a circle of radius h at distance u from its centre."""
    result: Floats = np.sqrt(np.maximum(h * h - u * u, 0.0))
    return result


def _segment(u: Floats, h: float) -> Floats:
    """Antiderivative of ``_half_chord``."""
    u = np.clip(u, -h, h)
    result: Floats = (u * np.sqrt(h * h - u * u) + h * h * np.arcsin(u / h)) / 2
    return result
