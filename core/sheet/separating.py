"""A layout made tighter: shapes are let overlap in less room, then moved apart until none overlaps.

All overlaps together are brought down at once by a descent along how deep shapes lie in each other (see
``half_planes``); what is left over is taken out and put where it overlaps the others least, looked up for all
translations of a grid and several angles. Pairs that go on overlapping weigh ever more (guided local search).

Sources: J. Egeblad, B. K. Nielsen, A. Odgaard, Eur. J. Oper. Res. 183, 1249 (2007) (overlap minimisation, guided local
search); T. Imamichi, M. Yagiura, H. Nagamochi, Discrete Optimization 6, 345 (2009) (descent along penetration depths,
swaps); S. Umetani et al., Int. Trans. Oper. Res. 16, 661 (2009).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.sheet.descending import Contacts, descended
from core.sheet.half_planes import HalfPlanes
from core.sheet.meetings import Field, Meetings
from core.sheet.raster import Floats
from core.sheet.room import convex_parts, feasible, translation_grid
from core.sheet.settling import Spot

ROUNDS = 40
"""Of descending and putting elsewhere, before a smaller room is given up."""
FEW_ROUNDS, _HOPEFUL = 3, 0.95
"""Where shapes are only pushed apart: so many rounds, and then for as long as overlaps get less by so much."""
_LOOKS = 3
"""Descents in a row, for as long as shapes come upon others that did not lie near them."""
MOST_ANGLES = 4
"""Angles tried for a shape at a time: its own, and some others."""
MARGIN_MM = 1e-3
"""Shapes are held apart by so much, so that a descent that comes near enough leaves no overlap at all."""
NEAR_SHARE = 0.15
"""Of a shape's breadth: how far from each other two may lie for a descent to look at them."""
_CELLS_A_SHAPE = 8
_NO_WALL_MM2 = 1e-6


