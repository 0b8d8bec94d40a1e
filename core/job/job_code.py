"""A short code that stands on paper and finds the job file again."""

import hashlib
import os
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from core.errors import TainError, UnreadableError
from core.job.job import Job
from core.job.job_file import job_file_bytes, load_job

_ALPHABET = "23456789BCDFGHJKLMNPQRSTVWXZ"
"""Without vowels, so that no words come out, and without what is mistaken for another."""
MOST_LOOKED_THROUGH = 100_000
"""Files and folders that are walked through for job files."""


def job_code(job: Job) -> str:
    """Eight letters and digits, "K7QD-2MXB", of all that is decided but the ticks, which are set after printing."""
    digest = hashlib.sha256(job_file_bytes(replace(job, cautions_ticked=frozenset()))).digest()
    number, text = int.from_bytes(digest[:8]), ""
    for _ in range(8):
        number, index = divmod(number, len(_ALPHABET))
        text += _ALPHABET[index]
    return f"{text[:4]}-{text[4:]}"


def job_files_under(folder: Path) -> tuple[Path, ...]:
    """All job files in the folder and below, sorted; links to folders are not followed.

    Raises UnreadableError where so many files lie there that nobody would wait for the end.
    """
    found: list[Path] = []
    looked_at = 0
    for place, _, names in os.walk(folder):
        looked_at += 1 + len(names)
        if looked_at > MOST_LOOKED_THROUGH:
            raise UnreadableError(
                f"{folder} holds more than {MOST_LOOKED_THROUGH:,} files.",
                hint="Name the folder of the jobs.",
            )
        found += [Path(place, name) for name in names if name.endswith(".tain")]
    return tuple(sorted(found))


def find_job_files(code: str, paths: Iterable[Path]) -> tuple[Path, ...]:
    """Those of the job files that have this code; files that can't be read are passed over."""
    wanted = code.strip().upper().replace(" ", "")
    found = []
    for path in paths:
        try:
            if job_code(load_job(path)) == wanted:
                found.append(path)
        except TainError:
            continue
    return tuple(found)
