"""The one door for jobs and artwork that a command names.

Settings that an exported file brings along and the shop does not have are shown side by side, on the error stream.
"""

import argparse
import sys
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from core.errors import JobError, TainError, UnreadableError
from core.job.job import Job
from core.order.order import Order
from core.output.opening import JOB_SUFFIX, embedded_settings, open_order
from core.shop_book.beginning import begin_job
from core.shop_book.foreign_settings import ForeignSetting, foreign_settings, with_own_settings

WHOSE = ("file", "shop")


def add_settings_argument(parser: argparse.ArgumentParser) -> None:
    """``--settings``."""
    parser.add_argument(
        "--settings",
        choices=WHOSE,
        help="of an exported file: take its machine, stock and recipes without a word, or the shop's; "
        "else the file's are taken and what differs is shown",
    )


def opened_job(path: Path, arguments: argparse.Namespace) -> Job:
    """The job in, or begun by, the file; a shop book that can't be opened is told. Raises UnreadableError."""
    job, problem = begun_job(path, arguments)
    warn_of_book(problem)
    return job


def begun_job(path: Path, arguments: argparse.Namespace) -> tuple[Job, TainError | None]:
    """The same, with the error where the shop book was wanted and could not be opened. Raises UnreadableError."""
    job, problem = begin_job(path)
    return _with_settings(job, path, arguments.settings), problem


def begun_order(path: Path, arguments: argparse.Namespace) -> tuple[Order, TainError | None]:
    """The order in the file, or one begun with the job in it, and the error as above. Raises UnreadableError."""
    order = open_order(path)
    if order != Order(design=order.design):
        return order, None
    design, problem = begun_job(path, arguments)
    return replace(order, design=design), problem


def job_to_keep(path: Path, arguments: argparse.Namespace) -> Job:
    """A job whose settings go into the shop book: foreign ones are taken only where that was said.

    Raises JobError where it was not, once they were shown; UnreadableError.
    """
    job, problem = begin_job(path)
    warn_of_book(problem)
    if arguments.settings is None and (found := _foreign(job, path)):
        _show(path, found, "nothing was kept")
        raise JobError(
            f"{path.name} brings settings that are not the shop's.",
            hint="Keep them with --settings file, or the shop's own with --settings shop.",
        )
    return _with_settings(job, path, arguments.settings)


def photo_paths(paths: Sequence[str]) -> tuple[str, ...]:
    """The paths, once it is known that each is a file. Raises UnreadableError."""
    for path in paths:
        if not Path(path).is_file():
            raise UnreadableError(f"There is no photo {path}.", hint="Check the name and the folder.")
    return tuple(paths)


def warn_of_book(problem: TainError | None) -> None:
    """Say on the error stream that the shop book could not be used."""
    if problem is not None:
        print(f"note: {problem.message} The starting profiles are used.", file=sys.stderr)


def _with_settings(job: Job, path: Path, whose: str | None) -> Job:
    """The job with the settings that are wanted, once what differs was shown."""
    if whose == "file" or not (found := _foreign(job, path)):
        return job
    if whose == "shop":
        return with_own_settings(job)
    _show(path, found, "they are taken (--settings shop: yours)")
    return job


def _foreign(job: Job, path: Path) -> tuple[ForeignSetting, ...]:
    """What an exported file brings that the shop does not have; a book that can't be opened has none, which is told."""
    if path.suffix.lower() == JOB_SUFFIX or job.source is None or embedded_settings(job.source) is None:
        return ()
    try:
        return foreign_settings(job)
    except TainError as error:
        print(f"note: {error.message} Settings were not compared.", file=sys.stderr)
        return ()


def _show(path: Path, found: tuple[ForeignSetting, ...], then: str) -> None:
    print(f"note: {path.name} brings settings that are not the shop's; {then}.", file=sys.stderr)
    for one in found:
        told = f"{one.in_file} in the file, {one.in_book} in the shop"
        print(f"note:   {one.of}, {one.which.lower()}: {told}", file=sys.stderr)
