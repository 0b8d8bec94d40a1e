"""A layout made tighter: shapes are let overlap in less room, then moved until none does.

Where a shape overlaps others least is looked up for all translations of a grid at once, from how deep any two shapes
lie in each other at every translation; pairs that go on overlapping weigh ever more (guided local search).

Sources: J. Egeblad, B. K. Nielsen, A. Odgaard, Eur. J. Oper. Res. 183, 1249 (2007); S. Umetani et al., Int. Trans.
Oper. Res. 16, 661 (2009) (overlap minimisation, guided local search, depth across and down); A. K. Sato et al., Eur. J.
Oper. Res. 279, 657 (2019) (depths on a grid).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.sheet.meetings import Field, Meetings, depths

SWEEPS = 60
"""Rounds over all shapes that overlap, before a smaller room is given up."""
SHRINK_SHARE = 0.02
MOST_ANGLES = 3
"""Angles tried for a shape at a time: its own, and some others."""


@dataclass(slots=True)
class Laid:
    """One shape where it lies: a field, and the cell of its grid."""

    field: int
    column: int
    row: int


class Untangling:
    """Shapes on a grid, and how they are moved until none overlaps. ``going`` tells whether there is time left."""

    def __init__(self, meetings: Meetings, *, going: Callable[[], bool], seed: int = 1) -> None:
        self._meetings, self._going = meetings, going
        self._fields = meetings.fields
        self._by_wanted: dict[int, list[Field]] = {}
        for field in self._fields:
            self._by_wanted.setdefault(field.wanted, []).append(field)
        self._depths: dict[tuple[int, int], tuple[int, int, NDArray[np.float32]]] = {}
        self._random = np.random.default_rng(seed)

    def within(self, laid: Sequence[Laid], *, axis: int, limit_mm: float) -> list[Laid] | None:
        """The shapes without overlap and with no far side beyond the limit along the axis; None when that fails."""
        now = [Laid(one.field, one.column, one.row) for one in laid]
        weights = np.ones((len(now), len(now)), np.float32)
        for index, one in enumerate(now):
            if not self._allowed(one, axis, limit_mm) and not self._move(now, index, weights, axis, limit_mm):
                return None
        for _ in range(SWEEPS):
            overlaps = self._overlaps(now)
            if not overlaps.any():
                return now
            weights = np.where(overlaps > 0, weights * (1.2 + 0.8 * overlaps / overlaps.max()), weights * 0.95)
            weights = np.maximum(weights, 1.0).astype(np.float32)
            for index in self._random.permutation(np.flatnonzero(overlaps.any(1))).tolist():
                if not self._going():
                    return None
                if self._overlap_of(now, index).any():
                    self._move(now, index, weights, axis, limit_mm)
        return None

    def with_another(self, laid: Sequence[Laid], wanted: int) -> list[Laid] | None:
        """One shape more, without overlap; None when that fails."""
        fields = self._by_wanted.get(wanted)
        if not fields:
            return None
        now = [*laid, Laid(fields[0].number, 0, 0)]
        weights = np.ones((len(now), len(now)), np.float32)
        if not self._move(now, len(now) - 1, weights, 0, np.inf):
            return None
        return self.within(now, axis=0, limit_mm=np.inf)

    def swapped(self, laid: Sequence[Laid]) -> list[Laid]:
        """Two different shapes, picked at random, each about where the other was."""
        now = [Laid(one.field, one.column, one.row) for one in laid]
        one, other = self._random.choice(len(now), 2, replace=False).tolist()
        for index, to in ((one, laid[other]), (other, laid[one])):
            field, there = self._fields[now[index].field], self._fields[to.field]
            (u0, v0, *_), (s0, t0, *_) = field.outline.bounds, there.outline.bounds
            x = there.grid.x_mm + to.column * there.grid.cell_mm + s0 - u0
            y = there.grid.y_mm + to.row * there.grid.cell_mm + t0 - v0
            now[index].column = min(max(0, round((x - field.grid.x_mm) / field.grid.cell_mm)), field.grid.columns - 1)
            now[index].row = min(max(0, round((y - field.grid.y_mm) / field.grid.cell_mm)), field.grid.rows - 1)
        return now

    def _allowed(self, one: Laid, axis: int, limit_mm: float) -> bool:
        field = self._fields[one.field]
        at = field.grid.x_mm + one.column * field.grid.cell_mm if axis == 0 else (
            field.grid.y_mm + one.row * field.grid.cell_mm
        )  # fmt: skip
        return bool(field.free[one.row, one.column]) and at + field.outline.bounds[2 + axis] <= limit_mm

    def _depth(self, laid: int, other: int) -> tuple[int, int, NDArray[np.float32]]:
        key = (laid, other)
        if key not in self._depths:
            pair = self._meetings.of(laid, other)
            self._depths[key] = (pair.column, pair.row, depths(pair.meets))
        return self._depths[key]

    def _overlap_of(self, laid: Sequence[Laid], index: int) -> NDArray[np.float32]:
        """(n,) how deep the shape lies in each of the others, cells."""
        one = laid[index]
        result = np.zeros(len(laid), np.float32)
        for number, other in enumerate(laid):
            if number != index:
                column, row, depth = self._depth(other.field, one.field)
                x, y = one.column - other.column - column, one.row - other.row - row
                if 0 <= y < depth.shape[0] and 0 <= x < depth.shape[1]:
                    result[number] = depth[y, x]
        return result

    def _overlaps(self, laid: Sequence[Laid]) -> NDArray[np.float32]:
        return np.stack([self._overlap_of(laid, index) for index in range(len(laid))])

    def _move(self, laid: list[Laid], index: int, weights: NDArray[np.float32], axis: int, limit_mm: float) -> bool:
        """Put the shape where it overlaps the others least, by weight; False where it fits nowhere."""
        own = self._fields[laid[index].field]
        fields = self._by_wanted[own.wanted]
        if len(fields) > MOST_ANGLES:
            some = self._random.choice(len(fields), MOST_ANGLES - 1, replace=False).tolist()
            fields = list({field.number: field for field in (own, *(fields[at] for at in some))}.values())
        best: tuple[float, Laid] | None = None
        for field in fields:
            costs = self._costs(laid, index, field, weights, axis, limit_mm)
            if not costs.size:
                continue
            least = float(costs.min())
            if np.isfinite(least) and (best is None or least < best[0]):
                places = np.flatnonzero(costs <= least)
                row, column = divmod(int(self._random.choice(places)), costs.shape[1])
                best = (least, Laid(field.number, column, row))
        if best is None:
            return False
        laid[index] = best[1]
        return True

    def _costs(
        self, laid: Sequence[Laid], index: int, field: Field, weights: NDArray[np.float32], axis: int, limit_mm: float
    ) -> NDArray[np.float32]:
        """What each place of the field would overlap, by weight; infinite where the shape can't lie."""
        grid, far = field.grid, field.outline.bounds[2 + axis]
        size = [grid.columns, grid.rows]
        if np.isfinite(limit_mm):
            first = (grid.x_mm, grid.y_mm)[axis]
            size[axis] = min(size[axis], int((limit_mm - far - first) / grid.cell_mm + 1e-6) + 1)
        columns, rows = max(size[0], 0), max(size[1], 0)
        costs = np.where(field.free[:rows, :columns], np.float32(0.0), np.float32(np.inf))
        for number, other in enumerate(laid):
            if number == index:
                continue
            column, row, depth = self._depth(other.field, field.number)
            left, top = other.column + column, other.row + row
            x0, y0 = max(left, 0), max(top, 0)
            x1, y1 = min(left + depth.shape[1], columns), min(top + depth.shape[0], rows)
            if x1 > x0 and y1 > y0:
                costs[y0:y1, x0:x1] += weights[index, number] * depth[y0 - top : y1 - top, x0 - left : x1 - left]
        return costs
