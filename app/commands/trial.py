"""``tain trial``: the scrap that settles why a piece came out wrong: planned by lot, worked through, read."""

import argparse
import json
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path
from typing import Any

from app.commands.actions import Action, add_actions, run_action
from app.commands.coupon import machine_named
from app.commands.files_in import add_settings_argument, opened_job
from core.errors import UnreadableError
from core.findings import Finding
from core.finishing.paints import Paint, Workday
from core.finishing.timetable import start_of, time_text
from core.job.as_data import to_data
from core.job.painting.colouring import paints_of_shapes
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.output.mask_files import write_files
from core.sheet.offcuts import piece_region
from core.sheet.remainders import usable_rectangles
from core.shop_book.profiles import known_paints
from core.shop_book.rack import piece_named
from core.shop_book.store import ShopBook
from core.shop_book.trials_kept import KIND, KeptTrial, keep_trial, marked, ticked
from core.trouble.faults import fault_named
from core.trouble.trials.factors import BURNED, Factor, factor_from, worse_from
from core.trouble.trials.files import trial_files
from core.trouble.trials.planning import USUAL_REPEATS, Ask, ask_of_job, extended_trial, planned_trial, told_before
from core.trouble.trials.reading import FactorReading, read_trial
from core.trouble.trials.scales import SCALES, scale_named, scale_of
from core.trouble.trials.steps import steps_of
from core.trouble.trials.trial import Trial, load_trial
from core.units import parse_sheet_size_mm

