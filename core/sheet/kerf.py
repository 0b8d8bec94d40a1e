"""Cut lines moved by half the kerf, so that what is cut comes out at its drawn size.

Outlines go outwards, holes inwards, with round joins: the beam's own width then leaves every outer corner sharp. The
offset of a convex outline obeys Steiner's formula: area A + P r + π r², length P + 2 π r.
"""

import math
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import UnreadableError

SAGITTA_MM = 0.001
"""How far chords of a rounded corner may lie from its arc."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KerfCut:
    """Where the middle of the beam goes. ``along``: the region whose outlines are the cut lines. lost_holes: holes no
    wider than the kerf, which can't be cut. joined_parts: how many parts ran together, being nearer than the kerf."""

    along: BaseGeometry
    lost_holes: int
    joined_parts: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FitPair:
    """A piece and the opening it goes into: cut lines of both, and both as they come out."""

    insert_cut: KerfCut
    opening_cut: KerfCut
    insert: BaseGeometry
    opening: BaseGeometry


def kerf_cut(finished: BaseGeometry, kerf_mm: float) -> KerfCut:
    """Cut lines round what is to be kept. Raises UnreadableError for a kerf that is none."""
    _check(kerf_mm)
    along = offset(finished, kerf_mm / 2)
    return KerfCut(
        along=along,
        lost_holes=max(0, _holes(finished) - _holes(along)),
        joined_parts=max(0, len(shapely.get_parts(finished)) - len(shapely.get_parts(along))),
    )


def opening_cut(opening: BaseGeometry, kerf_mm: float) -> KerfCut:
    """Cut lines of an opening, whose edge is kept: all goes the other way."""
    _check(kerf_mm)
    along = offset(opening, -kerf_mm / 2)
    return KerfCut(
        along=along,
        lost_holes=max(0, len(shapely.get_parts(opening)) - len(shapely.get_parts(along))),
        joined_parts=max(0, _holes(opening) - _holes(along)),
    )


def fit_pair(shape: BaseGeometry, *, clearance_mm: float, kerf_mm: float, opening_kerf_mm: float) -> FitPair:
    """A shape to let into a sheet, and its opening, ``clearance_mm`` wider all round; below zero is a press fit.

    The insert keeps the drawn size. ``opening_kerf_mm`` is that of the sheet with the opening. Raises UnreadableError.
    """
    if not math.isfinite(clearance_mm):
        raise UnreadableError("The clearance is no number.", hint="Give it in mm, like 0.1, or -0.05 for a press fit.")
    opening = offset(shape, clearance_mm)
    if opening.is_empty:
        raise UnreadableError("Nothing of the opening is left at that clearance.", hint="Press less.")
    return FitPair(
        insert_cut=kerf_cut(shape, kerf_mm),
        opening_cut=opening_cut(opening, opening_kerf_mm),
        insert=shape,
        opening=opening,
    )


def as_cut(cut: KerfCut, kerf_mm: float) -> BaseGeometry:
    """What comes out when the beam's middle runs along those lines: the region drawn in by half the kerf."""
    return offset(cut.along, -kerf_mm / 2)


def offset(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """The region grown (or drawn in, below zero) with round joins, chords within ``SAGITTA_MM`` of the arcs."""
    if distance_mm == 0.0:
        return region
    radius = abs(distance_mm)
    step = math.acos(max(0.0, 1 - min(SAGITTA_MM, radius) / radius))
    quarter = max(4, math.ceil(math.pi / 4 / max(step, 1e-3)))
    return shapely.buffer(region, distance_mm, quad_segs=quarter)


def _holes(region: BaseGeometry) -> int:
    return int(sum(shapely.get_num_interior_rings(part) for part in shapely.get_parts(region)))


def _check(kerf_mm: float) -> None:
    if not (math.isfinite(kerf_mm) and kerf_mm >= 0):
        raise UnreadableError(f"A kerf of {kerf_mm:g} mm can't be.", hint="Measure it on a scrap, like 0.15 mm.")
