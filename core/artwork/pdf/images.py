"""Pictures of dots inside a PDF: at their place, size and clip, traced or screened as any other.

PDFium decodes them, with the masks that belong to them.
"""

import ctypes

import numpy as np
import pypdfium2 as pdfium
from numpy.typing import NDArray
from PIL import Image
from pypdfium2 import raw as pdfium_c

from core.artwork.drawing import Finding, Shape
from core.artwork.picture_decisions import PictureOptions
from core.artwork.pictures.opening import MOST_PIXELS, Picture, picture_of
from core.artwork.pictures.reading import picture_shapes
from core.artwork.pictures.tones import crop_px, with_tones
from core.errors import UnreadableError
from core.geometry.affine import Affine, compose, translation


def shapes_of_image(
    item: object, matrix: Affine, wanted: PictureOptions, *, page: tuple[object, object]
) -> tuple[tuple[Shape, ...], tuple[Finding, ...]]:
    """The shapes of an image; ``matrix`` maps its unit square, y up, into the drawing. page: the document and the page
    that it stands on. May raise UnreadableError."""
    picture = _decoded(item, page)
    # image space is the unit square, its first row of dots on top (ISO 32000-1, 8.9.5.1)
    of_px: Affine = (1 / picture.width_px, 0.0, 0.0, -1 / picture.height_px, 0.0, 1.0)
    left, top, _, _ = crop_px(picture, wanted.tones)
    to_mm = compose(compose(matrix, of_px), translation(float(left), float(top)))
    return picture_shapes(
        with_tones(picture, wanted.tones, screened=wanted.way == "screen"), to_mm, wanted, shape_id="image"
    )


def _decoded(item: object, page: tuple[object, object]) -> Picture:
    width, height = ctypes.c_uint(), ctypes.c_uint()
    if not pdfium_c.FPDFImageObj_GetImagePixelSize(item, width, height) or not width.value * height.value:
        raise UnreadableError("The picture can't be read.")
    if width.value * height.value > MOST_PIXELS:
        raise UnreadableError(f"The picture is {width.value:,} x {height.value:,} pixels, too large.")
    masked = _masked(item, page, width.value, height.value)
    if masked is not None:
        return picture_of(Image.fromarray(masked))
    values = _values(pdfium_c.FPDFImageObj_GetBitmap(item))
    if values is None:
        raise UnreadableError("The picture can't be read.")
    if values.ndim == 3 and values.shape[2] == 1:
        values = values[..., 0]
    if values.ndim == 3:
        values = np.ascontiguousarray(values[..., [2, 1, 0]])  # PDFium has blue first; its fourth byte means nothing
    return picture_of(Image.fromarray(values.astype(np.uint8)))


def _masked(item: object, page: tuple[object, object], width: int, height: int) -> NDArray[np.uint8] | None:
    """The picture with its mask, (h, w, 4) RGBA, one dot a dot; None where nothing of it is masked."""
    before = pdfium_c.FS_MATRIX()
    pdfium_c.FPDFPageObj_GetMatrix(item, before)
    pdfium_c.FPDFPageObj_SetMatrix(item, pdfium_c.FS_MATRIX(width, 0, 0, height, 0, 0))
    try:
        values = _values(pdfium_c.FPDFImageObj_GetRenderedBitmap(*page, item))
    finally:
        pdfium_c.FPDFPageObj_SetMatrix(item, before)
    if values is None or values.shape != (height, width, 4) or (values[..., 3] == 255).all():
        return None
    return np.ascontiguousarray(values[..., [2, 1, 0, 3]]).astype(np.uint8)


def _values(raw: object) -> NDArray[np.uint8] | None:
    """A bitmap's bytes, copied; the bitmap is let go. None for none."""
    if not raw:
        return None
    bitmap = pdfium.PdfBitmap.from_raw(raw)
    try:
        return np.array(bitmap.to_numpy())
    finally:
        bitmap.close()
