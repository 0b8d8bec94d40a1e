"""The plane cut into strips between neighbouring scan rows, and each strip into clusters and gaps.

Within a strip only two things change along x: edges of the region pass, and spans begin or end, over a *window* beside
each of their ends in which their dose rises from nothing to all. A *cluster* is a stretch of a strip in which edges and
windows overlap in x; in the *gaps* between clusters the region is there or not, and so is each row's span at its full
dose. So areas in gaps are products, and only clusters need integration (``cluster_areas``).

Local frame of a strip: x as in the scan frame, t across it from 0 on its lower-y row to the pitch on the next.
*Slots* number the rows near a strip: reach j before it (j = 0: its own lower row) is slot j, reach j after it J + j.
"""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.burning.row_order import by_row_and_place
from core.burning.scan_rows import RegionEdges, ScanRows
from core.burning.strip_gaps import (
    NO_GAPS,
    NO_NEIGHBOURS,
    NO_PASSAGES,
    Gaps,
    Neighbours,
    Passages,
    gaps_between,
    passages_before,
)

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]
Patterns = NDArray[np.int64]

MAX_REACH = 30
TOUCHING_MM = 1e-6
_ALIKE_MM = 1e-7


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lattice:
    """Where strips lie: strip s runs from ``y0_mm + s · pitch_mm`` to the next row; how far a row acts across it.

    outward_mm, inward_mm: the window beside a span's end, away from the span and into it.
    """

    y0_mm: float
    pitch_mm: float
    reach_mm: float
    outward_mm: float
    inward_mm: float

    @property
    def reach(self) -> int:
        """J: how many rows on each side act on a strip."""
        return math.ceil(self.reach_mm / self.pitch_mm - 1e-12)

    @property
    def slot_t(self) -> Floats:
        """(2J,): t of the row of each slot."""
        away = np.arange(self.reach) * self.pitch_mm
        return np.concatenate([-away, self.pitch_mm + away])

    def strip_minus_row(self, slot: int) -> int:
        """Which strip a row acts on in this slot, counted from the row's own number."""
        return slot if slot < self.reach else self.reach - 1 - slot


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """Edges cut at the strips' borders, (n,) each: from (xa, ta) to (xb, tb) in the strip's frame, ta <= tb.

    owner: the strip, or the cluster once they are sorted into such. sign as in ``RegionEdges``.
    """

    owner: Ints
    xa: Floats
    ta: Floats
    xb: Floats
    tb: Floats
    sign: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spans:
    """Spans as they act on strips, (n,) each; owner as for pieces.

    begin_counts, end_counts: whether that end lies in a cluster; not where it belongs to a passage.
    """

    owner: Ints
    slot: Ints
    x0: Floats
    x1: Floats
    begin_counts: Flags
    end_counts: Flags


_NOTHING, _FALSE = np.zeros(0), np.zeros(0, bool)
NO_SPANS = Spans(
    owner=np.zeros(0, np.intp),
    slot=np.zeros(0, np.intp),
    x0=_NOTHING,
    x1=_NOTHING,
    begin_counts=_FALSE,
    end_counts=_FALSE,
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clusters:
    """Clusters of a band of strips, sorted by strip and x. All (c,) but the members, runs and gaps.

    lo, hi: extent in x. inside: the region is there at the left border. covered: bit k is set when the row of slot k
    has a span over the left border; through: such a span goes on beyond the cluster. pieces and spans (those that
    begin or end in it) are owned by the clusters, in their order. Runs, (r,) each: run_owner, from run_lo to run_hi the
    windows of span ends overlap; run_after is the pattern of slots covered when it is past. gaps: between them, and
    between passages.
    """

    strip: Ints
    lo: Floats
    hi: Floats
    inside: Flags
    covered: Patterns
    through: Patterns
    pieces: Pieces
    spans: Spans
    run_owner: Ints
    run_lo: Floats
    run_hi: Floats
    run_after: Patterns
    gaps: Gaps = NO_GAPS

    def __len__(self) -> int:
        return len(self.strip)

    @property
    def width(self) -> Floats:
        """Extents in x."""
        return self.hi - self.lo


def strips_of_edges(edges: RegionEdges, lattice: Lattice) -> tuple[Ints, Ints]:
    """First and last strip that each edge lies in, (m,) each."""
    first = np.floor((edges.y0 - lattice.y0_mm) / lattice.pitch_mm).astype(np.intp)
    last = np.ceil((edges.y1 - lattice.y0_mm) / lattice.pitch_mm).astype(np.intp) - 1
    return first, np.maximum(first, last)


def expanded(first: Ints, counts: Ints) -> tuple[Ints, Ints]:
    """For each i the numbers first[i], first[i] + 1, … counts[i] of them: (which i, number)."""
    which = np.repeat(np.arange(len(counts)), counts)
    number = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts - first, counts)
    return which, number


