"""What a PDF page paints, read here and by PDFium's own renderer, as intersection over union at 600 dpi.

Ours are the regions that were read, shape by shape, painted by PDFium as plain polygons; theirs is the page itself.
A pixel is painted where its alpha is over one half. PDFium draws a stroke at least a pixel wide, so strokes thinner
than that are taken as wide as a pixel on our side too. Comments, form fields and raster pictures are drawn on neither.
"""

import argparse
import contextlib
import json
import subprocess
import sys
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np
import pypdfium2
import pypdfium2.raw as pdfium_c

from core.artwork.drawing import Drawing, ReadOptions, Shape
from core.artwork.painting import painted_regions
from core.artwork.pdf.reading import read_pdf
from core.artwork.pdf.repainting import page_of, rendered
from core.errors import TainError
from core.geometry.affine import mean_scale

DOTS_PER_INCH = 600
"""At 300 dpi PDFium still fits common text to the grid of pixels, at 600 it paints outlines."""

FINE_DOTS_PER_INCH = 2_400
"""PDFium rounds thin lines and rectangles to whole pixels: a page that is all hairlines is judged again with finer
pixels, which make that rounding small and leave what is really wrong as it is."""

LONGEST_PX = 30_000
BAND_PX = 500

ROUNDING = 64
"""Alphas (of 255) this near count as alike: along an edge at half a pixel one is just over one half, the other not."""
GOOD_IOU = 0.95
ROOT = Path(__file__).parents[2]

NAMED = {
    "pdf-differs", "pdf-pattern", "pdf-shading", "pdf-transparency", "pdf-text", "pdf-too-large", "pdf-unchecked",
    "pdf-bad-object", "pdf-too-deep", "region-failed", "image-taken",
}  # fmt: skip
"""Findings that say of a page that it was read otherwise than it looks; "image-taken": greys became areas."""

