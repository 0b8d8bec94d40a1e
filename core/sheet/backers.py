"""Backing plates: an outline grown from the upper piece's, its islands joined, lines to lay the upper piece by."""

import math
from dataclasses import dataclass
from itertools import combinations
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import UnreadableError
from core.sheet.kerf import offset

Join = Literal["grow", "bridges"]
_MOST_MM = 500.0
_FINE_MM = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Backer:
    """A backing plate in the upper piece's own frame, seen from the front.

    region: what is kept of the backer's stock. lines: to score on it; all of them lie under the upper piece.
    grown_mm: how far the outline had to be grown between islands so that they are one; bridges: how many were laid.
    unlined: parts of the upper piece too thin to hide a line.
    """

    region: BaseGeometry
    lines: BaseGeometry
    grown_mm: float
    bridges: int
    unlined: int


def backer(
    upper: BaseGeometry,
    *,
    margin_mm: float = 5.0,
    join: Join = "grow",
    bridge_mm: float = 6.0,
    line_inset_mm: float = 1.0,
    keep_holes: bool = False,
) -> Backer:
    """A plate that stands ``margin_mm`` out round the upper piece (in, below zero), all of one piece.

    join "grow": gaps between islands are closed as far as it takes, outer corners stay at the margin; "bridges": the
    nearest parts are joined by straight bars. Either way no web is thinner than ``bridge_mm``. lines: the upper piece's
    outlines drawn in by ``line_inset_mm``, so that it hides them. Raises UnreadableError.
    """
    _check(upper, margin_mm, bridge_mm, line_inset_mm)
    solid = upper if keep_holes else _without_holes(upper)
    plain = offset(solid, margin_mm)
    if plain.is_empty:
        raise UnreadableError("Nothing is left of the backer at that margin.", hint="Draw it in less.")
    if line_inset_mm < -margin_mm:
        raise UnreadableError(
            f"Lines {line_inset_mm:g} mm under the edge would lie beside a plate drawn in by {-margin_mm:g} mm.",
            hint="Set the lines further in than the plate.",
        )
    bridges, grown_mm = 0, 0.0
    if join == "bridges":
        region, bridges = _bridged(plain, bridge_mm)
    else:
        grown_mm = _least_growth_mm(plain, bridge_mm)
        region = _closed(plain, grown_mm)
    lines = offset(upper, -line_inset_mm)
    parts = shapely.get_parts(upper)
    return Backer(
        region=region if keep_holes else _without_holes(region),
        lines=shapely.MultiLineString(list(shapely.get_rings(shapely.get_parts(lines)))),
        grown_mm=grown_mm,
        bridges=bridges,
        unlined=int(sum(not shapely.intersects(part, lines) for part in parts)),
    )


def _least_growth_mm(plain: BaseGeometry, web_mm: float) -> float:
    """The least growth, to 0.01 mm, that closes gaps so that all is one piece with webs of that width."""
    if _holds(plain, 0.0, web_mm):
        return 0.0
    low, high = 0.0, 1.0
    while not _holds(plain, high, web_mm):
        low, high = high, 2 * high
        if high > _MOST_MM:
            raise UnreadableError(
                "The parts lie too far apart for one backer.", hint="Join them by bridges, or take narrower webs."
            )
    while high - low > _FINE_MM:
        middle = (low + high) / 2
        low, high = (low, middle) if _holds(plain, middle, web_mm) else (middle, high)
    return high


def _holds(plain: BaseGeometry, grown_mm: float, web_mm: float) -> bool:
    """Whether all parts hang together by such webs; parts that are thinner themselves are left out of account."""
    region = _closed(plain, grown_mm)
    if len(shapely.get_parts(region)) != 1:
        return False
    left = shapely.get_parts(shapely.buffer(region, -web_mm / 2 * (1 - 1e-3)))
    whole = shapely.get_parts(shapely.buffer(plain, -web_mm / 2))
    touched = [sum(bool(one.intersects(part)) for part in whole) for one in left]
    return sum(count > 0 for count in touched) <= 1


def _closed(region: BaseGeometry, by_mm: float) -> BaseGeometry:
    return offset(offset(region, by_mm), -by_mm) if by_mm else region


def _bridged(region: BaseGeometry, bridge_mm: float) -> tuple[BaseGeometry, int]:
    """All parts joined by bars between nearest points, the shortest first, until they are one."""
    parts = list(shapely.get_parts(region))
    group = list(range(len(parts)))
    bars = []
    for one, other in sorted(
        combinations(range(len(parts)), 2), key=lambda pair: parts[pair[0]].distance(parts[pair[1]])
    ):
        if group[one] == group[other]:
            continue
        group = [group[one] if of == group[other] else of for of in group]
        bars.append(_bar(parts[one], parts[other], bridge_mm))
    return shapely.union_all([*parts, *bars]), len(bars)


def _bar(one: BaseGeometry, other: BaseGeometry, width_mm: float) -> BaseGeometry:
    """A bar of that width between the nearest points of two parts, reaching into both by its width."""
    (ax, ay), (bx, by) = shapely.get_coordinates(shapely.shortest_line(one, other)).tolist()
    length = math.hypot(bx - ax, by - ay)
    if length < 1e-9:
        return shapely.Point(ax, ay).buffer(width_mm)
    ux, uy = (bx - ax) / length * width_mm, (by - ay) / length * width_mm
    return shapely.LineString([(ax - ux, ay - uy), (bx + ux, by + uy)]).buffer(width_mm / 2, cap_style="flat")


def _without_holes(region: BaseGeometry) -> BaseGeometry:
    return shapely.union_all(shapely.polygons(shapely.get_exterior_ring(shapely.get_parts(region))))


def _check(upper: BaseGeometry, margin_mm: float, bridge_mm: float, line_inset_mm: float) -> None:
    if upper.is_empty:
        raise UnreadableError("There is no outline to back.", hint="Give the job closed cut lines.")
    if not math.isfinite(margin_mm):
        raise UnreadableError("The margin of a backer is no number.", hint="Give it in mm, like 5.")
    if not (math.isfinite(bridge_mm) and bridge_mm > 0 and math.isfinite(line_inset_mm) and line_inset_mm > 0):
        raise UnreadableError("Webs and insets of a backer must be above zero.", hint="Like 6 mm and 1 mm.")
