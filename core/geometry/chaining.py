"""Loose lines and arcs whose ends meet, joined into outlines. Arcs stay arcs.

CAD files draw contours as single lines and arcs in any order and direction. Two ends meet when they lie within the
tolerance and nothing else ends there; where three or more ends meet, chains stop, so that nothing is guessed. A chain
whose two ends meet at such a junction still closes.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.geometry.path import ARC, CUBIC, LINE, Floats, Path, arc_points

CHAIN_TOLERANCE_MM = 0.01
"""How far apart two ends may lie and still meet: the flattening tolerance, far below any kerf."""
EXACT_MM = 1e-6
"""Ends this near are the same point; they are joined first, so that very short segments keep their order."""

Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, eq=False)
class Chains:
    """Chained subpaths. ``members[member_starts[i]:member_starts[i + 1]]`` are chain i's input subpaths, unordered."""

    path: Path
    members: Ints
    member_starts: Ints


def chain(path: Path, groups: Ints, *, tolerance_mm: float = CHAIN_TOLERANCE_MM) -> Chains:
    """Join open subpaths of the same group end to end, reversing where needed; closed subpaths pass through.

    groups: (m,), one number a subpath; only equal numbers are joined. A chain stands where its first member stood.
    Segments that lie twice in the same place are chained in separate rounds, so a contour drawn double gives two.
    Ends that do not meet exactly are moved together (lines and cubics) or bridged by a line (arc to arc).
    """
    chains = _chained_once(path, groups, EXACT_MM)
    if tolerance_mm > EXACT_MM:
        again = _chained_once(chains.path, groups[chains.members[chains.member_starts[:-1]]], tolerance_mm)
        chains = _composed(chains, again)
    return chains


def _chained_once(path: Path, groups: Ints, tolerance_mm: float) -> Chains:
    count = len(path.starts)
    if not count:
        return Chains(path=path, members=np.zeros(0, np.intp), member_starts=np.zeros(1, np.intp))
    open_ = np.flatnonzero(~path.closed)
    ends = np.stack([path.start_points[path.starts[open_]], path.end_points[path.stops[open_] - 1]], axis=1)
    nodes = _meeting_points(ends.reshape(-1, 2), np.repeat(groups[open_], 2), tolerance_mm).reshape(-1, 2)
    short = (nodes[:, 0] == nodes[:, 1]) & (_extent(path, open_) <= 2 * tolerance_mm)
    rank = _rank_among_doubles(path, open_, nodes, tolerance_mm)
    # doubles meet their own rank only; what is too short to have two ends meets nothing
    nodes = nodes + rank[:, None] * (nodes.max(initial=0) + 1)
    nodes[short] = np.arange(2 * short.sum()).reshape(-1, 2) + nodes.max(initial=0) + 1
    partner = _partners(nodes.ravel())
    order, backwards, member_starts, closed = _walked(open_, nodes, partner, path.closed)
    return _assembled(path, order, backwards, member_starts, closed)


def _meeting_points(points: Floats, groups: Ints, tolerance_mm: float) -> Ints:
    """A label for each point (n, 2), equal where points of one group meet within the tolerance.

    Points that share a cell half a tolerance wide meet; of each cell the first point is held against those of the
    cells around. Cells are looked up by a hash that is linear in the cell's numbers.
    """
    if not len(points):
        return np.zeros(0, np.intp)
    cells = np.floor((points - points.min(0)) / (tolerance_mm / 2)).astype(np.int64)
    keys = (cells * _CELL_PRIMES).sum(1) + groups * _GROUP_PRIME
    order = np.argsort(keys, kind="stable")
    keys, cells, points, groups = keys[order], cells[order], points[order], groups[order]
    new = np.ones(len(points), bool)
    new[1:] = (np.diff(keys) != 0) | (np.diff(cells, axis=0) != 0).any(1) | (np.diff(groups) != 0)
    label = np.empty(len(points), np.intp)
    label[order] = np.cumsum(new) - 1
    keys, cells, points, groups = keys[new], cells[new], points[new], groups[new]
    links: list[tuple[Ints, Ints]] = []
    for offset in _CELLS_AHEAD:
        wanted = keys + (offset * _CELL_PRIMES).sum()
        found = np.searchsorted(keys, wanted)
        found[found == len(keys)] = 0
        here = np.flatnonzero(keys[found] == wanted)
        there = found[here]
        near = (
            (cells[there] == cells[here] + offset).all(1)
            & (groups[there] == groups[here])
            & (((points[there] - points[here]) ** 2).sum(1) <= tolerance_mm**2)
        )
        links.append((here[near], there[near]))
    return _components(len(keys), np.concatenate([a for a, _ in links]), np.concatenate([b for _, b in links]))[label]


