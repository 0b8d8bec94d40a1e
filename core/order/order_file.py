"""An order as a file, ``.tain`` as a job's is: a zip of ``order.json`` and the design's original bytes.

order.json: ``{"tain_order": 1, "artwork": name or null, "order": {...}}``. Older versions are read, newer ones refused.
"""

import io
import json
import zipfile
import zlib
from dataclasses import replace
from pathlib import Path

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import MAX_FILE_BYTES, load_source
from core.atomic import write_atomically
from core.errors import UnreadableError
from core.foreign_json import read_json
from core.job.as_data import from_data, newer, to_data
from core.job.job_file import read_entry, stored
from core.order.order import Order

VERSION = 1
_ORDER_ENTRY = "order.json"
_ARTWORK_ENTRY = "artwork/original"
_MAX_JSON_BYTES = 64 * 1024 * 1024
_KEYS = {"tain_order", "artwork", "order"}


def holds_order(data: bytes) -> bool:
    """Whether a file's bytes are an order's."""
    return data.startswith(b"PK\x03\x04") and _ORDER_ENTRY.encode() in data[:256]


def order_file_bytes(order: Order) -> bytes:
    """The order as a file's bytes; the same order always gives the same bytes."""
    source = order.design.source
    content = {
        "tain_order": VERSION,
        "artwork": source.name if source else None,
        "order": to_data(replace(order, design=replace(order.design, source=None))),
    }
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(stored(_ORDER_ENTRY), json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False))
        if source:
            archive.writestr(stored(_ARTWORK_ENTRY), source.data)
    return buffer.getvalue()


def save_order(order: Order, path: Path, *, overwrite: bool = False) -> None:
    """Write the order's file wholly or not at all. Raises WriteError."""
    write_atomically(path, order_file_bytes(order), overwrite=overwrite)


def load_order(path: Path) -> Order:
    """Read an order's file. Raises UnreadableError, also for one written by a newer version."""
    return order_from_bytes(load_source(path).data, name=path.name)


def order_from_bytes(data: bytes, *, name: str) -> Order:
    """The order in a file's bytes; ``name`` is for messages. Raises UnreadableError."""
    what = f"The order in {name}"
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            text = read_entry(archive, _ORDER_ENTRY, _MAX_JSON_BYTES, name)
            members = set(archive.namelist())
            artwork = read_entry(archive, _ARTWORK_ENTRY, MAX_FILE_BYTES, name) if _ARTWORK_ENTRY in members else None
    except (zipfile.BadZipFile, zlib.error, KeyError, EOFError, NotImplementedError, RuntimeError, ValueError, OSError):
        raise UnreadableError(f"{name} is no whole order.", hint="Take a backup or the last saved copy.") from None
    content = read_json(text, what=what, most_bytes=_MAX_JSON_BYTES)
    version = content.get("tain_order") if isinstance(content, dict) else None
    if not isinstance(version, int) or version < 1 or "order" not in content:
        raise UnreadableError(f"{name} is no order of Tain.")
    if version > VERSION:
        raise UnreadableError(
            f"{name} was saved by a newer Tain (order version {version}; this one reads up to {VERSION}).",
            hint="Open it with that version.",
        )
    if strange := (members - {_ORDER_ENTRY, _ARTWORK_ENTRY}) | (content.keys() - _KEYS):
        raise newer(what, strange)
    if (artwork is None) != (content.get("artwork") is None):
        raise UnreadableError(f"{name} is no whole order.", hint="Take a backup or the last saved copy.")
    order = from_data(Order, content["order"], what=what)
    if artwork is None:
        return order
    source = ArtworkSource(name=from_data(str, content["artwork"], what=what), data=artwork)
    return replace(order, design=replace(order.design, source=source))
