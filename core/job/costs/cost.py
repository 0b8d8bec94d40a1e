"""What a job costs: its share of the sheet, the machine's minutes, paint, film, handwork; and what is not reckoned."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal

import shapely

from core.errors import JobError
from core.job.burned import cut_away, marked_region
from core.job.costs.rates import Rates, check_rates
from core.job.painting.burning import burn_plan
from core.job.plan import Plan
from core.sheet.offcuts import Piece
from core.sheet.remainders import remainders

if TYPE_CHECKING:
    from core.finishing.steps import PaintPlan

What = Literal["sheet", "machine", "paint", "film", "handwork"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """One part of the cost of a run.

    label: for people ("coats", "navy"). once: the part of the amount that an order pays only once, whatever its
    number of runs; each_run: the part for each run, however many parts are on it. The rest grows with the parts.
    how: how it came about, in words. unpriced: what has no price, in words, empty where all is reckoned.
    """

    what: What
    label: str
    amount: float
    how: str
    once: float = 0.0
    each_run: float = 0.0
    unpriced: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What one run of the job costs: so many copies on one sheet."""

    lines: tuple[CostLine, ...]
    copies: int
    rates: Rates

    @property
    def total(self) -> float:
        """All together for one run, without what is put on top."""
        return math.fsum(line.amount for line in self.lines)

    @property
    def quote(self) -> float:
        """With what is put on top: no break, no least charge, no tax, not rounded (see ``core.job.costs.pricing``)."""
        return self.total * (1 + self.rates.margin_pct / 100)

    @property
    def unpriced(self) -> tuple[str, ...]:
        """What the job takes and is not reckoned, in words: paints without a price, rates of 0."""
        return tuple(dict.fromkeys(line.unpriced for line in self.lines if line.unpriced))


def job_cost(plan: Plan, rates: Rates, *, piece: Piece | None = None, painting: "PaintPlan | None" = None) -> Cost:
    """The cost of one run of a complete plan. piece: what the sheet is cut from, with its price.

    Of a piece the job pays what is not worth keeping afterwards, by area. Paint and handwork are for one run,
    whatever number of pieces is painted together. Raises JobError when the run time is not worked out,
    UnreadableError.
    """
    check_rates(rates)
    if not plan.complete:
        raise JobError("The run time is not worked out yet.", hint="Wait for it.")
    painted = painting if painting is not None and painting.steps else None
    run_min = _run_min(plan, painted)
    copies = len(plan.copies_to_front)
    lines: list[CostLine | None] = [
        _sheet_line(plan, rates, piece),
        _machine_line(run_min, rates, burns=painted.burns if painted else 1),
    ]
    if painted is not None:
        lines += _paint_lines(plan, painted)
        lines += _film_lines(rates, painted)
        lines += _bench_lines(plan, rates, painted)
    lines += [
        _hands(rates, "at the machine", run_min * rates.attendance_pct / 100, f"{rates.attendance_pct:g} % of the run"),
        _hands(rates, "cleaning", rates.clean_min * copies, _of_each(rates.clean_min, copies, "part")),
        _hands(rates, "packing", rates.pack_min * copies, _of_each(rates.pack_min, copies, "part")),
    ]
    return Cost(lines=tuple(line for line in lines if line is not None), copies=copies, rates=rates)


def joined(costs: Sequence[Cost]) -> Cost:
    """One cost of several jobs that are one order: what is paid once is paid once. Raises JobError for none."""
    if not costs:
        raise JobError("There is nothing to reckon.", hint="Choose a job.")
    lines: dict[tuple[str, str, str], list[CostLine]] = {}
    for cost in costs:
        for line in cost.lines:
            lines.setdefault((line.what, line.label, line.unpriced), []).append(line)
    return Cost(
        lines=tuple(_joined_line(same) for same in lines.values()),
        copies=sum(cost.copies for cost in costs),
        rates=costs[0].rates,
    )


def _joined_line(same: Sequence[CostLine]) -> CostLine:
    once = max(line.once for line in same)
    how = same[0].how if len(same) == 1 else f"of {len(same)} sheets"
    return replace(
        same[0],
        amount=math.fsum(line.amount - line.once for line in same) + once,
        once=once,
        each_run=math.fsum(line.each_run for line in same),
        how=how,
    )


# --- lines -----------------------------------------------------------------------------------------------------------


def _run_min(plan: Plan, painting: "PaintPlan | None") -> float:
    """Minutes of the machine for one run; where colours are burned later, of all burns."""
    if painting is None or painting.burns < 2:
        return plan.time_s / 60
    fills_s = math.fsum(layer.time_s for layer in plan.layers if layer.layer.purpose == "fill")
    burns = burn_plan(plan, painting).burns
    return (plan.time_s - fills_s + math.fsum(burn.time_range.best_s for burn in burns)) / 60


