"""Where a PDF page lies and how large it is, as PDFium shows it: inherited boxes, crop and turn are in its answer."""

import ctypes

import pypdfium2 as pdfium
from pypdfium2 import raw as pdfium_c

from core.errors import UnreadableError
from core.geometry.affine import Affine, inverse

_STEPS = 1024
"""Device units along each side that PDFium is asked in: a power of two, so that its answers are exact."""


def page_frame(page: pdfium.PdfPage, *, hint: str) -> tuple[Affine, float, float]:
    """From the page's user space to its upright frame, y down, in its units; and its size.

    Raises UnreadableError for a page without a size.
    """
    width, height = (float(side) for side in page.get_size())
    if not (0 < width < 1e6 and 0 < height < 1e6):
        raise UnreadableError("The page of the PDF has no size.", hint=hint)
    x0, y0 = _user_space(page, 0, 0)
    x1, y1 = _user_space(page, _STEPS, 0)
    x2, y2 = _user_space(page, 0, _STEPS)
    # pages turn by quarters and keep their scale: what differs from that is single precision
    right = (round((x1 - x0) / width), round((y1 - y0) / width))
    down = (round((x2 - x0) / height), round((y2 - y0) / height))
    if right[0] * down[1] - right[1] * down[0] == 0:
        raise UnreadableError("The page of the PDF has no size.", hint=hint)
    return inverse((*right, *down, x0, y0)), width, height


def _user_space(page: pdfium.PdfPage, right: int, down: int) -> tuple[float, float]:
    x, y = ctypes.c_double(), ctypes.c_double()
    pdfium_c.FPDF_DeviceToPage(page.raw, 0, 0, _STEPS, _STEPS, 0, right, down, x, y)
    return x.value, y.value
