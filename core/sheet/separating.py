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
from core.sheet.raster import Bools, Floats, Grid
from core.sheet.room import convex_parts, feasible
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
_NEARLY_SHARE = 0.05
"""Of a shape's breadth: where all overlaps together are less, a descent is gone on with to its end."""
_HEAVIER, _DEEPER, _LIGHTER = 1.05, 0.2, 0.98
"""Each round, what a pair that overlaps weighs more, the deepest of all by so much on top, and what others weigh less.

Small steps: pairs that weigh a thousand times what others do drive shapes right over those.
"""
_CELLS_A_SHAPE = 6
_NO_WALL_MM2 = 1e-6


class Separating:
    """Shapes in a room, and how they are moved until none overlaps. ``going`` tells whether there is time left."""

    def __init__(self, room: BaseGeometry, meetings: Meetings, *, going: Callable[[], bool], seed: int = 1) -> None:
        self._fields, self._going = meetings.fields, going
        self._by_wanted: dict[int, list[Field]] = {}
        for field in self._fields:
            self._by_wanted.setdefault(field.wanted, []).append(field)
        self._own = meetings.bounds
        self._groups = self._grouped()
        self._region, self._room = room, np.array(room.bounds)
        self._free: dict[tuple[int, ...], _Free] = {}
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
        self._middles = self._planes.middles[: len(self._fields)]
        self._before, self._behind = self._own[:, :2] - self._middles, self._own[:, 2:] - self._middles
        self._random = np.random.default_rng(seed)

    def _grouped(self) -> list[list[tuple[int, ...]]]:
        """For each field, which fields of its shape are looked at together: all, or some with it among them."""
        result: list[list[tuple[int, ...]]] = []
        for field in self._fields:
            others = [one.number for one in self._by_wanted[field.wanted]]
            if len(others) <= MOST_ANGLES:
                result.append([tuple(others)])
                continue
            result.append([tuple(others[at : at + MOST_ANGLES]) for at in range(0, len(others), MOST_ANGLES)])
        return result

    def within(
        self, spots: Sequence[Spot], *, axis: int, limit_mm: float, rearranged: bool = True
    ) -> tuple[list[Spot], bool]:
        """The shapes with no far side beyond the limit along the axis, and whether none overlaps.

        rearranged: whether shapes may be put elsewhere, or only pushed apart, which is far quicker.
        """
        high = self._room[2:].copy()
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
            overlaps = self._relaxed(now, weights, low, np.maximum(low, top), patient=not rearranged)
            whole = float(overlaps.sum())
            if whole < best[0]:
                best = (whole, now.spots())
            if not overlaps.any() or not self._going():
                break
            if not rearranged and number >= FEW_ROUNDS and whole > _HOPEFUL * before:
                break
            before = whole
            share = overlaps / overlaps.max()
            weights = np.where(overlaps > 0, weights * (_HEAVIER + _DEEPER * share), weights * _LIGHTER)
            weights = np.maximum(weights, 1.0)
            if not rearranged:
                continue
            self._rearrange(now, overlaps, weights, high)
        return best[1], best[0] == 0.0

    def _reach(self, now: "_State", high: Floats) -> tuple[Floats, Floats]:
        """(n, 2) the least and the greatest x and y that keep each shape's box within the room's and the limit."""
        own = self._own[now.fields]
        return self._room[:2] - own[:, :2], high - own[:, 2:]

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
        fields = [*now.fields.tolist(), self._walls]
        found = Contacts.of([(self._planes.between(fields[one], fields[other]), one, other) for one, other in pairs])
        return found.nearer(now.at, near_mm)

    def _relaxed(self, now: "_State", weights: Floats, low: Floats, high: Floats, *, patient: bool) -> Floats:
        """Moves all shapes so that they overlap less; (n, n + 1) how deep each lies in each other, and in the walls."""
        for _ in range(_LOOKS):
            near = self._contacts(now, NEAR_SHARE * self._breadth)
            weigh = weights[near.one, near.other]
            now.at[:] = descended(near, weigh, now.at, low, high, MARGIN_MM, patient=patient)
            overlaps = _overlaps(now, near)
            if not patient and 0.0 < overlaps.sum() < _NEARLY_SHARE * self._breadth:
                now.at[:] = descended(near, weigh, now.at, low, high, MARGIN_MM)
                overlaps = _overlaps(now, near)
            if overlaps.any():
                return overlaps
            overlaps = _overlaps(now, self._contacts(now, 0.0))
            if not overlaps.any():
                break
        return overlaps

    def _rearrange(self, now: "_State", overlaps: Floats, weights: Floats, high: Floats) -> None:
        """Put those that overlap elsewhere, one after the other; those whose others have gone stay."""
        count = len(now.fields)
        moved = np.zeros(count, bool)
        for index in self._random.permutation(np.flatnonzero(overlaps.any(1))).tolist():
            if not self._going():
                break
            stays = overlaps[index] > 0
            stays[:count] &= ~moved
            if stays.any() or self._deep(now, index, moved):
                self._move(now, index, weights[index], high)
                moved[index] = True

    def _deep(self, now: "_State", index: int, others: Bools) -> bool:
        """Whether the shape lies in any of the others, by the maps."""
        own = (int(now.fields[index]),)
        for number in np.flatnonzero(others).tolist():
            field = int(now.fields[number])
            apart = now.at[index] + self._middles[own[0]] - now.at[number] - self._middles[field]
            found = self._planes.maps_of(field, own)
            column, row = np.rint(apart / self._cell).astype(int).tolist()
            column, row = column - found.column, row - found.row
            _, rows, columns = found.depth_mm.shape
            if 0 <= row < rows and 0 <= column < columns and found.depth_mm[0, row, column] > 0:
                return True
        return False

    def _move(self, now: "_State", index: int, weights: Floats, high: Floats) -> None:
        """Put the shape where it overlaps the others least, by weight, at one of several angles."""
        groups = self._groups[int(now.fields[index])]
        group = groups[int(self._random.integers(len(groups)))]
        low, costs = self._costs(now, index, group, weights, high)
        if not costs.size:
            return
        at = int(costs.argmin())
        least = float(costs.flat[at])
        if not np.isfinite(least):
            return
        if not least:
            clear = np.flatnonzero(costs == 0)
            at = int(clear[self._random.integers(len(clear))])
        angle, row, column = np.unravel_index(at, costs.shape)
        field = group[angle]
        there = low + np.array([column, row]) * self._cell - self._middles[field]
        now.fields[index] = field
        now.at[index] = np.clip(there, self._room[:2] - self._own[field, :2], high - self._own[field, 2:])

    def _costs(
        self, now: "_State", index: int, group: tuple[int, ...], weights: Floats, high: Floats
    ) -> tuple[Floats, NDArray[np.float32]]:
        """The first place, and what each place of each field would overlap, by weight; infinite outside the room.

        Places are those of the middle of a shape's box.
        """
        free = self._free_of(group)
        size = np.maximum(np.floor((high - free.low) / self._cell).astype(int) + 1, 0).tolist()
        costs = free.costs[:, : size[1], : size[0]].copy()
        _, rows, columns = costs.shape
        for number, field in enumerate(group):
            right, bottom = np.floor((high - self._behind[field] - free.low) / self._cell + 0.5).astype(int).tolist()
            costs[number, max(bottom + 1, 0) :] = np.inf
            costs[number, :, max(right + 1, 0) :] = np.inf
        firsts = np.rint((now.at + self._middles[now.fields] - free.low) / self._cell).astype(int).tolist()
        for number, (other, weight) in enumerate(zip(now.fields.tolist(), weights.tolist(), strict=False)):
            if number == index:
                continue
            found = self._planes.maps_of(other, group)
            left, top = firsts[number][0] + found.column, firsts[number][1] + found.row
            deep = found.depth_mm
            x0, y0 = max(left, 0), max(top, 0)
            x1, y1 = min(left + deep.shape[2], columns), min(top + deep.shape[1], rows)
            if x1 > x0 and y1 > y0:
                some = deep[:, y0 - top : y1 - top, x0 - left : x1 - left]
                costs[:, y0:y1, x0:x1] += some if weight == 1.0 else np.float32(weight) * some
        return free.low, costs

    def _free_of(self, group: tuple[int, ...]) -> "_Free":
        found = self._free.get(group)
        if found is None:
            found = self._free[group] = self._worked_out(group)
        return found

    def _worked_out(self, group: tuple[int, ...]) -> "_Free":
        before, behind = self._before[list(group)], self._behind[list(group)]
        low, high = self._room[:2] - before.max(0), self._room[2:] - behind.min(0)
        columns, rows = (np.floor((high - low) / self._cell + 0.5).astype(int) + 1).tolist()
        costs = np.full((len(group), rows, columns), np.inf, np.float32)
        for number, field in enumerate(group):
            left, top = np.ceil((self._room[:2] - self._before[field] - low) / self._cell - 0.5).astype(int).tolist()
            costs[number, top:, left:] = 0.0
            if self._walls is not None:
                x_mm, y_mm = (low - self._middles[field]).tolist()
                grid = Grid(x_mm=x_mm, y_mm=y_mm, cell_mm=self._cell, columns=columns, rows=rows)
                costs[number, ~feasible(self._region, self._fields[field].outline, grid)] = np.inf
        return _Free(low=low, costs=costs)


def _overlaps(now: "_State", contacts: Contacts) -> Floats:
    """(n, n + 1) how deep each shape lies in each other, and in the walls, mm."""
    count = len(now.fields)
    result = np.zeros((count, count + 1))
    np.maximum.at(result, (contacts.one, contacts.other), np.maximum(contacts.depths_mm(now.at), 0.0))
    result[:, :count] = np.maximum(result[:, :count], result[:, :count].T)
    return result


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Free:
    """low: (2,) the first place. costs: (fields, rows, columns) 0 where a field's shape can lie, else infinite."""

    low: Floats
    costs: NDArray[np.float32]


@dataclass(slots=True)
class _State:
    fields: NDArray[np.intp]
    at: Floats

    @classmethod
    def of(cls, spots: Sequence[Spot]) -> "_State":
        return cls(np.array([field for field, _, _ in spots], np.intp), np.array([(x, y) for _, x, y in spots], float))

    def spots(self) -> list[Spot]:
        return [(f, x, y) for f, (x, y) in zip(self.fields.tolist(), self.at.tolist(), strict=True)]
