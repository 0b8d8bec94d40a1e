"""Settings that an exported file brings along and the shop does not have: side by side, on the error stream."""

import argparse
import sys
from pathlib import Path

from core.errors import TainError
from core.job.job import Job
from core.output.opening import JOB_SUFFIX, embedded_settings
from core.shop_book.foreign_settings import foreign_settings, with_own_settings

WHOSE = ("file", "shop")


def add_settings_argument(parser: argparse.ArgumentParser) -> None:
    """``--settings``."""
    parser.add_argument(
        "--settings",
        choices=WHOSE,
        help="of an exported file: take its machine, stock and recipes without a word, or the shop's; "
        "else the file's are taken and what differs is shown",
    )


def with_settings_of(job: Job, path: Path, whose: str | None) -> Job:
    """The job with the settings that are wanted, once what differs was shown. A book that can't be opened has none."""
    if path.suffix.lower() == JOB_SUFFIX or whose == "file" or job.source is None:
        return job
    if embedded_settings(job.source) is None:
        return job
    try:
        found = foreign_settings(job)
        job = with_own_settings(job) if whose == "shop" else job
    except TainError as error:
        print(f"note: {error.message} Settings were not compared.", file=sys.stderr)
        return job
    if found and whose is None:
        print(
            f"note: {path.name} brings settings that are not the shop's; they are taken (--settings shop: yours).",
            file=sys.stderr,
        )
        for one in found:
            told = f"{one.in_file} in the file, {one.in_book} in the shop"
            print(f"note:   {one.of}, {one.which.lower()}: {told}", file=sys.stderr)
    return job
