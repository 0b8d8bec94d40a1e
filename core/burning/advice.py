"""What would make a fill quicker, safer or sharper: pitch, recipe, scan angle, edge inset, thin parts.

All advice is worked out from the dose model and this machine's figures; it wants proving on a scrap.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from statistics import NormalDist

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.beam import (
    FillVerdict,
    Floats,
    cleared_width_mm,
    clearing_line,
    fill_verdict,
    power_w,
    spot_at_coat_mm,
    threshold_power_w,
)
from core.burning.coverage import Coverage, coverage
from core.burning.dose import ClearingLine
from core.burning.dose_window import frosting_pitch_mm, line_energy_j_mm, peak_ratio, power_pct_for
from core.burning.lost_features import polygons_of, thin_stretches
from core.burning.machines import Machine
from core.burning.run_time import fill_time_s
from core.burning.scan_rows import scan_rows
from core.progress import Progress, part, silent
from core.sheet.recipes import Origin, Recipe
from core.sheet.stock import Stock
from core.units import MM_PER_INCH

ADVISED = Origin(kind="set by hand", note="Advised by the dose model; prove it on a scrap.")
SPEED_STEPS = 40
TRIAL_ROWS = 400
MAX_THIN_PARTS = 200
ANGLES_DEG = tuple(float(angle) for angle in range(0, 180, 15))


@dataclass(frozen=True, slots=True, kw_only=True)
class Margins:
    """How careful advice is.

    dose: share by which the coat may be tougher, or the sheet tenderer, than the stock says. gap_chance: how often two
    neighbouring lines may part so far, by the machine's placement error alone, that coat stays between them.
    """

    dose: float = 0.10
    gap_chance: float = 0.001


USUAL_MARGINS = Margins()


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeAdvice:
    """A recipe to take instead, or None with the reason in ``words``. Times of the whole fill, s."""

    words: str
    recipe: Recipe | None
    verdict: FillVerdict | None
    time_s: float
    time_saved_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class AngleTime:
    """Time of the fill at one scan angle of the bed frame."""

    angle_deg: float
    time_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinPart:
    """A stretch of the fill narrower than one line bares; places in the bed frame.

    width_mm: across its widest; it comes out ``thicken_by_mm`` wider than drawn. ``finer``: a clean recipe whose lines
    are as narrow, or None. ``spot_mm``: the spot that would bare it as drawn. ``words``: which, and what helps.
    """

    x_mm: float
    y_mm: float
    bounds_mm: tuple[float, float, float, float]
    width_mm: float
    length_mm: float
    thicken_by_mm: float
    finer: Recipe | None
    spot_mm: float
    words: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InsetFigures:
    """Coverage without an edge inset and with half the cleared width of it; ``recipe`` has that inset."""

    before: Coverage
    after: Coverage
    recipe: Recipe


def placement_allowance_mm(machine: Machine, *, gap_chance: float) -> float:
    """How much neighbouring lines may part by placement error, but for ``gap_chance`` of them, mm.

    Lines err by ``line_error_mm`` (standard deviation) each for itself, so their distance errs by √2 times that.
    """
    return NormalDist().inv_cdf(1 - gap_chance) * math.sqrt(2) * machine.line_error_mm


def coarsest_pitch(
    recipe: Recipe, machine: Machine, stock: Stock, *, margins: Margins = USUAL_MARGINS
) -> tuple[float, float]:
    """Widest and narrowest pitch that keep the margins with this recipe's speed and power, mm.

    None does where the first is not above the second. Raises JobError on settings that mean nothing.
    """
    tougher = replace(stock, clearing_dose_j_mm2=stock.clearing_dose_j_mm2 * (1 + margins.dose))
    widest = cleared_width_mm(recipe, machine, tougher) - placement_allowance_mm(machine, gap_chance=margins.gap_chance)
    narrowest = frosting_pitch_mm(
        line_energy_j_mm(recipe, machine),
        spot_mm=spot_at_coat_mm(recipe, machine),
        frosting_dose_j_mm2=stock.frosting_dose_j_mm2 / (1 + margins.dose),
    )
    return max(0.0, widest), float(narrowest)


def pitch_advice(
    region_bed: BaseGeometry,
    recipe: Recipe,
    machine: Machine,
    stock: Stock,
    *,
    margins: Margins = USUAL_MARGINS,
    progress: Progress = silent,
) -> RecipeAdvice:
    """The coarsest clean pitch, as whole lines an inch."""
    time_s = _time_s(region_bed, recipe, machine, progress=part(progress, 0.0, 0.5))
    widest, narrowest = coarsest_pitch(recipe, machine, stock, margins=margins)
    pitch = _whole_lpi(widest) if widest > 0 else 0.0
    if not pitch > narrowest:
        why = (
            "a line bares too little" if widest == 0 else "lines would have to lie closer than the frosting dose allows"
        )
        words = (
            f"At {recipe.speed_mm_s:g} mm/s and {recipe.power_pct:g} % no pitch keeps a margin of "
            f"{100 * margins.dose:g} %: {why}. Change speed or power."
        )
        return RecipeAdvice(words=words, recipe=None, verdict=None, time_s=time_s, time_saved_s=0.0)
    better = replace(recipe, pitch_mm=pitch, origin=ADVISED)
    rest = part(progress, 0.5, 1.0)
    return _recipe_advice(region_bed, recipe, better, machine, stock, time_s, "Coarsest clean pitch", progress=rest)


def fastest_recipe(
    region_bed: BaseGeometry,
    recipe: Recipe,
    machine: Machine,
    stock: Stock,
    *,
    margins: Margins = USUAL_MARGINS,
    progress: Progress = silent,
) -> RecipeAdvice:
    """The clean recipe that burns this fill in least time: whole percents, speeds in steps, whole lines an inch."""
    now_s = _time_s(region_bed, recipe, machine, progress=part(progress, 0.0, 0.3))
    trial_time = _trial_time(region_bed, recipe, progress=part(progress, 0.3, 0.4))
    times: list[tuple[float, float, Recipe]] = []
    speeds = _speeds(machine)
    for count, speed in enumerate(speeds):
        progress(0.4 + 0.4 * count / len(speeds), "trying speeds")
        best = _best_at_speed(replace(recipe, speed_mm_s=speed, passes=1, origin=ADVISED), machine, stock, margins)
        if best is not None:
            times.append((trial_time(best, machine), -best.pitch_mm, best))
    if not times:
        words = _why_none(recipe, machine, stock, margins)
        return RecipeAdvice(words=words, recipe=None, verdict=None, time_s=now_s, time_saved_s=0.0)
    best = min(times, key=lambda item: item[:2])[2]
    rest = part(progress, 0.8, 1.0)
    return _recipe_advice(region_bed, recipe, best, machine, stock, now_s, "Fastest clean recipe", progress=rest)


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
        time_s = _trial_time(region_bed, turned, progress=step)(turned, machine)
        found.append(AngleTime(angle_deg=angle, time_s=time_s))
    found.sort(key=lambda item: (item.time_s, item.angle_deg))
    exact = [item for item in found if item in found[:2] or item.angle_deg == recipe.scan_angle_deg % 180.0]
    for count, item in enumerate(exact):
        turned, step = (
            replace(recipe, scan_angle_deg=item.angle_deg),
            part(progress, *_share(count, len(exact), 0.7, 1.0)),
        )
        full = replace(item, time_s=_time_s(region_bed, turned, machine, progress=step))
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
    found = thin_stretches(polygons_of(region_bed), cleared_width_mm=width)
    found = found[np.argsort(-shapely.length(found))][:MAX_THIN_PARTS]
    parts = []
    for count, polygon in enumerate(found):
        progress(count / len(found), "thin parts")
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


def _trial_time(region_bed: BaseGeometry, recipe: Recipe, *, progress: Progress) -> Callable[[Recipe, Machine], float]:
    """Run time by few rows that stand for many, for recipes of this scan angle: time goes as 1/pitch."""
    pitch = max(recipe.pitch_mm, _height_across_mm(region_bed, recipe.scan_angle_deg) / TRIAL_ROWS)
    rows = scan_rows(region_bed, pitch_mm=pitch, angle_deg=recipe.scan_angle_deg, progress=progress)

    def time_s(trial: Recipe, machine: Machine) -> float:
        return fill_time_s(rows, replace(trial, pitch_mm=pitch), machine) * pitch / trial.pitch_mm

    return time_s


def _height_across_mm(region_bed: BaseGeometry, angle_deg: float) -> float:
    if region_bed.is_empty:
        return 0.0
    points = shapely.get_coordinates(region_bed)
    angle = math.radians(angle_deg)
    return float(np.ptp(points @ np.array([-math.sin(angle), math.cos(angle)])))


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


def _time_s(region_bed: BaseGeometry, recipe: Recipe, machine: Machine, *, progress: Progress) -> float:
    rows = scan_rows(
        region_bed,
        pitch_mm=recipe.pitch_mm,
        angle_deg=recipe.scan_angle_deg,
        edge_inset_mm=recipe.edge_inset_mm,
        progress=progress,
    )
    return fill_time_s(rows, recipe, machine)


def _speeds(machine: Machine) -> list[float]:
    """Speeds up to the machine's greatest, in whole mm/s."""
    steps = {float(round(machine.max_speed_mm_s * number / SPEED_STEPS)) for number in range(1, SPEED_STEPS)}
    return sorted(steps - {0.0} | {machine.max_speed_mm_s})


