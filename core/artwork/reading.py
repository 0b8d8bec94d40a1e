"""Any artwork file to a Drawing: picks the reader by what the bytes are, then by the name."""

from dataclasses import replace
from pathlib import Path as FilePath
from typing import Protocol

from core.artwork.drawing import ArtworkSource, Drawing, ReadOptions
from core.artwork.drawn_outlines import with_drawn_outlines
from core.artwork.own_export import OwnExport, own_export_in_svg
from core.artwork.pictures.kinds import is_picture
from core.artwork.transforming import transformed_drawing
from core.encodable import encodable
from core.errors import UnreadableError
from core.geometry.affine import IDENTITY, Affine, compose, scaling
from core.plain_file import plain_file_bytes
from core.progress import Progress, silent
from core.units import MM_PER_UNIT

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


def read_artwork(source: ArtworkSource, options: ReadOptions, *, progress: Progress = silent) -> Drawing:
    """The drawing at its real size, scaled and un-reversed as the options say.

    Raises UnreadableError (nothing usable), UnitsUnknownError (size not said and not to be assumed).
    """
    check_options(options)
    kind = artwork_kind(source)
    if options.page != 1:
        check_page_asked(source, options.page)
    try:
        drawing = _reader(kind)(source.data, options, progress=progress)
        if kind == "svg" and (own := own_export_in_svg(source.data)) is not None:
            drawing = _seen_from_the_front(drawing, own)
    except UnreadableError as error:
        if source.name in error.message:
            raise
        raise type(error)(f"{source.name}: {error.message}", hint=error.hint) from None
    return as_asked(drawing, options)


def as_asked(drawing: Drawing, options: ReadOptions) -> Drawing:
    """A drawing as it was read, scaled and un-reversed as the options say."""
    matrix: Affine = scaling(options.scale, options.scale)
    if options.arrives_reversed:
        matrix = compose((-1.0, 0.0, 0.0, 1.0, drawing.width_mm * options.scale, 0.0), matrix)
    if matrix != IDENTITY:
        drawing = transformed_drawing(drawing, matrix, options.scale)
    return drawing


def check_page_asked(source: ArtworkSource, page: int) -> None:
    """Raises UnreadableError where the file has no pages to choose from."""
    if artwork_kind(source) != "pdf":
        raise UnreadableError(
            f"{source.name} has no pages to choose from: page {page} was asked for.",
            hint="Only a PDF has pages; leave the page out.",
        )


def own_export(source: ArtworkSource) -> OwnExport | None:
    """What a file says of itself that Tain exported, None for any other. Raises UnreadableError when it is damaged."""
    kind = artwork_kind(source)
    if kind == "svg":
        return own_export_in_svg(source.data)
    if kind == "dxf":
        from core.artwork.dxf.loaded_once import own_export_in_dxf_bytes

        return own_export_in_dxf_bytes(source.data)
    return None


def _seen_from_the_front(drawing: Drawing, own: OwnExport) -> Drawing:
    """An exported drawing, as seen from the front again and as it was drawn."""
    turned = transformed_drawing(drawing, own.to_front, 1.0)
    shapes = with_drawn_outlines(turned.shapes, own.drawn)
    return replace(turned, shapes=shapes, from_export=True, units_from="an export of Tain, in mm")


def check_options(options: ReadOptions) -> None:
    """Raises UnreadableError where an option makes no sense."""
    if not (0 < options.scale < 1e6):
        raise UnreadableError(
            f"A scale of {options.scale:g} makes no artwork.", hint="Give a factor above zero, like 1."
        )
    if options.units is not None and options.units not in MM_PER_UNIT:
        raise UnreadableError(
            f"“{options.units}” is not a unit known here.", hint=f"Use one of {', '.join(MM_PER_UNIT)}."
        )
    if options.page < 1:
        raise UnreadableError(f"There is no page {options.page}.", hint="Pages count from 1.")


class _Reader(Protocol):
    def __call__(self, data: bytes, options: ReadOptions, *, progress: Progress) -> Drawing: ...


def _reader(kind: str) -> _Reader:
    """The reader of that kind, loaded only when it is needed."""
    if kind == "dxf":
        from core.artwork.dxf.reading import read_dxf

        return read_dxf
    if kind == "picture":
        from core.artwork.pictures.reading import read_picture

        return read_picture
    if kind == "pdf":
        from core.artwork.pdf.reading import read_pdf

        return read_pdf
    from core.artwork.svg import read_svg

    return read_svg
