"""What a file is: its bytes within limits, and which reader it wants, told by the bytes, then by the name."""

from pathlib import Path as FilePath

from core.artwork.arrived import ArtworkSource
from core.artwork.picture_kinds import is_picture
from core.encodable import encodable
from core.errors import UnreadableError
from core.plain_file import plain_file_bytes

PICTURE_SUFFIXES = (".png", ".jpg", ".jpeg", ".tif", ".tiff", ".bmp", ".webp")
READABLE_SUFFIXES = (".svg", ".svgz", ".dxf", ".pdf", *PICTURE_SUFFIXES)
MAX_FILE_BYTES = 200 * 1024 * 1024


def load_source(path: FilePath) -> ArtworkSource:
    """The file's bytes. Raises UnreadableError when it is missing, empty, no file or far too large."""
    data = plain_file_bytes(path, most_bytes=MAX_FILE_BYTES, wanted="Name an SVG, DXF or PDF file.")
    if not data.strip(b"\0 \t\r\n"):
        raise UnreadableError(f"{path.name} is empty.", hint="Save the artwork again where it was drawn.")
    # a name of bytes that are no UTF-8 can stand neither in a job file nor on a page
    return ArtworkSource(name=encodable(path.name), data=data)


def artwork_kind(source: ArtworkSource) -> str:
    """ "svg", "dxf", "pdf" or "picture". Raises UnreadableError for anything else, naming what it seems to be."""
    head = source.data[:4096]
    text = head.decode("utf-16", "ignore") if head[:2] in (b"\xff\xfe", b"\xfe\xff") else head.decode("latin-1")
    suffix = FilePath(source.name).suffix.lower()
    if is_picture(head):
        return "picture"
    if head.startswith(b"%PDF") or b"%PDF-" in head[:1024]:
        return "pdf"
    if head.startswith(b"\x1f\x8b") or "<svg" in text or ":svg" in text:
        return "svg"
    if head.startswith(b"AutoCAD Binary DXF"):
        return "dxf"
    for magic, what in _NOT_READ.items():
        if head.startswith(magic):
            raise UnreadableError(f"{source.name} is {what}, which is not read here.", hint=_ASK)
    if suffix == ".dxf" or text.lstrip("\ufeffï»¿ \t\r\n").startswith(("0\n", "0\r\n", "999\n", "999\r\n")):
        return "dxf"
    if suffix in (".svg", ".svgz"):
        return "svg"
    if suffix == ".pdf":
        return "pdf"
    if suffix in PICTURE_SUFFIXES:
        raise UnreadableError(f"{source.name} is no picture, whatever its name says.", hint=_ASK)
    raise UnreadableError(f"{source.name} is no artwork that can be read here.", hint=_ASK)


_ASK = "Ask for SVG, DXF, PDF, or a picture as PNG, JPEG, TIFF, BMP or WebP."


_NOT_READ = {
    b"GIF8": "a GIF picture",
    b"AC10": "a DWG drawing",
    b"PK\x03\x04": "a zip archive",
}