def _why_none(recipe: Recipe, machine: Machine, stock: Stock, margins: Margins) -> str:
    """Why no recipe is clean: doses too close together, lines that stray too far, or too weak a beam."""
    start = f"No recipe of this machine is clean on this stock with a margin of {100 * margins.dose:g} %: "
    if stock.clearing_dose_j_mm2 * (1 + margins.dose) ** 2 >= stock.frosting_dose_j_mm2:
        return start + (
            f"it clears from {stock.clearing_dose_j_mm2:g} J/mm² and frosts from {stock.frosting_dose_j_mm2:g}, "
            "too close together. A smaller margin, or coupons that pin both doses down, may help."
        )
    strong = replace(machine, rated_power_w=1e3 * machine.rated_power_w, power_table=())
    if any(_best_at_speed(replace(recipe, speed_mm_s=v), strong, stock, margins) for v in _speeds(strong)):
        return start + "its beam is too weak even at its lowest speeds. Less defocus or a smaller spot may help."
    allowance = placement_allowance_mm(machine, gap_chance=margins.gap_chance)
    return start + (
        f"lines may part by {allowance:.3f} mm, so they must lie closer together than the frosting dose allows. A "
        "smaller margin, or a machine that places its lines better, may help."
    )


def _best_at_speed(recipe: Recipe, machine: Machine, stock: Stock, margins: Margins) -> Recipe | None:
    """The coarsest pitch over all whole percents of power that keeps the margins at this speed."""
    powers = np.arange(1.0, 101.0)
    watts = np.array([power_w(machine, float(power)) for power in powers])
    spot = spot_at_coat_mm(recipe, machine)
    width = _widths(watts, recipe.speed_mm_s, spot, stock.clearing_dose_j_mm2 * (1 + margins.dose))
    widest = width - placement_allowance_mm(machine, gap_chance=margins.gap_chance)
    possible = widest > 0
    lpi = np.ceil(MM_PER_INCH / widest[possible] - 1e-9)
    pitch, energy = MM_PER_INCH / lpi, watts[possible] / recipe.speed_mm_s
    peak = energy / pitch * peak_ratio(pitch / (spot / 2))
    good = peak * (1 + margins.dose) < stock.frosting_dose_j_mm2
    if not good.any():
        return None
    best = np.argmax(np.where(good, pitch, 0.0))
    return replace(recipe, power_pct=float(powers[possible][best]), pitch_mm=float(pitch[best]))


