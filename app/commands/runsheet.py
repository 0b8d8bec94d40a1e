"""``tain runsheet``: the page that goes to the machine and the paint bench."""

import argparse
from pathlib import Path

from app.commands.files_in import add_settings_argument, opened_job
from core.atomic import write_atomically
from core.errors import JobError, UnreadableError
from core.finishing.steps import PaintPlan
from core.job.job_code import find_job_files, job_code, job_files_under
from core.job.painting.day import job_timetable, stage_burns
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.job.prepare import prepare
from core.output.export import proof_of
from core.output.run_sheet.beside import Beside, handed_files
from core.output.run_sheet.writing import run_sheet
from core.shop_book.rack import piece_of_job
from core.shop_book.store import open_book

SUMMARY = "One PDF: faces, settings, cautions, masks, timetable; or the job file that a printed code names."
EXAMPLES = (
    "tain runsheet sign.tain -o sheet.pdf",
    "tain runsheet jobs --find K7QD-2MXB",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain runsheet``."""
    parser.add_argument("job", type=Path, metavar="JOB", help="a job (.tain) or artwork; with --find, a folder")
    parser.add_argument("-o", "--output", type=Path, metavar="OUT.pdf", help="the file to write")
    parser.add_argument("--find", metavar="CODE", help="name the job files in folder JOB that have this code")
    add_settings_argument(parser)
    parser.add_argument("--force", action="store_true", help="overwrite a file that exists")


def run(arguments: argparse.Namespace) -> int:
    """Write the run sheet, or find a job. Returns the exit code; raises TainError for the caller to say."""
    if arguments.find:
        return _find(arguments.find, arguments.job)
    if arguments.output is None:
        raise UnreadableError("Nothing says where to write.", hint="Give -o OUT.pdf.")
    if arguments.output.suffix.lower() != ".pdf":
        raise UnreadableError(f"{arguments.output.name} is no name for a PDF.", hint="End it in .pdf.")
    plan = prepare(opened_job(arguments.job, arguments))
    painting = paint_plan(plan)
    table = job_timetable(plan, painting, stage_burns(plan, painting))
    data = run_sheet(plan, painting, table, read_back=proof_of(plan), beside=_beside(plan, painting))
    write_atomically(arguments.output, data, overwrite=arguments.force)
    print(f"wrote {arguments.output}, code {job_code(plan.job)}")
    return 0


def _beside(plan: Plan, painting: PaintPlan) -> Beside:
    """The piece as the shop book has it now, and the files that go along."""
    files = handed_files(plan, painting)
    if not plan.job.piece_id:
        return Beside(files=files)
    with open_book() as book:
        entry = piece_of_job(book, plan.job.piece_id)
    return Beside(label=entry.name, piece=entry.value, files=files)


def _find(code: str, folder: Path) -> int:
    if not folder.is_dir():
        raise UnreadableError(f"{folder} is no folder.", hint="Name the folder that holds the job files.")
    found = find_job_files(code, job_files_under(folder))
    if not found:
        raise JobError(f"No job file under {folder} has the code {code}.", hint="Look in another folder.")
    print("\n".join(map(str, found)))
    return 0