class Separating:
    """Shapes in a room, and how they are moved until none overlaps. ``going`` tells whether there is time left."""

    def __init__(self, room: BaseGeometry, meetings: Meetings, *, going: Callable[[], bool], seed: int = 1) -> None:
        self._fields, self._going = meetings.fields, going
        self._by_wanted: dict[int, list[Field]] = {}
        for field in self._fields:
            self._by_wanted.setdefault(field.wanted, []).append(field)
        self._own = meetings.bounds
        self._region, self._room = room, room.bounds
        self._blocked: dict[int, NDArray[np.float32]] = {}
        outside = shapely.get_parts(shapely.difference(shapely.box(*room.bounds), room))
        walls = [corners for part in outside if part.area > _NO_WALL_MM2 for corners in convex_parts(part)]
        self._breadth = float(np.sqrt(np.mean([field.outline.area for field in self._fields])))
        self._cell = self._breadth / _CELLS_A_SHAPE
        self._walls = len(meetings.parts) if walls else None  # stands after the fields
        number = {(field.wanted, field.angle_deg % 360.0): field.number for field in self._fields}
        quarter = {
            (field.number, quarters): number[there]
            for field in self._fields
            for quarters in range(4)
            if (there := (field.wanted, (field.angle_deg + 90.0 * quarters) % 360.0)) in number
        }
        self._planes = HalfPlanes([*meetings.parts, *([walls] if walls else [])], cell_mm=self._cell, quarter=quarter)
        self._random = np.random.default_rng(seed)

    def within(
        self, spots: Sequence[Spot], *, axis: int, limit_mm: float, rearranged: bool = True
    ) -> tuple[list[Spot], bool]:
        """The shapes with no far side beyond the limit along the axis, and whether none overlaps.

        rearranged: whether shapes may be put elsewhere, or only pushed apart, which is far quicker.
        """
        high = np.array(self._room[2:])
        high[axis] = min(high[axis], limit_mm)
        return self._apart(_State.of(spots), high, rearranged=rearranged)

    def with_another(self, spots: Sequence[Spot], wanted: int) -> tuple[list[Spot], bool]:
        """One shape more, and whether none overlaps."""
        fields = self._by_wanted.get(wanted)
        if not fields:
            return list(spots), False
        left, top, right, bottom = self._room
        u0, v0, *_ = fields[0].outline.bounds
        now = _State.of([*spots, (fields[0].number, left - u0, top - v0)])
        high = np.array([right, bottom])
        self._move(now, len(spots), np.ones(len(now.fields)), high)
        return self._apart(now, high)

    def _apart(self, now: "_State", high: Floats, *, rearranged: bool = True) -> tuple[list[Spot], bool]:
        """The shapes moved until none overlaps, or to where they overlap least of all that was tried."""
        count = len(now.fields)
        weights = np.ones((count, count + 1))
        best, before = (np.inf, now.spots()), np.inf
        for number in range(ROUNDS):
            low, top = self._reach(now, high)
            if (low > top + 1e-9).any():
                break
            overlaps = self._relaxed(now, weights, low, np.maximum(low, top))
            whole = float(overlaps.sum())
            if whole < best[0]:
                best = (whole, now.spots())
            if not overlaps.any() or not self._going():
                break
            if not rearranged and number >= FEW_ROUNDS and whole > _HOPEFUL * before:
                break
            before = whole
            weights = np.where(overlaps > 0, weights * (1.2 + 0.8 * overlaps / overlaps.max()), weights * 0.95)
            weights = np.maximum(weights, 1.0)
            if not rearranged:
                continue
            for index in self._random.permutation(np.flatnonzero(overlaps.any(1))).tolist():
                if not self._going():
                    break
                if overlaps[index, count] or self._deep(now, index).any():
                    self._move(now, index, weights[index], high)
        return best[1], best[0] == 0.0

    def _reach(self, now: "_State", high: Floats) -> tuple[Floats, Floats]:
        """(n, 2) the least and the greatest x and y that keep each shape's box within the room's and the limit."""
        own = self._own[now.fields]
        return np.array(self._room[:2]) - own[:, :2], high - own[:, 2:]

    def _pairs(self, now: "_State", near_mm: float) -> list[tuple[int, int]]:
        own = self._own[now.fields]
        low, high = own[:, :2] + now.at - near_mm / 2, own[:, 2:] + now.at + near_mm / 2
        apart = (low[:, None] > high[None]).any(2)
        apart |= apart.T
        one, other = np.nonzero(np.triu(~apart, 1))
        return list(zip(one.tolist(), other.tolist(), strict=True))

    def _contacts(self, now: "_State", near_mm: float) -> Contacts:
        """All pairs of parts that lie so near each other, or nearer; parts near the walls with them."""
        pairs = self._pairs(now, near_mm)
        if self._walls is not None:
            pairs += [(one, len(now.fields)) for one in range(len(now.fields))]
        fields, at = [*now.fields.tolist(), self._walls], [*now.at.tolist(), [0.0, 0.0]]
        found = []
        for one, other in pairs:
            planes = self._planes.between(fields[one], fields[other])
            if planes.shape[1] > 1:
                x, y = at[other][0] - at[one][0], at[other][1] - at[one][1]
                planes = planes[:, (planes[2] - planes[0] * x - planes[1] * y).min(1) > -near_mm]
            found.append((planes, one, other))
        return Contacts.of(found)

    def _relaxed(self, now: "_State", weights: Floats, low: Floats, high: Floats) -> Floats:
        """Moves all shapes so that they overlap less; (n, n + 1) how deep each lies in each other, and in the walls."""
        for _ in range(_LOOKS):
            near = self._contacts(now, NEAR_SHARE * self._breadth)
            weigh = weights[near.one, near.other]
            now.at[:] = descended(near, weigh, now.at, low, high, MARGIN_MM)
            overlaps = self._overlaps(now)
            seen = np.zeros(overlaps.shape, bool)
            seen[near.one, near.other] = True
            seen[:, :-1] |= seen[:, :-1].T
            if not overlaps[~seen].any():
                break
        return overlaps

    def _overlaps(self, now: "_State") -> Floats:
        """(n, n + 1) how deep each shape lies in each other, and in the walls, mm."""
        count = len(now.fields)
        touching = self._contacts(now, 0.0)
        result = np.zeros((count, count + 1))
        np.maximum.at(result, (touching.one, touching.other), np.maximum(touching.depths_mm(now.at), 0.0))
        result[:, :count] = np.maximum(result[:, :count], result[:, :count].T)
        return result

    def _deep(self, now: "_State", index: int) -> Floats:
        """(n,) about how deep the shape lies in each other, by the maps."""
        result = np.zeros(len(now.fields))
        for number, field in enumerate(now.fields.tolist()):
            if number != index:
                found = self._planes.map_of(field, int(now.fields[index]))
                column, row = np.rint((now.at[index] - now.at[number]) / self._cell).astype(int).tolist()
                column, row = column - found.column, row - found.row
                if 0 <= row < found.depth_mm.shape[0] and 0 <= column < found.depth_mm.shape[1]:
                    result[number] = found.depth_mm[row, column]
        return result

    def _move(self, now: "_State", index: int, weights: Floats, high: Floats) -> None:
        """Put the shape where it overlaps the others least, by weight."""
        own = self._fields[int(now.fields[index])]
        fields = self._by_wanted[own.wanted]
        if len(fields) > MOST_ANGLES:
            some = self._random.choice(len(fields), MOST_ANGLES - 1, replace=False).tolist()
            fields = list({field.number: field for field in (own, *(fields[at] for at in some))}.values())
        best: tuple[float, int, Floats] | None = None
        for field in fields:
            low = np.array(self._room[:2]) - self._own[field.number, :2]
            costs = self._costs(now, index, field, weights, high)
            least = float(costs.min(initial=np.inf))
            if np.isfinite(least) and (best is None or least < best[0]):
                row, column = divmod(int(self._random.choice(np.flatnonzero(costs <= least))), costs.shape[1])
                best = (least, field.number, low + np.array([column, row]) * self._cell)
        if best is not None:
            now.fields[index], now.at[index] = best[1], best[2]

    def _costs(self, now: "_State", index: int, field: Field, weights: Floats, high: Floats) -> NDArray[np.float32]:
        """What each place of the field would overlap, by weight; infinite where it reaches over the room's edge."""
        low = np.array(self._room[:2]) - self._own[field.number, :2]
        size = np.floor((high - self._own[field.number, 2:] - low) / self._cell + 1e-6).astype(int) + 1
        columns, rows = np.maximum(size, 0).tolist()
        costs = self._free(field)[:rows, :columns].copy()
        rows, columns = costs.shape
        firsts = np.rint((now.at - low) / self._cell).astype(int).tolist()
        for number, (other, weight) in enumerate(zip(now.fields.tolist(), weights.tolist(), strict=False)):
            if number == index:
                continue
            found = self._planes.map_of(other, field.number)
            left, top = firsts[number][0] + found.column, firsts[number][1] + found.row
            deep = found.depth_mm
            x0, y0 = max(left, 0), max(top, 0)
            x1, y1 = min(left + deep.shape[1], columns), min(top + deep.shape[0], rows)
            if x1 > x0 and y1 > y0:
                costs[y0:y1, x0:x1] += np.float32(weight) * deep[y0 - top : y1 - top, x0 - left : x1 - left]
        return costs

    def _free(self, field: Field) -> NDArray[np.float32]:
        """(rows, columns) 0 where the field's shape can lie, infinite where it can't."""
        found = self._blocked.get(field.number)
        if found is None:
            grid = translation_grid(self._region, field.outline, self._cell)
            assert grid is not None  # it has a field
            free = feasible(self._region, field.outline, grid)
            found = self._blocked[field.number] = np.where(free, np.float32(0.0), np.float32(np.inf))
        return found


@dataclass(slots=True)
class _State:
    fields: NDArray[np.intp]
    at: Floats

    @classmethod
    def of(cls, spots: Sequence[Spot]) -> "_State":
        return cls(np.array([field for field, _, _ in spots], np.intp), np.array([(x, y) for _, x, y in spots], float))

    def spots(self) -> list[Spot]:
        return [(f, x, y) for f, (x, y) in zip(self.fields.tolist(), self.at.tolist(), strict=True)]
