"""What is laid and what it is laid on: a job's footprint at an angle, a piece's ground, and what a place comes to."""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import JobError, UnreadableError
from core.geometry.affine import apply_to_region, rotation, translation
from core.sheet.flaws import flaws_in
from core.sheet.offcuts import sheet_region
from core.sheet.placement import Sheet
from core.sheet.raster import Floats
from core.sheet.rest import RestTable, rest_table
from core.sheet.room import TOUCHING_MM

RIGHT_ANGLES_DEG = (0.0, 90.0, 180.0, 270.0)

SHOWN_STEP_MM2 = 0.005
"""What shows is told apart no finer than this; nothing at all stands before everything else."""

REST_STEP_MM2 = 100.0
"""Rests are told apart no finer than this where they come first."""

_ROUNDING_MM2 = 1e-9

ROUND = 12
"""Chords of a quarter circle where an edge is kept free round an inner corner."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Footprint:
    """What a job takes of the sheet, in its own frame: all that is burned (with the kerf), the finished pieces in it,
    and where the coat goes. Valid polygons; cleared may be empty."""

    burned: BaseGeometry
    finished: BaseGeometry
    cleared: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True)
class PlacingOptions:
    """edge_mm: kept free along the piece's edge. flaw_doubt_mm: how far a flaw may lie from where it was noted.
    angles_deg: what the job may be turned by. cell_mm: of the search grid, 0.25 or less, but for very large pieces.
    least_sheet: the largest rest comes before what shows. closed: boxes (x0, y0, x1, y1) of the front frame where
    nothing may be burned, as under a clamp.
    """

    edge_mm: float = 0.0
    flaw_doubt_mm: float = 0.5
    angles_deg: tuple[float, ...] = RIGHT_ANGLES_DEG
    cell_mm: float = 0.25
    closed: tuple[tuple[float, float, float, float], ...] = ()
    least_sheet: bool = False

    def __post_init__(self) -> None:
        """Raises UnreadableError: below zero, the job would lie over the edge, or a flaw be taken for smaller."""
        for value_mm, what in ((self.edge_mm, "An edge"), (self.flaw_doubt_mm, "A doubt")):
            if not (math.isfinite(value_mm) and value_mm >= 0):
                raise UnreadableError(f"{what} of {value_mm:g} mm can't be.", hint="Give 0 or more.")


FREE_ANGLES_DEG = tuple(float(angle) for angle in range(0, 360, 5))
"""What "free" rotation tries: all on a coarse grid, the best of them in full."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """A place found: the footprint's frame turned by rotation_deg, then put at (x, y) of the sheet's front frame.

    shown_mm2: what shows of the flaws, doubt included. rest_mm2: the largest rectangle beside the job's box.
    """

    x_mm: float
    y_mm: float
    rotation_deg: float
    shown_mm2: float
    rest_mm2: float

    @property
    def rank(self) -> tuple[float, float]:
        """Smaller is better: what shows, then the rest."""
        return (math.ceil(self.shown_mm2 / SHOWN_STEP_MM2) * SHOWN_STEP_MM2, -self.rest_mm2)

    @property
    def sheet_rank(self) -> tuple[float, float]:
        """Smaller is better: the rest, in whole cm², then what shows."""
        return (-math.floor(self.rest_mm2 / REST_STEP_MM2 + 1e-6), self.shown_mm2)


class NoRoomError(JobError):
    """The job fits nowhere on the piece."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Ground:
    """A sheet made ready for placing: where the job may lie, its flaws, what rests it can leave.

    grown: the rooms with what touching allows, made ready to be asked of often, by one thread.
    """

    rooms: tuple[BaseGeometry, ...]
    grown: tuple[BaseGeometry, ...]
    coat_flaws: tuple[BaseGeometry, ...]
    face_flaws: tuple[BaseGeometry, ...]
    coat_boxes: Floats
    face_boxes: Floats
    rest: RestTable


