"""Where rows or columns through a region run only a little way through it: near there alone can it be thin."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from core.burning.row_order import by_row_and_place
from core.burning.scan_rows import RegionEdges, row_bands, rows_crossed
from core.burning.strips import expanded
from core.geometry.connected import connected

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

WIDEST = 1.5
"""A stretch of at most one width, however it lies, is crossed by rows or by columns within √2 of it; and a little."""
APART = 0.6
"""Rows and columns lie so many widths apart: two rows or two columns cross a stretch two widths long."""
NO_DISC = 0.75
"""A disc one width across is crossed by a row and by a column within this much of it or more."""
_GROWS = 0.55
"""By how many widths two chords that follow each other may differ: by more in a corner that a disc gets into."""
_CELL = 3.0
_LEAST = 0.5
"""Chords whose middles lie closer together than so many widths are a corner's."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chords:
    """Slim chords with one like them beside them, (n,) each: the part of the region that they lie in, their middle, mm.

    share, (parts,): of all chords of each part, how many are slim. longest_mm, (2, parts): of all chords of each part,
    of rows and of columns; infinite where one is not slim.
    """

    part: Ints
    x_mm: Floats
    y_mm: Floats
    share: Floats
    longest_mm: Floats


def slim_chords(edges: RegionEdges, *, width_mm: float, some: Flags) -> Chords:
    """Chords at most ``WIDEST`` times a width long, of rows and columns ``APART`` widths apart.

    some, (parts,): the parts that are looked at.
    """
    part_count = len(some)
    count, slim_count, longest = np.zeros(part_count), np.zeros(part_count), np.zeros((2, part_count))
    ways: list[_Slim] = []
    for upright in (False, True):
        slim_ones = [_Slim.none()]
        its_count = np.zeros(part_count)
        for crossings, found in _slim_of_rows(_turned(edges) if upright else edges, width_mm, some):
            its_count += crossings / 2
            slim_ones.append(found)
        slim = _Slim.of(slim_ones)
        its_slim = np.bincount(slim.part, minlength=part_count)
        np.maximum.at(longest[int(upright)], slim.part, slim.x1 - slim.x0)
        longest[int(upright), its_slim < its_count] = math.inf
        count += its_count
        slim_count += its_slim
        ways.append(slim)
    rows, columns = ways
    in_rows, in_columns = _crossing(rows, columns, width_mm)
    in_rows[_with_one_alike(rows.row, rows.x0, rows.x1, width_mm)] = True
    in_columns[_with_one_alike(columns.row, columns.x0, columns.x1, width_mm)] = True
    return Chords(
        part=np.concatenate([rows.part[in_rows], columns.part[in_columns]]),
        x_mm=np.concatenate([(rows.x0 + rows.x1)[in_rows] / 2, columns.y[in_columns]]),
        y_mm=np.concatenate([rows.y[in_rows], (columns.x0 + columns.x1)[in_columns] / 2]),
        share=slim_count / np.maximum(count, 1.0),
        longest_mm=longest,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Slim:
    """Slim chords of rows, (n,) each, sorted by row and place; of columns with x and y for each other."""

    part: Ints
    row: Ints
    y: Floats
    x0: Floats
    x1: Floats

    @staticmethod
    def none() -> "_Slim":
        nothing, nobody = np.zeros(0), np.zeros(0, np.intp)
        return _Slim(part=nobody, row=nobody, y=nothing, x0=nothing, x1=nothing)

    @staticmethod
    def of(some: list["_Slim"]) -> "_Slim":
        columns = {one.name: np.concatenate([getattr(each, one.name) for each in some]) for one in fields(_Slim)}
        return _Slim(**columns)


def _crossing(rows: _Slim, columns: _Slim, width_mm: float) -> tuple[Flags, Flags]:
    """Which slim chords of rows and of columns cross: necks that open quickly are crossed by one of each alone."""
    in_rows, in_columns = np.zeros(len(rows.row), bool), np.zeros(len(columns.row), bool)
    if not (len(in_rows) and len(in_columns)):
        return in_rows, in_columns
    step = APART * width_mm
    first_x_mm = float(columns.y[0]) - float(columns.row[0]) * step
    origin = float(min(columns.x0.min(), rows.y.min())) - 1.0
    stride = float(max(columns.x1.max(), rows.y.max())) - origin + 1.0
    key = columns.row * stride + (columns.x0 - origin)
    begin = np.ceil((rows.x0 - first_x_mm) / step).astype(np.intp)
    for number in range(math.ceil(WIDEST / APART) + 1):
        column = begin + number
        at = np.searchsorted(key, column * stride + (rows.y - origin), side="right") - 1
        met = (at >= 0) & (first_x_mm + column * step <= rows.x1)
        met &= (columns.row[at] == column) & (columns.x1[at] >= rows.y)
        in_rows |= met
        in_columns[at[met]] = True
    return in_rows, in_columns


def chords_through(edges: RegionEdges, *, width_mm: float, part_count: int) -> Floats:
    """About how many rows and columns, ``APART`` widths apart, run through each part, (part_count,)."""
    crossings = (np.abs(edges.x1 - edges.x0) + edges.y1 - edges.y0) / (APART * width_mm)
    return np.bincount(edges.part, crossings / 2, part_count).astype(float)


def _with_one_alike(row: Ints, x0: Floats, x1: Floats, width_mm: float) -> Ints:
    """Which chords, sorted by row and x, have one close by in a neighbouring row that is about as long."""
    if not len(row):
        return row
    origin, beside = float(x0.min()) - 2 * width_mm, APART * width_mm
    stride = float(x1.max()) - origin + 2 * width_mm
    key = row * stride + (x0 - origin)
    # the last one of the next row that begins before this one is past
    next_ = np.searchsorted(key, (row + 1) * stride + (x1 + beside - origin)) - 1
    near = (row[next_] == row + 1) & (x1[next_] >= x0 - beside)
    near &= np.abs((x1 - x0)[next_] - (x1 - x0)) <= _GROWS * width_mm
    alike = near.copy()
    alike[next_[near]] = True
    return np.flatnonzero(alike)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Groups:
    """Groups of slim chords that lie close together, (n,) each: their part, and the box around their middles, mm."""

    part: Ints
    boxes_mm: Floats

    def only(self, some: Flags) -> "Groups":
        """Those of the parts that are marked, (parts,)."""
        here = some[self.part]
        return Groups(part=self.part[here], boxes_mm=self.boxes_mm[here])


def grouped(chords: Chords, *, width_mm: float, some: Flags) -> Groups:
    """Chords of the parts that are marked, by what touches on a grid of a few widths, corners left aside."""
    here = np.flatnonzero(some[chords.part])
    part, place = chords.part[here], np.column_stack([chords.x_mm[here], chords.y_mm[here]])
    if not len(here):
        return Groups(part=part, boxes_mm=np.zeros((0, 4)))
    column, row = (np.floor((place - place.min(0)) / (_CELL * width_mm)).astype(np.int64) + 1).T
    columns, rows = int(column.max()) + 2, int(row.max()) + 2
    key = (part * rows + row) * columns + column
    cells, cell = np.unique(key, return_inverse=True)
    near = []
    for step in (1, columns - 1, columns, columns + 1):  # each pair of neighbours once
        at = np.minimum(np.searchsorted(cells, cells + step), len(cells) - 1)
        one = np.flatnonzero(cells[at] == cells + step)
        near.append((one, at[one]))
    group_of_cell = connected(len(cells), *(np.concatenate(column) for column in zip(*near, strict=True)))
    group = group_of_cell[cell]
    order = np.argsort(group, kind="stable")
    first = np.searchsorted(group[order], np.arange(group_of_cell.max() + 1))
    low, high = (ufunc.reduceat(place[order], first) for ufunc in (np.minimum, np.maximum))
    real = np.hypot(*(high - low).T) >= _LEAST * width_mm
    return Groups(part=part[order][first][real], boxes_mm=np.concatenate([low, high], axis=1)[real])


def _slim_of_rows(edges: RegionEdges, width_mm: float, some: Flags) -> Iterator[tuple[Floats, _Slim]]:
    """Band by band of rows: how often they cross each part's edges, (parts,), and their slim chords."""
    if not len(edges.y0):
        return
    y = np.arange(float(edges.y0.min()) + APART * width_mm / 2, float(edges.y1.max()), APART * width_mm)
    first, last = rows_crossed(edges, y)
    if not some.all():
        last = np.where(some[edges.part], last, first)
    slope = (edges.x1 - edges.x0) / np.maximum(edges.y1 - edges.y0, 1e-300)
    for row_a, row_b in row_bands(first, last, len(y)):
        low, high = np.maximum(first, row_a), np.minimum(last, row_b)
        here = np.flatnonzero(high > low)
        counts = high[here] - low[here]
        which, row = expanded(low[here], counts)
        edge = here[which]
        x = edges.x0[edge] + (y[row] - edges.y0[edge]) * slope[edge]
        order = by_row_and_place(row, x)
        x = x[order]
        slim = np.flatnonzero(x[1::2] - x[::2] <= WIDEST * width_mm)
        begin = order[2 * slim]
        yield (
            np.bincount(edges.part[here], counts, len(some)).astype(float),
            _Slim(part=edges.part[edge[begin]], row=row[begin], y=y[row[begin]], x0=x[2 * slim], x1=x[2 * slim + 1]),
        )


def _turned(edges: RegionEdges) -> RegionEdges:
    """x and y for each other; signs are left as they are."""
    swap = edges.x0 > edges.x1
    return RegionEdges(
        x0=np.where(swap, edges.y1, edges.y0),
        y0=np.where(swap, edges.x1, edges.x0),
        x1=np.where(swap, edges.y0, edges.y1),
        y1=np.where(swap, edges.x0, edges.x1),
        sign=edges.sign,
        part=edges.part,
    )
