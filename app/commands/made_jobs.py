"""Jobs that a command makes for another job: worked out and written, all of them or none."""

import argparse
from collections.abc import Sequence
from pathlib import Path

from app.commands.files_in import add_settings_argument, opened_job
from core.atomic import write_atomically
from core.errors import JobError
from core.job.job import Job
from core.job.plan import Plan
from core.job.prepare import plan_steps, prepare
from core.output.export import check_suffix, export_bytes, problems
from core.sheet.stock import Stock
from core.shop_book.store import open_book


def add_job_arguments(parser: argparse.ArgumentParser, *, output: str = "OUT.svg, OUT.dxf or OUT.tain") -> None:
    """The job that something is made for, the stock it is made of, where it is written to."""
    parser.add_argument("job", type=Path, metavar="JOB", help="a job (.tain) or artwork")
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT", help=output)
    parser.add_argument("--stock", metavar="NAME", help="what it is made of; the job's own stock unless named")
    parser.add_argument("--force", action="store_true", help="overwrite files that exist")
    add_settings_argument(parser)
    parser.add_argument("--json", action="store_true", help="print as JSON")


def job_and_stock(arguments: argparse.Namespace) -> tuple[Plan, Stock]:
    """The geometry of the job named, and the stock to make it of. Raises TainError."""
    check_suffix(arguments.output)
    plan = next(plan_steps(opened_job(arguments.job, arguments)))
    if not arguments.stock:
        return plan, plan.job.stock
    with open_book() as book:
        stock: Stock = book.find("stock", arguments.stock).value
    return plan, stock


def write_made(files: Sequence[tuple[Path, Job]], *, force: bool) -> list[Plan]:
    """Each job worked out and written under its name. Raises JobError when one has a problem, WriteError."""
    plans = [prepare(job) for _, job in files]
    for plan in plans:
        if stopping := problems(plan):
            raise JobError(f"Nothing was written: {stopping[0].message}")
    data = [export_bytes(plan, path.suffix.lower()) for plan, (path, _) in zip(plans, files, strict=True)]
    for (path, _), content in zip(files, data, strict=True):
        write_atomically(path, content, overwrite=force)
    return plans
