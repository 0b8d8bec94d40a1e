"""A short code that stands on paper and finds the job file again."""

import hashlib
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from core.errors import TainError
from core.job.job import Job
from core.job.job_file import job_file_bytes, load_job

_ALPHABET = "23456789BCDFGHJKLMNPQRSTVWXZ"
"""Without vowels, so that no words come out, and without what is mistaken for another."""


def job_code(job: Job) -> str:
    """Eight letters and digits, "K7QD-2MXB", of all that is decided but the ticks, which are set after printing."""
    digest = hashlib.sha256(job_file_bytes(replace(job, cautions_ticked=frozenset()))).digest()
    number, text = int.from_bytes(digest[:8]), ""
    for _ in range(8):
        number, index = divmod(number, len(_ALPHABET))
        text += _ALPHABET[index]
    return f"{text[:4]}-{text[4:]}"


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
