"""Which recipe to take: the quickest whose chance of a clean piece is what the maker wants, else the surest there is.

The chance depends on the energy of a line and on the pitch alone, so it is worked out once on a grid of both and looked
up for every speed, power and pitch; what is advised is judged once more by itself.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.beam import FillVerdict, Floats, fill_verdict, power_w
from core.burning.chance import WANTED, Chance, chance_grid, fill_chance, in_hundred
from core.burning.machines import Machine
from core.burning.region_sample import MOST_EDGES, edge_count
from core.burning.run_time import fill_time_s
from core.burning.scan_rows import edges_in_scan_frame, scan_rows
from core.burning.unknowns import Draws, beliefs_of, draws_of
from core.progress import Progress, part, silent
from core.sheet.recipes import Origin, Recipe
from core.sheet.stock import Stock
from core.units import MM_PER_INCH

ADVISED = Origin(kind="set by hand", note="Advised by the dose model; prove it on a scrap.")
SPEED_STEPS = 40
TRIAL_ROWS = 400
MOST_CROSSINGS = 1_000_000
"""Of rows and edges, where a fill is timed for advice: a hundred megabytes or so."""
AS_SURE = 0.005
"""Chances that differ by less are alike, and the quicker recipe is taken."""
HOPELESS = 0.05
_GRID_PITCHES, _GRID_ENERGIES, _GRID_DRAWS = 56, 120, 2048


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeAdvice:
    """A recipe to take instead, or None with the reason in ``words``. Times of the whole fill, s.

    chance: of the recipe, or, where there is none, of the present one.
    """

    words: str
    recipe: Recipe | None
    verdict: FillVerdict | None
    time_s: float
    time_saved_s: float
    chance: Chance | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CleanGrid:
    """The chance of coming out clean (pitches, energies) over pitches, mm, and the logarithm of a line's J/mm."""

    pitches_mm: Floats
    log_energies: Floats
    clean: Floats

    def at(self, pitch: int, energy_j_mm: Floats) -> Floats:
        """The chance at one of the pitches, by number, and these energies; same shape."""
        energies = np.log(np.maximum(energy_j_mm, 1e-300))
        result: Floats = np.interp(energies, self.log_energies, self.clean[pitch], left=0.0, right=0.0)
        return result


def clean_grid(recipe: Recipe, machine: Machine, draws: Draws) -> CleanGrid:
    """The grid at a recipe's passes and focus: whole lines an inch, from a tenth of the spot to twice of it."""
    spot = float(np.median(draws.spot_mm))
    widest = MM_PER_INCH / max(1.0, math.ceil(MM_PER_INCH / (2.0 * spot)))
    lines = np.round(np.geomspace(MM_PER_INCH / widest, MM_PER_INCH / (0.1 * spot), _GRID_PITCHES))
    pitches = MM_PER_INCH / np.unique(lines)[::-1]
    # from where the toughest coat would need all of a wide spot's line, to where the tenderest sheet frosts
    spots = draws.spot_mm * math.sqrt(math.pi / 8)
    low = float((draws.clearing_dose_j_mm2 * spots).min()) / recipe.passes / 2
    high = 20 * float((draws.frosting_dose_j_mm2 * spots).max())
    energies = np.geomspace(low, high, _GRID_ENERGIES)
    grid = chance_grid(recipe, machine, draws, pitches_mm=pitches.tolist(), energies_j_mm=energies.tolist())
    return CleanGrid(pitches_mm=pitches, log_energies=np.log(energies), clean=grid[:, :, 0].T)


@lru_cache(maxsize=8)
def _grid_of(passes: int, focus_mm: float, machine: Machine, stock: Stock) -> CleanGrid:
    """The grid of what is held of a machine and a stock: the same for every pitch, speed and power that is tried."""
    recipe = replace(stock.fill, passes=passes, focus_mm=focus_mm)
    return clean_grid(recipe, machine, draws_of(beliefs_of(machine, stock), machine, count=_GRID_DRAWS))