def pieces_in_band(
    edges: RegionEdges, strips: tuple[Ints, Ints], lattice: Lattice, *, first_strip: int, end_strip: int
) -> Pieces:
    """Edges cut into the strips ``first_strip <= s < end_strip``."""
    return pieces_of(edges, *edges_in_band(strips, first_strip=first_strip, end_strip=end_strip), lattice)


def edges_in_band(strips: tuple[Ints, Ints], *, first_strip: int, end_strip: int) -> tuple[Ints, Ints]:
    """Edge and strip, (n,) each, for every strip of the band that an edge lies in."""
    low, high = np.maximum(strips[0], first_strip), np.minimum(strips[1] + 1, end_strip)
    some = np.flatnonzero(high > low)
    which, strip = expanded(low[some], high[some] - low[some])
    return some[which], strip


def pieces_of(edges: RegionEdges, edge: Ints, strip: Ints, lattice: Lattice) -> Pieces:
    """Of each edge what lies in that strip."""
    x0, y0, x1, y1 = edges.x0[edge], edges.y0[edge], edges.x1[edge], edges.y1[edge]
    border = lattice.y0_mm + strip * lattice.pitch_mm
    ta, tb = np.clip(y0 - border, 0.0, lattice.pitch_mm), np.clip(y1 - border, 0.0, lattice.pitch_mm)
    height = np.maximum(y1 - y0, 1e-15)
    share_a = np.clip((border - y0) / height, 0.0, 1.0)
    share_b = np.where(y1 > border + lattice.pitch_mm, (border + lattice.pitch_mm - y0) / height, 1.0)
    return Pieces(
        owner=strip,
        xa=x0 + share_a * (x1 - x0),
        ta=ta,
        xb=np.where(share_b == 1.0, x1, x0 + np.clip(share_b, 0.0, 1.0) * (x1 - x0)),
        tb=tb,
        sign=edges.sign[edge].astype(float),
    )


def spans_in_band(
    rows: ScanRows, lattice: Lattice, *, first_strip: int, end_strip: int, some: Ints | None = None
) -> tuple[Spans, Ints]:
    """Spans that act on the strips ``first_strip <= s < end_strip``, which span each is; some (rising): these only."""
    span = np.arange(len(rows)) if some is None else some
    row = rows.row_index[span]
    borders = np.searchsorted(row, np.arange(len(rows.row_y_mm) + 1))
    row_count = len(rows.row_y_mm)
    owners, slots, spans = [], [], []
    for slot in range(2 * lattice.reach):
        offset = lattice.strip_minus_row(slot)
        row_a, row_b = (min(max(strip - offset, 0), row_count) for strip in (first_strip, end_strip))
        part = slice(borders[row_a], borders[row_b])
        owners.append(row[part] + offset)
        slots.append(np.full(len(owners[-1]), slot, np.intp))
        spans.append(span[part])
    if not owners:
        return NO_SPANS, np.zeros(0, np.intp)
    which = np.concatenate(spans)
    every = np.ones(len(which), bool)
    return Spans(
        owner=np.concatenate(owners),
        slot=np.concatenate(slots),
        x0=rows.x0_mm[which],
        x1=rows.x1_mm[which],
        begin_counts=every,
        end_counts=every,
    ), which


def spans_where(spans: Spans, which: Ints) -> Spans:
    """These of the spans."""
    return Spans(
        owner=spans.owner[which],
        slot=spans.slot[which],
        x0=spans.x0[which],
        x1=spans.x1[which],
        begin_counts=spans.begin_counts[which],
        end_counts=spans.end_counts[which],
    )


