"""The plane cut into strips between neighbouring scan rows, and each strip into clusters and gaps.

Within a strip only two things change along x: edges of the region pass, and spans begin or end, each with a round end
of the cleared half-width. A *cluster* is a stretch of a strip in which such curves overlap in x; in the *gaps* between
clusters the region is there or not, and so is each row's span, over the whole height of the strip. So areas in gaps
are products, and only clusters need integration (``cluster_areas``).

Local frame of a strip: x as in the scan frame, t across it from 0 on its lower-y row to the pitch on the next.
A row acts on the strips within the cleared half-width: *reach* 0 is the strip's own row on that side, reach 1 the row
behind it, and so on. *Slots* number the rows near a strip: reach j before it is slot j, reach j after it slot J + j.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.burning.scan_rows import RegionEdges, ScanRows

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

MAX_REACH = 30
TOUCHING_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lattice:
    """Where strips lie: strip s runs from ``y0_mm + s · pitch_mm`` to the next row; cleared half-width of the rows."""

    y0_mm: float
    pitch_mm: float
    half_width_mm: float

    @property
    def reach(self) -> int:
        """J: how many rows on each side act on a strip."""
        return math.ceil(self.half_width_mm / self.pitch_mm - 1e-12)

    def strip_minus_row(self, slot: int) -> int:
        """Which strip a row acts on in this slot, counted from the row's own number."""
        return slot if slot < self.reach else self.reach - 1 - slot

    def span_of_slot(self, slot: int) -> tuple[float, float, float]:
        """Local t of the slot's row, and from where to where in the strip it acts: (t_row, t_from, t_to)."""
        reach, pitch = slot % self.reach, self.pitch_mm
        acts_over = min(max(self.half_width_mm - reach * pitch, 0.0), pitch)
        if slot < self.reach:
            return -reach * pitch, 0.0, acts_over
        return (1 + reach) * pitch, pitch - acts_over, pitch


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pieces:
    """Edges cut at the strips' borders, (n,) each: from (xa, ta) to (xb, tb) in the strip's frame, ta <= tb.

    sign as in ``RegionEdges``. In the order of the edges, and along each edge.
    """

    strip: Ints
    xa: Floats
    ta: Floats
    xb: Floats
    tb: Floats
    sign: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ends:
    """Round ends of spans as they act on strips, (n,) each. side: -1 where the span begins, +1 where it ends."""

    strip: Ints
    x: Floats
    side: Floats
    slot: Ints


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Clusters:
    """Clusters of a band of strips, sorted by strip and x. All (c,) but the members.

    lo, hi: extent in x. inside: the region is there at the left border. covered: bit k is set when the row of slot k
    has a span over the left border. piece_starts, end_starts (c + 1,): members of cluster i are
    ``pieces[piece_order[piece_starts[i]:piece_starts[i + 1]]]``, and so for ends.
    """

    strip: Ints
    lo: Floats
    hi: Floats
    inside: Flags
    covered: NDArray[np.int64]
    piece_order: Ints
    piece_starts: Ints
    end_order: Ints
    end_starts: Ints

    def __len__(self) -> int:
        return len(self.strip)


def strips_of_edges(edges: RegionEdges, lattice: Lattice) -> tuple[Ints, Ints]:
    """First and last strip that each edge lies in, (m,) each."""
    first = np.floor((edges.y0 - lattice.y0_mm) / lattice.pitch_mm).astype(np.intp)
    last = np.ceil((edges.y1 - lattice.y0_mm) / lattice.pitch_mm).astype(np.intp) - 1
    return first, np.maximum(first, last)


def pieces_in_band(
    edges: RegionEdges, strips: tuple[Ints, Ints], lattice: Lattice, *, first_strip: int, end_strip: int
) -> Pieces:
    """Edges cut into the strips ``first_strip <= s < end_strip``."""
    low, high = np.maximum(strips[0], first_strip), np.minimum(strips[1] + 1, end_strip)
    some = np.flatnonzero(high > low)
    counts = high[some] - low[some]
    edge = np.repeat(some, counts)
    strip = np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts - low[some], counts)
    x0, y0, x1, y1 = edges.x0[edge], edges.y0[edge], edges.x1[edge], edges.y1[edge]
    border = lattice.y0_mm + strip * lattice.pitch_mm
    ta, tb = np.clip(y0 - border, 0.0, lattice.pitch_mm), np.clip(y1 - border, 0.0, lattice.pitch_mm)
    height = np.maximum(y1 - y0, 1e-15)
    share_a = np.clip((border - y0) / height, 0.0, 1.0)
    share_b = np.where(y1 > border + lattice.pitch_mm, (border + lattice.pitch_mm - y0) / height, 1.0)
    return Pieces(
        strip=strip,
        xa=x0 + share_a * (x1 - x0),
        ta=ta,
        xb=np.where(share_b == 1.0, x1, x0 + np.clip(share_b, 0.0, 1.0) * (x1 - x0)),
        tb=tb,
        sign=edges.sign[edge].astype(float),
    )