def pitch_advice(
    region_bed: BaseGeometry,
    recipe: Recipe,
    machine: Machine,
    stock: Stock,
    *,
    wanted: float = WANTED,
    progress: Progress = silent,
) -> RecipeAdvice:
    """The coarsest pitch that has the chance wanted at this speed and power, or the surest; whole lines an inch."""
    now_s = burn_time_s(region_bed, recipe, machine, progress=part(progress, 0.0, 0.5))
    present = fill_verdict(recipe, machine, stock)
    draws = draws_of(beliefs_of(machine, stock), machine)
    grid = _grid_of(recipe.passes, recipe.focus_mm, machine, stock)
    energy = np.array([power_w(machine, recipe.power_pct) / recipe.speed_mm_s])
    chances = np.array([float(grid.at(k, energy)[0]) for k in range(len(grid.pitches_mm))])
    trials = [replace(recipe, pitch_mm=float(pitch), origin=ADVISED) for pitch in grid.pitches_mm]
    sure = (trial for trial, chance in zip(trials[::-1], chances[::-1], strict=True) if chance >= wanted)
    found = _first_sure(sure, machine, stock, wanted, draws)
    if found is None:
        best = trials[int(np.argmax(chances))]
        found = best, fill_chance(best, machine, stock, draws=draws)
    better, chance = found
    if chance.clean < HOPELESS:
        own = fill_chance(recipe, machine, stock, draws=draws)
        words = (
            f"At {recipe.speed_mm_s:g} mm/s and {recipe.power_pct:g} % no pitch is likely to be clean: "
            f"{_what_spoils(chance)}. Change speed or power."
        )
        return RecipeAdvice(words=words, recipe=None, verdict=present, time_s=now_s, time_saved_s=0.0, chance=own)
    title = "Coarsest pitch" if chance.clean >= wanted else "Surest pitch"
    rest = part(progress, 0.5, 1.0)
    return _recipe_advice(
        region_bed, recipe, better, chance, machine, stock, now_s=now_s, title=title, wanted=wanted, progress=rest
    )


def fastest_recipe(
    region_bed: BaseGeometry,
    recipe: Recipe,
    machine: Machine,
    stock: Stock,
    *,
    wanted: float = WANTED,
    progress: Progress = silent,
) -> RecipeAdvice:
    """The quickest recipe with the chance wanted, or, where none has it, the surest: one pass, whole percents, speeds
    in steps, whole lines an inch."""
    now_s = burn_time_s(region_bed, recipe, machine, progress=part(progress, 0.0, 0.3))
    time_of = trial_time(region_bed, recipe, progress=part(progress, 0.3, 0.4))
    once = replace(recipe, passes=1, origin=ADVISED)
    draws = draws_of(beliefs_of(machine, stock), machine)
    progress(0.4, "trying recipes")
    grid = _grid_of(1, recipe.focus_mm, machine, stock)
    speeds = _speeds(machine)
    timed: list[tuple[float, float, Recipe]] = []
    surest: list[tuple[float, Recipe]] = []
    for count, speed in enumerate(speeds):
        progress(0.4 + 0.4 * count / len(speeds), "trying speeds")
        at_speed = replace(once, speed_mm_s=speed)
        chances = _chances(grid, at_speed, machine)
        timed += [(time_of(one, machine), -one.pitch_mm, one) for one in _coarsest(grid, chances, at_speed, wanted)]
        row, column = np.unravel_index(int(np.argmax(chances)), chances.shape)
        surest.append((float(chances[row, column]), _with(at_speed, float(column + 1), grid.pitches_mm[row])))
    ordered = (item[2] for item in sorted(timed, key=lambda item: item[:2]))
    found = _first_sure(ordered, machine, stock, wanted, draws)
    if found is None:
        most = max(chance for chance, _ in surest)
        alike = [one for chance, one in surest if chance >= most - AS_SURE]
        best = min(alike, key=lambda one: time_of(one, machine))
        found = best, fill_chance(best, machine, stock, draws=draws)
    better, chance = found
    rest = part(progress, 0.8, 1.0)
    if chance.clean < HOPELESS:
        words = f"No recipe of this machine is likely to be clean on this stock: {_what_spoils(chance)}."
        own = fill_chance(recipe, machine, stock, draws=draws)
        return RecipeAdvice(words=words, recipe=None, verdict=None, time_s=now_s, time_saved_s=0.0, chance=own)
    title = "Fastest recipe" if chance.clean >= wanted else "Surest recipe"
    return _recipe_advice(
        region_bed, recipe, better, chance, machine, stock, now_s=now_s, title=title, wanted=wanted, progress=rest
    )


def trial_time(region_bed: BaseGeometry, recipe: Recipe, *, progress: Progress) -> Callable[[Recipe, Machine], float]:
    """Run time by few rows that stand for many, for recipes of this scan angle: time goes as 1/pitch."""
    pitch = max(recipe.pitch_mm, _height_across_mm(region_bed, recipe.scan_angle_deg) / TRIAL_ROWS)
    rows = scan_rows(region_bed, pitch_mm=pitch, angle_deg=recipe.scan_angle_deg, progress=progress)

    def time_s(trial: Recipe, machine: Machine) -> float:
        return fill_time_s(rows, replace(trial, pitch_mm=pitch), machine) * pitch / trial.pitch_mm

    return time_s


