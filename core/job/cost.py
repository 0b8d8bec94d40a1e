"""What a job costs: its share of the sheet, the machine's minutes, paint, film, handwork; and what to quote."""

import math
from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Literal

import shapely

from core.errors import JobError, UnreadableError
from core.job.burned import cut_away, marked_region
from core.job.plan import Plan
from core.sheet.offcuts import Piece
from core.sheet.remainders import remainders

if TYPE_CHECKING:
    from core.finishing.steps import PaintPlan

What = Literal["sheet", "machine", "paint", "film", "handwork"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rates:
    """What the shop reckons with, in its own currency.

    setup_min: at the machine for each job. sheet_per_m2: for jobs that lie on no piece of the rack. margin_pct: put on
    top for a quote.
    """

    currency: str = ""
    machine_per_h: float = 0.0
    setup_min: float = 0.0
    handwork_per_h: float = 0.0
    sheet_per_m2: float = 0.0
    mask_film_per_m2: float = 0.0
    margin_pct: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CostLine:
    """One part of the cost, and how it came about in words."""

    what: What
    amount: float
    how: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What one run of the job costs: so many copies on one sheet."""

    lines: tuple[CostLine, ...]
    copies: int
    rates: Rates

    @property
    def total(self) -> float:
        """All together, without the margin."""
        return math.fsum(line.amount for line in self.lines)

    @property
    def quote(self) -> float:
        """With the margin."""
        return self.total * (1 + self.rates.margin_pct / 100)


def check_rates(rates: Rates) -> Rates:
    """The same rates. Raises UnreadableError where one of them makes no sense."""
    for field in fields(rates):
        value = getattr(rates, field.name)
        if isinstance(value, float) and not (math.isfinite(value) and value >= 0):
            raise UnreadableError(f"A rate of {value:g} ({field.name}) can't be.", hint="Give 0 or more.")
    return rates


def job_cost(plan: Plan, rates: Rates, *, piece: Piece | None = None, painting: "PaintPlan | None" = None) -> Cost:
    """The cost of one run of a complete plan. piece: what the sheet is cut from, with its price.

    Of a piece the job pays what is not worth keeping afterwards, by area. Paint is reckoned for one run, whatever
    number of pieces is painted together. Raises JobError when the run time is not worked out, UnreadableError.
    """
    check_rates(rates)
    if not plan.complete:
        raise JobError("The run time is not worked out yet.", hint="Wait for it.")
    lines = [_sheet_line(plan, rates, piece), _machine_line(plan, rates)]
    if painting is not None and painting.steps:
        lines += _finishing_lines(plan, rates, painting)
    return Cost(lines=tuple(lines), copies=len(plan.copies_to_front), rates=rates)


def quote_words(cost: Cost) -> str:
    """The quote on one line: each and together, and what it is made up of."""
    currency = f" {cost.rates.currency}" if cost.rates.currency else ""
    whole = f"{cost.quote:.2f}{currency}"
    if cost.copies > 1:
        whole = f"{cost.copies} at {cost.quote / cost.copies:.2f}{currency}, together {whole}"
    parts = ", ".join(f"{line.what} {line.amount:.2f}" for line in cost.lines if line.amount)
    margin = f", {cost.rates.margin_pct:g} % on top" if cost.rates.margin_pct else ""
    return f"{whole}: {parts or 'no rates are set'}{margin}"


def _sheet_line(plan: Plan, rates: Rates, piece: Piece | None) -> CostLine:
    taken = cut_away(plan)
    if piece is not None:
        left = remainders(piece, taken, marked=marked_region(plan))
        whole_mm2 = left.kept_mm2 + left.waste.area + left.taken.area
        used_mm2 = whole_mm2 - left.kept_mm2
        how = f"{used_mm2 / 100:.0f} of {whole_mm2 / 100:.0f} cm² used up"
        return CostLine(what="sheet", amount=piece.price - left.kept_price, how=how)
    used = shapely.union_all([taken, marked_region(plan)])
    box_mm2 = 0.0 if used.is_empty else shapely.box(*used.bounds).area
    how = f"{box_mm2 / 100:.0f} cm², the box round all that is burned"
    return CostLine(what="sheet", amount=rates.sheet_per_m2 * box_mm2 / 1e6, how=how)


def _machine_line(plan: Plan, rates: Rates) -> CostLine:
    minutes = plan.time_s / 60 + rates.setup_min
    how = f"{minutes:.1f} min, {rates.setup_min:g} of them setting up"
    return CostLine(what="machine", amount=rates.machine_per_h * minutes / 60, how=how)


def _finishing_lines(plan: Plan, rates: Rates, painting: "PaintPlan") -> list[CostLine]:
    together = plan.job.finishing.pieces
    paints = [amount for amount in painting.amounts if amount.kind != "film"]
    volume_ml = math.fsum(amount.volume_ml for amount in paints) / together
    price = math.fsum(amount.price for amount in paints) / together
    masks = sum(step.made_by == "knife" for step in painting.steps)
    film_mm2 = math.fsum(amount.area_mm2 for amount in painting.amounts if amount.kind == "film") / together
    film_mm2 += masks * painting.colouring.outline.area
    return [
        CostLine(what="paint", amount=price, how=f"{volume_ml:.1f} ml"),
        CostLine(
            what="film",
            amount=rates.mask_film_per_m2 * film_mm2 / 1e6,
            how=f"{film_mm2 / 100:.0f} cm²" + (f", {masks} mask{'s' * (masks > 1)}" if masks else ""),
        ),
        CostLine(
            what="handwork",
            amount=rates.handwork_per_h * painting.effort_min / 60,
            how=f"{painting.effort_min:.0f} min of masking",
        ),
    ]
