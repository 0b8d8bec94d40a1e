"""A trial planned: from what came out wrong and what is to be varied to patches on an offcut."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from core.artwork.drawing import Finding
from core.burning.coupon_tables import recipe_in_reach
from core.burning.machines import Machine
from core.burning.patches import Patch, Side
from core.errors import JobError
from core.finishing.paints import Paint, Workday
from core.job.job import Job
from core.job.plan import Plan
from core.purposes import Purpose
from core.sheet.placement import Turn
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.trouble.trials import exact
from core.trouble.trials.design import Cell, crossed
from core.trouble.trials.factors import BURNED, Factor, Worse
from core.trouble.trials.layout import Room, laid_out
from core.trouble.trials.power import CLEAR, LEVEL, WANTED_POWER, least_p, patches_wanted, power
from core.trouble.trials.scales import SCALES, Scale
from core.trouble.trials.trial import Trial, TrialPatch, with_code

USUAL_REPEATS = 6
"""Of two levels: enough to tell 9 in 10 from 1 in 10 four times out of five where the worse end is known; else 7."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """What a trial is to be of. fill: the recipe that bares its patches, the stock's own where None."""

    fault: str
    factors: tuple[Factor, ...]
    stock: Stock
    machine: Machine
    paint: Paint | None = None
    fill: Recipe | None = None
    job: str = ""
    repeats: int = USUAL_REPEATS
    seed: int = 1
    scale: Scale = field(default_factory=lambda: SCALES["look"])
    limit: int | None = None
    size_mm: tuple[float, float] = (120.0, 80.0)
    read_from: Side = "back"
    turn: Turn = "sideways"
    workday: Workday = field(default_factory=Workday)
    made: str = ""


def ask_of_job(job: Job, plan: Plan | None, paint: Paint | None, *, start: str = "") -> Ask:
    """What a job says of a trial: stock, machine, fill recipe, turn, hours; fault and factors are still to be said.

    Painted patches have labels that are read from the back, as they are worked on from there.
    """
    fills = [one for one in plan.layers if one.verdict is not None and one.shape_ids] if plan is not None else []
    return Ask(
        fault="",
        factors=(),
        stock=job.stock,
        machine=job.machine,
        paint=paint,
        fill=fills[0].layer.recipe if fills else None,
        job=job.source.name if job.source else "",
        turn=job.turn,
        read_from="back" if paint is not None else "front",
        workday=replace(job.finishing.workday, start=start or job.finishing.workday.start),
    )


def planned_trial(ask: Ask) -> Trial:
    """The trial. Raises JobError where the offcut is too small or nothing is painted that is to be varied in the paint,
    UnreadableError where factors or repeats make no sense."""
    if ask.stock.refused:
        raise JobError(f"{ask.stock.name}: {ask.stock.refused}")
    in_paint = [factor for factor in ask.factors if factor.name not in (*BURNED, "cured_edges")]
    if in_paint and ask.paint is None:
        raise JobError(f"{in_paint[0].kind.words} needs a paint.", hint="Name it with --paint.")
    cells = crossed(ask.factors, repeats=ask.repeats, seed=ask.seed)
    recipes = [_burned(ask.stock, ask.machine, ask.fill, ask.factors, cell) for cell in cells]
    room = Room(width_mm=ask.size_mm[0], height_mm=ask.size_mm[1], painted=ask.paint is not None)
    patches, title, captions = laid_out(recipes, f"trial {ask.stock.name} {ask.made}".strip(), room)
    trial = Trial(
        code="",
        made=ask.made,
        fault=ask.fault,
        job=ask.job,
        stock=ask.stock,
        machine=ask.machine,
        paint=ask.paint,
        factors=ask.factors,
        repeats=ask.repeats,
        seed=ask.seed,
        scale=ask.scale.name,
        limit=ask.scale.faulty if ask.limit is None else ask.limit,
        read_from=ask.read_from,
        turn=ask.turn,
        sizes_mm=(ask.size_mm,),
        titles=(title,),
        captions=captions,
        patches=_of_cells(cells, patches, 1),
        workday=ask.workday,
    )
    return with_code(trial)


