"""A job begun from a file, with what the shop book has learned."""

from pathlib import Path

from core.burning.machines import STARTING_MACHINES, Machine
from core.errors import TainError
from core.job.job import Job, new_job
from core.output.opening import open_job
from core.sheet.stock import STARTING_STOCKS, Stock
from core.shop_book.profiles import known_machines, known_stocks, with_known_profiles


def begin_job(path: Path) -> tuple[Job, TainError | None]:
    """The job in, or begun by, the file; a new one with machine and stock as the shop book has them.

    A job that was saved or exported keeps its own. Where the book can't be opened the starting profiles stand, and
    the error comes along. Raises UnreadableError when the file can't be read.
    """
    job = open_job(path)
    if job != new_job(job.source):
        return job, None
    try:
        return with_known_profiles(job), None
    except TainError as error:
        return job, error


def offered_profiles() -> tuple[tuple[Machine, ...], tuple[Stock, ...], TainError | None]:
    """Machines and stocks to choose from; the starting ones, with the error, where the book can't be opened."""
    try:
        return known_machines(), known_stocks(), None
    except TainError as error:
        return STARTING_MACHINES, STARTING_STOCKS, error
