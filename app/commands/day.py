"""``tain day``: one plan for the day's jobs, which share hands and the machine."""

import argparse
import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from app.commands.files_in import add_settings_argument, opened_job
from core.atomic import write_atomically
from core.errors import UnreadableError
from core.finishing.calendar_file import calendar_file, piece_words
from core.finishing.checks import check_finishing
from core.finishing.timetable import Timetable, sessions, time_text
from core.job.painting.day import DayJob, day_plan
from core.job.painting.report import timetable_data
from core.job.prepare import prepare

SUMMARY = "One plan for the day: several jobs share one pair of hands and one machine."
EXAMPLES = (
    "tain day sign.tain crest.tain --start 2026-03-02T09:00 -o monday.ics",
    "tain day sign.tain --pieces 12 --hands-leave",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain day``."""
    parser.add_argument("jobs", type=Path, nargs="+", metavar="JOB", help="jobs (.tain) or artwork")
    parser.add_argument("--start", metavar="2026-03-02T09:00", help="when work begins; a calendar needs it")
    parser.add_argument("--pieces", type=int, metavar="N", help="how many pieces of each, else as the jobs say")
    parser.add_argument(
        "--hands-leave",
        action="store_true",
        help="hands do other work beside the machine while a first burn runs; later burns are always watched",
    )
    parser.add_argument("-o", "--output", type=Path, metavar="OUT.ics", help="write the plan for a calendar")
    add_settings_argument(parser)
    parser.add_argument("--json", action="store_true", help="print as JSON")
    parser.add_argument("--force", action="store_true", help="overwrite a file that exists")


def run(arguments: argparse.Namespace) -> int:
    """Plan and print. Returns the exit code; raises TainError for the caller to say."""
    if arguments.output is not None and arguments.output.suffix.lower() != ".ics":
        raise UnreadableError(f"{arguments.output.name} is no name for a calendar.", hint="End it in .ics.")
    if arguments.output is not None and not arguments.start:
        raise UnreadableError("A calendar needs a day.", hint="Give --start 2026-03-02T09:00.")
    opened = [opened_job(path, arguments) for path in arguments.jobs]
    day = opened[0].finishing.workday
    day = replace(day, start=arguments.start or day.start, watch_burns=day.watch_burns and not arguments.hands_leave)
    jobs = []
    for name, job in zip(job_names(arguments.jobs), opened, strict=True):
        finishing = replace(job.finishing, workday=day)
        if arguments.pieces is not None:
            finishing = replace(finishing, pieces=arguments.pieces)
        check_finishing(finishing)
        jobs.append(DayJob(name=name, plan=prepare(replace(job, finishing=finishing))))
    table = day_plan(jobs, day)
    if arguments.output is not None:
        data = calendar_file(table, name=arguments.output.stem)
        write_atomically(arguments.output, data, overwrite=arguments.force)
    print(json.dumps(timetable_data(table), ensure_ascii=False, indent=1) if arguments.json else day_words(table))
    if arguments.output is not None and not arguments.json:
        print(f"wrote {arguments.output}")
    return 0


def job_names(paths: Sequence[Path]) -> list[str]:
    """The files' names without ending, numbered where two are the same."""
    names: list[str] = []
    for path in paths:
        same = sum(name == path.stem or name.startswith(f"{path.stem} (") for name in names)
        names.append(f"{path.stem} ({same + 1})" if same else path.stem)
    return names


def day_words(table: Timetable) -> str:
    """The plan for people."""
    several = {job for job, piece in table.rows if piece > 1}
    lines = []
    for session in sessions(table.tasks):
        pieces = f" ({piece_words(session.pieces)})" if session.job in several else ""
        lines.append(f"{time_text(session.start, dated=table.dated)}  {session.label}{pieces}")
    for job in dict.fromkeys(job for job, _ in table.rows):
        end = max(done for (name, _), done in zip(table.rows, table.done, strict=True) if name == job)
        lines.append(f"{time_text(end, dated=table.dated)}  {job}, cured, may be handled")
    return "\n".join([*lines, *table.notes])
