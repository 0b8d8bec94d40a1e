"""What would make a fill quicker or sharper: scan angle, edge inset, thin parts.

All advice is worked out from the dose model and this machine's figures; it wants proving on a scrap.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.beam import (
    cleared_width_mm,
    clearing_line,
    fill_verdict,
    spot_at_coat_mm,
    threshold_power_w,
)
from core.burning.coverage import Coverage, coverage
from core.burning.dose import ClearingLine
from core.burning.dose_window import power_pct_for
from core.burning.lost_features import polygons_of, thin_stretches
from core.burning.machines import Machine
from core.burning.recipe_advice import ADVISED, RecipeAdvice, burn_time_s, trial_time
from core.burning.scan_rows import scan_rows
from core.progress import Progress, part, silent
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.units import MM_PER_INCH

MAX_THIN_PARTS = 200
ANGLES_DEG = tuple(float(angle) for angle in range(0, 180, 15))


@dataclass(frozen=True, slots=True, kw_only=True)
class AngleTime:
    """Time of the fill at one scan angle of the bed frame."""

    angle_deg: float
    time_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinPart:
    """A stretch of the fill narrower than one line bares; places in the bed frame.

    width_mm: across its widest; it comes out as wide as that. ``finer``: a clean recipe whose lines
    are as narrow, or None. ``spot_mm``: the spot that would bare it as drawn. ``words``: which, and what helps.
    """

    x_mm: float
    y_mm: float
    bounds_mm: tuple[float, float, float, float]
    width_mm: float
    length_mm: float
    finer: Recipe | None
    spot_mm: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InsetFigures:
    """Coverage without an edge inset and with half the cleared width of it; ``recipe`` has that inset."""

    before: Coverage
    after: Coverage
    recipe: Recipe


def scan_angle_times(
    region_bed: BaseGeometry,
    recipe: Recipe,
    machine: Machine,
    *,
    angles_deg: Sequence[float] = ANGLES_DEG,
    progress: Progress = silent,
) -> tuple[AngleTime, ...]:
    """Times at these angles, at the recipe's own and along the fill's narrowest box; quickest first.

    All by trial rows; the two quickest and the recipe's own are timed in full.
    """
    angles = sorted({*angles_deg, recipe.scan_angle_deg % 180.0, round(_long_side_deg(region_bed), 1) % 180.0})
    found = []
    for count, angle in enumerate(angles):
        turned, step = replace(recipe, scan_angle_deg=angle), part(progress, *_share(count, len(angles), 0.0, 0.7))
        time_s = trial_time(region_bed, turned, progress=step)(turned, machine)
        found.append(AngleTime(angle_deg=angle, time_s=time_s))
    found.sort(key=lambda item: (item.time_s, item.angle_deg))
    exact = [item for item in found if item in found[:2] or item.angle_deg == recipe.scan_angle_deg % 180.0]
    for count, item in enumerate(exact):
        turned, step = (
            replace(recipe, scan_angle_deg=item.angle_deg),
            part(progress, *_share(count, len(exact), 0.7, 1.0)),
        )
        full = replace(item, time_s=burn_time_s(region_bed, turned, machine, progress=step))
        found[found.index(item)] = full
    return tuple(sorted(found, key=lambda item: (item.time_s, item.angle_deg)))


def angle_advice(
    region_bed: BaseGeometry, recipe: Recipe, machine: Machine, stock: Stock, *, progress: Progress = silent
) -> RecipeAdvice:
    """The scan angle of least time, if it saves any."""
    times = scan_angle_times(region_bed, recipe, machine, progress=progress)
    now_s = next(item.time_s for item in times if item.angle_deg == recipe.scan_angle_deg % 180.0)
    best = times[0]
    verdict = fill_verdict(recipe, machine, stock)
    if best.time_s >= 0.995 * now_s:
        words = f"Scan angle {recipe.scan_angle_deg:g}° is as quick as any."
        return RecipeAdvice(words=words, recipe=None, verdict=verdict, time_s=now_s, time_saved_s=0.0)
    words = f"Scan angle {best.angle_deg:g}° is the quickest for this artwork; the machine must be able to scan so."
    better = replace(recipe, scan_angle_deg=best.angle_deg)
    return RecipeAdvice(
        words=words, recipe=better, verdict=verdict, time_s=best.time_s, time_saved_s=now_s - best.time_s
    )


def thin_parts(
    region_bed: BaseGeometry, recipe: Recipe, machine: Machine, stock: Stock, *, progress: Progress = silent
) -> tuple[ThinPart, ...]:
    """Stretches narrower than one line bares, longest first, at most ``MAX_THIN_PARTS``."""
    width = cleared_width_mm(recipe, machine, stock)
    progress(0.0, "thin parts")
    found = thin_stretches(polygons_of(region_bed), cleared_width_mm=width, progress=part(progress, 0.0, 0.8))
    found = found[np.argsort(-shapely.length(found))][:MAX_THIN_PARTS]
    parts = []
    for count, polygon in enumerate(found):
        progress(0.8 + 0.2 * count / len(found), "thin parts")
        parts.append(_thin_part(polygon, width, recipe, machine, stock))
    return tuple(parts)


def edge_inset_figures(
    region_bed: BaseGeometry,
    recipe: Recipe,
    machine: Machine,
    stock: Stock,
    *,
    before: Coverage | None = None,
    progress: Progress = silent,
) -> InsetFigures:
    """Coverage before and after drawing the fill's edges in by half the cleared width.

    before: the coverage without an inset, where it is known already.
    """
    line = clearing_line(recipe, machine, stock)
    width = line.cleared_width_mm
    if before is None:
        before = _inset_coverage(region_bed, recipe, line, 0.0, progress=part(progress, 0.0, 0.5))
    after = _inset_coverage(region_bed, recipe, line, width / 2, progress=part(progress, 0.5, 1.0))
    return InsetFigures(before=before, after=after, recipe=replace(recipe, edge_inset_mm=width / 2))


def _inset_coverage(
    region_bed: BaseGeometry, recipe: Recipe, line: ClearingLine, inset_mm: float, *, progress: Progress
) -> Coverage:
    rows = scan_rows(
        region_bed,
        pitch_mm=recipe.pitch_mm,
        angle_deg=recipe.scan_angle_deg,
        edge_inset_mm=inset_mm,
        progress=part(progress, 0.0, 0.4),
    )
    return coverage(region_bed, rows, line, progress=part(progress, 0.4, 1.0))


def _share(count: int, total: int, start: float, end: float) -> tuple[float, float]:
    """Where step ``count`` of ``total`` begins and ends between ``start`` and ``end``."""
    return start + (end - start) * count / total, start + (end - start) * (count + 1) / total


def _long_side_deg(region_bed: BaseGeometry) -> float:
    """Direction of the long side of the region's narrowest box, 0 to below 180."""
    if region_bed.is_empty:
        return 0.0
    corners = shapely.get_coordinates(shapely.oriented_envelope(region_bed))
    sides = np.diff(corners, axis=0)
    if not len(sides):
        return 0.0
    long = sides[np.argmax(np.hypot(*sides.T))]
    return float(np.degrees(np.arctan2(long[1], long[0])) % 180.0)


