"""Burning colour by colour: each burn with areas, a recipe for what lies on the coat, overlap and wait."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Finding
from core.burning.beam import FillVerdict, clearing_line, fill_verdict
from core.burning.chance import fill_chance
from core.burning.coverage import coverage
from core.burning.row_offsets import as_laid, held_recipe
from core.burning.rows_astray import with_rows_astray
from core.burning.run_time import NO_TIME, TimeRange, fill_time_range
from core.burning.scan_rows import scan_rows
from core.errors import JobError
from core.finishing.binders import burn_refusal
from core.finishing.overlaps import StripDose, overlap_into, strip_dose, strips
from core.finishing.paints import BARE, Paint
from core.finishing.steps import PaintPlan
from core.finishing.tight_places import SHARED_BORDER_MM
from core.geometry.affine import apply_to_region
from core.geometry.engine import shared, united
from core.job.burned import inside_cuts
from core.job.painting.screened_burn import screen_within, screened_fill
from core.job.painting.stacks import learned_stack, stack_recipe, stack_stock
from core.job.plan import LayerPlan, Plan
from core.job.remembering import cached
from core.progress import Progress, part, silent
from core.sheet.faces import turn_matrix
from core.sheet.nest_play import nest_play
from core.sheet.stock import Stock


@dataclass(frozen=True, slots=True, kw_only=True)
class DatumPlay:
    """How far a burn can lie off when the sheet is put back: off_mm at most anywhere that is filled."""

    off_mm: float
    turns_freely: bool = False


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Burn:
    """One burn.

    colours: names of what it clears, ``BARE`` among them. region: its areas with its overlap, front frame; overlap: the
    part of it that lies in later areas. under: paint on the coat when it burns, first painted first. layers: fills with
    the recipe for that stack. wait_h: from the last coat before it. strip: the dose where it goes over an overlap of
    earlier burns; None where there is none. learned: whether a painted scrap was read for this stack.
    """

    number: int
    colours: tuple[str, ...]
    region: BaseGeometry
    overlap: BaseGeometry
    under: tuple[str, ...]
    stack: Stock
    layers: tuple[LayerPlan, ...]
    wait_h: float
    strip_region: BaseGeometry
    strip: StripDose | None
    learned: bool

    @property
    def time_range(self) -> TimeRange:
        """Of its fills."""
        return sum((layer.time_range for layer in self.layers), NO_TIME)

    @property
    def words(self) -> str:
        """``"burn 2: gold, through the coat and navy"``."""
        through = f", through the coat and {', '.join(self.under)}" if self.under else ""
        return f"burn {self.number}: {', '.join(self.colours)}{through}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BurnPlan:
    """All burns in their order. overlap_mm: into areas of later burns, for the first burn and for the ones after it."""

    burns: tuple[Burn, ...]
    play: DatumPlay
    overlap_mm: tuple[float, float]
    findings: tuple[Finding, ...]


def datum_play(plan: Plan, filled: BaseGeometry) -> DatumPlay:
    """The play of the job's datum over what is filled.

    By its edge a part goes back into the opening that it came out of, which is wider by the kerf all round.
    """
    laid = plan.datum
    if laid is None:
        raise JobError("The datum has no place on this sheet.", hint="Choose another one.")
    if laid.kind != "part edge":
        return DatumPlay(off_mm=laid.play.farthest_mm(filled))
    inside = inside_cuts(plan.layers)
    off_mm, free = 0.0, False
    for piece in shapely.get_parts(inside):
        if piece.is_empty:
            continue
        own = shared(filled, piece)
        play = nest_play(piece, plan.job.stock.kerf_mm)
        free = free or (play.turns_freely and not own.is_empty)
        off_mm = max(off_mm, play.farthest_mm(own))
    return DatumPlay(off_mm=off_mm, turns_freely=free)


def burn_plan(plan: Plan, painting: PaintPlan, *, progress: Progress = silent) -> BurnPlan:
    """The burns of a paint plan; one alone where all colours are masked. Raises JobError without a datum."""
    coloured, finishing = painting.colouring, plan.job.finishing
    several = painting.burns > 1
    bare_last = several and finishing.burned_later(BARE) and not coloured.bare.is_empty
    numbers = range(1, painting.burns + 1)
    names = [tuple(step.area.paint.name for step in painting.steps if step.burn == n) for n in numbers]
    regions = [united([step.area.region for step in painting.steps if step.burn == n]) for n in numbers]
    if not several:
        regions, names = [coloured.filled], [(*names[0], *([] if coloured.bare.is_empty else [BARE]))]
    elif bare_last:
        regions, names = [*regions, coloured.bare], [*names, (BARE,)]
    elif not coloured.bare.is_empty:
        regions[0], names[0] = united([regions[0], coloured.bare]), (*names[0], BARE)
    count = len(regions)
    play = datum_play(plan, coloured.filled) if count > 1 else DatumPlay(off_mm=0.0)
    # the first burn lies where the datum was made; each later one may lie off, so two later ones twice as far
    overlap_mm = (play.off_mm, 2 * play.off_mm)
    overlaps = [
        strips(
            [
                overlap_into(regions[n], regions[m], overlap_mm[n > 0], touching_mm=SHARED_BORDER_MM)
                for m in range(n + 1, count)
            ]
        )
        for n in range(count)
    ]
    burns: list[Burn] = []
    for number in range(1, count + 1):
        share = part(progress, (number - 1) / count, number / count)
        share(0.0, "planning burns")
        burns.append(_burn(plan, painting, burns, number, names, regions, overlaps))
    findings = _findings(plan, burns, play) if count > 1 else ()
    return BurnPlan(burns=tuple(burns), play=play, overlap_mm=overlap_mm, findings=findings)


def _burn(
    plan: Plan,
    painting: PaintPlan,
    before: Sequence[Burn],
    number: int,
    names: Sequence[tuple[str, ...]],
    regions: Sequence[BaseGeometry],
    overlaps: Sequence[BaseGeometry],
) -> Burn:
    paints = tuple(step.area.paint for step in painting.steps if step.burn < number)
    region = united([regions[number - 1], overlaps[number - 1]])
    stack = stack_stock(plan.job.stock, paints)
    layers = _layers(plan, region, number, paints)
    strip_region = strips([shared(overlaps[n], region) for n in range(number - 1)])
    return Burn(
        number=number,
        colours=names[number - 1],
        region=region,
        overlap=overlaps[number - 1],
        under=tuple(paint.name for paint in paints),
        stack=stack,
        layers=layers,
        wait_h=max((step.area.paint.cure_h for step in painting.steps if step.burn < number), default=0.0),
        strip_region=strip_region,
        strip=_strip(plan, before, layers, overlaps, strip_region, painting, number),
        learned=not paints or learned_stack(plan.job.stock, tuple(paint.name for paint in paints)) is not None,
    )


def _layers(plan: Plan, region: BaseGeometry, number: int, under: tuple[Paint, ...]) -> tuple[LayerPlan, ...]:
    """The job's fills as far as they are cleared in this burn, with a recipe for what lies on the coat."""
    fills = [layer for layer in plan.layers if layer.layer.purpose == "fill" and not layer.region.is_empty]
    found = []
    for layer in fills:
        own = shared(layer.region, region) if len(fills) > 1 or number > 1 or plan.job.finishing.ways else layer.region
        if not own.is_empty:
            found.append(_fill(plan, layer, own, under))
    return tuple(found)