LAWFUL = ("holds no vector artwork", "locked with a password", "broken", "has no pages", "has no size")
"""What may be said of a page that is not read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PageComparison:
    """One page. iou is 1 where neither paints, nan where it was not read (error says why); vector: no pictures."""

    path: str
    page: int
    iou: float
    vector: bool = True
    error: str = ""
    codes: tuple[str, ...] = ()

    @property
    def good(self) -> bool:
        """Whether it looks as PDFium paints it."""
        return self.iou >= GOOD_IOU

    @property
    def silently_wrong(self) -> bool:
        """Whether it looks otherwise, or was not read, and nothing says so."""
        if self.error:
            return not any(words in self.error for words in LAWFUL)
        return not self.good and not NAMED.intersection(self.codes)


def compare(path: Path, page: int = 1) -> PageComparison:
    """Compares one page in this process."""
    data = path.read_bytes()
    try:
        drawing = read_pdf(data, ReadOptions(page=page))
    except TainError as error:
        return PageComparison(path=str(path), page=page, iou=float("nan"), error=str(error)[:300])
    codes = {finding.code for finding in drawing.findings}
    document = pypdfium2.PdfDocument(data)
    try:
        sheet = document[page - 1]
        pictures = list(_pictures(sheet.raw))
        for picture in pictures:
            pdfium_c.FPDFPageObj_SetIsActive(picture, False)
        iou, failed = _overlap(sheet, drawing, DOTS_PER_INCH)
        told = bool(pictures) and not NAMED.isdisjoint(codes)  # finer pixels would change no verdict
        if iou < GOOD_IOU and not told:
            iou, failed = _overlap(sheet, drawing, FINE_DOTS_PER_INCH)
        sheet.close()
    finally:
        document.close()
    return PageComparison(
        path=str(path),
        page=page,
        iou=iou,
        vector=not pictures,
        codes=tuple(sorted(codes | ({"region-failed"} if failed else set()))),
    )


def _overlap(sheet: pypdfium2.PdfPage, drawing: Drawing, dots_per_inch: float) -> tuple[float, bool]:
    """Intersection over union, and whether a region could not be worked out."""
    scale = min(dots_per_inch / 72, LONGEST_PX / max(sheet.get_size()))
    width_px, height_px = (max(8, round(side * scale)) for side in sheet.get_size())
    shapes, failed = _regions(drawing, drawing.width_mm / width_px)
    common = either = 0
    with page_of(shapes, drawing.width_mm, drawing.height_mm) as repainted:
        for first in range(0, height_px, BAND_PX):
            rows = range(first, min(first + BAND_PX, height_px))
            theirs, ours = (rendered(one, width_px, height_px, rows)[..., 3] for one in (sheet, repainted))
            painted = (theirs > 127) | (ours > 127)
            alike = (theirs > 127) == (ours > 127)
            alike |= np.maximum(theirs, ours) - np.minimum(theirs, ours) <= ROUNDING
            common += int(np.count_nonzero(painted & alike))
            either += int(np.count_nonzero(painted))
    return common / either if either else 1.0, failed


def _regions(drawing: Drawing, pixel_mm: float) -> tuple[list[Shape], bool]:
    """Shapes that hold what was read as plain regions, and whether one could not be worked out."""
    wide = [_at_least(shape, pixel_mm) for shape in drawing.shapes]
    regions, findings = painted_regions(wide, tolerance_mm=pixel_mm / 8)
    return [replace(shape, area=region) for shape, region in zip(wide, regions, strict=True)], bool(findings)


def _at_least(shape: Shape, pixel_mm: float) -> Shape:
    stroke = shape.stroke
    if stroke is None or stroke.width_mm >= pixel_mm:
        return shape
    unit_mm = mean_scale(stroke.matrix)
    if unit_mm <= 0:
        return shape
    return replace(shape, stroke=replace(stroke, width=pixel_mm / unit_mm, width_mm=pixel_mm))


def _pictures(page: object, depth: int = 0) -> Iterator[object]:
    count, get = (
        (pdfium_c.FPDFFormObj_CountObjects, pdfium_c.FPDFFormObj_GetObject)
        if depth
        else (pdfium_c.FPDFPage_CountObjects, pdfium_c.FPDFPage_GetObject)
    )
    for index in range(max(0, count(page))):
        item = get(page, index)
        kind = pdfium_c.FPDFPageObj_GetType(item) if item else None
        if kind == pdfium_c.FPDF_PAGEOBJ_IMAGE:
            yield item
        elif kind == pdfium_c.FPDF_PAGEOBJ_FORM and depth < 20:
            yield from _pictures(item, depth + 1)


def compare_all(paths: Sequence[Path], *, timeout_s: float = 120.0) -> Iterator[PageComparison]:
    """The first pages of files, one child process after another; one that dies or hangs costs its own file only."""
    waiting = list(paths)
    while waiting:
        child = subprocess.Popen(
            [sys.executable, "-m", "tests.references.pdf_oracle", "--serve", *map(str, waiting)],
            cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        )  # fmt: skip
        assert child.stdout
        done = 0
        with contextlib.closing(child.stdout) as lines:
            for line in lines:
                fields = json.loads(line)
                yield PageComparison(**{**fields, "codes": tuple(fields["codes"])})
                done += 1
        child.wait(timeout_s)
        if done < len(waiting):
            yield PageComparison(path=str(waiting[done]), page=1, iou=float("nan"), error="the process died")
            done += 1
        waiting = waiting[done:]


def _serve(paths: Sequence[Path]) -> None:
    for path in paths:
        try:
            result = compare(path)
        except Exception as error:  # noqa: BLE001 - a fault of the reader is a result here
            result = PageComparison(
                path=str(path), page=1, iou=float("nan"), error=f"{type(error).__name__}: {error}"[:300]
            )
        print(json.dumps(asdict(result)), flush=True)


def main() -> None:
    """``python -m tests.references.pdf_oracle FILE...``: prints one line a file, worst first."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--serve", action="store_true")
    parser.add_argument("files", nargs="*", type=Path)
    asked = parser.parse_args()
    if asked.serve:
        _serve(asked.files)
        return
    for result in sorted(compare_all(asked.files), key=lambda result: (result.iou == result.iou, result.iou)):
        silent = "SILENT " if result.silently_wrong else ""
        kind = "vector" if result.vector else "with pictures"
        print(f"{result.iou:.4f} {silent}{kind} {result.path} {result.error} {' '.join(result.codes)}")


if __name__ == "__main__":
    main()
