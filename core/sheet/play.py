"""How far something can come back off its place: by a shift and a turn together, and what that shows.

A nest (``core.sheet.nest_play``), two pins or two marks met by eye each allow some poses; all that follows from them is
the same.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region

Floats = NDArray[np.float64]
Point = tuple[float, float]

_TRIED = 4
_STEPS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Pose:
    """A way to lie: turned about the blank's middle, then shifted."""

    dx_mm: float
    dy_mm: float
    turn_rad: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Play:
    """The farthest poses that are possible, and the middle (x, y) that turns go about.

    most_turn_deg: to either side. turns_freely: nothing stops the turn to speak of; the poses are shifts then.
    """

    middle: tuple[float, float]
    poses: tuple[Pose, ...]
    most_turn_deg: float
    turns_freely: bool = False

    def off_mm(self, points: Floats) -> Floats:
        """How far each of these points can lie off its place at most (n,)."""
        away = np.zeros(len(points))
        for pose in self.poses:
            away = np.maximum(away, np.hypot(*_displaced(points, self.middle, pose).T))
        return away

    def farthest_mm(self, region: BaseGeometry) -> float:
        """How far any place of a region can lie off (its hull's corners lie farthest off); 0 for none."""
        points = shapely.get_coordinates(shapely.convex_hull(region))
        return float(self.off_mm(points).max()) if len(points) else 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayShown:
    """What shows of a region that is worked again in the worst pose: how far off that lies, its turn, the slivers."""

    off_mm: float
    turn_deg: float
    area_mm2: float


def play_of_two_points(first: Point, second: Point, off_mm: float) -> Play:
    """The play of a sheet that is met at two of its points, each at most ``off_mm`` off its place.

    With a the shift of the middle between the points and b half of what the turn moves one against the other, at right
    angles to the line through them, both |a + b| and |a - b| are at most ``off_mm``.
    """
    apart = np.subtract(second, first)
    half_mm = float(np.hypot(*apart)) / 2
    along = apart / (2 * half_mm)
    across = np.array([-along[1], along[0]])
    middle = ((first[0] + second[0]) / 2, (first[1] + second[1]) / 2)
    poses = []
    for b_mm in np.linspace(-off_mm, off_mm, 2 * _STEPS + 1).tolist():
        most = math.acos(min(1.0, abs(b_mm) / off_mm)) if off_mm else 0.0
        for angle in np.linspace(-most, most, _STEPS + 1).tolist():
            for side in (1.0, -1.0):
                shift = along * off_mm * math.sin(angle) + across * side * (off_mm * math.cos(angle) - abs(b_mm))
                turn_rad = math.asin(max(-1.0, min(1.0, b_mm / half_mm)))
                poses.append(Pose(dx_mm=float(shift[0]), dy_mm=float(shift[1]), turn_rad=turn_rad))
    most_deg = math.degrees(math.asin(min(1.0, off_mm / half_mm)))
    return Play(middle=middle, poses=tuple(poses), most_turn_deg=most_deg)


def play_shown(region: BaseGeometry, play: Play) -> PlayShown:
    """What shows of the region's edges in the worst pose of all.

    Poses are weighed by what they show to first order, half of the edges times how far they move across themselves; the
    worst few are then worked out in full.
    """
    points, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(region)), return_index=True)
    same = ring[1:] == ring[:-1]
    starts, edges = points[:-1][same], np.diff(points, axis=0)[same]
    if not len(edges):
        return PlayShown(off_mm=0.0, turn_deg=0.0, area_mm2=0.0)
    middles = starts + edges / 2

    def first_order(pose: Pose) -> float:
        away = _displaced(middles, play.middle, pose)
        return float(np.abs(edges[:, 0] * away[:, 1] - edges[:, 1] * away[:, 0]).sum() / 2)

    worst = sorted(play.poses, key=first_order)[-_TRIED:]
    shown = {pose: _bared_mm2(region, play.middle, pose) for pose in worst}
    pose = max(worst, key=shown.__getitem__)
    away = _displaced(points, play.middle, pose)
    return PlayShown(off_mm=float(np.hypot(*away.T).max()), turn_deg=math.degrees(pose.turn_rad), area_mm2=shown[pose])


def moved(region: BaseGeometry, middle: tuple[float, float], pose: Pose) -> BaseGeometry:
    """The region as it lies in that pose."""
    cos, sin = math.cos(pose.turn_rad), math.sin(pose.turn_rad)
    x, y = middle
    shift = (x - cos * x + sin * y + pose.dx_mm, y - sin * x - cos * y + pose.dy_mm)
    return apply_to_region((cos, sin, -sin, cos, *shift), region)


def _bared_mm2(region: BaseGeometry, middle: tuple[float, float], pose: Pose) -> float:
    parts = shapely.get_parts(region)
    others = shapely.get_parts(moved(region, middle, pose))
    own, other = shapely.STRtree(others).query(parts, predicate="intersects")
    covered = shapely.area(shapely.intersection(parts[own], others[other])).sum()
    return max(0.0, float(shapely.area(parts).sum() - covered))


def _displaced(points: Floats, middle: tuple[float, float], pose: Pose) -> Floats:
    about = points - middle
    away: Floats = turned_away(about, pose.turn_rad) + np.array([pose.dx_mm, pose.dy_mm])
    return away


def turned_away(points: Floats, turn_rad: float) -> Floats:
    """(R - I) q of each point."""
    less, sin = -2 * math.sin(turn_rad / 2) ** 2, math.sin(turn_rad)
    x, y = points.T
    return np.column_stack([less * x - sin * y, sin * x + less * y])
