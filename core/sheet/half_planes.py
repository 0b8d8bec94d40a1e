"""How deep turned shapes lie in each other at any translation, exactly, from their convex parts.

Two convex parts overlap where the translation of the second against the first lies within a half-plane for each side
of either (their Minkowski sum, see ``room``). The depth in it is the way to the nearest of those lines: so far, and
across it, the second has to be moved to be clear of the first.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.sheet.raster import Floats

_MOST_KEPT = 24_000_000
"""Numbers held of pairs, and as many of maps, before they are forgotten and worked out anew."""
_AT_A_TIME = 400_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DepthMap:
    """How deep some shapes lie in another, by how far the middle of their box lies off the middle of the other's, mm.

    depth_mm: (shapes, rows, columns), from (column, row) * cell on; 0 where they are clear of each other.
    """

    column: int
    row: int
    depth_mm: NDArray[np.float32]


class _Parts:
    """A shape's convex parts: corners of all, and for each part as many outward sides as the richest has."""

    def __init__(self, parts: Sequence[Floats]) -> None:
        self.corners = np.concatenate(parts)
        self.starts = np.cumsum([0, *(len(part) for part in parts[:-1])])
        self.low, self.high = self.corners.min(0), self.corners.max(0)
        sides = [_sides(part) for part in parts]
        most = max(len(side) for side in sides)
        self.normals = np.stack([side[np.minimum(np.arange(most), len(side) - 1)] for side in sides])
        reach = self.normals.reshape(-1, 2) @ self.corners.T
        own = np.maximum.reduceat(reach, self.starts, axis=1).reshape(len(parts), most, len(parts))
        self.reach = own[np.arange(len(parts)), :, np.arange(len(parts))]


def _sides(corners: Floats) -> Floats:
    """(k, 2) unit normals of a convex polygon's sides, outward."""
    ahead = np.roll(corners, -1, axis=0) - corners
    ahead = ahead[np.hypot(*ahead.T) > 1e-9]
    normals = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1) / np.hypot(*ahead.T)[:, None]
    twice_mm2 = float(np.sum(corners[:, 0] * np.roll(corners[:, 1], -1) - np.roll(corners[:, 0], -1) * corners[:, 1]))
    result: Floats = normals if twice_mm2 > 0 else -normals
    return result


