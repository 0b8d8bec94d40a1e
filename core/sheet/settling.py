"""Exact contact: shapes laid on a grid are pushed across and down until they touch."""

import math
from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.sheet.meetings import ConvexEdges, Meetings
from core.sheet.raster import Floats
from core.sheet.room import CONTACT_MM, TOUCHING_MM, meeting

ROUNDS = 8
LEAST_MM = 1e-4
Spot = tuple[int, float, float]
"""A field, and x and y of its shape."""


class Settling:
    """Pushes shapes towards the left and top edges of a room."""

    def __init__(self, room: BaseGeometry, meetings: Meetings) -> None:
        self._meetings = meetings
        outside = shapely.difference(shapely.box(*room.bounds).buffer(1.0, join_style="mitre"), room)
        self._outside = [part for part in shapely.get_parts(outside) if part.area > 1e-6]
        self._blocked: dict[int, ConvexEdges] = {}

    def settled(self, spots: Sequence[Spot], axes: Sequence[int] = (0, 1)) -> list[Spot]:
        """The shapes pushed towards less x (axis 0) and less y (axis 1) in turn, for as long as that moves them.

        What overlapped nothing overlaps nothing afterwards.
        """
        fields = [field for field, _, _ in spots]
        own, at = self._meetings.bounds[fields], np.array([(x, y) for _, x, y in spots])
        for _ in range(ROUNDS):
            moved = 0.0
            for axis in axes:
                for index in np.argsort(own[:, axis] + at[:, axis], kind="stable").tolist():
                    to = self._reach(fields, own, at, index, axis)
                    moved = max(moved, float(at[index, axis]) - to)
                    at[index, axis] = to
            if moved < LEAST_MM:
                break
        return [(field, x, y) for field, (x, y) in zip(fields, at.tolist(), strict=True)]

    def _reach(self, fields: Sequence[int], own: Floats, at: Floats, index: int, axis: int) -> float:
        """How far towards less x or y the shape can be pushed with all others where they are."""
        here, level, spare = float(at[index, axis]), float(at[index, 1 - axis]), 2 * self._meetings.spacing_mm
        low, high = own[:, 1 - axis] + at[:, 1 - axis], own[:, 3 - axis] + at[:, 1 - axis]
        beside = (low < high[index] + spare) & (high > low[index] - spare)
        beside &= own[:, axis] + at[:, axis] < own[index, 2 + axis] + here + spare
        beside[index] = False
        met = [self._walls(fields[index]).crossings(level, axis)]
        for number in np.flatnonzero(beside).tolist():
            edges = self._meetings.of(fields[number], fields[index]).edges
            met.append(edges.crossings(level - float(at[number, 1 - axis]), axis) + at[number, axis])
        begins, ends = np.concatenate(met).T
        ahead = begins < here - 2 * TOUCHING_MM
        stop = float(ends[ahead].max(initial=-math.inf))
        return min(here, stop + CONTACT_MM) if math.isfinite(stop) else here

    def _walls(self, field: int) -> ConvexEdges:
        """Where the field's shape would reach over the room's edge."""
        if field not in self._blocked:
            outline = self._meetings.fields[field].outline
            walls = np.concatenate([meeting(part, outline) for part in self._outside])
            self._blocked[field] = ConvexEdges([shapely.get_coordinates(wall)[:-1] for wall in walls])
        return self._blocked[field]
