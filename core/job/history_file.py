"""A history as a file, beside the safety copy of its present job: undo outlives a crash.

A zip of ``history.json`` and of the artworks that are not the present job's own.
``{"tain_history": 1, "at": n, "steps": [{"label", "merge_key", "artwork": n or null, "job"}], "artworks": [name]}``
"""

import io
import json
import zipfile
import zlib
from dataclasses import replace
from typing import Any

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import MAX_FILE_BYTES
from core.errors import UnreadableError
from core.foreign_json import read_json
from core.job.as_data import from_data, to_data
from core.job.history import History, Step
from core.job.job import Job

VERSION = 1
MOST_STEPS = 100
_ENTRY = "history.json"
_MOST_BYTES = 64 * 1024 * 1024


def history_bytes(history: History, *, known: dict[int, tuple[Job, Any]] | None = None) -> bytes:
    """The last steps around the present one. ``known`` remembers jobs as data from one call to the next."""
    first = max(0, history.at - MOST_STEPS + 1)
    steps = history.steps[first : history.at + 1]
    own = history.job.source
    artworks: list[ArtworkSource | None] = [own]
    remembered = {} if known is None else known
    kept: dict[int, tuple[Job, Any]] = {}
    written = []
    for step in steps:
        source = step.job.source
        number = next((i for i, one in enumerate(artworks) if one is source or one == source), len(artworks))
        if number == len(artworks):
            artworks.append(source)
        data = remembered.get(id(step.job)) or (step.job, to_data(replace(step.job, source=None)))
        kept[id(step.job)] = data
        artwork = number if source is not None else None
        written.append({"label": step.label, "merge_key": step.merge_key, "artwork": artwork, "job": data[1]})
    if known is not None:
        known.clear()
        known.update(kept)
    names = [one.name if one is not None else None for one in artworks]
    content = {"tain_history": VERSION, "at": history.at - first, "steps": written, "artworks": names}
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as archive:
        archive.writestr(_ENTRY, json.dumps(content, ensure_ascii=False, allow_nan=False))
        for number, source in enumerate(artworks[1:], 1):
            if source is not None:
                archive.writestr(f"artwork/{number}", source.data)
    return buffer.getvalue()


def history_from_bytes(data: bytes, present: Job) -> History:
    """The history in which this job is the present one. Raises UnreadableError where it is damaged or another job's.

    A window that died between two files may have left a job that is a few steps behind its history.
    """
    what = "The steps of undo"
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            if any(one.file_size > MAX_FILE_BYTES for one in archive.infolist()):
                raise UnreadableError(f"{what} hold more than can be read here.")
            content = read_json(archive.read(_ENTRY), what=what, most_bytes=_MOST_BYTES)
            sources = [present.source, *(_artwork(archive, i, name) for i, name in _others(content))]
        if content["tain_history"] != VERSION:
            raise UnreadableError(f"{what} were kept by another Tain.")
        steps = tuple(_step(one, sources, what) for one in content["steps"])
        at = from_data(int, content["at"], what=what)
    except (zipfile.BadZipFile, zlib.error, KeyError, IndexError, TypeError, ValueError, EOFError, RuntimeError):
        raise UnreadableError(f"{what} are damaged.") from None
    if not 0 <= at < len(steps):
        raise UnreadableError(f"{what} belong to another job.")
    nearest = sorted(range(len(steps)), key=lambda number: abs(number - at))
    found = next((number for number in nearest if steps[number].job == present), None)
    own_name = present.source.name if present.source is not None else None
    if found is None or (found != at and content["artworks"][0] != own_name):
        raise UnreadableError(f"{what} belong to another job.")
    if found != at:
        steps, at = steps[: found + 1], found  # what came after it was of the job that was not written any more
    return History(steps=(*steps[:at], replace(steps[at], job=present), *steps[at + 1 :]), at=at)


def _others(content: Any) -> list[tuple[int, Any]]:
    return list(enumerate(content["artworks"]))[1:]


def _artwork(archive: zipfile.ZipFile, number: int, name: Any) -> ArtworkSource | None:
    return None if name is None else ArtworkSource(name=str(name), data=archive.read(f"artwork/{number}"))


def _step(data: Any, sources: list[ArtworkSource | None], what: str) -> Step:
    job = from_data(Job, data["job"], what=what)
    number = data["artwork"]
    source = None if number is None else sources[from_data(int, number, what=what)]
    merge_key = None if data["merge_key"] is None else from_data(str, data["merge_key"], what=what)
    return Step(job=replace(job, source=source), label=from_data(str, data["label"], what=what), merge_key=merge_key)