SUMMARY = "The scrap that settles it: plan a trial of one or two factors by lot, tick its steps, read it, list trials."
EXAMPLES = (
    "tain trial plan sign.tain --seen cracked --paint white --factor wait_min=10,60 --repeats 4 -o trial",
    "tain trial read K3F7Q A1=0 A2=4 B1=0 --json",
    "tain trial tick K3F7Q 'A1 coat 1'",
)
TAKE_BACK = "-"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The sub-commands of ``tain trial`` and their arguments."""
    add_actions(parser, ACTIONS)


def run(arguments: argparse.Namespace) -> int:
    """Do the action. Returns the exit code; raises TainError for the caller to say."""
    return run_action(arguments, ACTIONS)


# --- planning --------------------------------------------------------------------------------------------------------


def _add_plan(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("job", type=Path, nargs="?", metavar="JOB", help="the job that came out wrong")
    parser.add_argument("--paint", default="", metavar="NAME", help="the paint: the job's, or the shop's without a job")
    parser.add_argument("--bare", action="store_true", help="judge bared patches, no paint")
    parser.add_argument(
        "--factor", action="append", required=True, metavar="NAME=LEVEL,LEVEL", help="one or two of them"
    )
    parser.add_argument("--seen", default="", metavar="FAULT", help="what is looked for, as in tain trouble --list")
    parser.add_argument("--expect", action="append", default=[], metavar="NAME=low|high|either",
                        help="which end is expected to come out worse; fixed before")  # fmt: skip
    parser.add_argument(
        "--repeats", type=int, default=USUAL_REPEATS, metavar="N", help="how many times all of it (%(default)s)"
    )
    parser.add_argument("--fit", default="120x80", metavar="120x80", help="size of the offcut (%(default)s)")
    parser.add_argument(
        "--piece", metavar="NAME", help="a piece of the rack: the largest rectangle in it is the offcut"
    )
    parser.add_argument("--seed", type=int, default=None, metavar="N", help="of the lot; drawn where it is not given")
    parser.add_argument("--scale", metavar="NAME", help=f"how patches are judged: {', '.join(SCALES)}")
    parser.add_argument("--limit", type=int, metavar="GRADE", help="from which grade on a patch counts as faulty")
    parser.add_argument("--stock", default="mirrored acrylic 3 mm", metavar="NAME", help="without a job")
    parser.add_argument("--machine", metavar="NAME", help="without a job")
    parser.add_argument("--start", default="", metavar="2026-03-02T09:00", help="when work begins; a calendar needs it")
    _add_output(parser)


def _add_output(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="FOLDER", help="where its files go")
    parser.add_argument("--json", action="store_true", help="print the trial as JSON")
    add_settings_argument(parser)
    parser.add_argument("--force", action="store_true", help="overwrite files that exist")


def _plan(book: ShopBook, arguments: argparse.Namespace) -> int:
    fault = fault_named(arguments.seen).code if arguments.seen else ""
    sides = dict(worse_from(text) for text in arguments.expect)
    factors = tuple(factor_from(text, fault) for text in arguments.factor)
    factors = tuple(_expected(factor, sides) for factor in factors)
    width_mm, height_mm = _size_mm(book, arguments)
    bare = all(factor.name in BURNED for factor in factors) and (
        arguments.bare or not (arguments.job or arguments.paint)
    )
    start_of(Workday(start=arguments.start))  # refused before anything is laid out
    scale = scale_named(arguments.scale) if arguments.scale else scale_of(fault, bare=bare)
    most = 1 if scale.name == "fill" else len(scale.grades) - 1  # looks of a fill have no order
    if arguments.limit is not None and not 1 <= arguments.limit <= most:
        raise UnreadableError(f"{arguments.limit} is no limit on that scale.", hint=f"Give 1 to {most}.")
    trial = planned_trial(
        replace(
            _asked(book, arguments),
            fault=fault,
            factors=factors,
            repeats=arguments.repeats,
            seed=_seed() if arguments.seed is None else arguments.seed,
            scale=scale,
            limit=arguments.limit,
            size_mm=(width_mm, height_mm),
            made=date.today().isoformat(),
        )
    )
    return _write(book, arguments, trial, 1)


def _size_mm(book: ShopBook, arguments: argparse.Namespace) -> tuple[float, float]:
    """Of the offcut: as typed, or the largest rectangle of a piece on the rack. Raises UnreadableError."""
    if not arguments.piece:
        width_mm, height_mm, _ = parse_sheet_size_mm(arguments.fit)
        return width_mm, height_mm
    entry = piece_named(book, arguments.piece)
    rectangles = usable_rectangles(piece_region(entry.value))
    if not rectangles:
        raise UnreadableError(f"{entry.name} has no rectangle large enough.", hint="Take another piece.")
    x0, y0, x1, y1 = rectangles[0]
    return x1 - x0, y1 - y0


def _expected(factor: Factor, sides: dict[Any, Any]) -> Factor:
    """The factor with its direction as expected by the maker. Raises UnreadableError where it has no order."""
    if factor.name not in sides:
        return factor
    if not factor.ordered and sides[factor.name] != "either":
        raise UnreadableError(f"{factor.kind.words} has no order.", hint="Leave --expect out for it.")
    return replace(factor, worse=sides[factor.name])


def _seed() -> int:
    """A seed by lot, short enough to be written down."""
    return int(datetime.now().timestamp() * 1000) % 100_000


def _asked(book: ShopBook, arguments: argparse.Namespace) -> Ask:
    """Stock, machine, paint and recipe: the job's, or the shop's."""
    if arguments.job is None:
        stock, machine = book.find("stock", arguments.stock).value, machine_named(book, arguments.machine)
        paint = None if arguments.bare or not arguments.paint else _paint_of(known_paints(), arguments.paint)
        workday = Workday(start=arguments.start)
        return Ask(fault="", factors=(), stock=stock, machine=machine, paint=paint, workday=workday,
                   read_from="back" if paint else "front")  # fmt: skip
    job = opened_job(arguments.job, arguments)
    plan = next(plan_steps(job))
    paint = None if arguments.bare else _paint_in(plan, arguments.paint)
    return ask_of_job(job, plan, paint, start=arguments.start)


def _paint_in(plan: Plan, name: str) -> Paint | None:
    paints = paints_of_shapes(plan)[1]
    if name:
        return _paint_of(paints or known_paints(), name)
    if len(paints) > 1:
        names = ", ".join(paint.name for paint in paints)
        raise UnreadableError("This job has several paints.", hint=f"Say --paint with one of: {names}; or --bare.")
    return paints[0] if paints else None


def _paint_of(paints: tuple[Paint, ...], name: str) -> Paint:
    for paint in paints:
        if paint.name.casefold() == name.strip().casefold():
            return paint
    raise UnreadableError(f"There is no paint “{name}”.", hint=f"There are: {'; '.join(one.name for one in paints)}.")


def _add_more(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("code", metavar="ID", help="the trial's code, or its document")
    parser.add_argument("--repeats", type=int, default=2, metavar="N", help="how many more times (%(default)s)")
    parser.add_argument("--fit", default="120x80", metavar="120x80", help="size of the further offcut (%(default)s)")
    _add_output(parser)


def _more(book: ShopBook, arguments: argparse.Namespace) -> int:
    trial = _trial_of(book, arguments.code)
    width_mm, height_mm, _ = parse_sheet_size_mm(arguments.fit)
    more = extended_trial(trial, repeats=arguments.repeats, size_mm=(width_mm, height_mm))
    return _write(book, arguments, more, len(more.sizes_mm))


def _trial_of(book: ShopBook, text: str) -> Trial:
    """The trial of that code, or of that document: one that the book does not have yet is kept in it.

    Where the book has it, the book's state counts. Raises UnreadableError.
    """
    if not text.lower().endswith(".json"):
        found: Trial = book.find(KIND, text).value
        return found
    trial = load_trial(Path(text))
    known: dict[str, Trial] = {one.code: one for one in book.values(KIND)}
    if trial.code not in known:
        keep_trial(book, trial)
    return known.get(trial.code, trial)


def _write(book: ShopBook, arguments: argparse.Namespace, trial: Trial, piece: int) -> int:
    plan, files = trial_files(trial, piece)
    written = write_files(files, arguments.output, overwrite=arguments.force)
    keep_trial(book, trial)
    told = told_before(trial)
    if arguments.json:
        data = {**to_data(trial), "findings": _findings_data(told), "files": [str(path) for path in written]}
        print(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))
        return 0
    print(f"Trial {trial.code}, {trial.about}: {len(trial.patches)} patches, seed {trial.seed}")
    print("\n".join(f"{finding.severity}: {finding.message}" for finding in told))
    print("\n".join(_step_lines(trial)))
    print("Before it is burned:")
    print("\n".join(f"  [ ] {caution.message}" for caution in plan.cautions))
    print("\n".join(f"wrote {path}" for path in written))
    print(f"Afterwards: tain trial read {trial.code} {trial.patches[0].label}=GRADE ...")
    return 0


def _step_lines(trial: Trial) -> list[str]:
    dated, done = bool(trial.workday.start), {tick.key for tick in trial.ticks}
    lines = []
    for step in steps_of(trial):
        wait = f" ({'exactly' if step.exact else 'at least'} {step.wait_min:g} min after)" if step.wait_min else ""
        box = "[x]" if step.key in done else "[ ]"
        lines.append(f"  {box} {time_text(step.start, dated=dated)}  {step.key}: {step.words}{wait}")
    return lines


# --- reading ---------------------------------------------------------------------------------------------------------


def _add_read(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("code", metavar="ID", help="the trial's code, or its document")
    parser.add_argument("results", nargs="*", metavar="PATCH=RESULT", help=f"a grade each; {TAKE_BACK} takes it back")
    parser.add_argument("--json", action="store_true", help="print what it says as JSON")


def _read(book: ShopBook, arguments: argparse.Namespace) -> int:
    trial = _trial_of(book, arguments.code)
    grades = []
    for text in arguments.results:
        label, equals, grade = text.partition("=")
        if not equals:
            raise UnreadableError(f"“{text}” is no result.", hint="Write PATCH=RESULT, like A1=0 or A1=bad.")
        wanted = None if grade.strip() == TAKE_BACK else SCALES[trial.scale].grade_from(grade)
        grades.append((label, wanted))
    kept = marked(book, trial.code, tuple(grades))
    if arguments.json:
        print(json.dumps(_reading_data(kept), ensure_ascii=False, indent=1, allow_nan=False))
        return 0
    reading = kept.reading
    print(f"Trial {reading.trial.code}, {reading.trial.about}:")
    print("\n".join(f"  {factor.words} ({factor.test})" for factor in reading.factors))
    print("\n".join(f"{finding.severity}: {finding.message}" for finding in reading.findings))
    for caution in kept.cautions:
        print(f"remembered with {caution.thing}: {caution.words}")
    if kept.learned:
        print(f"learned doses: {', '.join(kept.learned)}")
    if kept.not_learned:
        print(f"note: no dose was learned: {kept.not_learned}")
    return 0


def _reading_data(kept: KeptTrial) -> dict[str, Any]:
    reading = kept.reading
    return {
        "trial": reading.trial.code,
        "about": reading.trial.about,
        "complete": reading.complete,
        "unread": list(reading.unread),
        "contradicted": list(reading.contradicted),
        "factors": [_factor_data(one) for one in reading.factors],
        "findings": _findings_data(reading.findings),
        "cautions": [to_data(one) for one in kept.cautions],
        "learned": list(kept.learned),
        "not_learned": kept.not_learned,
    }


def _factor_data(one: FactorReading) -> dict[str, Any]:
    return {
        "factor": one.factor.name,
        "expected_worse": one.factor.worse,
        "levels": [to_data(count) for count in one.counts],
        "test": one.test,
        "p": one.p,
        "found": one.found,
        "worst": one.worst,
        "more_patches": one.more_patches,
        "words": one.words,
    }


def _findings_data(findings: tuple[Finding, ...]) -> list[dict[str, str]]:
    return [{"code": one.code, "severity": one.severity, "message": one.message} for one in findings]


# --- ticking and looking ---------------------------------------------------------------------------------------------


def _add_tick(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("code", metavar="ID", help="the trial's code, or its document")
    parser.add_argument("step", metavar="STEP", help="the step's key, as its list has it: 'A1 coat 2'")
    parser.add_argument("--at", metavar="2026-03-02T09:18", help="when it was done; now where not given")
    parser.add_argument("--undo", action="store_true", help="take the tick back")


def _tick(book: ShopBook, arguments: argparse.Namespace) -> int:
    at = arguments.at or datetime.now().isoformat(timespec="seconds")
    try:
        datetime.fromisoformat(at)
    except ValueError:
        raise UnreadableError(f"“{at}” is no date and time.", hint="Write it like 2026-03-02T09:18.") from None
    code = _trial_of(book, arguments.code).code
    trial = ticked(book, code, arguments.step, at=None if arguments.undo else at)
    print("\n".join(_step_lines(trial)))
    return 0


def _add_list(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true")


def _list(book: ShopBook, arguments: argparse.Namespace) -> int:
    trials: tuple[Trial, ...] = book.values(KIND)
    trials = tuple(sorted(trials, key=lambda one: (one.made, one.code)))
    if arguments.json:
        rows = [
            {"trial": one.code, "made": one.made, "about": one.about, "patches": len(one.patches),
             "read": len(one.grades()), "found": _found(one)}
            for one in trials
        ]  # fmt: skip
        print(json.dumps({"trials": rows}, ensure_ascii=False, allow_nan=False))
        return 0
    for one in trials:
        found = f"; found: {', '.join(_found(one))}" if _found(one) else ""
        read = f"{len(one.grades())} of {len(one.patches)} patches read"
        print(f"{one.code}  {one.made}  {one.about}: {read}{found}")
    if not trials:
        print("No trial is kept: tain trial plan ... -o FOLDER")
    return 0


def _found(trial: Trial) -> list[str]:
    return [one.factor.name for one in read_trial(trial).factors if one.found]


ACTIONS = {
    "plan": Action("Plan a trial and write its files.", _add_plan, _plan),
    "more": Action("Add repeats on another offcut.", _add_more, _more),
    "read": Action("Mark patches and say what they tell.", _add_read, _read),
    "tick": Action("Tick a step off.", _add_tick, _tick),
    "list": Action("The shop's trials.", _add_list, _list),
}
