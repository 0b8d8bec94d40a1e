"""The job file ``.tain``: a zip of ``job.json`` and the artwork's original bytes.

job.json: ``{"tain_job": 1, "artwork": name or null, "job": {...}}``. Older versions are read, newer ones refused.
"""

import io
import json
import zipfile
import zlib
from dataclasses import replace
from pathlib import Path
from typing import Any

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import MAX_FILE_BYTES
from core.atomic import write_atomically
from core.errors import UnreadableError
from core.foreign_json import read_json
from core.job.as_data import from_data, newer, to_data
from core.job.job import Job

VERSION = 1
_JOB_ENTRY = "job.json"
_ARTWORK_ENTRY = "artwork/original"
_MAX_JSON_BYTES = 32 * 1024 * 1024
_LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the same job makes the same bytes


def save_job(job: Job, path: Path, *, overwrite: bool = False) -> None:
    """Write the job file wholly or not at all. Raises WriteError."""
    write_atomically(path, job_file_bytes(job), overwrite=overwrite)


def load_job(path: Path) -> Job:
    """Read a job file. Raises UnreadableError, also for one written by a newer version."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        raise UnreadableError(f"There is no file {path}.", hint="Check the name and the folder.") from None
    except OSError as error:
        raise UnreadableError(f"{path} can't be opened: {error.strerror or error}.") from None
    return job_from_bytes(data, name=path.name)


def job_file_bytes(job: Job) -> bytes:
    """The job as a job file's bytes; the same job always gives the same bytes."""
    content = {
        "tain_job": VERSION,
        "artwork": job.source.name if job.source else None,
        "job": to_data(replace(job, source=None)),
    }
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(stored(_JOB_ENTRY), json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False))
        if job.source:
            archive.writestr(stored(_ARTWORK_ENTRY), job.source.data)
    return buffer.getvalue()


def job_from_bytes(data: bytes, *, name: str) -> Job:
    """The job in a job file's bytes; ``name`` is for messages. Raises UnreadableError."""
    what = f"The job in {name}"
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            text = read_entry(archive, _JOB_ENTRY, _MAX_JSON_BYTES, name)
            members = set(archive.namelist())
            artwork = read_entry(archive, _ARTWORK_ENTRY, MAX_FILE_BYTES, name) if _ARTWORK_ENTRY in members else None
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError, NotImplementedError, RuntimeError, ValueError, OSError):
        raise UnreadableError(f"{name} is no whole job file.", hint="Take a backup or the last saved copy.") from None
    content = _current(read_json(text, what=what, most_bytes=_MAX_JSON_BYTES), name)
    if strange := (members - {_JOB_ENTRY, _ARTWORK_ENTRY}) | (content.keys() - {"tain_job", "artwork", "job"}):
        raise newer(what, strange)
    if (artwork is None) != (content.get("artwork") is None):
        raise UnreadableError(f"{name} is no whole job file.", hint="Take a backup or the last saved copy.")
    job = from_data(Job, content["job"], what=what)
    if artwork is None:
        return job
    return replace(job, source=ArtworkSource(name=from_data(str, content["artwork"], what=what), data=artwork))


def _current(content: Any, name: str) -> dict[str, Any]:
    """The content brought to this version's form."""
    version = content.get("tain_job") if isinstance(content, dict) else None
    if not isinstance(version, int) or version < 1 or "job" not in content:
        raise UnreadableError(f"{name} is no job file of Tain.")
    if version > VERSION:
        raise UnreadableError(
            f"{name} was saved by a newer Tain (job file version {version}; this one reads up to {VERSION}).",
            hint="Open it with that version.",
        )
    return dict(content)


def read_entry(archive: zipfile.ZipFile, entry: str, limit_bytes: int, name: str) -> bytes:
    """An entry's bytes; ``name`` is the file's. Raises UnreadableError where it is too large, KeyError without it."""
    if archive.getinfo(entry).file_size > limit_bytes:
        raise UnreadableError(f"{name} holds more than can be read here ({entry}).")
    with archive.open(entry) as file:
        data = file.read(limit_bytes + 1)
    if len(data) > limit_bytes:
        raise UnreadableError(f"{name} holds more than can be read here ({entry}).")
    return data


def stored(name: str) -> zipfile.ZipInfo:
    """An entry to be written, without a date of its own: the same content makes the same bytes."""
    info = zipfile.ZipInfo(name, _LONG_AGO)
    info.compress_type = zipfile.ZIP_DEFLATED
    return info