def ground_of(sheet: Sheet, options: PlacingOptions, *, has_coat: bool = True) -> Ground:
    """The sheet made ready. Raises UnreadableError."""
    region = sheet_region(sheet)
    room = free_room(region, options)
    coat = flaws_in(sheet, "coat", grown_mm=options.flaw_doubt_mm)
    face = flaws_in(sheet, "clear face", grown_mm=options.flaw_doubt_mm)
    if not has_coat:
        coat, face = [], [*face, *coat]
    rooms = tuple(part for part in shapely.get_parts(room) if not part.is_empty)
    grown = tuple(shapely.buffer(part, TOUCHING_MM) for part in rooms)
    shapely.prepare(grown)
    return Ground(
        rooms=rooms,
        grown=grown,
        coat_flaws=tuple(coat),
        face_flaws=tuple(face),
        coat_boxes=shapely.bounds(np.array(coat, object)).reshape(-1, 4),
        face_boxes=shapely.bounds(np.array(face, object)).reshape(-1, 4),
        rest=rest_table(region),
    )


def free_room(region: BaseGeometry, options: PlacingOptions) -> BaseGeometry:
    """Where a piece of that region may be burned: its margin and closed boxes left out."""
    room = drawn_in(region, options.edge_mm)
    return (
        shapely.difference(room, shapely.union_all(shapely.box(*np.transpose(options.closed))))
        if (options.closed)
        else room
    )


def drawn_in(region: BaseGeometry, edge_mm: float) -> BaseGeometry:
    """What of the region lies at least so far from its edge, right to 0.005 mm for 2 mm."""
    if not edge_mm:
        return region
    inside: BaseGeometry = shapely.buffer(region, -edge_mm, join_style="round", quad_segs=ROUND)
    return inside


class Turned:
    """A footprint at one angle, ready to be measured at many translations."""

    def __init__(self, footprint: Footprint, angle_deg: float) -> None:
        matrix = rotation(angle_deg)
        self.angle_deg = angle_deg
        self.burned, self.finished, self.cleared = (
            apply_to_region(matrix, region) for region in (footprint.burned, footprint.finished, footprint.cleared)
        )
        self.bounds = self.burned.bounds
        self._cleared_parts = shapely.get_parts(self.cleared)
        self._tree = shapely.STRtree(self._cleared_parts)
        shapely.prepare(self.finished)

    def shown_mm2(self, ground: Ground, x_mm: float, y_mm: float) -> float:
        """What shows of the ground's flaws with the footprint put there, mm², exactly."""
        back = translation(-x_mm, -y_mm)
        u0, v0, u1, v1 = self.finished.bounds
        shown = 0.0
        for flaws, boxes, is_coat in (
            (ground.coat_flaws, ground.coat_boxes, True),
            (ground.face_flaws, ground.face_boxes, False),
        ):
            apart = (boxes[:, 0] > u1 + x_mm) | (boxes[:, 2] < u0 + x_mm)
            apart |= (boxes[:, 1] > v1 + y_mm) | (boxes[:, 3] < v0 + y_mm)
            for index in np.flatnonzero(~apart):
                here = apply_to_region(back, flaws[index])
                if not self.finished.intersects(here):
                    continue
                visible = shapely.intersection(here, self.finished)
                shown += visible.area
                if is_coat:
                    over = self._cleared_parts[self._tree.query(visible, predicate="intersects")]
                    shown -= float(shapely.area(shapely.intersection(over, visible)).sum())
        return shown if shown > _ROUNDING_MM2 else 0.0

    def fits(self, ground: Ground, x_mm: float, y_mm: float) -> bool:
        """Whether all that is burned lies in one of the rooms, touching allowed."""
        here = apply_to_region(translation(x_mm, y_mm), self.burned)
        return any(room.contains(here) for room in ground.grown)


def measured(ground: Ground, turned: Turned, x_mm: float, y_mm: float) -> Placed | None:
    """The footprint put there, measured exactly; None where it does not fit."""
    if not turned.fits(ground, x_mm, y_mm):
        return None
    return Placed(
        x_mm=x_mm,
        y_mm=y_mm,
        rotation_deg=turned.angle_deg,
        shown_mm2=turned.shown_mm2(ground, x_mm, y_mm),
        rest_mm2=_rest_mm2(ground, turned, x_mm, y_mm),
    )


def _rest_mm2(ground: Ground, turned: Turned, x_mm: float, y_mm: float) -> float:
    u0, v0, u1, v1 = turned.bounds
    across = ground.rest.across(np.array(u0 + x_mm), np.array(u1 + x_mm))
    return float(max(across, ground.rest.down(np.array(v0 + y_mm), np.array(v1 + y_mm))))