def burn_time_s(region_bed: BaseGeometry, recipe: Recipe, machine: Machine, *, progress: Progress) -> float:
    """Run time of the fill, every row of it; of very large artwork by fewer rows that stand for all, edges as drawn."""
    inset_mm = recipe.edge_inset_mm if edge_count(region_bed) <= MOST_EDGES else 0.0
    edges = edges_in_scan_frame(region_bed, recipe.scan_angle_deg)
    pitch = max(recipe.pitch_mm, float(np.abs(edges.y1 - edges.y0).sum()) / MOST_CROSSINGS)
    rows = scan_rows(
        region_bed,
        pitch_mm=pitch,
        angle_deg=recipe.scan_angle_deg,
        edge_inset_mm=inset_mm,
        edges=edges,
        progress=progress,
    )
    return fill_time_s(rows, replace(recipe, pitch_mm=pitch), machine) * pitch / recipe.pitch_mm


def _height_across_mm(region_bed: BaseGeometry, angle_deg: float) -> float:
    if region_bed.is_empty:
        return 0.0
    points = shapely.get_coordinates(region_bed)
    angle = math.radians(angle_deg)
    return float(np.ptp(points @ np.array([-math.sin(angle), math.cos(angle)])))


def _speeds(machine: Machine) -> list[float]:
    """Speeds up to the machine's greatest, in whole mm/s."""
    steps = {float(round(machine.max_speed_mm_s * number / SPEED_STEPS)) for number in range(1, SPEED_STEPS)}
    return sorted(steps - {0.0} | {machine.max_speed_mm_s})


def _chances(grid: CleanGrid, recipe: Recipe, machine: Machine) -> Floats:
    """Chances (pitches, 100) of all whole percents of power at a recipe's speed."""
    energies = np.array([power_w(machine, float(power)) for power in range(1, 101)]) / recipe.speed_mm_s
    return np.array([grid.at(k, energies) for k in range(len(grid.pitches_mm))])


def _coarsest(grid: CleanGrid, chances: Floats, recipe: Recipe, wanted: float) -> Iterator[Recipe]:
    """The two coarsest pitches that have the chance wanted at this speed, each at its surest power.

    Two, since the grid may flatter the coarsest by a hair.
    """
    good = np.flatnonzero(chances.max(1) >= wanted)
    for row in good[-2:]:  # pitches rise
        yield _with(recipe, float(np.argmax(chances[row]) + 1), grid.pitches_mm[row])


def _with(recipe: Recipe, power_pct: float, pitch_mm: float) -> Recipe:
    return replace(recipe, power_pct=power_pct, pitch_mm=float(pitch_mm))


def _first_sure(
    trials: Iterator[Recipe], machine: Machine, stock: Stock, wanted: float, draws: Draws
) -> tuple[Recipe, Chance] | None:
    """The first that has the chance wanted by itself, with its chance."""
    for trial in trials:
        chance = fill_chance(trial, machine, stock, draws=draws)
        if chance.clean >= wanted:
            return trial, chance
    return None


def _what_spoils(chance: Chance) -> str:
    """The likeliest way in which it does not come out."""
    shares = (
        (chance.not_reached, "the beam is too weak for the coat"),
        (chance.leaves_lines, "a line bares too little, or lines stray too far apart"),
        (chance.frosts, "what clears the coat frosts the sheet; the doses are too close together"),
    )
    return max(shares)[1]


def _recipe_advice(
    region_bed: BaseGeometry,
    recipe: Recipe,
    better: Recipe,
    chance: Chance,
    machine: Machine,
    stock: Stock,
    *,
    now_s: float,
    title: str,
    wanted: float,
    progress: Progress,
) -> RecipeAdvice:
    verdict, own = fill_verdict(better, machine, stock), fill_chance(recipe, machine, stock)
    time_s = burn_time_s(region_bed, better, machine, progress=progress)
    settings = f"{better.speed_mm_s:g} mm/s, {better.power_pct:g} %, {better.lines_per_inch:.0f} LPI"
    sure = chance.clean >= wanted
    if (sure and own.clean >= wanted and time_s >= now_s) or (not sure and own.clean >= chance.clean - AS_SURE):
        why = "no quicker than the present recipe, which is as sure" if sure else "no surer than the present recipe"
        return RecipeAdvice(
            words=f"{title}: {settings} is {why}.",
            recipe=None,
            verdict=verdict,
            time_s=now_s,
            time_saved_s=0.0,
            chance=own,
        )
    words = f"{title}: {settings}. {sentence(chance)}"
    if not sure:
        words += f" None reaches {in_hundred(wanted)} in 100 as long as so little is known; a scrap would tell more."
    return RecipeAdvice(
        words=words, recipe=better, verdict=verdict, time_s=time_s, time_saved_s=now_s - time_s, chance=chance
    )


def sentence(chance: Chance) -> str:
    """The chance as a sentence."""
    words = chance.words
    return f"{words[0].upper()}{words[1:]}."