class HalfPlanes:
    """The half-planes of any two of some turned shapes, each pair worked out when it is first asked for."""

    def __init__(
        self, shapes: Sequence[Sequence[Floats]], *, cell_mm: float, quarter: dict[tuple[int, int], int] | None = None
    ) -> None:
        """shapes: the convex parts of each. cell_mm: of the maps.

        quarter: which shape is another one turned by so many quarters. middles: (n, 2) those of the shapes' boxes.
        """
        self._quarter = quarter or {}
        self._parts = [_Parts(parts) for parts in shapes]
        self.cell_mm = cell_mm
        self.middles = np.array([(parts.low + parts.high) / 2 for parts in self._parts])
        self._pairs: dict[tuple[int, int], Floats] = {}
        self._maps: dict[tuple[int, int], DepthMap] = {}
        self._stacks: dict[tuple[int, tuple[int, ...]], DepthMap] = {}
        self._held = self._mapped = 0

    def between(self, one: int, other: int) -> Floats:
        """(3, rows, sides): x and y of unit normals n, and c: depth of the other at t against one is min(c - n·t).

        A row for each pair of convex parts.
        """
        key = (one, other)
        found = self._pairs.get(key)
        if found is None:
            if self._held > _MOST_KEPT:
                self._pairs.clear()
                self._held = 0
            found = self._pairs[key] = _planes(self._parts[one], self._parts[other])
            self._held += found.size
        return found

    def maps_of(self, one: int, others: tuple[int, ...]) -> DepthMap:
        """How deep each of the others lies in one wherever its middle is, as deep as in any of its convex parts."""
        key = (one, others)
        found = self._stacks.get(key)
        if found is None:
            if self._mapped > _MOST_KEPT:
                self._maps.clear()
                self._stacks.clear()
                self._mapped = 0
            found = self._stacks[key] = _stacked([self._map_of(one, other) for other in others])
            self._mapped += found.depth_mm.size
        return found

    def _map_of(self, one: int, other: int) -> DepthMap:
        """The map of one other shape.

        Quarter turns of two shapes together turn their map, which is worked out for one of the four.
        """
        key = (one, other)
        found = self._maps.get(key)
        if found is None:
            found = self._maps[key] = self._turned(one, other) or self._map(one, other)
            self._mapped += 0 if found.depth_mm.base is not None else found.depth_mm.size
        return found

    def _turned(self, one: int, other: int) -> DepthMap | None:
        """From a map that is known, of the same two shapes otherwise turned or the other way round."""
        for quarters in range(4):
            first, second = self._quarter.get((one, quarters)), self._quarter.get((other, quarters))
            if first is None or second is None:
                continue
            known = self._maps.get((first, second))
            if known is None and (mirrored := self._maps.get((second, first))) is not None:
                known = _map_from(mirrored.depth_mm[:, ::-1, ::-1])
            if known is None:
                continue
            for _ in range((4 - quarters) % 4):
                known = _map_from(known.depth_mm.swapaxes(1, 2)[:, :, ::-1])
            return known
        return None

    def _map(self, one: int, other: int) -> DepthMap:
        own, its = self._parts[one], self._parts[other]
        reach = np.floor((own.high - own.low + its.high - its.low) / 2 / self.cell_mm).astype(int).tolist()
        apart = self.middles[one] - self.middles[other]
        xs, ys = ((np.arange(-far, far + 1) * self.cell_mm + off).astype(np.float32)
                  for far, off in zip(reach, apart.tolist(), strict=True))  # fmt: skip
        planes = self.between(one, other).astype(np.float32)
        depth = np.zeros((len(ys), len(xs)), np.float32)
        step = max(1, _AT_A_TIME // max(depth.size, 1))
        for begin in range(0, planes.shape[1], step):
            nx, ny, c = planes[:, begin : begin + step]
            least = np.full((len(c), *depth.shape), np.inf, np.float32)
            for side in range(planes.shape[2]):
                across = nx[:, side, None] * xs - c[:, side, None]
                np.minimum(least, -across[:, None, :] - (ny[:, side, None] * ys)[:, :, None], out=least)
            np.maximum(depth, least.max(0), out=depth)
        return _map_from(depth[None])


def _map_from(depth_mm: NDArray[np.float32]) -> DepthMap:
    """As far to one side of the middle as to the other."""
    _, rows, columns = depth_mm.shape
    return DepthMap(column=-(columns // 2), row=-(rows // 2), depth_mm=depth_mm)


def _stacked(maps: Sequence[DepthMap]) -> DepthMap:
    """Several maps of one shape each as one, of the size of the largest."""
    column, row = min(one.column for one in maps), min(one.row for one in maps)
    depth = np.zeros((len(maps), 1 - 2 * row, 1 - 2 * column), np.float32)
    for one, into in zip(maps, depth, strict=True):
        _, rows, columns = one.depth_mm.shape
        into[one.row - row : one.row - row + rows, one.column - column : one.column - column + columns] = one.depth_mm[
            0
        ]
    return _map_from(depth)


def _planes(one: _Parts, other: _Parts) -> Floats:
    (parts, sides), (others, other_sides) = one.reach.shape, other.reach.shape
    low = np.minimum.reduceat(one.normals.reshape(-1, 2) @ other.corners.T, other.starts, axis=1)
    c_one = one.reach[:, :, None] - low.reshape(parts, sides, others)
    low = np.minimum.reduceat(other.normals.reshape(-1, 2) @ one.corners.T, one.starts, axis=1)
    c_other = other.reach[:, :, None] - low.reshape(others, other_sides, parts)
    result = np.empty((3, parts, others, sides + other_sides))
    result[:2, :, :, :sides] = one.normals.transpose(2, 0, 1)[:, :, None, :]
    result[:2, :, :, sides:] = -other.normals.transpose(2, 0, 1)[:, None, :, :]
    result[2, :, :, :sides] = c_one.transpose(0, 2, 1)
    result[2, :, :, sides:] = c_other.transpose(2, 0, 1)
    return result.reshape(3, parts * others, sides + other_sides)