def _whole_lpi(pitch_mm: float) -> float:
    """The widest pitch of whole lines an inch that is not wider."""
    return MM_PER_INCH / math.ceil(MM_PER_INCH / pitch_mm - 1e-9)


def _thin_part(polygon: BaseGeometry, cleared_mm: float, recipe: Recipe, machine: Machine, stock: Stock) -> ThinPart:
    circle = shapely.maximum_inscribed_circle(polygon)  # type: ignore[call-overload]  # thin stretches are polygons
    (x, y), _ = shapely.get_coordinates(circle)
    width = min(2 * float(shapely.length(circle)), cleared_mm)
    length = float(polygon.length) / 2
    finer = _finer_recipe(width, recipe, machine, stock)
    spot = spot_at_coat_mm(recipe, machine) * width / cleared_mm
    helps = [f"thicken it by {cleared_mm - width:.3f} mm"]
    if finer:
        helps.append(f"{finer.lines_per_inch:.0f} LPI at {finer.power_pct:.1f} %, whose lines are that narrow")
    helps.append(f"a spot of {spot:.3f} mm")
    words = (
        f"{width:.3f} mm wide over {length:.1f} mm, where one line bares {cleared_mm:.3f} mm: it comes out too wide, "
        f"and no line may hit it at a pitch above {width:.3f} mm. What helps: {'; or '.join(helps)}. "
        "An edge inset keeps it and makes all else come out as drawn."
    )
    x0, y0, x1, y1 = polygon.bounds
    return ThinPart(
        x_mm=float(x),
        y_mm=float(y),
        bounds_mm=(x0, y0, x1, y1),
        width_mm=width,
        length_mm=length,
        finer=finer,
        spot_mm=spot,
        words=words,
    )


def _finer_recipe(width_mm: float, recipe: Recipe, machine: Machine, stock: Stock) -> Recipe | None:
    """This recipe with just the power that bares lines of that width, at a pitch they cover; None where not clean."""
    if width_mm <= 0:
        return None
    spot = spot_at_coat_mm(recipe, machine)
    threshold = threshold_power_w(
        clearing_dose_j_mm2=stock.clearing_dose_j_mm2, speed_mm_s=recipe.speed_mm_s, spot_mm=spot
    )
    watts = threshold * math.exp(2 * (width_mm / spot) ** 2)
    finer = replace(
        recipe, power_pct=power_pct_for(machine, watts), pitch_mm=_whole_lpi(0.9 * width_mm), origin=ADVISED
    )
    return finer if fill_verdict(finer, machine, stock).verdict == "clean" else None
