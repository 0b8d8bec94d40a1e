"""Artwork files to Drawings: ``sources`` tells what a file is, ``artwork`` has it read; the door to all readers."""

from core.artwork.reading.artwork import as_asked, check_options, check_page_asked, own_export, read_artwork
from core.artwork.sources import MAX_FILE_BYTES, READABLE_SUFFIXES, artwork_kind, load_source

__all__ = [
    "MAX_FILE_BYTES",
    "READABLE_SUFFIXES",
    "artwork_kind",
    "as_asked",
    "check_options",
    "check_page_asked",
    "load_source",
    "own_export",
    "read_artwork",
]
