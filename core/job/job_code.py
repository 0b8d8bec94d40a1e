"""A short code that stands on paper and finds the job file again."""

import base64
import hashlib
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from core.errors import TainError
from core.job.job import Job
from core.job.job_file import job_file_bytes, load_job


def job_code(job: Job) -> str:
    """Eight letters and digits, "K7QD-2MXA", of all that is decided but the ticks, which are set after printing."""
    digest = hashlib.sha256(job_file_bytes(replace(job, cautions_ticked=frozenset()))).digest()
    text = base64.b32encode(digest).decode()[:8]
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