def clusters_of(pieces: Pieces, spans: Spans, lattice: Lattice, passages: Passages = NO_PASSAGES) -> Clusters:
    """Group what overlaps in x, strip by strip. Owners of pieces and spans are strips. Passages lie beside all else."""
    begin, end = np.flatnonzero(spans.begin_counts), np.flatnonzero(spans.end_counts)
    strip = np.concatenate([pieces.owner, spans.owner[begin], spans.owner[end]])
    if not len(strip):
        return replace(_no_clusters(), gaps=gaps_between(NO_NEIGHBOURS, passages, every_slot(lattice)))
    ends_from = len(pieces.owner)
    out, in_ = lattice.outward_mm, lattice.inward_mm
    x0, x1 = spans.x0[begin], spans.x1[end]
    left = np.concatenate([np.minimum(pieces.xa, pieces.xb), x0 - out, x1 - in_])
    right = np.concatenate([np.maximum(pieces.xa, pieces.xb), x0 + in_, x1 + out])
    origin = left.min()
    width = float(right.max() - origin) + 1.0
    base = (strip - strip.min()) * width - origin
    order = by_row_and_place(strip, left)
    sorted_left, sorted_right = (left + base)[order], (right + base)[order]
    first, reached = _chains(sorted_left, sorted_right)
    last = np.append(first[1:], len(order)) - 1
    strip_of_cluster = strip[order[first]]
    cluster = np.empty(len(order), np.intp)
    cluster[order] = np.repeat(np.arange(len(first)), np.diff(np.append(first, len(order))))
    # what lies left of a cluster in its strip: over a whole strip both sums are zero, so they may run on
    height = np.concatenate([pieces.sign * (pieces.tb - pieces.ta), np.zeros(len(begin) + len(end))])
    begun = np.concatenate([np.zeros(ends_from, np.int64), 1 << spans.slot[begin], -(1 << spans.slot[end])])
    height_in, begun_in = (np.add.reduceat(values[order], first) for values in (height, begun))
    lo, hi = left[order[first]], reached[last] - (strip_of_cluster - strip.min()) * width + origin
    before = passages_before(passages, strip_of_cluster, lo)
    passed = np.append(0.0, np.cumsum(passages.sign))[before]
    height_after = np.cumsum(height_in) + passed * lattice.pitch_mm
    covered_after = np.cumsum(begun_in) + every_slot(lattice) * passed.astype(np.int64)
    covered = covered_after - begun_in
    begins, ends = (np.full(len(spans.owner), -1, np.intp) for _ in range(2))
    begins[begin] = cluster[ends_from : ends_from + len(begin)]
    ends[end] = cluster[ends_from + len(begin) :]
    through = covered.copy()
    ends_only = (ends >= 0) & (begins != ends)
    np.subtract.at(through, ends[ends_only], 1 << spans.slot[ends_only])
    is_end = order >= ends_from
    run_first, run_reached = _chains(sorted_left[is_end], sorted_right[is_end])
    run_last = np.append(run_first[1:], int(is_end.sum())) - 1
    run_owner = cluster[order[is_end][run_first]] if len(run_first) else np.zeros(0, np.intp)
    shift = base[order[is_end][run_first]] if len(run_first) else np.zeros(0)
    neighbours = Neighbours(
        strip=strip_of_cluster,
        lo=lo,
        hi=hi,
        before=before,
        inside_after=np.round(height_after / lattice.pitch_mm) > 0,
        covered_after=covered_after,
    )
    return Clusters(
        strip=strip_of_cluster,
        lo=lo,
        hi=hi,
        inside=np.round((height_after - height_in) / lattice.pitch_mm) > 0,
        covered=covered,
        through=through,
        pieces=_owned_pieces(pieces, cluster[:ends_from]),
        spans=_owned_spans(spans, begins, ends),
        run_owner=run_owner,
        run_lo=sorted_left[is_end][run_first] - shift,
        run_hi=run_reached[run_last] - shift if len(run_first) else np.zeros(0),
        run_after=_after_runs(covered, begun, cluster, order, is_end, run_owner, run_first),
        gaps=gaps_between(neighbours, passages, every_slot(lattice)),
    )


def every_slot(lattice: Lattice) -> int:
    """The pattern of all slots."""
    return (1 << len(lattice.slot_t)) - 1


def _after_runs(
    covered: Patterns, begun: Patterns, cluster: Ints, order: Ints, is_end: Flags, run_owner: Ints, run_first: Ints
) -> Patterns:
    """The pattern of slots covered when each run is past: what its cluster is entered with, and all ends since."""
    ends = order[is_end]
    if not len(ends):
        return np.zeros(0, np.int64)
    total = np.cumsum(begun[ends])
    last = np.append(run_first[1:], len(ends)) - 1
    first_of_cluster = np.searchsorted(cluster[ends], run_owner)
    before = total[first_of_cluster] - begun[ends][first_of_cluster]
    result: Patterns = covered[run_owner] + total[last] - before
    return result


def _chains(left: Floats, right: Floats) -> tuple[Ints, Floats]:
    """Where in intervals sorted by their left ends each chain of overlapping ones begins, and how far they reached."""
    if not len(left):
        return np.zeros(0, np.intp), right
    reached = np.maximum.accumulate(right)
    starts = np.ones(len(left), bool)
    starts[1:] = left[1:] > reached[:-1] + TOUCHING_MM
    return np.flatnonzero(starts), reached