_CELL_PRIMES = np.array([0x9E3779B97F4A7C15 - (1 << 64), 0xC2B2AE3D27D4EB4F - (1 << 64)], np.int64)
_GROUP_PRIME = np.int64(0x165667B19E3779F9)
_CELLS_AHEAD = np.array([(dx, dy) for dx in range(3) for dy in range(-2, 3) if (dx, dy) > (0, 0)], np.int64)
"""Half of the cells around, out to two: all that lies within a tolerance on one side."""


def _components(count: int, a: Ints, b: Ints) -> Ints:
    """Smallest node of each node's connected component, by label spreading and pointer jumping."""
    label = np.arange(count, dtype=np.intp)
    while True:
        low = np.minimum(label[a], label[b])
        spread = label.copy()
        for side in (a, b):
            np.minimum.at(spread, label[side], low)
            np.minimum.at(spread, side, low)
        spread = spread[spread]
        if np.array_equal(spread, label):
            return label
        label = spread


def _extent(path: Path, subpaths: Ints) -> Floats:
    """Half the way around, roughly: how far each subpath strays from its start, (k,)."""
    reach = np.maximum(
        np.hypot(*(path.end_points - path.start_points).T), np.hypot(*(_middles(path) - path.start_points).T)
    )
    result: Floats = np.add.reduceat(reach, path.starts)[subpaths]
    return result


def _middles(path: Path) -> Floats:
    """Point at half the parameter of each segment, (n, 2)."""
    middle = (path.start_points + path.end_points) / 2
    cubic, arc = path.kinds == CUBIC, path.kinds == ARC
    if cubic.any():
        middle[cubic] = np.array([1, 3, 3, 1]) / 8 @ path.segments[cubic].reshape(-1, 4, 2)
    if arc.any():
        rows = path.segments[arc]
        middle[arc] = arc_points(rows, rows[:, 6:8].mean(1))
    return middle


def _rank_among_doubles(path: Path, subpaths: Ints, nodes: Ints, tolerance_mm: float) -> Ints:
    """0 for the first of those that run between the same two points through the same middle, 1 for the next, ..."""
    rank = np.zeros(len(subpaths), np.intp)
    if not len(subpaths):
        return rank
    low, high = nodes.min(1), nodes.max(1)
    _, pair, times = np.unique(low * (high.max() + 1) + high, return_inverse=True, return_counts=True)
    alike = np.flatnonzero(times[pair] > 1)
    means = np.add.reduceat(_middles(path), path.starts) / (path.stops - path.starts)[:, None]
    spots = _meeting_points(means[subpaths[alike]], pair[alike], 4 * tolerance_mm)
    order = np.argsort(spots, kind="stable")
    new = np.ones(len(order), bool)
    new[1:] = np.diff(spots[order]) != 0
    first = np.maximum.accumulate(np.where(new, np.arange(len(order)), 0))
    rank[alike[order]] = np.arange(len(order)) - first
    return rank


def _partners(nodes: Ints) -> Ints:
    """The one other end at each end's node, or -1 where there is none or more than one."""
    partner = np.full(len(nodes), -1, np.intp)
    order = np.argsort(nodes, kind="stable")
    _, first, counts = np.unique(nodes[order], return_index=True, return_counts=True)
    pairs = first[counts == 2]
    partner[order[pairs]], partner[order[pairs + 1]] = order[pairs + 1], order[pairs]
    return partner