def ends_in_band(
    rows: ScanRows, hidden: tuple[Flags, Flags] | None, lattice: Lattice, *, first_strip: int, end_strip: int
) -> Ends:
    """Round ends that act on the strips ``first_strip <= s < end_strip``.

    Spans of farther rows are left out where ``hidden`` (from ``hidden_spans``) says so.
    """
    strips, xs, sides, slots = [], [], [], []
    row_count = len(rows.row_y_mm)
    for slot in range(2 * lattice.reach):
        offset = lattice.strip_minus_row(slot)
        row_a, row_b = (min(max(strip - offset, 0), row_count) for strip in (first_strip, end_strip))
        part = slice(rows.row_starts[row_a], rows.row_starts[row_b])
        strip, x0, x1 = rows.row_index[part] + offset, rows.x0_mm[part], rows.x1_mm[part]
        if hidden and slot % lattice.reach:
            seen = ~hidden[slot // lattice.reach][part]
            strip, x0, x1 = strip[seen], x0[seen], x1[seen]
        count = len(strip)
        strips += [strip, strip]
        xs += [x0, x1]
        sides += [np.full(count, -1.0), np.full(count, 1.0)]
        slots.append(np.full(2 * count, slot, np.intp))
    if not strips:
        return Ends(strip=np.zeros(0, np.intp), x=np.zeros(0), side=np.zeros(0), slot=np.zeros(0, np.intp))
    return Ends(
        strip=np.concatenate(strips), x=np.concatenate(xs), side=np.concatenate(sides), slot=np.concatenate(slots)
    )


def hidden_spans(rows: ScanRows, lattice: Lattice) -> tuple[Flags, Flags] | None:
    """Which spans clear nothing more on strips after the next row, and on strips before the row before; (n,) each.

    They lie within a span of that nearer row. None where rows act on no strips but their own.
    """
    return (_within_neighbour(rows, 1), _within_neighbour(rows, -1)) if lattice.reach > 1 else None


def _within_neighbour(rows: ScanRows, side: int) -> Flags:
    """Which spans lie wholly over one span of the next row (side 1) or of the row before (side -1), (n,)."""
    width = float(rows.x1_mm.max(initial=0.0) - rows.x0_mm.min(initial=0.0)) + 1.0
    wanted = rows.row_index + side
    place = np.searchsorted(rows.row_index * width + rows.x0_mm, wanted * width + rows.x0_mm, side="right") - 1
    place = np.maximum(place, 0)
    slack = 1e-7
    result: Flags = (
        (rows.row_index[place] == wanted)
        & (rows.x0_mm[place] <= rows.x0_mm + slack)
        & (rows.x1_mm[place] >= rows.x1_mm - slack)
    )
    return result


def clusters_of(pieces: Pieces, ends: Ends, lattice: Lattice) -> Clusters:
    """Group what overlaps in x, strip by strip."""
    bulges = np.array(
        [math.sqrt(max(lattice.half_width_mm**2 - (slot % lattice.reach * lattice.pitch_mm) ** 2, 0.0))
         for slot in range(2 * lattice.reach)]
    )  # fmt: skip
    bulge = bulges[ends.slot] if len(ends.slot) else np.zeros(0)
    strip = np.concatenate([pieces.strip, ends.strip])
    left = np.concatenate([np.minimum(pieces.xa, pieces.xb), np.where(ends.side < 0, ends.x - bulge, ends.x)])
    right = np.concatenate([np.maximum(pieces.xa, pieces.xb), np.where(ends.side < 0, ends.x, ends.x + bulge)])
    if not len(strip):
        return _no_clusters()
    origin = left.min()
    width = float(right.max() - origin) + 1.0
    base = (strip - strip.min()) * width - origin
    order = np.argsort(left + base)
    reached = np.maximum.accumulate((right + base)[order])
    starts_new = np.ones(len(order), bool)
    starts_new[1:] = (left + base)[order][1:] > reached[:-1] + TOUCHING_MM
    first = np.flatnonzero(starts_new)
    last = np.append(first[1:], len(order)) - 1
    strip_of_cluster = strip[order[first]]
    # what lies left of a cluster in its strip: over a whole strip both sums are zero, so they may run on
    piece_count = len(pieces.strip)
    height = np.concatenate([pieces.sign * (pieces.tb - pieces.ta), np.zeros(len(ends.strip))])
    begun = np.concatenate([np.zeros(piece_count, np.int64), np.where(ends.side < 0, 1, -1) << ends.slot])
    height_in, begun_in = (np.add.reduceat(values[order], first) for values in (height, begun))
    is_piece = order < piece_count
    pieces_before = np.concatenate([[0], np.cumsum(is_piece)])[np.append(first, len(order))]
    return Clusters(
        strip=strip_of_cluster,
        lo=left[order[first]],
        hi=reached[last] - (strip_of_cluster - strip.min()) * width + origin,
        inside=np.round((np.cumsum(height_in) - height_in) / lattice.pitch_mm) > 0,
        covered=np.cumsum(begun_in) - begun_in,
        piece_order=order[is_piece],
        piece_starts=pieces_before,
        end_order=order[~is_piece] - piece_count,
        end_starts=np.append(first, len(order)) - pieces_before,
    )


def covered_height_mm(covered: NDArray[np.int64], lattice: Lattice) -> Floats:
    """How much of a strip's height is cleared where the spans of the slots in ``covered`` lie over it."""
    total = np.zeros(len(covered))
    for side in (0, lattice.reach):
        open_yet = np.ones(len(covered), bool)
        for slot in range(side, side + lattice.reach):  # the nearest row reaches furthest
            _, t_from, t_to = lattice.span_of_slot(slot)
            here = open_yet & (covered >> slot & 1 == 1)
            total[here] += t_to - t_from
            open_yet &= ~here
    return np.minimum(total, lattice.pitch_mm)


def _no_clusters() -> Clusters:
    none, zero = np.zeros(0, np.intp), np.zeros(1, np.intp)
    return Clusters(
        strip=none,
        lo=np.zeros(0),
        hi=np.zeros(0),
        inside=np.zeros(0, bool),
        covered=np.zeros(0, np.int64),
        piece_order=none,
        piece_starts=zero,
        end_order=none,
        end_starts=zero,
    )
