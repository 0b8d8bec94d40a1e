"""A DXF that was loaded to see what it says of itself is handed on to the reader: it is loaded once."""

from threading import Lock

from core.artwork.dxf.loading import Loaded, load
from core.artwork.own_export import DOCUMENT_KEY, OwnExport, own_export_in_dxf
from core.progress import Progress, silent

_kept: list[tuple[bytes, Loaded, OwnExport | None]] = []
_lock = Lock()


def own_export_in_dxf_bytes(data: bytes) -> OwnExport | None:
    """What a DXF says of itself, None for one that Tain did not export. Raises UnreadableError."""
    if DOCUMENT_KEY.encode() not in data:
        return None
    with _lock:
        for known, _, export in _kept:
            if known is data:
                return export
    loaded = load(data, silent)
    export = own_export_in_dxf(loaded.document)
    with _lock:
        _kept[:] = [(data, loaded, export)]
    return export


def loaded_once(data: bytes, progress: Progress) -> Loaded:
    """The document in the bytes; that which was loaded before is given away, as readers may change it."""
    with _lock:
        for known, loaded, _ in _kept:
            if known is data:
                _kept.clear()
                return loaded
    return load(data, progress)