def _fill(plan: Plan, layer: LayerPlan, region: BaseGeometry, under: tuple[Paint, ...]) -> LayerPlan:
    """A fill of one burn with its rows, coverage, chance and time."""
    job, machine = plan.job, plan.job.machine
    if (screen := screen_within(layer, region)) is not None:
        return screened_fill(job, layer, screen, region, under)
    bed = apply_to_region(turn_matrix(job.turn, job.sheet), region)
    key = ("stack recipe", region.wkb, layer.layer.recipe, under, job.wanted_chance)
    recipe = cached(
        key,
        lambda: stack_recipe(layer.layer.recipe, bed, machine, job.stock, under, wanted=job.wanted_chance),
        machine,
        job.stock,
    )
    held, stack = held_recipe(recipe, machine), stack_stock(job.stock, under)

    def work() -> LayerPlan:
        rows = scan_rows(bed, pitch_mm=held.pitch_mm, angle_deg=held.scan_angle_deg, edge_inset_mm=held.edge_inset_mm)
        if held.hands_over == "outlines":
            rows = as_laid(rows, held, machine)
        figures = coverage(bed, rows, clearing_line(held, machine, stack))
        return replace(
            layer,
            layer=replace(layer.layer, recipe=recipe),
            region=region,
            burned=None,
            screen=None,
            kept_edges=(),
            area_mm2=float(region.area),
            verdict=fill_verdict(held, machine, stack),
            chance=fill_chance(held, machine, stack),
            rows=rows,
            coverage=with_rows_astray(figures, rows, line_error_mm=machine.line_error_mm),
            time_range=fill_time_range(rows, held, machine),
        )

    return cached(("burned fill", *key, layer.layer, recipe, job.turn), work, job.sheet, machine, job.stock)


