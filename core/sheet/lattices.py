"""Equal shapes in rows that repeat: straight, offset or hexagonal, alone or in half-turned pairs, in exact contact.

A lattice is worked out from the region of translations at which two units overlap (see ``room.meeting``): along a row a
unit follows where that region ends; the next row lies, for every shift along it, where the region's upper edge ends.
Rows run across the room or down it. What lies outside the room is left out.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region, rotation, translation
from core.sheet.meetings import spaced
from core.sheet.raster import Floats
from core.sheet.room import CONTACT_MM, TOUCHING_MM, meeting

MOST_PAIRS = 6
"""Ways of putting a shape and its half-turned like together that are followed up, the tightest first."""
SHIFTS = 96
STARTS = 4
MOST_ROWS_DEEP = 5
"""A shape may reach over so many rows less one."""
KEPT_ALONE, KEPT_PAIRED = 6, 8
"""Lattices that are laid, of single shapes and of pairs: those of the smallest area for a shape."""
_SLACK_MM = 8e-6
"""How far a shape may reach over the room's edge by rounding alone."""
_PAIR_ANGLE_DEG = 180.0

Place = tuple[float, float, float]
"""x, y of the shape's own origin, and its angle."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lattice:
    """Units at i·along + j·across; members: shapes of a unit with their places. mm2: area for each shape."""

    members: tuple[tuple[BaseGeometry, Place], ...]
    along: tuple[float, float]
    across: tuple[float, float]
    zigzag: bool
    mm2: float


def lattice_places(
    room: BaseGeometry,
    shape: BaseGeometry,
    outline: BaseGeometry,
    *,
    angles_deg: Sequence[float],
    count: int,
    spacing_mm: float,
) -> Iterator[tuple[Place, ...]]:
    """Ways of laying up to ``count`` of the shape in lattices, the tightest first; each a tuple of places.

    outline: the shape, or one around it with fewer corners, by which shapes keep ``spacing_mm`` apart.
    """
    found: list[_Lattice] = []
    for angle_deg in _without_half_turns(angles_deg):
        turned = apply_to_region(rotation(angle_deg), outline)
        own = apply_to_region(rotation(angle_deg), shape)
        single = ((turned, own, (0.0, 0.0, angle_deg)),)
        units: list[_Unit] = [single]
        if any(math.isclose((other - angle_deg) % 360.0, _PAIR_ANGLE_DEG) for other in angles_deg):
            units += _pairs(turned, own, angle_deg, spacing_mm)
        for unit in units:
            found += _lattices(unit, spacing_mm)
    found.sort(key=lambda lattice: lattice.mm2)
    fits = _Room(room)
    alone = [lattice for lattice in found if len(lattice.members) == 1][:KEPT_ALONE]
    paired = [lattice for lattice in found if len(lattice.members) > 1][:KEPT_PAIRED]
    for lattice in (*alone, *paired):
        yield from _laid(fits, lattice, count)


def _without_half_turns(angles_deg: Sequence[float]) -> list[float]:
    """A half-turned lattice is the same lattice."""
    kept: list[float] = []
    for angle in angles_deg:
        if not any(math.isclose((angle - other) % 180.0, 0.0, abs_tol=1e-9) for other in kept):
            kept.append(angle)
    return kept


_Unit = tuple[tuple[BaseGeometry, BaseGeometry, Place], ...]


def _pairs(turned: BaseGeometry, own: BaseGeometry, angle_deg: float, spacing_mm: float) -> list[_Unit]:
    """The shape with its half-turned like in contact, in the ways that take up the smallest hull."""
    half = apply_to_region(rotation(_PAIR_ANGLE_DEG), turned)
    own_half = apply_to_region(rotation(_PAIR_ANGLE_DEG), own)
    reach = shapely.union_all(meeting(spaced(turned, spacing_mm), half))
    if reach.is_empty:
        return []
    reach = shapely.buffer(reach, 2 * TOUCHING_MM, join_style="mitre")  # what touching was allowed by
    at = shapely.get_coordinates(shapely.segmentize(reach.boundary, math.sqrt(reach.area) / 12))
    at = np.unique(at.round(7), axis=0)
    corners, other = shapely.get_coordinates(turned.convex_hull), shapely.get_coordinates(half.convex_hull)
    both = np.concatenate([np.broadcast_to(corners, (len(at), *corners.shape)), other[None] + at[:, None]], axis=1)
    clouds = shapely.multipoints(both.reshape(-1, 2), indices=np.repeat(np.arange(len(at)), both.shape[1]))
    tightest = np.argsort(shapely.area(shapely.convex_hull(clouds)), kind="stable")
    units: list[_Unit] = []
    taken: list[Floats] = []
    apart_mm = 0.1 * math.sqrt(turned.area)
    for index in tightest.tolist():
        x_mm, y_mm = at[index].tolist()
        if any(math.hypot(x_mm - x, y_mm - y) < apart_mm for x, y in taken):
            continue
        taken.append(at[index])
        there = translation(x_mm, y_mm)
        units.append(
            (
                (turned, own, (0.0, 0.0, angle_deg)),
                (
                    apply_to_region(there, half),
                    apply_to_region(there, own_half),
                    (x_mm, y_mm, (angle_deg + _PAIR_ANGLE_DEG) % 360.0),
                ),
            )
        )
        if len(units) == MOST_PAIRS:
            break
    return units


def _lattices(unit: _Unit, spacing_mm: float) -> list[_Lattice]:
    outlines = [outline for outline, _, _ in unit]
    laid = [part for outline in outlines for part in shapely.get_parts(spaced(outline, spacing_mm))]
    reach = np.concatenate([meeting(part, outline) for part in laid for outline in outlines])
    points, ring = shapely.get_coordinates(reach, return_index=True)
    edge = ring[1:] == ring[:-1]
    start, end = points[:-1][edge], points[1:][edge]
    members = tuple((own, place) for _, own, place in unit)
    found: list[_Lattice] = []
    for down in (False, True):
        a, b = (start[:, ::-1], end[:, ::-1]) if down else (start, end)
        pitch = float(_upper(a[:, ::-1], b[:, ::-1], np.zeros(1))[0]) + CONTACT_MM
        if not pitch > 0:
            continue
        for zigzag in (False, True):
            for shift, height in _rows(a, b, pitch, zigzag=zigzag):
                mm2 = pitch * height / len(unit)
                along, across = ((0.0, pitch), (height, shift)) if down else ((pitch, 0.0), (shift, height))
                found.append(_Lattice(members=members, along=along, across=across, zigzag=zigzag, mm2=mm2))
    return found


def _rows(start: Floats, end: Floats, pitch: float, *, zigzag: bool) -> list[tuple[float, float]]:
    """The two shifts of a row against the one before that bring rows nearest, and no shift: (shift, height).

    zigzag: rows are shifted to and fro, else on and on. All rows have to be clear of all others.
    """
    corners = np.concatenate([start[:, 0], end[:, 0]])
    shifts = np.unique(np.concatenate([np.arange(SHIFTS) / SHIFTS * pitch, np.mod(corners, pitch)]).round(6))
    if len(shifts) > 3 * SHIFTS:
        shifts = shifts[:: len(shifts) // (3 * SHIFTS) + 1]
    times = math.ceil(float(np.abs(corners).max()) / pitch) + 2
    steps = np.arange(-times, times + 1) * pitch

    def top(shift: Floats) -> Floats:
        """How far down a row reaches that is shifted so much."""
        at = np.mod(shift, pitch)
        result: Floats = _upper(start, end, (at[:, None] + steps[None]).ravel()).reshape(len(at), -1).max(1)
        return result

    heights = top(shifts)
    if zigzag:
        heights = np.maximum(np.maximum(heights, top(-shifts)), float(top(np.zeros(1))[0]) / 2)
    else:
        tallest = float(max(start[:, 1].max(), end[:, 1].max()))
        heights = np.maximum(heights, tallest / MOST_ROWS_DEEP)
        for rows in range(2, MOST_ROWS_DEEP):
            heights = np.maximum(heights, top(rows * shifts) / rows)
    best = np.argsort(heights, kind="stable")[:2].tolist()
    kept = dict.fromkeys(best if zigzag else [*best, 0])
    return [(float(shifts[index]), float(heights[index]) + CONTACT_MM) for index in kept]


def _upper(start: Floats, end: Floats, at_x: Floats) -> Floats:
    """The greatest y of any edge over each x; minus infinity where there is none."""
    rising = np.argsort(at_x, kind="stable")
    x = at_x[rising]
    low, high = np.minimum(start[:, 0], end[:, 0]), np.maximum(start[:, 0], end[:, 0])
    first, last = np.searchsorted(x, low - 1e-9), np.searchsorted(x, high + 1e-9, side="right")
    covered = last - first
    edge = np.repeat(np.arange(len(start)), covered)
    sample = np.arange(len(edge)) - np.repeat(np.cumsum(covered) - covered, covered) + np.repeat(first, covered)
    width = high - low
    share = np.divide(
        x[sample] - start[edge, 0], (end - start)[edge, 0], out=np.zeros(len(edge)), where=width[edge] > 1e-9
    )
    y = start[edge, 1] + np.clip(share, 0.0, 1.0) * (end - start)[edge, 1]
    y = np.where(width[edge] > 1e-9, y, np.maximum(start[edge, 1], end[edge, 1]))
    highest = np.full(len(x), -np.inf)
    np.maximum.at(highest, sample, y)
    result = np.empty(len(x))
    result[rising] = highest
    return result


class _Room:
    """Whether shapes lie in the room: by boxes alone where it is a rectangle."""

    def __init__(self, room: BaseGeometry) -> None:
        self.bounds = room.bounds
        self.is_box = math.isclose(room.area, shapely.box(*room.bounds).area, rel_tol=1e-9)
        self._grown = shapely.buffer(room, _SLACK_MM)
        shapely.prepare(self._grown)

    def holds(self, shape: BaseGeometry, at: Floats) -> NDArray[np.bool_]:
        """(n,) for translations (n, 2)."""
        u0, v0, u1, v1 = shape.bounds
        x0, y0, x1, y1 = self.bounds
        fits: NDArray[np.bool_] = (at[:, 0] + u0 >= x0 - _SLACK_MM) & (at[:, 0] + u1 <= x1 + _SLACK_MM)
        fits &= (at[:, 1] + v0 >= y0 - _SLACK_MM) & (at[:, 1] + v1 <= y1 + _SLACK_MM)
        if not self.is_box:
            for index in np.flatnonzero(fits).tolist():
                there = apply_to_region(translation(*at[index].tolist()), shape)
                fits[index] = bool(self._grown.contains(there))
        return fits


def _laid(room: _Room, lattice: _Lattice, count: int) -> Iterator[tuple[Place, ...]]:
    x0, y0, x1, y1 = room.bounds
    boxes = np.array([own.bounds for own, _ in lattice.members])
    left, top = boxes[:, 0].min(), boxes[:, 1].min()
    (ax, ay), (bx, by) = lattice.along, lattice.across
    down = ax == 0.0
    pitch, height = (ay, bx) if down else (ax, by)
    room_along, room_across = (y1 - y0, x1 - x0) if down else (x1 - x0, y1 - y0)
    rows = np.arange(-1, math.ceil(room_across / height) + 2)
    shift = by if down else bx
    offsets = np.where(rows % 2 == 1, shift, 0.0) if lattice.zigzag else np.mod(rows * shift, pitch)
    columns = np.arange(-2, math.ceil(room_along / pitch) + 2)
    along = (columns[None, :] * pitch + offsets[:, None]).ravel()
    across = np.repeat(rows * height, len(columns))
    nodes = np.column_stack([across, along] if down else [along, across])
    starts = [0.0] if room.is_box and not shift else [share * pitch / STARTS for share in range(STARTS)]
    for start in starts:
        origin = np.array([x0 - left, y0 - top]) + ((0.0, start) if down else (start, 0.0))
        places, ends = [], []
        for own, (x_mm, y_mm, angle_deg) in lattice.members:
            at = nodes + origin
            at = at[room.holds(own, at)]
            places.append(np.column_stack([at + np.array([x_mm, y_mm]), np.full(len(at), angle_deg)]))
            ends.append(at + np.array(own.bounds[2:]))
        every, far = np.concatenate(places), np.concatenate(ends)
        for first, second in ((0, 1), (1, 0)):
            order = np.lexsort((far[:, second], far[:, first].round(6)))[:count]
            yield tuple((float(x), float(y), float(angle)) for x, y, angle in every[order].tolist())
            if len(every) <= count:
                break
