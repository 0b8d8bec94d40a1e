"""What was read of a page against PDFium's own picture of it: both painted by PDFium, compared block by block.

A letter or a line that is missing, out of place, of another shape, or painted over by what should lie below it
changes the ink of the blocks it stands in. What was left out or approximated with a finding of its own is painted on
neither side.
"""

import numpy as np
import pypdfium2 as pdfium
from numpy.typing import NDArray
from pypdfium2 import raw as pdfium_c

from core.artwork.pdf.found import Found
from core.artwork.pdf.repainting import Picture, page_of, rendered

LONG_SIDE_PX, LEAST_PX = 1_600, 400
PX_PER_MM = 300 / 25.4
BLOCK_PX = 8
SHOWS = 0.08
"""A block differs where this share of it (five pixels or so) is painted on one side only, or in another colour."""

MAX_CHECKED_SEGMENTS = 400_000


def remark_differences(found: Found, page: pdfium.PdfPage, width_mm: float, height_mm: float) -> None:
    """Adds a finding for what PDFium paints otherwise than it was read, at the place where they differ most."""
    if sum(len(shape.path) for shape in found.shapes) > MAX_CHECKED_SEGMENTS:
        found.remarks.add("pdf-unchecked", "The page is too large to be checked against its picture.", severity="note")
        return
    long_mm = max(width_mm, height_mm)
    scale = max(LEAST_PX, min(LONG_SIDE_PX, long_mm * PX_PER_MM)) / long_mm
    width_px, height_px = max(BLOCK_PX, round(width_mm * scale)), max(BLOCK_PX, round(height_mm * scale))
    for item in found.set_aside:
        pdfium_c.FPDFPageObj_SetIsActive(item, False)
    theirs = rendered(page, width_px, height_px)
    known = [shape for index, shape in enumerate(found.shapes) if index not in found.approximate]
    with page_of(known, width_mm, height_mm) as repainted:
        ours = rendered(repainted, width_px, height_px)
    blocks = differing(theirs, ours)
    if not blocks.any():
        return
    row, column = np.unravel_index(int(np.argmax(blocks)), blocks.shape)
    count = int((blocks > 0).sum())
    found.remarks.add(
        "pdf-differs",
        "{count} [place|places] of the page [looks|look] otherwise than [it was|they were] read: compare with a print.",
        place=(
            (int(column) + 0.5) * BLOCK_PX * width_mm / width_px,
            (int(row) + 0.5) * BLOCK_PX * height_mm / height_px,
        ),
        count=count,
    )


def differing(theirs: Picture, ours: Picture) -> NDArray[np.float64]:
    """How much of each block is painted otherwise in two pictures where that shows, else 0; (rows, columns).

    Painted otherwise is what nothing within a pixel of it in the other picture matches: letters are smoothed to whole
    pixels by PDFium, outlines are not.
    """
    height, width = theirs.shape[:2]
    blocks = (-(-height // BLOCK_PX), -(-width // BLOCK_PX))
    changed = np.flatnonzero((theirs.view(np.uint32)[..., 0] != ours.view(np.uint32)[..., 0]).any(axis=1))
    if not len(changed):
        return np.zeros(blocks)
    rows = slice(max(0, int(changed[0]) - 1), min(height, int(changed[-1]) + 2))
    one, other = _ink(theirs[rows]), _ink(ours[rows])
    amount = np.zeros((blocks[0] * BLOCK_PX, blocks[1] * BLOCK_PX))
    amount[rows, :width] = np.maximum(_unmatched(one, other), _unmatched(other, one)) / 255.0
    shares = amount.reshape(blocks[0], BLOCK_PX, blocks[1], BLOCK_PX).mean(axis=(1, 3))
    return np.where(shares > SHOWS, shares, 0.0)


def _unmatched(one: Picture, other: Picture) -> NDArray[np.uint8]:
    """By how much each pixel is outside the range of its neighbourhood in the other picture, (height, width)."""
    above = one - np.minimum(one, _spread(other, np.maximum))
    below = np.maximum(one, _spread(other, np.minimum)) - one
    worst: NDArray[np.uint8] = np.maximum(above, below).max(axis=2)
    return worst


def _spread(picture: Picture, extreme: np.ufunc) -> Picture:
    """Each pixel and its eight neighbours made one."""
    rows = picture.copy()
    extreme(rows[1:], picture[:-1], out=rows[1:])
    extreme(rows[:-1], picture[1:], out=rows[:-1])
    both = rows.copy()
    extreme(both[:, 1:], rows[:, :-1], out=both[:, 1:])
    extreme(both[:, :-1], rows[:, 1:], out=both[:, :-1])
    return both


def _ink(picture: Picture) -> Picture:
    """Colours weighted by coverage, and coverage."""
    ink = picture.copy()
    coverage = picture[..., 3].astype(np.uint16)
    for channel in range(3):
        ink[..., channel] = (picture[..., channel] * coverage + 127) // 255
    return ink
