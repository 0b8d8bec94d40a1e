"""``tain paint``: colours in order, masks, timetable, without a window."""

import argparse
import json
import sys
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from typing import get_args

from app.commands.files_in import add_settings_argument, opened_job
from core.errors import JobError, UnreadableError
from core.figures import said
from core.finishing.calendar_file import calendar_file, piece_words
from core.finishing.explaining import counted
from core.finishing.films import CHLORINE, FILMS
from core.finishing.steps import PaintPlan, PaintStep
from core.finishing.timetable import Timetable, sessions, time_text
from core.job.datum import with_datum
from core.job.job_file import load_job, save_job
from core.job.painting.burning import BurnPlan
from core.job.painting.day import job_timetable, stage_burns
from core.job.painting.decisions import with_step_ticked, with_way
from core.job.painting.offers import way_offers
from core.job.painting.planning import paint_plan
from core.job.painting.report import paint_report
from core.job.painting.stages import stages_of
from core.job.plan import Plan
from core.job.prepare import plan_steps, prepare
from core.output.burn_files import burn_files
from core.output.mask_files import MaskFile, mask_files, write_files
from core.sheet.datum import DatumKind
from core.shop_book.speaking_up import with_cautions_spoken
from core.units import duration_text

SUMMARY = "Which colour first and why, a mask for each, when what is done, how much paint."
EXAMPLES = (
    "tain paint sign.tain -o masks --start 2026-03-02T09:00",
    "tain paint sign.tain --datum pins --burn-later gold,sea -o burns",
    "tain paint sign.tain --order 'black spray,white spray' --pieces 4",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain paint``."""
    parser.add_argument("job", type=Path, metavar="JOB", help="a job (.tain) or artwork; its colours suggest paints")
    parser.add_argument(
        "-o", "--output", type=Path, metavar="DIR", help="write mask files (SVG and DXF) and the timetable (iCalendar)"
    )
    parser.add_argument("--order", metavar="NAME,NAME", help="the colours in an order of your own")
    parser.add_argument("--pieces", type=int, metavar="N", help="how many pieces are finished together")
    parser.add_argument("--start", metavar="2026-03-02T09:00", help="when work begins; a calendar needs it")
    parser.add_argument("--film-stays-on", action="store_true", help="the sheet's film is burned with the coat")
    parser.add_argument(
        "--burn-later", metavar="NAME,NAME", help="colours cleared in a burn of their own, through coat and cured paint"
    )
    parser.add_argument("--datum", choices=get_args(DatumKind), help="what every file is laid by")
    parser.add_argument("--tick", metavar="STEP", help="a step of the job file that is done: 'white: coat 1'")
    parser.add_argument("--piece", type=int, default=1, metavar="N", help="of which piece it is done (%(default)s)")
    parser.add_argument("--at", metavar="2026-03-02T09:18", help="when it was done; now where not given")
    parser.add_argument("--compare", action="store_true", help="hold masks and later burns against each other")
    parser.add_argument("--json", action="store_true", help="print the plan as JSON")
    add_settings_argument(parser)
    parser.add_argument("--force", action="store_true", help="overwrite files that exist")


def run(arguments: argparse.Namespace) -> int:
    """Plan and write. Returns the exit code; raises TainError for the caller to say."""
    plan = with_cautions_spoken(planned(arguments))
    painting = paint_plan(plan)
    if not painting.steps:
        raise JobError("Nothing in this job is painted.", hint="Give a fill a paint, or open artwork with fills.")
    if painting.burns > 1 or bool(plan.datum and plan.datum.places):
        plan = with_cautions_spoken(prepare(plan.job))  # times of lines, too
        painting = paint_plan(plan)
    burning = stage_burns(plan, painting)
    table = job_timetable(plan, painting, burning)
    if arguments.tick:
        _tick(plan, table, arguments)
    offers = way_offers(plan) if arguments.compare else ()
    written: tuple[Path, ...] = ()
    if arguments.output is not None:
        files = _files(plan, painting, table)
        files += burn_files(plan, painting, burning) if burning is not None else ()
        written = write_files(files, arguments.output, overwrite=arguments.force)
    if arguments.json:
        report = paint_report(plan, painting, table, burning=burning, offers=offers)
        print(json.dumps(report, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        print(_summary(plan, painting, table))
        if burning is not None:
            print(_burn_words(plan, painting, burning))
        for offer in offers:
            print(f"{offer.name}: better {'masked' if offer.better == 'mask' else 'burned later'}. {offer.why}")
        print("\n".join(f"wrote {path}" for path in written))
    return 0


def planned(arguments: argparse.Namespace) -> Plan:
    """The plan of the job named, with what the arguments decide about finishing. Raises TainError."""
    job = opened_job(arguments.job, arguments)
    finishing = job.finishing
    if arguments.order:
        finishing = replace(finishing, order=tuple(name.strip() for name in arguments.order.split(",")))
    if arguments.pieces is not None:
        finishing = replace(finishing, pieces=arguments.pieces)
    if arguments.start:
        finishing = replace(finishing, workday=replace(finishing.workday, start=arguments.start))
    if arguments.film_stays_on:
        finishing = replace(finishing, masks=replace(finishing.masks, film_stays_on=True))
    if arguments.datum:
        job = with_datum(job, replace(job.datum, kind=arguments.datum, places=()))
    plan = next(plan_steps(replace(job, finishing=finishing)))
    for name in (arguments.burn_later or "").split(","):
        if name.strip():
            plan = next(plan_steps(with_way(plan, name.strip(), "burn")))
    return plan


def _tick(plan: Plan, table: Timetable, arguments: argparse.Namespace) -> None:
    """The step ticked off in the job file itself. Raises UnreadableError where there is none such."""
    if arguments.job.suffix.lower() != ".tain":
        raise UnreadableError(
            f"{arguments.job.name} is no job file.", hint="Save the job first: tain prepare ... -o JOB.tain."
        )
    labels = {task.label.casefold(): task.label for task in table.tasks if task.piece == arguments.piece}
    label = labels.get(arguments.tick.strip().casefold())
    if label is None:
        raise UnreadableError(f"There is no step “{arguments.tick}”.", hint=f"There is: {'; '.join(labels.values())}.")
    at = arguments.at or datetime.now().isoformat(timespec="seconds")
    save_job(with_step_ticked(load_job(arguments.job), label, arguments.piece, at), arguments.job, overwrite=True)
    print(f"{label}: done {at}", file=sys.stderr)


def _burn_words(plan: Plan, painting: PaintPlan, burning: BurnPlan) -> str:
    """Burns and paints in their order, for people."""
    lines = [plan.datum.words if plan.datum is not None else "", "Burn and paint, in this order:"]
    for stage in stages_of(painting, burning):
        wait = f" (after {stage.wait_h:g} h of cure)" if stage.wait_h else ""
        lines.append(f"  {stage.words}{wait}")
        for layer in stage.burn.layers if stage.burn is not None else ():
            recipe = ", ".join(said(layer.layer.recipe, "fill"))
            lines.append(f"    {layer.layer.name}: {recipe}; {duration_text(layer.time_s)}")
    if len(burning.burns) > 1:
        lines.append(
            f"Put back on its datum a burn lies up to {burning.play.off_mm:.2f} mm off; overlaps make up for it."
        )
    lines += [f"{finding.severity}: {finding.message}" for finding in burning.findings]
    return "\n".join(line for line in lines if line)


def _files(plan: Plan, painting: PaintPlan, table: Timetable) -> list[MaskFile]:
    name = Path(plan.job.source.name).stem if plan.job.source else "job"
    files = [*mask_files(plan, painting, ".svg"), *mask_files(plan, painting, ".dxf")]
    if table.dated:  # a calendar needs a day
        files.append(MaskFile(name="timetable.ics", data=calendar_file(table, name=name)))
    return files


def _summary(plan: Plan, painting: PaintPlan, table: Timetable) -> str:
    """The plan for people."""
    lines = ["Colours, first to last:"]
    lines += [f"  {_step_words(step)}" for step in painting.steps]
    masks = plan.job.finishing.masks
    if any(step.made_by == "knife" for step in painting.steps):
        film = FILMS[masks.film]
        lines.append(f"Film, {masks.film}: {film.laying} {film.edges}")
        lines += [CHLORINE] if masks.cut_by == "laser" else []
    lines += ["Why:", *(f"  {reason}" for reason in painting.reasons)]
    several = plan.job.finishing.pieces > 1
    lines.append("Timetable:")
    for session in sessions(table.tasks):
        pieces = f" ({piece_words(session.pieces)})" if several else ""
        lines.append(f"  {time_text(session.start, dated=table.dated)}  {session.label}{pieces}")
    lines.append(f"  {time_text(table.end, dated=table.dated)}  cured, may be handled")
    lines += [f"  {note}" for note in table.notes]
    lines.append("Paint:")
    for amount in painting.amounts:
        took = f"{amount.area_mm2 / 100:.0f} cm² of film" if amount.kind == "film" else f"{amount.volume_ml:.1f} ml"
        lines.append(f"  {amount.paint}: {amount.coats} coats, {took}")
    remembered = [
        finding for finding in plan.findings if finding.code in ("came-out-wrong-before", "burned-wrong-before")
    ]
    lines += [f"{finding.severity}: {finding.message}" for finding in (*painting.findings, *remembered)]
    return "\n".join(lines)


def _step_words(step: PaintStep) -> str:
    paint = step.area.paint
    words = f"{step.number} {paint.name}: {step.area.region.area:.0f} mm², {paint.coats} coats"
    if step.made_by == "none":
        return f"{words}; no mask"
    if step.made_by == "laser" and step.patches.is_empty:
        return f"{words}; the sheet's own film is the mask"
    figures = step.figures
    what = counted(figures.openings, "opening" if step.made_by == "knife" else "film piece")
    return f"{words}; mask with {what}, {figures.cut_length_mm:.0f} mm to cut, keeps off {', '.join(step.kept_off)}"