def _strip(
    plan: Plan,
    before: Sequence[Burn],
    layers: Sequence[LayerPlan],
    overlaps: Sequence[BaseGeometry],
    strip_region: BaseGeometry,
    painting: PaintPlan,
    number: int,
) -> StripDose | None:
    """The dose where this burn goes over what earlier ones bared, the worst of them."""
    verdicts = [layer.verdict for layer in layers if layer.verdict is not None]
    if strip_region.is_empty or not verdicts:
        return None
    stock = plan.job.stock
    peak = max(verdict.peak_dose_j_mm2 for verdict in verdicts)
    crossed = [n for n in range(number - 1) if not shared(overlaps[n], layers[0].region).is_empty]
    first = min(crossed, default=0)
    since = [step.area.paint for step in painting.steps if first < step.burn < number]
    excesses = [_peak(before[n].layers) - before[n].stack.clearing_dose_j_mm2 for n in crossed]
    return strip_dose(
        excesses,
        peak,
        paint_j_mm2=sum(paint.burn_dose_j_mm2 for paint in since),
        bears_j_mm2=stock.frosting_dose_j_mm2 - stock.clearing_dose_j_mm2,
        sheet_s=stock.sheet_adding_s,
    )


def _peak(layers: Sequence[LayerPlan]) -> float:
    verdicts: list[FillVerdict] = [layer.verdict for layer in layers if layer.verdict is not None]
    return max((verdict.peak_dose_j_mm2 for verdict in verdicts), default=0.0)


def _findings(plan: Plan, burns: Sequence[Burn], play: DatumPlay) -> tuple[Finding, ...]:
    findings = []
    paints = {paint.name: paint for paint in plan.job.finishing.paints}
    under = dict.fromkeys(name for burn in burns for name in burn.under)
    for name in under:
        paint = paints.get(name) or Paint(name=name, colour="#000000")
        why = burn_refusal(maker=paint.maker, binder=paint.binder, sheet_read=paint.sheet_read)
        if why:
            message = f"{name} must not be burned through: {why}. Mask the colours after it, or fill in what it is."
            findings.append(Finding(code="burn-refused", message=message, severity="problem"))
    if play.turns_freely:
        message = (
            "A part can turn freely in the opening it came out of, so a later burn has no place to go back to. Choose "
            "marks or pins as the datum."
        )
        findings.append(Finding(code="turns-freely", message=message, severity="problem"))
    for burn in burns:
        if burn.under and not burn.learned:
            message = (
                f"No scrap under {', '.join(burn.under)} was read yet: the doses of burn {burn.number} are added up "
                "from guesses. Burn a coupon of the kind painted-scrap first."
            )
            findings.append(Finding(code="stack-not-tried", message=message))
        for layer in burn.layers:
            if layer.verdict is not None and burn.under and layer.verdict.verdict != "clean":
                message = f"Burn {burn.number}, {layer.layer.name}: {layer.verdict.words}"
                findings.append(Finding(code="stack-not-clean", message=message))
        if burn.strip is not None and burn.strip.verdict != "clean":
            findings.append(_strip_finding(burn, burn.strip))
    return tuple(findings)


def _strip_finding(burn: Burn, strip: StripDose) -> Finding:
    at = burn.strip_region.representative_point()
    most = max(strip.alone_j_mm2, strip.together_careful_j_mm2)
    reaches = "reaches" if strip.verdict == "frosts" else "may reach"
    return Finding(
        code="overlap-frosts",
        message=f"Burn {burn.number} goes over {burn.strip_region.area:.1f} mm² that an earlier burn bared: the dose "
        f"there {reaches} {most:.2f} J/mm² beyond the paint, and the sheet bears {strip.bears_j_mm2:.2f}: it can look "
        "dull. Try it on a painted scrap, or mask "
        f"{', '.join(burn.colours)}.",
        x_mm=float(at.x),
        y_mm=float(at.y),
    )
