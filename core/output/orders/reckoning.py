"""What an order takes, sheet by sheet and together: coverage, run time, paint, cost."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from core.burning.run_time import NO_TIME, TimeRange
from core.finishing.amounts import Amount
from core.job.costs.cost import Cost, job_cost, joined
from core.job.costs.rates import Rates
from core.job.painting.planning import paint_plan
from core.order.working_out import WorkedOrder, WorkedSheet
from core.progress import Progress, silent
from core.sheet.offcuts import Piece


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """What one sheet takes, or all of them.

    fill_mm2: of all fills; left_over_mm2: coat that stays within them; spill_mm2: coat removed outside them.
    """

    name: str
    parts: int
    time: TimeRange
    fill_mm2: float
    left_over_mm2: float
    spill_mm2: float
    paints: tuple[Amount, ...]
    cost: Cost

    @property
    def left_over_pct(self) -> float:
        """Coat that stays, per cent of the fills; 0 where nothing is filled."""
        return 100 * self.left_over_mm2 / self.fill_mm2 if self.fill_mm2 else 0.0

    @property
    def paint_words(self) -> str:
        """Paints with their amounts, empty where nothing is painted."""
        return ", ".join(
            f"{one.paint} {one.volume_ml:.1f} ml" if one.kind != "film" else f"{one.paint} {one.area_mm2 / 100:.0f} cm²"
            for one in self.paints
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Reckoned:
    """Each sheet in order, and all together."""

    sheets: tuple[Taken, ...]
    whole: Taken


def reckoned(
    worked: WorkedOrder, rates: Rates, pieces: Mapping[str, Piece], *, progress: Progress = silent
) -> Reckoned:
    """What the order takes; a sheet's parts count as its copies. pieces: of the rack, by id. Raises Cancelled."""
    sheets = []
    for at, sheet in enumerate(worked.sheets):
        progress(at / len(worked.sheets), f"reckoning {sheet.name}")
        sheets.append(_of_sheet(sheet, rates, pieces))
    return Reckoned(sheets=tuple(sheets), whole=_together(sheets))


def _of_sheet(sheet: WorkedSheet, rates: Rates, pieces: Mapping[str, Piece]) -> Taken:
    painting = paint_plan(sheet.plan)
    cost = job_cost(sheet.plan, rates, piece=pieces.get(sheet.laid.piece_id), painting=painting)
    fills = [layer.coverage for layer in sheet.plan.layers if layer.coverage is not None]
    return Taken(
        name=sheet.name,
        parts=len(sheet.laid.places),
        time=sheet.plan.time_range,
        fill_mm2=math.fsum(one.region_mm2 for one in fills),
        left_over_mm2=math.fsum(one.left_over_mm2 for one in fills),
        spill_mm2=math.fsum(one.spill_mm2 for one in fills),
        paints=painting.amounts if painting.steps else (),
        cost=replace(cost, copies=len(sheet.laid.places)),
    )


def _together(sheets: Sequence[Taken]) -> Taken:
    paints: dict[tuple[str, str], list[Amount]] = {}
    for sheet in sheets:
        for one in sheet.paints:
            paints.setdefault((one.paint, one.kind), []).append(one)
    return Taken(
        name="all",
        parts=sum(one.parts for one in sheets),
        time=sum((one.time for one in sheets), NO_TIME),
        fill_mm2=math.fsum(one.fill_mm2 for one in sheets),
        left_over_mm2=math.fsum(one.left_over_mm2 for one in sheets),
        spill_mm2=math.fsum(one.spill_mm2 for one in sheets),
        paints=tuple(_sum(same) for same in paints.values()),
        cost=joined([one.cost for one in sheets]),
    )


def _sum(same: Sequence[Amount]) -> Amount:
    cans = math.fsum(one.cans for one in same)
    return replace(
        same[0],
        area_mm2=math.fsum(one.area_mm2 for one in same),
        volume_ml=math.fsum(one.volume_ml for one in same),
        cans=cans,
        to_buy=math.ceil(cans - 1e-9),
        price=math.fsum(one.price for one in same),
    )
