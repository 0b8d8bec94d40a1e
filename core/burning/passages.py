"""Where a region's outline passes strips almost straight and alone, so that a table tells what is bared beside it.

A *passage* is one strip crossed by one outline where all rows in reach end on that outline, on a shallow curve, and
nothing else is within reach. What stays and what is spilt beside it then hang on the outline's slope and bend alone,
and are read off a table that is filled by the exact way (``cluster_areas``). Fine artwork has a million passages;
whatever is none is worked out exactly.
"""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from core.burning.baring import Baring
from core.burning.dose import across_share
from core.burning.outlines import Outlines
from core.burning.passage_table import LARGEST_BEND_SIGMAS, STEEPEST, PassageTable, Rule, table_of
from core.burning.scan_rows import RegionEdges, ScanRows
from core.burning.strip_gaps import NO_PASSAGES, Passages
from core.burning.strips import (
    Clusters,
    Flags,
    Floats,
    Ints,
    Lattice,
    Spans,
    clusters_of,
    edges_in_band,
    expanded,
    pieces_of,
    spans_in_band,
    spans_where,
)

OFF_CURVE_SIGMAS = 0.1
"""How far ends may lie off the curve; those of rows further away more, as their dose counts for less."""
NOBODY = np.zeros(0, np.intp)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Passing:
    """A region's passages, and what is left beside them.

    is_passage, (n,): whether an outline passes in a passage from each crossing to the next. busy: the spans of which
    an end lies in strips that are no passage. Before ``kept_apart`` it is not known of any passage whether something
    else lies beside it, nor which spans are busy.
    """

    edges: RegionEdges
    rows: ScanRows
    lattice: Lattice
    strips: tuple[Ints, Ints]
    outlines: Outlines
    is_passage: Flags
    found: "_Found"
    busy: Ints

    def kept_apart(self, wanted: Flags, first_strip: int) -> "Passing":
        """The same for the strips that are wanted, from the first on; what is said of others means nothing."""
        outlines, found = self.outlines, self.found
        if found.table is None:
            return self
        some = np.flatnonzero(wanted[outlines.row[found.here] - first_strip])
        here, number = _in_rows(outlines, found.here[some], some)
        free = _apart(self, here, (found.shapes.left[number], found.shapes.right[number]), wanted, first_strip)
        is_passage = self.is_passage.copy()
        is_passage[here[~free]] = False
        here, number = here[free], number[free]
        shapes = found.shapes.without_extent(number)
        strip = outlines.row[here]
        low = int(strip[0]) if len(strip) else 0
        return replace(
            self,
            is_passage=is_passage,
            found=replace(
                found,
                here=here,
                shapes=shapes,
                sign=outlines.sign[here],
                first_strip=low,
                starts=np.concatenate([[0], np.cumsum(np.bincount(strip - low))]).astype(np.intp),
            ),
            busy=_busy_spans(outlines, is_passage, self.lattice.reach),
        )

    def crossings(self, first_strip: int, end_strip: int) -> tuple[Ints, Ints]:
        """How often outlines pass each strip of the band otherwise than in a passage, and in one, (n,) each."""
        count, strip = end_strip - first_strip, self.outlines.row - first_strip
        every = np.bincount(strip, minlength=count)[:count]
        passages = np.bincount(strip, self.is_passage, count)[:count].astype(np.intp)
        return every - passages, passages

    def by_table_mm2(self, first_strip: int, count: int) -> Floats:
        """Left-over coat and spill of all would-be passages of each strip, nothing beside them, (2, count)."""
        found = self.found
        if found.table is None:
            return np.zeros((2, count))
        total = np.zeros((2, count))
        for begin in range(0, len(found.here), _CROSSINGS_AT_ONCE):  # the table takes much on its way
            some = np.arange(begin, min(begin + _CROSSINGS_AT_ONCE, len(found.here)))
            strip = self.outlines.row[found.here[some]] - first_strip
            for sums, values in zip(total, found.areas(some), strict=True):
                sums += np.bincount(strip, values, count)
        return total

    def clusters(self, wanted: Flags, first_strip: int) -> tuple[Clusters, Passages]:
        """Clusters of the strips that are wanted, from the first on, gaps about passages too, and those passages."""
        edge, strip = edges_in_band(self.strips, first_strip=first_strip, end_strip=first_strip + len(wanted))
        edge, strip = _where(wanted[strip - first_strip], edge, strip)
        if len(self.is_passage):
            edge, strip = _where(~_taken(self.outlines, self.is_passage, edge, strip), edge, strip)
        passages = self.found.of_strips(wanted, first_strip)
        spans = self._spans(wanted, first_strip)
        pieces = pieces_of(self.edges, edge, strip, self.lattice)
        return clusters_of(pieces, spans, self.lattice, passages), passages

    def _spans(self, wanted: Flags, first_strip: int) -> Spans:
        end_strip = first_strip + len(wanted)
        spans, which = spans_in_band(
            self.rows, self.lattice, first_strip=first_strip, end_strip=end_strip, some=self.busy
        )
        here = np.flatnonzero(wanted[spans.owner - first_strip])
        spans, which = spans_where(spans, here), which[here]
        if not len(self.is_passage):
            return spans
        begin_counts, end_counts = (~self._takes(crossing[which], spans.owner) for crossing in self.outlines.of_span)
        spans = replace(spans, begin_counts=begin_counts, end_counts=end_counts)
        return spans_where(spans, np.flatnonzero(begin_counts | end_counts))

    def _takes(self, crossing: Ints, strip: Ints) -> Flags:
        """Whether these strips are passages of the outlines that cross there; -1 stands for no outline."""
        outlines = self.outlines
        place = crossing + strip - outlines.row[crossing]
        inside = (crossing >= 0) & (place >= 0) & (place < len(outlines.row))
        place = np.where(inside, place, 0)
        of_crossing = outlines.of_crossing
        result: Flags = inside & self.is_passage[place] & (of_crossing[place] == of_crossing[crossing])
        return result


