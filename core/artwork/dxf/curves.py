"""Geometry of the simple DXF entities as segment rows, in drawing units with y up.

Entities with an extrusion lie in an object coordinate system (OCS); what is drawn is what is seen from above, so an
OCS is one affine map of the entity's plane (DXF Reference, Object Coordinate Systems: arbitrary axis algorithm).
"""

import math
from collections.abc import Sequence

import ezdxf  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
from ezdxf.math import OCS, Vec3

from core.artwork.dxf.pieces import Row
from core.geometry.affine import IDENTITY, Affine
from core.geometry.path import ARC, LINE

Outline = tuple[list[int], list[Row], bool]
"""Kinds, rows, closed: one subpath."""


def plane_map(extrusion: Vec3 | tuple[float, float, float], elevation: float = 0.0) -> Affine:
    """The entity's plane seen from above: OCS (x, y) at this elevation to the drawing's (x, y)."""
    if tuple(extrusion) == (0.0, 0.0, 1.0):
        return IDENTITY
    ocs = OCS(Vec3(extrusion))
    ux, uy, uz = ocs.ux, ocs.uy, ocs.uz
    return (ux.x, ux.y, uy.x, uy.y, elevation * uz.x, elevation * uz.y)


def lies_flat(matrix: Affine) -> bool:
    """Whether a plane map only turns or mirrors: the plane is seen square on."""
    a, b, c, d, _, _ = matrix
    return abs(abs(a * d - b * c) - 1.0) < 1e-6


def circle_row(x: float, y: float, radius: float) -> Row:
    """A full circle, counterclockwise from its +x end."""
    return (x, y, radius, 0.0, 0.0, radius, 0.0, math.tau)


def arc_row(x: float, y: float, radius: float, start_deg: float, end_deg: float) -> Row:
    """A circular arc, counterclockwise from start to end angle; equal angles are a full circle."""
    span_deg = (end_deg - start_deg) % 360.0 or 360.0
    t0 = math.radians(start_deg)
    return (x, y, radius, 0.0, 0.0, radius, t0, t0 + math.radians(span_deg))


def ellipse_row(
    x: float, y: float, major: tuple[float, float], minor: tuple[float, float], start: float, end: float
) -> Row:
    """An elliptical arc from its half-axes and parameters in rad; equal parameters are a full ellipse."""
    span = (end - start) % math.tau
    return (x, y, *major, *minor, start, start + (span if span > 1e-12 else math.tau))


def is_full_turn(row: Row) -> bool:
    """Whether an ARC row goes round once."""
    return abs(abs(row[7] - row[6]) - math.tau) < 1e-9


def bulge_row(x0: float, y0: float, x1: float, y1: float, bulge: float) -> tuple[int, Row]:
    """Kind and row of a polyline's segment: bulge = tan(angle / 4), above zero counterclockwise (DXF Reference).

    Centre = start + chord (1/2 + i (1 - b²) / 4b) in complex numbers.
    """
    dx, dy = x1 - x0, y1 - y0
    if abs(bulge) < 1e-9 or (dx == 0.0 and dy == 0.0):
        return LINE, (x0, y0, x1, y1, 0.0, 0.0, 0.0, 0.0)
    lift = (1.0 - bulge * bulge) / (4.0 * bulge)
    cx, cy = x0 + dx / 2 - dy * lift, y0 + dy / 2 + dx * lift
    ux, uy = x0 - cx, y0 - cy
    return ARC, (cx, cy, ux, uy, -uy, ux, 0.0, 4.0 * math.atan(bulge))


def polyline_outline(points: Sequence[tuple[float, float, float]], *, closed: bool) -> Outline:
    """(x, y, bulge) points as a subpath. The last bulge counts only when closed (DXF Reference, LWPOLYLINE)."""
    kinds: list[int] = []
    rows: list[Row] = []
    count = len(points)
    for index in range(count if closed else count - 1):
        x0, y0, bulge = points[index]
        x1, y1, _ = points[(index + 1) % count]
        if closed and index == count - 1 and x0 == x1 and y0 == y1:
            break  # drawn back to its start already
        kind, row = bulge_row(x0, y0, x1, y1, bulge)
        kinds.append(kind)
        rows.append(row)
    return kinds, rows, closed


def ring_outline(points: Sequence[tuple[float, float]]) -> Outline:
    """A closed polygon."""
    return polyline_outline([(x, y, 0.0) for x, y in points], closed=True)
