"""What is made to go with a job: stops, a nest, pins, a backing plate, an opening; each a job of its own."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from core.geometry.region import BaseGeometry
from core.job.burned import finished_region
from core.job.job import Job
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.progress import Progress
from core.sheet.stock import Stock
from core.units import length_text

if TYPE_CHECKING:
    from core.sheet.backers import Join
    from core.sheet.play import Play

Kind = Literal["corner stop", "nest", "pins", "backer", "opening"]

USUAL_MM = {
    "arm": 80.0, "width": 20.0, "frame": 15.0, "pin": 4.0, "margin": 5.0, "bridge": 6.0, "inset": 1.0,
}  # fmt: skip
"""Where figures start, in the window and by command; common practice, no source."""
USUAL_CLEARANCE_MM: dict[Kind, float] = {"nest": 0.2, "opening": 0.1, "pins": 0.05}
"""All round a blank, round the piece, and the hole less the pin; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CompanionWish:
    """What is wanted; only the figures of its kind count. Lengths in mm."""

    kind: Kind
    stock: Stock
    arm_mm: float = USUAL_MM["arm"]
    width_mm: float = USUAL_MM["width"]
    clearance_mm: float = USUAL_CLEARANCE_MM["nest"]
    frame_mm: float = USUAL_MM["frame"]
    count: int = 1
    pin_mm: float = USUAL_MM["pin"]
    margin_mm: float = USUAL_MM["margin"]
    join: "Join" = "grow"
    bridge_mm: float = USUAL_MM["bridge"]
    inset_mm: float = USUAL_MM["inset"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Companion:
    """Jobs with their names, what the first comes to (front frame), and what there is to say about it, in mm."""

    jobs: tuple[tuple[str, Job], ...]
    kept: BaseGeometry
    told: str


def companion(plan: Plan, wish: CompanionWish, progress: Progress) -> Companion:
    """The jobs that a wish comes to for the plan's job. Raises JobError, UnreadableError."""
    progress(0.0, "Drawing it")
    jobs, told = _jobs(plan, wish)
    return Companion(jobs=jobs, kept=_kept(jobs[-1][1]), told=told)


def _kept(job: Job) -> BaseGeometry:
    """What is left between a job's cut lines."""
    return finished_region(next(plan_steps(job)).layers)


def _jobs(plan: Plan, wish: CompanionWish) -> tuple[tuple[tuple[str, Job], ...], str]:
    from core.job import jigs
    from core.sheet.backers import backer

    if wish.kind == "corner stop":
        job = jigs.corner_stop_job(plan.job, wish.stock, arm_mm=wish.arm_mm, width_mm=wish.width_mm)
        return (("corner stop", job),), "Fix it to the bed where the sheet's corner meets the stop."
    if wish.kind == "nest":
        job = jigs.nest_job(plan, wish.stock, clearance_mm=wish.clearance_mm, frame_mm=wish.frame_mm, count=wish.count)
        return (("nest", job),), _play_words("Blanks can", plan, jigs.blank_play(plan, wish.clearance_mm))
    if wish.kind == "pins":
        pins, in_sheet, board = jigs.pin_jobs(plan, wish.stock, pin_mm=wish.pin_mm, clearance_mm=wish.clearance_mm)
        return (("pin holes", in_sheet), ("pin board", board)), _play_words("The sheet can", plan, pins.play)
    if wish.kind == "backer":
        plate = backer(
            finished_region(plan.layers),
            margin_mm=wish.margin_mm,
            join=wish.join,
            bridge_mm=wish.bridge_mm,
            line_inset_mm=wish.inset_mm,
        )
        told = f"{plate.bridges} bridges." if plate.bridges else "All of one piece."
        if plate.grown_mm:
            told = f"Gaps are closed up to {length_text(2 * plate.grown_mm)}: all of one piece."
        if plate.unlined:
            told += f" {plate.unlined} parts of the upper piece are too thin to hide a line."
        return (("backer", jigs.backer_job(plan, plate, wish.stock)),), told
    job = jigs.opening_job(plan, wish.stock, clearance_mm=wish.clearance_mm, frame_mm=wish.frame_mm)
    fit = "pressed in" if wish.clearance_mm < 0 else "dropped in"
    told = f"The piece is {fit}. It must keep its drawn size: tick that on Burn."
    return (("opening", job),), told


def _play_words(what_can: str, plan: Plan, play: "Play") -> str:
    """How far off it can lie, and what a second pass would show then."""
    from core.job.jigs import slivers_shown

    off = length_text(play.farthest_mm(finished_region(plan.layers)), places=2)
    if play.turns_freely:
        return f"{what_can} shift by {off} and turn freely: for a second pass take pins or marks."
    shown = slivers_shown(plan, play)
    told = f"{what_can} lie {off} off at most, turned by up to {play.most_turn_deg:.2f}°."
    return f"{told} A second pass leaves slivers of {shown.area_mm2:.1f} mm² then." if shown.area_mm2 else told