def _where(some: Flags, edge: Ints, strip: Ints) -> tuple[Ints, Ints]:
    return (edge, strip) if some.all() else (edge[some], strip[some])


def _taken(outlines: Outlines, is_passage: Flags, edge: Ints, strip: Ints) -> Flags:
    """Whether these edges pass these strips in passages; same shape."""
    outline = outlines.of_edge[edge]
    place = outlines.starts[outline] + strip - outlines.first_row[outline]
    inside = (strip >= outlines.first_row[outline]) & (place < outlines.starts[outline + 1])
    result: Flags = inside & is_passage[np.where(inside, place, 0)]
    return result


def all_exact(edges: RegionEdges, strips: tuple[Ints, Ints], rows: ScanRows, lattice: Lattice) -> Passing:
    """No passages."""
    nowhere = np.full(len(edges.x0), 0, np.intp)
    outlines = Outlines(
        of_edge=nowhere,
        starts=np.zeros(2, np.intp),
        first_row=np.zeros(1, np.intp),
        x=np.zeros(0),
        row=np.zeros(0, np.intp),
        sign=np.zeros(0, np.int8),
        alone_mm=np.zeros(0),
        of_span=np.full((2, len(rows)), -1, np.intp),
    )
    return Passing(
        edges=edges,
        rows=rows,
        lattice=lattice,
        strips=strips,
        outlines=outlines,
        is_passage=np.zeros(0, bool),
        found=_NONE_FOUND,
        busy=np.arange(len(rows)),
    )


def _in_rows(outlines: Outlines, here: Ints, number: Ints) -> tuple[Ints, Ints]:
    """Crossings at which spans end, and their numbers, by row and place along it."""
    number_of = np.full(len(outlines.x), -1, np.intp)
    number_of[here] = number
    ends = outlines.of_span.T.ravel()  # as spans lie
    numbers = number_of[ends]
    numbers[ends < 0] = -1
    some = np.flatnonzero(numbers >= 0)
    return ends[some], numbers[some]


