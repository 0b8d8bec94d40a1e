"""Places to choose from: least of the flaws shown, the quickest run, most of the sheet left."""

from dataclasses import dataclass, replace
from typing import Literal, get_args

from core.burning.run_time import TimeRange
from core.job.fitting import job_footprint
from core.job.on_bed import placing_options
from core.job.place_told import PlaceTold, told_of_place
from core.job.plan import Plan
from core.job.turned_time import quickest_angles, time_if_at
from core.progress import Progress, part, silent
from core.sheet.ground import Placed, PlacingOptions
from core.sheet.placing import place

Aim = Literal["least flaws", "quickest", "least sheet"]
AIMS: tuple[Aim, ...] = get_args(Aim)


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One place, what it is best at, and what it does to the run time. longer_share: against how the job lies now."""

    aims: tuple[Aim, ...]
    placed: Placed
    time: TimeRange
    longer_share: float
    told: PlaceTold

    @property
    def time_words(self) -> str:
        """``"38 % longer"``, ``"as long as now"``."""
        if abs(self.longer_share) < 0.005:
            return "as long as now"
        return f"{abs(self.longer_share) * 100:.0f} % {'longer' if self.longer_share > 0 else 'shorter'}"


def options_for(plan: Plan, options: PlacingOptions, aim: Aim) -> PlacingOptions:
    """The same search with that aim."""
    if aim == "quickest":
        return replace(options, angles_deg=quickest_angles(plan, options.angles_deg))
    return replace(options, least_sheet=aim == "least sheet")


def place_offers(
    plan: Plan, options: PlacingOptions | None = None, *, progress: Progress = silent
) -> tuple[Offer, ...]:
    """The best place for each aim on the job's own sheet; what is best at several comes once.

    Raises NoRoomError, JobError, Cancelled.
    """
    options = options or placing_options(plan.job)
    footprint, job = job_footprint(plan), plan.job
    now_s = time_if_at(plan, job.placement.rotation_deg).best_s
    found: dict[Placed, list[Aim]] = {}
    for number, aim in enumerate(AIMS):
        share = part(progress, number / len(AIMS), (number + 1) / len(AIMS))
        searched = options_for(plan, options, aim)
        placed = place(footprint, job.sheet, searched, has_coat=bool(job.stock.coat), progress=share)
        found.setdefault(placed, []).append(aim)
    offers = []
    for placed, aims in found.items():
        time = time_if_at(plan, placed.rotation_deg)
        offers.append(
            Offer(
                aims=tuple(aims),
                placed=placed,
                time=time,
                longer_share=time.best_s / now_s - 1 if now_s else 0.0,
                told=told_of_place(footprint, placed),
            )
        )
    return tuple(offers)
