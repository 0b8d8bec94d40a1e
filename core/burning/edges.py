"""Fills moved so that what is bared ends on the drawn edge: along the rows and across them, each by its own amount.

Along the rows the edge of what is bared is that of spans that all end at one x, on average over the pitch; across them
it lies beyond the last row by what that row bares, and the last row lies, the rows' phase being unknown, half a pitch
inside the edge on average. Both follow from the dose model (``dose``) with ``EDGE_S`` for the coat.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.bared import baring_for
from core.burning.baring import bisected
from core.burning.dose import ClearingLine, Floats
from core.burning.scan_rows import region_in_scan_frame
from core.geometry.affine import apply, rotation

EDGE_S = 0.76
"""Midst of what is known of the coat's S: nothing between the 0.52 that lines left at 300 LPI bound it by, and 1."""
_STRETCH = 1000.0
"""By how much the other direction is drawn out, so that an offset moves edges along one direction only."""
_LEAST_MM = 1e-5
_HEIGHTS = 65


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeShift:
    """How far what is bared reaches beyond a drawn edge, mm; below zero: how far it falls short.

    along_mm: where rows end; across_mm: beside the last row, on average over where that may lie.
    """

    along_mm: float
    across_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compensated:
    """A region to burn (bed frame) in place of the drawn one; kept: stretches that would have vanished, as drawn."""

    region: BaseGeometry
    kept: tuple[BaseGeometry, ...]
    shift: EdgeShift


def edge_shift(line: ClearingLine, *, pitch_mm: float, s: float = EDGE_S) -> EdgeShift:
    """How far what these rows bare lies beyond straight edges; no shift where they bare nothing."""
    baring = baring_for(line, s, y0_mm=0.0, pitch_mm=pitch_mm)
    if baring is None:
        return EdgeShift(along_mm=0.0, across_mm=0.0)
    t = np.linspace(0.0, pitch_mm, _HEIGHTS)
    own_row = np.where(t <= pitch_mm / 2, 0, baring.lattice.reach).astype(np.intp)
    bared = t[np.minimum(t, pitch_mm - t) <= _beside_last_row_mm(line, math.inf, s)]
    along = baring.outward_mm(t, own_row)[np.isin(t, bared)]
    return EdgeShift(
        along_mm=float(along.mean()) if len(along) else 0.0,
        across_mm=_beside_last_row_mm(line, pitch_mm, s) - pitch_mm / 2,
    )


def _beside_last_row_mm(line: ClearingLine, pitch_mm: float, s: float) -> float:
    """How far beyond the last of many rows is bared; a pitch without end stands for a single row."""
    q = 1 / max(1 - s, 1e-3)
    rows = np.arange(0 if math.isinf(pitch_mm) else math.ceil(3 * line.spot_mm / pitch_mm))
    away = np.concatenate([[0.0], (rows + 1) * pitch_mm]) if len(rows) else np.zeros(1)
    log_needed = -q * math.log(max(line.peak_over_clearing, 1e-300)) - math.log(line.passes)

    def over(u: Floats) -> Floats:
        exponents = -8 * q * ((u[:, None] + away) / line.spot_mm) ** 2
        result: Floats = np.logaddexp.reduce(exponents, axis=1) - log_needed
        return result

    place, met = bisected(over, np.zeros(1), np.full(1, 3 * line.spot_mm), steps=40)
    return float(place[0]) if met[0] else 0.0


def compensated(region_bed: BaseGeometry, line: ClearingLine, *, pitch_mm: float, angle_deg: float) -> Compensated:
    """The region moved so that what is bared ends where it is drawn; rows at ``angle_deg`` on the bed.

    What is too thin to survive being drawn in stays as drawn, and is told.
    """
    shift = edge_shift(line, pitch_mm=pitch_mm)
    region = region_in_scan_frame(region_bed, angle_deg)
    kept: list[BaseGeometry] = []
    for distance, is_along in sorted(((-shift.along_mm, True), (-shift.across_mm, False)), reverse=True):
        region, lost = _moved(region, distance, is_along)
        kept += lost
    to_bed = rotation(angle_deg)

    def back(one: BaseGeometry) -> BaseGeometry:
        return shapely.transform(one, lambda points: apply(to_bed, points))

    return Compensated(region=back(region), kept=tuple(back(one) for one in kept), shift=shift)


def _moved(region: BaseGeometry, distance_mm: float, is_along: bool) -> tuple[BaseGeometry, list[BaseGeometry]]:
    """The region grown or drawn in along one direction of the scan frame; what of it would have vanished, kept."""
    if abs(distance_mm) < _LEAST_MM or region.is_empty:
        return region, []
    stretch = np.array([1.0, _STRETCH]) if is_along else np.array([_STRETCH, 1.0])
    drawn = shapely.transform(region, lambda points: points * stretch)

    def offset(one: BaseGeometry, by_mm: float) -> BaseGeometry:
        return shapely.buffer(one, by_mm, quad_segs=4)

    moved = offset(drawn, distance_mm)
    lost: list[BaseGeometry] = []
    if distance_mm < 0:
        missing = shapely.get_parts(drawn.difference(offset(moved, -1.001 * distance_mm)))
        missing = missing[shapely.area(missing) > _STRETCH * distance_mm**2]  # tips that thin out are no features
        if len(missing):
            whole = offset(shapely.union_all(missing), -1.01 * distance_mm).intersection(drawn)
            moved = moved.union(whole)
            lost = [shapely.transform(one, lambda points: points / stretch) for one in missing]
    return shapely.make_valid(shapely.transform(moved, lambda points: points / stretch)), lost
