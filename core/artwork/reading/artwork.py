"""Any artwork file to a Drawing, at its real size and as seen from the front."""

from dataclasses import replace
from typing import Protocol

from core.artwork.arrived import ArtworkSource, ReadOptions
from core.artwork.arrived import check_options as check_options
from core.artwork.drawing import Drawing
from core.artwork.drawn_outlines import with_drawn_outlines
from core.artwork.own_export import OwnExport, own_export_in_svg
from core.artwork.sources import artwork_kind
from core.artwork.transforming import transformed_drawing
from core.errors import UnreadableError
from core.geometry.affine import IDENTITY, Affine, compose, scaling
from core.progress import Progress, silent


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
