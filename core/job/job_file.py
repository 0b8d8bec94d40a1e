"""The job file ``.tain``: a zip of ``job.json`` and the artwork's original bytes.

job.json: ``{"tain_job": 1, "artwork": name or null, "job": {...}}``. Older versions are read, newer ones refused.
"""

from dataclasses import replace
from pathlib import Path

from core.atomic import write_atomically
from core.job.as_data import from_data, to_data
from core.job.job import Job
from core.job.kept_file import Form, kept_bytes, read_kept
from core.plain_file import plain_file_bytes

VERSION = 1
JOB_FORM = Form(key="job", named="job file", version=VERSION, most_bytes=32 * 1024 * 1024)


def save_job(job: Job, path: Path, *, overwrite: bool = False) -> None:
    """Write the job file wholly or not at all. Raises WriteError."""
    write_atomically(path, job_file_bytes(job), overwrite=overwrite)


def load_job(path: Path) -> Job:
    """Read a job file. Raises UnreadableError, also for one written by a newer version."""
    return job_from_bytes(plain_file_bytes(path), name=path.name)


def job_file_bytes(job: Job) -> bytes:
    """The job as a job file's bytes; the same job always gives the same bytes."""
    return kept_bytes(JOB_FORM, to_data(replace(job, source=None)), job.source)


def job_from_bytes(data: bytes, *, name: str) -> Job:
    """The job in a job file's bytes; ``name`` is for messages. Raises UnreadableError."""
    content, artwork = read_kept(JOB_FORM, data, name=name)
    return replace(from_data(Job, content, what=f"The job in {name}"), source=artwork)
