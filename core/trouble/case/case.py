"""The figures of a job that speak for or against a cause, taken out of its plans as plain values.

Nothing is guessed: what a job does not say is None, and no cause gains or loses by it.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from itertools import pairwise

from core.artwork.drawing import Finding
from core.burning.beam import FillVerdict
from core.burning.chance import Chance
from core.errors import TainError
from core.finishing.bench_work import Task
from core.finishing.bonding import bond_advice
from core.finishing.paints import Finishing, Paint, PaintKind, is_weak, relative_luminance, shows_through
from core.finishing.steps import PaintPlan
from core.finishing.ticking import ticked_coats, ticked_waits_min
from core.finishing.timetable import Timetable
from core.job.painting.burning import datum_play
from core.job.painting.day import job_timetable, stage_burns
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.trouble.case.noted import Noted


@dataclass(frozen=True, slots=True, kw_only=True)
class FillFacts:
    """One fill of the job. Doses J/mm²; chance None where it was not worked out."""

    name: str
    pitch_mm: float
    cleared_width_mm: float
    peak_dose_j_mm2: float
    frosting_dose_j_mm2: float
    line_dose_j_mm2: float
    clearing_dose_j_mm2: float
    focus_mm: float
    compensated: bool
    measured: bool
    chance: Chance | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PaintFacts:
    """One paint of the job as planned. wait_min: least between coats in the timetable; longest_wait_min: most.

    wet_film_um: of one coat, 1000 over its spreading rate. behind: paints that come to lie behind it and would show.
    known: whether its figures are the can's or measured, not starting ones. ticked_...: shortest and longest wait, and
    coats put on, as steps were ticked off; None where none were.
    """

    name: str
    kind: PaintKind
    light: bool
    coats: int
    hides_in_coats: int
    backed: bool
    can_wait_min: float
    wait_min: float | None
    longest_wait_min: float | None
    recoat_within_min: float
    late: bool
    mask_after_min: float
    cure_h: float
    wet_film_um: float
    weak: bool
    behind: tuple[str, ...] = ()
    masked_after: bool = False
    known: bool = False
    ticked_wait_min: float | None = None
    ticked_longest_min: float | None = None
    ticked_coats: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CutFacts:
    """What is cut: at the stock's starting recipe or slower and stronger; speeds in mm/s, powers in %."""

    name: str
    speed_mm_s: float
    power_pct: float
    passes: int
    usual_speed_mm_s: float
    usual_power_pct: float
    air: str
    keeps_size: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """All that is known. known: whether there is a job at all; without one only what is usual counts."""

    known: bool = False
    stock: str = ""
    coat: str = ""
    machine: str = ""
    fills: tuple[FillFacts, ...] = ()
    paints: tuple[PaintFacts, ...] = ()
    cuts: tuple[CutFacts, ...] = ()
    kerf_mm: float | None = None
    joint: str = ""
    adhesive: str = ""
    bond_verdict: str = ""
    bond_why: str = ""
    masked: bool | None = None
    film_stays_on: bool | None = None
    bleed_mm: float | None = None
    burned_later: bool | None = None
    datum_off_mm: float | None = None
    flaws_noted: int | None = None
    flaws_shown: int | None = None
    sheet_thickness_mm: float | None = None
    stock_thickness_mm: float | None = None
    both_way_offset_mm: float | None = None
    arrives_reversed: bool | None = None
    looks_reversed: bool | None = None
    units_doubtful: bool | None = None
    noted: Noted = field(default_factory=Noted)

    @property
    def paints_meant(self) -> tuple[PaintFacts, ...]:
        """The paint that is at fault where one is named and known, else all of them."""
        wanted = self.noted.paint.casefold()
        named = tuple(paint for paint in self.paints if paint.name.casefold() == wanted)
        return named if wanted else self.paints


def case_without_job(noted: Noted | None = None, paint: Paint | None = None) -> Case:
    """What is known where there is no job: what was noted, and a paint's own figures."""
    paints = () if paint is None else (_paint_facts(paint, (), (), False),)
    return Case(noted=noted or Noted(), paints=paints)


def case_of(plan: Plan, noted: Noted | None = None, painting: PaintPlan | None = None) -> Case:
    """What the job says. painting: its paint plan where it is at hand; worked out where it is not."""
    job = plan.job
    painting = paint_plan(plan) if painting is None else painting
    table = _table(plan, painting)
    codes = {finding.code for finding in (*plan.findings, *plan.drawing.findings)}
    advice = bond_advice(job.finishing.joint, job.finishing.adhesive) if job.finishing.joint else None
    return Case(
        known=True,
        stock=job.stock.name,
        coat=job.stock.coat,
        machine=job.machine.name,
        fills=tuple(
            fill_facts(one.layer.name, one.layer.recipe, job.stock, one.verdict, one.chance)
            for one in plan.layers
            if one.verdict is not None and one.shape_ids
        ),
        paints=tuple(_as_ticked(facts, job.finishing) for facts in _paints(painting, table)),
        cuts=tuple(
            cut_facts(one.layer.name, one.layer.recipe, job.stock, keeps_size=one.layer.keep_size)
            for one in plan.layers
            if one.layer.purpose == "cut" and one.paths
        ),
        kerf_mm=job.stock.kerf_mm,
        joint=job.finishing.joint,
        adhesive=job.finishing.adhesive,
        bond_verdict=advice.verdict if advice else "",
        bond_why=advice.why if advice else "",
        masked=any(step.made_by != "none" for step in painting.steps),
        film_stays_on=job.finishing.masks.film_stays_on,
        bleed_mm=job.finishing.masks.bleed_mm,
        burned_later=painting.burns > 1,
        datum_off_mm=_datum_off_mm(plan, painting),
        flaws_noted=len(job.sheet.flaws),
        flaws_shown=_count(plan.findings, "flaw-shows"),
        sheet_thickness_mm=job.sheet.thickness_mm,
        stock_thickness_mm=job.stock.thickness_mm,
        both_way_offset_mm=job.machine.both_way_offset_mm,
        arrives_reversed=job.reading.arrives_reversed,
        looks_reversed="looks-reversed" in codes,
        units_doubtful=bool(codes & {"units-assumed", "scale-looks-wrong", "no-page-size"}),
        noted=noted or Noted(),
    )


