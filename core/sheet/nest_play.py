"""How far a blank can lie off its place in a nest: shifts and turns together.

A point q of the blank, turned by R about the blank's middle and shifted by t, lies t + (R - I) q off its place. The
nest is the blank grown by the clearance c, so along the outward normal n of each edge n (t + (R - I) q) <= c must hold
at both ends of the edge, and at a convex corner for every n between its edges' normals. For one turn these are
half-planes of t. For a convex blank they are all there is; beside a concave corner they leave out shifts of second
order in c. How far a point lies off is convex in t, so the corners of what the half-planes leave hold the largest.

A square of side s with a clearance c turns by 2 c / s to first order, and its corners lie √2 c off; a regular polygon
of n sides has c / sin(π / n).
"""

import math

import numpy as np
import scipy
import shapely
from shapely.geometry.base import BaseGeometry

from core.sheet.play import Floats, Play, Pose, turned_away

FREE_DEG = 10.0
"""A blank that turns so far in its nest is as good as not held: a disc, a gear, a many-sided plate."""
_TURNS_EACH_WAY = 8
_BISECTIONS = 20
_NORMALS_A_CORNER = 3
_CHORD = 0.03
"""How far chords may lie from the outline, as a share of the clearance."""
_LEAST_ROOM_MM = 1e-9


def nest_play(blank: BaseGeometry, clearance_mm: float) -> Play:
    """The play of a blank in a nest ``clearance_mm`` wider all round; ``core.sheet.stops.nest`` draws it."""
    ring = shapely.simplify(shapely.get_exterior_ring(shapely.get_parts(blank)[0]), clearance_mm * _CHORD)
    middle = shapely.centroid(shapely.Polygon(ring))
    centre = (float(middle.x), float(middle.y))
    if clearance_mm <= 0:
        still = Pose(dx_mm=0.0, dy_mm=0.0, turn_rad=0.0)
        return Play(middle=centre, poses=(still,), most_turn_deg=0.0, turns_freely=False)
    points, normals = _held_points(shapely.get_coordinates(shapely.geometry.polygon.orient(shapely.Polygon(ring)))[:-1])
    points = points - centre
    most = math.radians(FREE_DEG)
    ends = [_largest_turn(points, normals, clearance_mm, side * most) for side in (1, -1)]
    free = all(abs(end) >= most for end in ends)
    turns = [0.0] if free else [end * k / _TURNS_EACH_WAY for end in ends for k in range(_TURNS_EACH_WAY + 1)]
    poses = [pose for turn in turns for pose in _poses(points, normals, clearance_mm, turn)]
    return Play(
        middle=centre,
        poses=tuple(poses),
        most_turn_deg=math.degrees(max(map(abs, ends))),
        turns_freely=free,
    )


def _held_points(corners: Floats) -> tuple[Floats, Floats]:
    """Points of an outline (counterclockwise in its own frame) and outward normals that hold them (n, 2) each."""
    edges = np.roll(corners, -1, axis=0) - corners
    normals = np.column_stack([edges[:, 1], -edges[:, 0]]) / np.hypot(*edges.T)[:, None]
    before = np.roll(normals, 1, axis=0)
    bend = np.arctan2(
        before[:, 0] * normals[:, 1] - before[:, 1] * normals[:, 0], (before * normals).sum(axis=1)
    )  # above zero at convex corners
    points = [corners, np.roll(corners, -1, axis=0)]
    held_by = [normals, normals]
    convex = bend > 1e-9
    at_first = np.arctan2(before[convex, 1], before[convex, 0])
    for share in np.linspace(0, 1, _NORMALS_A_CORNER + 2)[1:-1]:
        angle = at_first + share * bend[convex]
        points.append(corners[convex])
        held_by.append(np.column_stack([np.cos(angle), np.sin(angle)]))
    return np.vstack(points), np.vstack(held_by)


def _half_planes(points: Floats, normals: Floats, clearance_mm: float, turn_rad: float) -> tuple[Floats, Floats]:
    """Normals and offsets of what holds the shift at one turn, one for each direction: n t <= offset."""
    offsets = clearance_mm - (normals * turned_away(points, turn_rad)).sum(axis=1)
    order = np.lexsort((offsets, normals[:, 1].round(9), normals[:, 0].round(9)))
    key = normals[order].round(9)
    first = np.append(True, (np.diff(key, axis=0) != 0).any(axis=1))
    return normals[order][first], offsets[order][first]


def _roomiest(normals: Floats, offsets: Floats) -> tuple[Floats, float]:
    """The shift that keeps farthest off all half-planes, and how far; below zero where there is none."""
    solved = scipy.optimize.linprog(
        [0.0, 0.0, -1.0],
        A_ub=np.column_stack([normals, np.ones(len(normals))]),
        b_ub=offsets,
        bounds=[(None, None), (None, None), (None, None)],
        method="highs",
    )
    if solved.x is None:
        return np.zeros(2), -math.inf
    return np.asarray(solved.x[:2]), float(solved.x[2])


def _largest_turn(points: Floats, normals: Floats, clearance_mm: float, most_rad: float) -> float:
    """The farthest turn towards ``most_rad`` at which there is a shift that goes."""
    if _roomiest(*_half_planes(points, normals, clearance_mm, most_rad))[1] >= 0:
        return most_rad
    goes, not_any_more = 0.0, most_rad
    for _ in range(_BISECTIONS):
        tried = (goes + not_any_more) / 2
        if _roomiest(*_half_planes(points, normals, clearance_mm, tried))[1] >= 0:
            goes = tried
        else:
            not_any_more = tried
    return goes


def _poses(points: Floats, normals: Floats, clearance_mm: float, turn_rad: float) -> list[Pose]:
    """The corners of all shifts that go at one turn."""
    directions, offsets = _half_planes(points, normals, clearance_mm, turn_rad)
    inside, room_mm = _roomiest(directions, offsets)
    shifts = inside[None]
    if room_mm > _LEAST_ROOM_MM:
        try:
            shifts = scipy.spatial.HalfspaceIntersection(np.column_stack([directions, -offsets]), inside).intersections
        except scipy.spatial.QhullError:  # as good as a point
            shifts = inside[None]
    return [Pose(dx_mm=dx, dy_mm=dy, turn_rad=turn_rad) for dx, dy in np.unique(shifts.round(9), axis=0).tolist()]