def _owned_pieces(pieces: Pieces, cluster: Ints) -> Pieces:
    order = np.argsort(cluster, kind="stable")
    return Pieces(
        owner=cluster[order],
        xa=pieces.xa[order],
        ta=pieces.ta[order],
        xb=pieces.xb[order],
        tb=pieces.tb[order],
        sign=pieces.sign[order],
    )


def _owned_spans(spans: Spans, begins: Ints, ends: Ints) -> Spans:
    """Each span once for every cluster in which it begins or ends."""
    begun, apart = np.flatnonzero(begins >= 0), np.flatnonzero((ends >= 0) & (ends != begins))
    which = np.concatenate([begun, apart])
    cluster = np.concatenate([begins[begun], ends[apart]])
    order = np.argsort(cluster, kind="stable")
    which = which[order]
    return replace(spans_where(spans, which), owner=cluster[order])


def alike(clusters: Clusters, lattice: Lattice) -> Ints:
    """For each cluster the index of the first one of the same shape, (c,); often its own.

    Told by a 64-bit sum over the members of what they are, rounded to a ten-millionth of a millimetre.
    """
    far = 4 * (lattice.inward_mm + lattice.outward_mm) + lattice.pitch_mm
    pieces, spans = clusters.pieces, clusters.spans
    lo = clusters.lo[pieces.owner]
    mark = _mixed(pieces.xa - lo, pieces.ta, pieces.xb - lo, pieces.tb, pieces.sign)
    lo, width = clusters.lo[spans.owner], clusters.width[spans.owner]
    x0, x1 = np.maximum(spans.x0 - lo, -far), np.minimum(spans.x1 - lo, width + far)
    own = _mixed(clusters.width, clusters.inside, clusters.through, clusters.covered)
    for owner, marks in ((pieces.owner, mark), (spans.owner, _mixed(x0, x1, spans.slot))):
        np.add.at(own, owner, marks)
    _, first, which = np.unique(own, return_index=True, return_inverse=True)
    result: Ints = first[which]
    return result


def _mixed(*columns: NDArray[Any]) -> NDArray[np.uint64]:
    """A 64-bit mark of each row of numbers (multiply and shift, as in the usual integer hashes)."""
    mark = np.zeros(len(columns[0]), np.uint64)
    for number, column in enumerate(columns):
        is_length = column.dtype == np.float64
        whole = (np.round(column / _ALIKE_MM) if is_length else column).astype(np.int64).view(np.uint64)
        mark = (mark ^ (whole + np.uint64(number + 1))) * np.uint64(0x9E3779B97F4A7C15)
        mark ^= mark >> np.uint64(29)
        mark *= np.uint64(0xBF58476D1CE4E5B9)
        mark ^= mark >> np.uint64(32)
    return mark


def chosen(clusters: Clusters, which: Ints) -> Clusters:
    """Only these clusters (rising), with their members, without gaps."""
    place = np.full(len(clusters), -1, np.intp)
    place[which] = np.arange(len(which))
    pieces, spans, run = clusters.pieces, clusters.spans, place[clusters.run_owner] >= 0
    p, s = place[pieces.owner] >= 0, place[spans.owner] >= 0
    return Clusters(
        strip=clusters.strip[which],
        lo=clusters.lo[which],
        hi=clusters.hi[which],
        inside=clusters.inside[which],
        covered=clusters.covered[which],
        through=clusters.through[which],
        pieces=Pieces(
            owner=place[pieces.owner[p]],
            xa=pieces.xa[p],
            ta=pieces.ta[p],
            xb=pieces.xb[p],
            tb=pieces.tb[p],
            sign=pieces.sign[p],
        ),
        spans=replace(spans_where(spans, np.flatnonzero(s)), owner=place[spans.owner[s]]),
        run_owner=place[clusters.run_owner[run]],
        run_lo=clusters.run_lo[run],
        run_hi=clusters.run_hi[run],
        run_after=clusters.run_after[run],
    )


def _no_clusters() -> Clusters:
    none, zero, flat = np.zeros(0, np.intp), np.zeros(0), np.zeros(0, np.int64)
    return Clusters(
        strip=none,
        lo=zero,
        hi=zero,
        inside=np.zeros(0, bool),
        covered=flat,
        through=flat,
        pieces=Pieces(owner=none, xa=zero, ta=zero, xb=zero, tb=zero, sign=zero),
        spans=NO_SPANS,
        run_owner=none,
        run_lo=zero,
        run_hi=zero,
        run_after=flat,
    )
