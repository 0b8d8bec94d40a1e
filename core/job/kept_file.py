"""What every ``.tain`` is: a zip of one JSON entry, with its version, and the artwork's original bytes."""

import io
import json
import zipfile
import zlib
from dataclasses import dataclass
from typing import Any

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import MAX_FILE_BYTES
from core.errors import UnreadableError
from core.foreign_json import read_json
from core.job.as_data import from_data, newer

_ARTWORK_ENTRY = "artwork/original"
_LONG_AGO = (1980, 1, 1, 0, 0, 0)  # the same content makes the same bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Form:
    """A kind of file: ``{"tain_job": version, "artwork": name or null, "job": {...}}`` in job.json where ``key`` is
    job. ``named``: what such a file is called to the maker."""

    key: str
    named: str
    version: int
    most_bytes: int

    @property
    def entry(self) -> str:
        """The name of its JSON entry."""
        return f"{self.key}.json"

    def is_form_of(self, data: bytes) -> bool:
        """Whether a file's bytes look like one of this kind."""
        return data.startswith(b"PK\x03\x04") and self.entry.encode() in data[:256]


def kept_bytes(form: Form, content: Any, source: ArtworkSource | None) -> bytes:
    """The file's bytes; the same content always gives the same bytes."""
    told = {f"tain_{form.key}": form.version, "artwork": source.name if source else None, form.key: content}
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(_stored(form.entry), json.dumps(told, ensure_ascii=False, indent=1, allow_nan=False))
        if source:
            archive.writestr(_stored(_ARTWORK_ENTRY), source.data)
    return buffer.getvalue()


def read_kept(form: Form, data: bytes, *, name: str) -> tuple[Any, ArtworkSource | None]:
    """(content, artwork) of a file's bytes; ``name`` is for messages. Older versions are read.

    Raises UnreadableError, also for a file of a newer version.
    """
    what = f"The {form.key} in {name}"
    damaged = UnreadableError(f"{name} is no whole {form.named}.", hint="Take a backup or the last saved copy.")
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            text = _entry(archive, form.entry, form.most_bytes, name)
            members = set(archive.namelist())
            artwork = _entry(archive, _ARTWORK_ENTRY, MAX_FILE_BYTES, name) if _ARTWORK_ENTRY in members else None
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError, NotImplementedError, RuntimeError, ValueError, OSError):
        raise damaged from None
    content = read_json(text, what=what, most_bytes=form.most_bytes)
    version_key = f"tain_{form.key}"
    version = content.get(version_key) if isinstance(content, dict) else None
    if not isinstance(version, int) or version < 1 or form.key not in content:
        raise UnreadableError(f"{name} is no {form.named} of Tain.")
    if version > form.version:
        raise UnreadableError(
            f"{name} was saved by a newer Tain ({form.named} version {version}; this one reads up to {form.version}).",
            hint="Open it with that version.",
        )
    if strange := (members - {form.entry, _ARTWORK_ENTRY}) | (content.keys() - {version_key, "artwork", form.key}):
        raise newer(what, strange)
    if (artwork is None) != (content.get("artwork") is None):
        raise damaged
    if artwork is None:
        return content[form.key], None
    return content[form.key], ArtworkSource(name=from_data(str, content["artwork"], what=what), data=artwork)


def _entry(archive: zipfile.ZipFile, entry: str, limit_bytes: int, name: str) -> bytes:
    """An entry's bytes; ``name`` is the file's. Raises UnreadableError where it is too large, KeyError without it."""
    if archive.getinfo(entry).file_size > limit_bytes:
        raise UnreadableError(f"{name} holds more than can be read here ({entry}).")
    with archive.open(entry) as file:
        data = file.read(limit_bytes + 1)
    if len(data) > limit_bytes:
        raise UnreadableError(f"{name} holds more than can be read here ({entry}).")
    return data


def _stored(name: str) -> zipfile.ZipInfo:
    """An entry to be written, without a date of its own."""
    info = zipfile.ZipInfo(name, _LONG_AGO)
    info.compress_type = zipfile.ZIP_DEFLATED
    return info