def _count(findings: Iterable[Finding], code: str) -> int:
    return sum(finding.code == code for finding in findings)


def _table(plan: Plan, painting: PaintPlan) -> Timetable | None:
    """None where the job's start is no date: the timetable says so itself."""
    try:
        return job_timetable(plan, painting, stage_burns(plan, painting))
    except TainError:
        return None


def _datum_off_mm(plan: Plan, painting: PaintPlan) -> float | None:
    """None where the datum has no place, or nothing is filled."""
    if plan.datum is None or painting.colouring.filled.is_empty:
        return None
    return datum_play(plan, painting.colouring.filled).off_mm


def fill_facts(name: str, recipe: Recipe, stock: Stock, verdict: FillVerdict, chance: Chance | None) -> FillFacts:
    """What a fill's recipe and verdict say."""
    measured = {figure for figure, origin in stock.figure_origins if origin.kind == "measured"}
    return FillFacts(
        name=name,
        pitch_mm=recipe.pitch_mm,
        cleared_width_mm=verdict.cleared_width_mm,
        peak_dose_j_mm2=verdict.peak_dose_j_mm2,
        frosting_dose_j_mm2=stock.frosting_dose_j_mm2,
        line_dose_j_mm2=verdict.line_peak_dose_j_mm2,
        clearing_dose_j_mm2=stock.clearing_dose_j_mm2,
        focus_mm=recipe.focus_mm,
        compensated=recipe.edges == "compensated",
        measured=bool(measured & {"clearing_dose_j_mm2", "frosting_dose_j_mm2"}),
        chance=chance,
    )


def cut_facts(name: str, recipe: Recipe, stock: Stock, *, keeps_size: bool) -> CutFacts:
    """What a cut's recipe says beside the stock's own."""
    usual = stock.cut or recipe
    return CutFacts(
        name=name,
        speed_mm_s=recipe.speed_mm_s,
        power_pct=recipe.power_pct,
        passes=recipe.passes,
        usual_speed_mm_s=usual.speed_mm_s,
        usual_power_pct=usual.power_pct,
        air=recipe.air,
        keeps_size=keeps_size,
    )


def _paints(painting: PaintPlan, table: Timetable | None) -> tuple[PaintFacts, ...]:
    facts = []
    for place, step in enumerate(painting.steps):
        later = painting.steps[place + 1 :]
        behind = tuple(other.area.paint.name for other in later if shows_through(step.area.paint, other.area.paint))
        masked_after = any(other.made_by != "none" for other in later)
        tasks = () if table is None else tuple(task for task in table.tasks if task.link.step == step.number)
        facts.append(_paint_facts(step.area.paint, tasks, behind, masked_after))
    return tuple(facts)


def _as_ticked(facts: PaintFacts, finishing: Finishing) -> PaintFacts:
    """The facts with what was ticked off."""
    coats = ticked_coats(finishing.ticks, facts.name)
    waits = ticked_waits_min(finishing.ticks, facts.name, coat_min=finishing.workday.coat_min)
    if not coats:
        return facts
    return replace(
        facts,
        ticked_coats=min(map(len, coats)),
        ticked_wait_min=min(waits, default=None),
        ticked_longest_min=max(waits, default=None),
    )


def _paint_facts(
    paint: Paint, tasks: tuple[Task, ...], behind: tuple[str, ...], masked_after: bool
) -> PaintFacts:  # fmt: skip
    waits = _waits_min(tasks)
    return PaintFacts(
        name=paint.name,
        kind=paint.kind,
        light=relative_luminance(paint.colour) > 0.45,
        coats=paint.coats,
        hides_in_coats=paint.hides_in_coats,
        backed=paint.backing_coats > 0,
        can_wait_min=paint.between_coats_min,
        wait_min=min(waits) if waits else None,
        longest_wait_min=max(waits) if waits else None,
        recoat_within_min=paint.recoat_within_min,
        late=any(task.late for task in tasks),
        mask_after_min=paint.mask_after_min,
        cure_h=paint.cure_h,
        wet_film_um=1000 / paint.spreading_rate_m2_l if paint.spreading_rate_m2_l else 0.0,
        weak=is_weak(paint),
        behind=behind,
        masked_after=masked_after,
        known=paint.origin.kind != "starting point",
    )


def _waits_min(tasks: tuple[Task, ...]) -> list[float]:
    """From the end of each coat to the next one on the same piece, min."""
    waits = []
    for piece in sorted({task.piece for task in tasks}):
        coats = [task for task in tasks if task.piece == piece and task.link.kind == "coat"]
        waits += [(after.start - before.end).total_seconds() / 60 for before, after in pairwise(coats)]
    return waits