def extended_trial(trial: Trial, *, repeats: int, size_mm: tuple[float, float]) -> Trial:
    """The trial with more repeats on another offcut. What is found then is told at twice the chance.

    Raises as ``planned_trial`` does.
    """
    done = max(one.block for one in trial.patches)
    piece = len(trial.sizes_mm) + 1
    cells = crossed(trial.factors, repeats=repeats, seed=trial.seed + 1_000 * piece, first_block=done + 1)
    first = {one.levels: (one.patch.purpose, one.patch.recipe) for one in trial.patches}
    last_row = max(one.label[0] for one in trial.patches)
    rows = "ABCDEFGHJKLMNPQRSTUVWXYZ"
    room = Room(
        width_mm=size_mm[0], height_mm=size_mm[1], painted=trial.paint is not None, first_row=rows.index(last_row) + 1
    )
    patches, title, captions = laid_out([first[cell.levels] for cell in cells], f"trial {trial.stock.name}", room)
    moved = tuple(replace(cell, turn=cell.turn + len(trial.patches)) for cell in cells)
    return replace(
        trial,
        repeats=trial.repeats + repeats,
        sizes_mm=(*trial.sizes_mm, size_mm),
        titles=(*trial.titles, replace(title, text=f"{trial.code}-{piece} {title.text}")),
        captions=(*trial.captions, *captions),
        patches=(*trial.patches, *_of_cells(moved, patches, piece)),
        extended=trial.extended + (1 if trial.marks else 0),
    )


def told_before(trial: Trial) -> tuple[Finding, ...]:
    """What the trial can find, before anything is painted; a warning where that is too little."""
    findings = []
    level = LEVEL / len(trial.factors)  # each factor pays for the other, as in reading
    for factor in trial.factors:
        each = _patches_at_ends(trial, factor)
        # the end that is expected to be worse counts as the first, whichever of them it is
        side: exact.Side = "two-sided" if factor.worse == "either" else "greater"
        able = power(each, each, *CLEAR, side=side, level=level) if each else 0.0
        least = min(1.0, least_p(each, each, side) * len(trial.factors)) if each else 1.0
        told = (
            f"{factor.kind.words}: {each} patches at each of its ends find a fault that comes {10 * CLEAR[0]:.0f} in "
            f"10 at one and {10 * CLEAR[1]:.0f} in 10 at the other in {100 * able:.0f} trials of 100."
        )
        if least > LEVEL:
            told += f" Even the clearest split would come by chance {100 * least:.0f} times in 100."
        if able >= WANTED_POWER:
            findings.append(Finding(code="trial-finds", message=told, severity="note"))
            continue
        wanted = patches_wanted(side=side, level=level)
        told += f" {wanted} at each end would do." if wanted else ""
        findings.append(Finding(code="too-few-patches", message=told))
    return tuple(findings)


def side_of(worse: Worse) -> exact.Side:
    """The test's direction, the first level against the last: "greater" where low is expected to be worse."""
    sides: dict[Worse, exact.Side] = {"low": "greater", "high": "less", "either": "two-sided"}
    return sides[worse]


def _patches_at_ends(trial: Trial, factor: Factor) -> int:
    place = trial.factors.index(factor)
    ends = (factor.levels[0], factor.levels[-1])
    return min(sum(one.levels[place] == end for one in trial.patches) for end in ends)


def _of_cells(cells: Sequence[Cell], patches: Sequence[Patch], piece: int) -> tuple[TrialPatch, ...]:
    return tuple(
        TrialPatch(patch=patch, block=cell.block, levels=cell.levels, turn=cell.turn, piece=piece)
        for cell, patch in zip(cells, patches, strict=True)
    )


def _burned(
    stock: Stock, machine: Machine, fill: Recipe | None, factors: Sequence[Factor], cell: Cell
) -> tuple[Purpose, Recipe]:
    """How a patch is burned: bared as the job bares it, cut out for its edge, scored where there is no coat."""
    levels = {factor.name: level for factor, level in zip(factors, cell.levels, strict=True)}
    if "cured_edges" in levels:
        if stock.cut is None:
            raise JobError(f"{stock.name} must not be cut by the laser.", hint="Try its edges another way.")
        return "cut", stock.cut
    recipe = fill or recipe_in_reach(stock.fill, machine, stock)
    if "pitch_mm" in levels:
        recipe = replace(recipe, pitch_mm=float(levels["pitch_mm"]))
    if "scan_angle_deg" in levels:
        recipe = replace(recipe, scan_angle_deg=float(levels["scan_angle_deg"]))
    return ("fill", recipe) if stock.coat or set(levels) & set(BURNED) else ("score", stock.score)
