"""Where outlines of a region cross scan rows, and which spans begin and end there."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.burning.scan_rows import RegionEdges, ScanRows, rows_crossed
from core.burning.strips import Floats, Ints, expanded

_SAME_MM = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlines:
    """Where outlines cross rows, (n,) each, outline after outline, in each from its lowest row on.

    An outline is a run of edges that all rise or all fall, numbered by of_edge, (m,). starts, (o + 1,): its crossings;
    first_row, (o,): their first row. sign: +1 where a span begins. alone_mm: how far along the row the nearest other
    end of a span is; below zero where no span ends. of_span: the crossings where each span begins and where it ends,
    -1 for none, (2, spans).
    """

    of_edge: Ints
    starts: Ints
    first_row: Ints
    x: Floats
    row: Ints
    sign: NDArray[np.int8]
    alone_mm: Floats
    of_span: Ints

    @property
    def of_crossing(self) -> Ints:
        """The outline of each crossing."""
        return np.repeat(np.arange(len(self.first_row)), np.diff(self.starts))


def outlines_of(edges: RegionEdges, rows: ScanRows) -> Outlines:
    """All crossings of outlines and rows, with the spans that end there."""
    alike = (edges.sign[1:] == edges.sign[:-1]) & (edges.part[1:] == edges.part[:-1])
    rising = (edges.x1[:-1] == edges.x0[1:]) & (edges.y1[:-1] == edges.y0[1:])
    falling = (edges.x0[:-1] == edges.x1[1:]) & (edges.y0[:-1] == edges.y1[1:])
    of_edge = np.concatenate([[0], np.cumsum(~(alike & (rising | falling)))]).astype(np.intp)
    count = int(of_edge[-1]) + 1
    first, last = rows_crossed(edges, rows.row_y_mm)
    crossed = np.flatnonzero(last > first)
    first_row = np.full(count, len(rows.row_y_mm), np.intp)
    np.minimum.at(first_row, of_edge[crossed], first[crossed])
    starts = np.concatenate([[0], np.cumsum(np.bincount(of_edge, last - first, count))]).astype(np.intp)
    # an outline crosses every row between its ends once, so a crossing's place follows from its row
    edge, row = expanded(first, last - first)
    place_less_row = starts[:-1] - first_row
    place = place_less_row[of_edge[edge]] + row
    slope = (edges.x1 - edges.x0) / np.maximum(edges.y1 - edges.y0, 1e-300)
    x, its_row, sign = np.empty(len(edge)), np.empty(len(edge), np.intp), np.empty(len(edge), np.int8)
    x[place] = edges.x0[edge] + (rows.row_y_mm[row] - edges.y0[edge]) * slope[edge]
    its_row[place], sign[place] = row, edges.sign[edge]
    known = None
    if rows.edge is not None and rows.edge.max(initial=0) < len(of_edge):
        known = place_less_row[of_edge[rows.edge]] + rows.row_index
    alone, of_span = _span_ends(x, its_row, sign, rows, known)
    return Outlines(
        of_edge=of_edge,
        starts=starts,
        first_row=first_row,
        x=x,
        row=its_row,
        sign=sign,
        alone_mm=alone,
        of_span=of_span,
    )


def _span_ends(x: Floats, row: Ints, sign: NDArray[np.int8], rows: ScanRows, known: Ints | None) -> tuple[Floats, Ints]:
    """How far from each crossing, where a span ends, the nearest other end in the row is; each span's crossings.

    known, (2, spans): crossings where spans begin and end as whoever made the rows has it; tried first.
    """
    alone, of_span = np.full(len(x), -math.inf), np.full((2, len(rows)), -1, np.intp)
    if not len(rows) or not len(x):
        return alone, of_span
    gap = np.full(len(rows) + 1, math.inf)
    same_row = rows.row_index[1:] == rows.row_index[:-1]
    gap[1:-1] = np.where(same_row, rows.x0_mm[1:] - rows.x1_mm[:-1], math.inf)
    origin = min(float(x.min()), float(rows.x0_mm.min())) - 1.0
    width = max(float(x.max()), float(rows.x1_mm.max())) - origin + 2.0
    length = rows.x1_mm - rows.x0_mm
    if len(x) == 2 * len(rows):  # as a rule spans end where outlines cross, one after the other
        own = known
        if own is None or not _ends_lie_there(own, x, row, rows):
            own = np.argsort(row * width + (x - origin)).reshape(-1, 2).T
            own = own if _ends_lie_there(own, x, row, rows) else None
        if own is not None:
            for crossing, beside in zip(own, (gap[:-1], gap[1:]), strict=True):
                alone[crossing] = np.minimum(length, beside)
            return alone, np.ascontiguousarray(own)
    for which, end, beside in ((0, rows.x0_mm, gap[:-1]), (1, rows.x1_mm, gap[1:])):
        some = np.flatnonzero(sign == 1 - 2 * which)
        key = row[some] * width + x[some] - origin
        order = np.argsort(key)
        some, key = some[order], key[order]
        found = np.searchsorted(rows.row_index * width + (end - origin), key - _SAME_MM)
        found = np.minimum(found, len(rows) - 1)
        same = (rows.row_index[found] == row[some]) & (np.abs(end[found] - x[some]) <= _SAME_MM)
        some, found = some[same], found[same]
        alone[some] = np.minimum(length, beside)[found]
        of_span[which, found] = some
    return alone, of_span


def _ends_lie_there(own: Ints, x: Floats, row: Ints, rows: ScanRows) -> bool:
    """Whether the spans begin and end at these crossings, (2, spans)."""
    if own.min(initial=0) < 0 or own.max(initial=0) >= len(x):
        return False
    return all(
        np.array_equal(row[crossing], rows.row_index) and float(np.abs(x[crossing] - end).max()) <= _SAME_MM
        for crossing, end in zip(own, (rows.x0_mm, rows.x1_mm), strict=True)
    )