def _widths(watts: Floats, speed_mm_s: float, spot_mm: float, dose_j_mm2: float) -> Floats:
    """Cleared widths at many powers (see ``beam.line_width_mm``)."""
    threshold = threshold_power_w(clearing_dose_j_mm2=dose_j_mm2, speed_mm_s=speed_mm_s, spot_mm=spot_mm)
    with np.errstate(divide="ignore"):
        result: Floats = spot_mm / 2 * np.sqrt(2 * np.log(np.maximum(watts / threshold, 1.0)))
    return result


def _whole_lpi(pitch_mm: float) -> float:
    """The widest pitch of whole lines an inch that is not wider."""
    return MM_PER_INCH / math.ceil(MM_PER_INCH / pitch_mm - 1e-9)


def _recipe_advice(
    region_bed: BaseGeometry,
    recipe: Recipe,
    better: Recipe,
    machine: Machine,
    stock: Stock,
    now_s: float,
    title: str,
    *,
    progress: Progress,
) -> RecipeAdvice:
    verdict, present = (fill_verdict(one, machine, stock) for one in (better, recipe))
    time_s = _time_s(region_bed, better, machine, progress=progress)
    settings = f"{better.speed_mm_s:g} mm/s, {better.power_pct:g} %, {better.lines_per_inch:.0f} LPI"
    if time_s >= now_s and present.verdict == "clean":
        words = f"{title}: {settings} is no quicker than the present recipe, which is clean."
        return RecipeAdvice(words=words, recipe=None, verdict=verdict, time_s=now_s, time_saved_s=0.0)
    words = f"{title}: {settings}. {verdict.words}"
    return RecipeAdvice(words=words, recipe=better, verdict=verdict, time_s=time_s, time_saved_s=now_s - time_s)


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
        thicken_by_mm=cleared_mm - width,
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
