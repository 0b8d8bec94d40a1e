"""Jobs that were burned: kept with what was foreseen and what came of it; machines learn their row times from them."""

import json
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass

from core.burning.run_time_fit import RunTimeFit, TimedJob, fit_run_time
from core.errors import UnreadableError
from core.job.plan import Plan
from core.job.timing import timed_job, with_run_time
from core.output.settings_document import settings_document
from core.shop_book.entries import Entry
from core.shop_book.kinds import JobDone
from core.shop_book.store import ShopBook, book_path, open_book

NEWEST_TIMED = 500
"""More jobs hardly narrow a fit, and a machine's older ones were run with older belts."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Calibration:
    """A machine of the book, the jobs timed on it, and what they tell."""

    machine: Entry
    timings: tuple[TimedJob, ...]
    fit: RunTimeFit


def job_done(
    plan: Plan,
    *,
    name: str,
    done: str,
    actual_s: float | None = None,
    verdict: str = "",
    note: str = "",
    photos: Sequence[str] = (),
) -> JobDone:
    """A complete plan as a job that was burned on the ISO date ``done``; actual_s where it was timed."""
    return JobDone(
        done=done,
        stock=plan.job.stock.name,
        machine=plan.job.machine.name,
        predicted_s=plan.time_s,
        actual_s=actual_s,
        verdict=verdict,
        note=note,
        settings=json.dumps(settings_document(plan), ensure_ascii=False, allow_nan=False),
        timing=timed_job(plan, actual_s=actual_s, name=name) if actual_s else None,
        photos=tuple(photos),
    )


def timings_by_machine(book: ShopBook) -> dict[str, tuple[TimedJob, ...]]:
    """The newest timed jobs of the book, by name of the machine."""
    found = book.timed_jobs(most=NEWEST_TIMED)
    return {machine: tuple(job.timing for job in jobs) for machine, jobs in found.items()}


def known_fits() -> dict[str, RunTimeFit]:
    """The run-time fits of all machines with two or more timed jobs, by name. Never makes a book.

    Raises UnreadableError or WriteError when there is a book that can't be opened.
    """
    if not book_path().exists():
        return {}
    with open_book() as book:
        found = timings_by_machine(book)
    fits = {}
    for machine, timings in found.items():
        with suppress(UnreadableError):  # too few, or without rows: nothing is known of this machine
            fits[machine] = fit_run_time(timings)
    return fits


def calibration(book: ShopBook, machine: str) -> Calibration:
    """What the timed jobs tell of the machine of that name. Raises UnreadableError for fewer than two."""
    entry = book.find("machine", machine)
    timings = timings_by_machine(book).get(entry.name, ())
    return Calibration(machine=entry, timings=timings, fit=fit_run_time(timings))


def keep_calibration(book: ShopBook, machine: str, *, date: str) -> Calibration:
    """Let the machine have the fitted figures, each with where it came from. Raises as above, or WriteError."""
    with book.writing():
        found = calibration(book, machine)
        value = with_run_time(found.machine.value, found.fit, date=date)
        book.change(found.machine.uuid, value, note=f"{len(found.timings)} timed jobs")
    return found
