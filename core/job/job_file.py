"""The job file ``.tain``: a zip of ``job.json`` and the artwork's original bytes.

job.json: ``{"tain_job": 1, "artwork": name or null, "job": {...}}``. Older versions are read, newer ones refused.
"""

from dataclasses import replace
from pathlib import Path

from core.atomic import write_atomically
from core.errors import UnreadableError
from core.job.as_data import from_data, to_data
from core.job.job import Job
from core.job.kept_file import Form, kept_bytes, read_kept

VERSION = 1
JOB_FORM = Form(key="job", named="job file", version=VERSION, most_bytes=32 * 1024 * 1024)


def save_job(job: Job, path: Path, *, overwrite: bool = False) -> None:
    """Write the job file wholly or not at all. Raises WriteError."""
    write_atomically(path, job_file_bytes(job), overwrite=overwrite)


def load_job(path: Path) -> Job:
    """Read a job file. Raises UnreadableError, also for one written by a newer version."""
    return job_from_bytes(file_bytes(path), name=path.name)


def file_bytes(path: Path) -> bytes:
    """A file's bytes. Raises UnreadableError, a sentence for the maker."""
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise UnreadableError(f"There is no file {path}.", hint="Check the name and the folder.") from None
    except OSError as error:
        raise UnreadableError(f"{path} can't be opened: {error.strerror or error}.") from None


def job_file_bytes(job: Job) -> bytes:
    """The job as a job file's bytes; the same job always gives the same bytes."""
    return kept_bytes(JOB_FORM, to_data(replace(job, source=None)), job.source)


def job_from_bytes(data: bytes, *, name: str) -> Job:
    """The job in a job file's bytes; ``name`` is for messages. Raises UnreadableError."""
    content, artwork = read_kept(JOB_FORM, data, name=name)
    return replace(from_data(Job, content, what=f"The job in {name}"), source=artwork)
