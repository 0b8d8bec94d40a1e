"""Outlines moved outwards or inwards, for the kerf and for clearances, with round joins.

The beam's own width then leaves every outer corner sharp. The offset of a convex outline obeys Steiner's formula: area
A + P r + π r², length P + 2 π r.
"""

import math

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import UnreadableError

SAGITTA_MM = 0.001
"""How far chords of a rounded corner may lie from its arc."""
_NOTHING_MM = 1e-9
DEEP = 2.0
"""A slot that is less deep, in kerfs, is as good as a corner."""


def offset(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """The region grown (or drawn in, below zero) with round joins, chords within ``SAGITTA_MM`` of the arcs."""
    if abs(distance_mm) < _NOTHING_MM:
        return region
    radius = abs(distance_mm)
    step = math.acos(max(0.0, 1 - min(SAGITTA_MM, radius) / radius))
    quarter = max(4, math.ceil(math.pi / 4 / max(step, 1e-3)))
    return shapely.buffer(region, distance_mm, quad_segs=quarter)


def lost_slots(region: BaseGeometry, distance_mm: float) -> list[BaseGeometry]:
    """Slots from the edge, and necks, that are gone once an outline is moved by that distance (inwards below zero).

    They are what a move there and back leaves out, but for what it rounds in corners: the depth of a slot counts from
    ``DEEP`` times the kerf, which is twice the distance.
    """
    there_and_back = offset(offset(region, distance_mm), -distance_mm)
    if there_and_back.is_empty:
        return []
    gone = shapely.difference(there_and_back, region) if distance_mm > 0 else shapely.difference(region, there_and_back)
    kept_edge = shapely.boundary(there_and_back)
    found = []
    for part in (part for part in shapely.get_parts(gone) if not part.is_empty):
        # a neck has its corners at its ends only
        points = shapely.get_coordinates(shapely.segmentize(part, 2 * abs(distance_mm)))
        if np.max(shapely.distance(shapely.points(points), kept_edge)) > DEEP * 2 * abs(distance_mm):
            found.append(part)
    return found


def opening_for(shape: BaseGeometry, clearance_mm: float) -> BaseGeometry:
    """The opening that a shape of this finished size goes into, ``clearance_mm`` wider all round.

    Below zero it is a press fit. Both keep their size when cut with lines moved for the kerf of their own stock.
    Raises UnreadableError.
    """
    if not math.isfinite(clearance_mm):
        raise UnreadableError("The clearance is no number.", hint="Give it in mm, like 0.1, or -0.05 for a press fit.")
    opening = offset(shape, clearance_mm)
    if opening.is_empty:
        raise UnreadableError("Nothing of the opening is left at that clearance.", hint="Press less.")
    return opening