def passing(
    edges: RegionEdges,
    strips: tuple[Ints, Ints],
    rows: ScanRows,
    outlines: Outlines,
    baring: Baring,
    *,
    kinds: tuple[bool, bool] = (True, True),
) -> Passing:
    """Find the would-be passages; strips: first and last of each edge (``strips_of_edges``). kinds: whether left-over
    coat and spill are wanted."""
    lattice = baring.lattice
    is_passage = np.zeros(len(outlines.x), bool)
    found = _NONE_FOUND
    if lattice.reach and len(outlines.x) >= 2 * lattice.reach:
        here, shape = _alone_and_smooth(outlines, baring)
        is_passage[here] = True
        table = table_of(Rule(figures=baring.figures, baring=baring))
        found = _Found(
            here=here, shapes=shape, sign=outlines.sign[here], pitch_mm=lattice.pitch_mm, table=table, kinds=kinds
        )
    return Passing(
        edges=edges,
        rows=rows,
        lattice=lattice,
        strips=strips,
        outlines=outlines,
        is_passage=is_passage,
        found=found,
        busy=np.arange(len(rows)),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Shapes:
    """Of outlines in strips, (n,) each, mm: x midway, what x gains over the strip, what that gains from strip to
    strip, and the extent of what acts there."""

    middle: Floats
    slope: Floats
    bend: Floats
    left: Floats
    right: Floats

    def without_extent(self, some: Ints) -> "_Shapes":
        """These of them; their extent tells no more once they are known to be alone."""
        return _Shapes(
            middle=self.middle[some], slope=self.slope[some], bend=self.bend[some], left=_NO_EXTENT, right=_NO_EXTENT
        )


_NO_EXTENT = np.zeros(0)


def _alone_and_smooth(outlines: Outlines, baring: Baring) -> tuple[Ints, _Shapes]:
    """Crossings from which on an outline may pass a strip in a passage, by the ends of spans alone; its shape there."""
    count, of_crossing = len(outlines.x) - 2 * baring.lattice.reach + 1, outlines.of_crossing
    found = [
        _smooth_among(outlines, of_crossing, baring, begin, min(begin + _CROSSINGS_AT_ONCE, count))
        for begin in range(0, count, _CROSSINGS_AT_ONCE)
    ]
    names = [field.name for field in fields(_Shapes)]
    columns = {name: np.concatenate([getattr(shapes, name) for _, shapes in found]) for name in names}
    return np.concatenate([here for here, _ in found]), _Shapes(**columns)


def _smooth_among(outlines: Outlines, of_crossing: Ints, baring: Baring, begin: int, stop: int) -> tuple[Ints, _Shapes]:
    lattice, sigma = baring.lattice, baring.sigma_mm
    reach = lattice.reach
    first = begin + reach - 1

    def at(values: Any, offset: int) -> Any:
        """At so many rows after the one before the strip."""
        return values[first + offset : stop + reach - 1 + offset]

    x = outlines.x
    good = at(of_crossing, 1 - reach) == at(of_crossing, reach)
    slope, middle = at(x, 1) - at(x, 0), (at(x, 0) + at(x, 1)) / 2
    bend = (at(x, 2) - at(x, 1) - at(x, 0) + at(x, -1)) / 2 if reach > 1 else np.zeros(stop - begin)
    good &= (np.abs(slope) <= STEEPEST * lattice.pitch_mm) & (np.abs(bend) <= LARGEST_BEND_SIGMAS * sigma)
    left, right, alone = at(x, 0).copy(), at(x, 0).copy(), at(outlines.alone_mm, 0).copy()
    for offset in range(1 - reach, reach + 1):
        its_x, away = at(x, offset), offset - 0.5
        off = np.abs(its_x - middle - slope * away - bend * ((away * away - 0.25) / 2))
        good &= off <= OFF_CURVE_SIGMAS * sigma / float(
            across_share((abs(away) - 0.5) * lattice.pitch_mm, spot_mm=4 * sigma)
        )
        np.minimum(left, its_x, out=left)
        np.maximum(right, its_x, out=right)
        np.minimum(alone, at(outlines.alone_mm, offset), out=alone)
    window = max(lattice.outward_mm, lattice.inward_mm)
    good &= alone >= 2 * window + right - left
    some = np.flatnonzero(good)
    return some + first, _Shapes(
        middle=middle[some],
        slope=slope[some],
        bend=bend[some],
        left=left[some] - window,
        right=right[some] + window,
    )


_CROSSINGS_AT_ONCE = _PAIRS_AT_ONCE = 100_000
_PIECES_AT_ONCE = 200_000


def _apart(passed: Passing, here: Ints, reach: tuple[Floats, Floats], wanted: Flags, first_strip: int) -> Flags:
    """Which would-be passages have no piece of what is none within their reach in x.

    here: the crossings after which they lie, by strip and x. Their reaches do not overlap, so both ends rise.
    """
    edges, lattice = passed.edges, passed.lattice
    left, right = reach
    beside = np.zeros(len(here) + 1, np.intp)
    strip = passed.outlines.row[here]
    origin = float(min(edges.x0.min(), edges.x1.min(), left.min(initial=0.0))) - 1.0
    width = float(max(edges.x0.max(), edges.x1.max(), right.max(initial=0.0))) - origin + 2.0
    base = strip * width - origin
    left, right = left + base, right + base
    for edge, its_strip in _not_taken(passed, wanted, first_strip):
        others = pieces_of(edges, edge, its_strip, lattice)
        base = others.owner * width - origin
        first = np.searchsorted(right, np.minimum(others.xa, others.xb) + base)
        stop = np.searchsorted(left, np.maximum(others.xa, others.xb) + base, side="right")
        met = np.flatnonzero(stop > first)
        beside += np.bincount(first[met], minlength=len(beside)) - np.bincount(stop[met], minlength=len(beside))
    result: Flags = np.cumsum(beside)[:-1] == 0
    return result


def _not_taken(passed: Passing, wanted: Flags, first_strip: int) -> Iterator[tuple[Ints, Ints]]:
    """Edges and the wanted strips that they lie in but in no passage, some at a time."""
    strips = passed.strips
    height = np.cumsum(strips[1] - strips[0] + 1)
    borders = np.unique(np.append(np.searchsorted(height, np.arange(0, height[-1], _PAIRS_AT_ONCE)), len(height)))
    held: list[tuple[Ints, Ints]] = []
    for a, b in itertools.pairwise(borders.tolist()):
        which, strip = expanded(strips[0][a:b], strips[1][a:b] - strips[0][a:b] + 1)
        here = np.flatnonzero(wanted[strip - first_strip])
        which, strip = which[here] + a, strip[here]
        left = ~_taken(passed.outlines, passed.is_passage, which, strip)
        held.append((which[left], strip[left]))
        if b == len(height) or sum(len(edge) for edge, _ in held) > _PIECES_AT_ONCE:
            edge, its_strip = (np.concatenate(column) for column in zip(*held, strict=True))
            held = []
            yield edge, its_strip


def _busy_spans(outlines: Outlines, is_passage: Flags, reach: int) -> Ints:
    """Spans with an end that lies in a passage in none or not all of the strips in reach."""
    whole = np.zeros(len(is_passage), bool)
    count = len(is_passage) - 2 * reach + 1
    if count > 0:
        # strips from `reach` before a row to `reach - 1` after it
        done = np.cumsum(np.append(0, is_passage))
        whole[reach : reach + count] = done[2 * reach : 2 * reach + count] - done[:count] == 2 * reach
        of_crossing = outlines.of_crossing
        whole[reach : reach + count] &= of_crossing[reach : reach + count] == of_crossing[:count]
        whole[reach : reach + count] &= of_crossing[reach : reach + count] == of_crossing[2 * reach - 1 :][:count]
    begin, end = outlines.of_span
    idle = (begin >= 0) & (end >= 0) & whole[begin] & whole[end]
    return np.flatnonzero(~idle)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Found:
    """Passages, (n,) each, after the crossings ``here``. Once they are sorted by strip: from ``first_strip`` on, those
    of each are numbers starts[i] to starts[i + 1]."""

    here: Ints
    shapes: _Shapes
    sign: NDArray[np.int8]
    pitch_mm: float
    table: PassageTable | None
    kinds: tuple[bool, bool] = (True, True)
    first_strip: int = 0
    starts: Ints = field(default_factory=lambda: np.zeros(1, np.intp))

    def areas(self, which: Ints) -> tuple[Floats, Floats]:
        """Left-over coat and spill of these, mm², by the table, as far as they are wanted."""
        assert self.table is not None
        sign = self.sign[which].astype(float)
        return self.table(self.shapes.slope[which] * sign / self.pitch_mm, self.shapes.bend[which] * sign, self.kinds)

    def of_strips(self, wanted: Flags, first_strip: int) -> Passages:
        """Those of the strips that are wanted, from the first on, with their areas."""
        if self.table is None:
            return NO_PASSAGES
        strip = np.flatnonzero(wanted) + first_strip
        strip = strip[(strip >= self.first_strip) & (strip < self.first_strip + len(self.starts) - 1)]
        at = strip - self.first_strip
        of, which = expanded(self.starts[at], np.diff(self.starts)[at])
        left_over, spill = self.areas(which)
        sign = self.sign[which].astype(float)
        return Passages(strip=strip[of], x=self.shapes.middle[which], sign=sign, left_over=left_over, spill=spill)


_NO_SHAPES = _Shapes(middle=np.zeros(0), slope=np.zeros(0), bend=np.zeros(0), left=np.zeros(0), right=np.zeros(0))
_NONE_FOUND = _Found(
    here=NOBODY,
    shapes=_NO_SHAPES,
    sign=np.zeros(0, np.int8),
    pitch_mm=1.0,
    table=None,
)