def _sheet_line(plan: Plan, rates: Rates, piece: Piece | None) -> CostLine:
    taken = cut_away(plan)
    if piece is not None:
        left = remainders(piece, taken, marked=marked_region(plan))
        whole_mm2 = left.kept_mm2 + left.waste.area + left.taken.area
        used_mm2 = whole_mm2 - left.kept_mm2
        how = f"{used_mm2 / 100:.0f} of {whole_mm2 / 100:.0f} cm² used up"
        unpriced = "" if piece.price else "the piece of the rack (no price)"
        return CostLine(what="sheet", label="sheet", amount=piece.price - left.kept_price, how=how, unpriced=unpriced)
    used = shapely.union_all([taken, marked_region(plan)])
    box_mm2 = 0.0 if used.is_empty else shapely.box(*used.bounds).area
    return CostLine(
        what="sheet",
        label="sheet",
        amount=rates.sheet_per_m2 * box_mm2 / 1e6,
        how=f"{box_mm2 / 100:.0f} cm², the box round all that is burned",
        unpriced="sheet (a square metre is 0)" if box_mm2 and not rates.sheet_per_m2 else "",
    )


def _machine_line(run_min: float, rates: Rates, *, burns: int) -> CostLine:
    minutes = run_min + rates.setup_min + rates.load_min
    how = f"{minutes:.1f} min, {rates.setup_min + rates.load_min:g} of them setting up"
    return CostLine(
        what="machine",
        label="machine",
        amount=rates.machine_per_h * minutes / 60,
        once=rates.machine_per_h * rates.setup_min / 60,
        each_run=rates.machine_per_h * rates.load_min / 60,
        how=f"{how}, {burns} burns" if burns > 1 else how,
        unpriced="machine (an hour is 0)" if minutes and not rates.machine_per_h else "",
    )


def _paint_lines(plan: Plan, painting: "PaintPlan") -> list[CostLine]:
    together = plan.job.finishing.pieces
    priced = {paint.name: paint for paint in plan.job.finishing.paints}
    priced |= {step.area.paint.name: step.area.paint for step in painting.steps}
    lines = []
    for name in dict.fromkeys(amount.paint for amount in painting.amounts):
        own = [amount for amount in painting.amounts if amount.paint == name]
        if own[0].kind == "film":
            how = f"{math.fsum(amount.area_mm2 for amount in own) / together / 100:.0f} cm² of film"
        else:
            how = f"{math.fsum(amount.volume_ml for amount in own) / together:.1f} ml"
        why = "no price" if not priced[name].price else ""
        if not why and own[0].kind != "film" and not priced[name].can_ml:
            why = "no size of its can"
        lines.append(
            CostLine(
                what="paint",
                label=name,
                amount=math.fsum(amount.price for amount in own) / together,
                how=how,
                unpriced=f"{name} ({why})" if why else "",
            )
        )
    return lines


def _film_lines(rates: Rates, painting: "PaintPlan") -> list[CostLine]:
    if not painting.film_mm2:
        return []
    masks = sum(step.made_by == "knife" or not step.patches.is_empty for step in painting.steps)
    return [
        CostLine(
            what="film",
            label="mask film",
            amount=rates.mask_film_per_m2 * painting.film_mm2 / 1e6,
            how=f"{painting.film_mm2 / 100:.0f} cm², {masks} mask{'s' * (masks > 1)}",
            unpriced="" if rates.mask_film_per_m2 else "mask film (a square metre is 0)",
        )
    ]


def _bench_lines(plan: Plan, rates: Rates, painting: "PaintPlan") -> list[CostLine | None]:
    """Hands at the paint bench for one run, with the times of the job's working day."""
    from core.job.painting.offers import PUT_BACK_MIN

    day, steps = plan.job.finishing.workday, painting.steps
    paints = {paint.name for paint in plan.job.finishing.paints}
    masks = sum(step.needs_film for step in steps)
    coats = sum(step.area.paint.coats for step in steps)
    coats += sum(step.area.paint.backing_coats for step in steps if step.area.paint.backing in paints)
    peels = sum(step.is_peeled for step in steps)
    weeding_min = math.fsum(step.weeding_min for step in steps)
    again = painting.burns - 1
    return [
        _hands(rates, "weeding", weeding_min, "openings taken out of the film, islands kept"),
        _hands(rates, "laying masks", masks * day.mask_min, _of_each(day.mask_min, masks, "mask")),
        _hands(rates, "coats", coats * day.coat_min, _of_each(day.coat_min, coats, "coat")),
        _hands(rates, "peeling", peels * day.peel_min, _of_each(day.peel_min, peels, "time")),
        _hands(rates, "laying the sheet back", again * PUT_BACK_MIN, _of_each(PUT_BACK_MIN, again, "burn")),
    ]


def _hands(rates: Rates, label: str, minutes: float, how: str) -> CostLine | None:
    """A line of handwork; None where there is nothing to do."""
    if not minutes:
        return None
    return CostLine(
        what="handwork",
        label=label,
        amount=rates.handwork_per_h * minutes / 60,
        how=f"{minutes:.1f} min, {how}",
        unpriced="" if rates.handwork_per_h else "handwork (an hour is 0)",
    )


def _of_each(minutes: float, count: int, word: str) -> str:
    return f"{count} {word}{'s' * (count != 1)} of {minutes:g} min"