def _walked(open_: Ints, nodes: Ints, partner: Ints, closed_in: Bools) -> tuple[Ints, Bools, Ints, Bools]:
    """Subpaths in chain order, which of them run backwards, where each chain starts, which chains close."""
    linked = (partner.reshape(-1, 2) >= 0).any(1)
    ends, seeds = _walks(np.flatnonzero(linked), partner.tolist())
    # those that meet nothing, or are closed already, are chains by themselves
    alone = np.concatenate([open_[~linked], np.flatnonzero(closed_in)])
    order = np.concatenate([open_[ends // 2], alone])
    backwards = np.concatenate([ends % 2 == 1, np.zeros(len(alone), bool)])
    seed_of = np.concatenate([open_[seeds], alone])
    enters = np.concatenate([nodes.ravel()[ends], nodes[~linked, 0], np.zeros(closed_in.sum(), np.intp)])
    leaves = np.concatenate([nodes.ravel()[ends ^ 1], nodes[~linked, 1], np.zeros(closed_in.sum(), np.intp)])
    sorting = np.argsort(seed_of, kind="stable")
    order, backwards, enters, leaves = order[sorting], backwards[sorting], enters[sorting], leaves[sorting]
    starts = np.flatnonzero(np.diff(seed_of[sorting], prepend=-1))
    member_starts = np.append(starts, len(order)).astype(np.intp)
    return order, backwards, member_starts, enters[starts] == leaves[member_starts[1:] - 1]


def _walks(linked: Ints, partners: list[int]) -> tuple[Ints, Ints]:
    """The ends (2k a subpath's start, 2k + 1 its end) at which walks enter subpaths, and the walk's first-drawn one."""
    used = [False] * (len(partners) // 2)
    ends: list[int] = []
    seeds: list[int] = []
    for seed in linked.tolist():
        if used[seed]:
            continue
        end = _far_end(seed, partners)
        while end >= 0 and not used[end >> 1]:
            used[end >> 1] = True
            ends.append(end)
            seeds.append(seed)
            end = partners[end ^ 1]
    return np.array(ends, np.intp), np.array(seeds, np.intp)


def _far_end(seed: int, partners: list[int]) -> int:
    """The end from which a walk passes all of the seed's chain; the seed's own start where the chain is a ring."""
    end = 2 * seed
    while True:
        before = partners[end]
        if before < 0:
            return end
        end = before ^ 1
        if end == 2 * seed:
            return end


def _assembled(path: Path, order: Ints, backwards: Bools, member_starts: Ints, closed: Bools) -> Chains:
    lengths = (path.stops - path.starts)[order]
    first_slot = np.concatenate([[0], np.cumsum(lengths)]).astype(np.intp)
    within = np.arange(first_slot[-1]) - np.repeat(first_slot[:-1], lengths)
    flipped = np.repeat(backwards, lengths)
    source = np.where(
        flipped, np.repeat(path.stops[order] - 1, lengths) - within, np.repeat(path.starts[order], lengths) + within
    )
    kinds, segments = path.kinds[source], _turned_round(path.kinds[source], path.segments[source], flipped)
    starts = first_slot[member_starts[:-1]]
    chained = Path(kinds=kinds, segments=segments, starts=starts, closed=closed)
    seams = first_slot[1:] - 1  # last segment of each member; what follows it is the next member, or the chain's first
    is_last = np.zeros(len(seams), bool)
    is_last[member_starts[1:] - 1] = True
    following = seams + 1
    following[is_last] = starts
    joins = ~is_last
    joins[member_starts[1:] - 1] = closed
    return Chains(path=_sewn(chained, seams[joins], following[joins]), members=order, member_starts=member_starts)


def _turned_round(kinds: NDArray[np.uint8], segments: Floats, flipped: Bools) -> Floats:
    segments = segments.copy()
    line, cubic, arc = (flipped & (kinds == kind) for kind in (LINE, CUBIC, ARC))
    segments[line, :4] = segments[line][:, [2, 3, 0, 1]]
    segments[cubic] = segments[cubic].reshape(-1, 4, 2)[:, ::-1].reshape(-1, 8)
    segments[arc, 6:] = segments[arc][:, [7, 6]]
    return segments


def _sewn(path: Path, before: Ints, after: Ints) -> Path:
    """Segments made to meet: ``path`` with the end of each ``before`` at the start of the ``after`` beside it."""
    kinds, segments = path.kinds, path.segments.copy()
    end, start = path.end_points[before], path.start_points[after]
    apart = (end != start).any(1)
    before, after, end, start = before[apart], after[apart], end[apart], start[apart]
    line_ends = kinds[before] == LINE
    segments[before[line_ends], 2:4] = start[line_ends]
    moves_start = ~line_ends & (kinds[after] != ARC)
    segments[after[moves_start], 0:2] = end[moves_start]
    moves_end = ~line_ends & ~moves_start & (kinds[before] == CUBIC)
    segments[before[moves_end], 6:8] = start[moves_end]
    bridged = ~line_ends & ~moves_start & ~moves_end & (np.hypot(*(end - start).T) > 1e-9)
    if not bridged.any():
        return Path(kinds=kinds, segments=segments, starts=path.starts, closed=path.closed)
    at = before[bridged] + 1
    rows = np.zeros((len(at), 8))
    rows[:, 0:2], rows[:, 2:4] = end[bridged], start[bridged]
    # a bridge at the place where the next chain starts closes the one before it
    shift = np.searchsorted(np.sort(at), path.starts, side="right")
    return Path(
        kinds=np.insert(kinds, at, LINE),
        segments=np.insert(segments, at, rows, axis=0),
        starts=(path.starts + shift).astype(np.intp),
        closed=path.closed,
    )


def _composed(inner: Chains, outer: Chains) -> Chains:
    """The chains of chains, told by the first input's subpaths."""
    lengths = np.diff(inner.member_starts)[outer.members]
    ends = np.cumsum(lengths)
    within = np.arange(ends[-1] if len(ends) else 0) - np.repeat(ends - lengths, lengths)
    members = inner.members[np.repeat(inner.member_starts[outer.members], lengths) + within]
    starts = np.concatenate([[0], ends])[outer.member_starts]
    return Chains(path=outer.path, members=members.astype(np.intp), member_starts=starts.astype(np.intp))
