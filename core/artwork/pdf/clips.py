"""The region outside which an object of the page does not show."""

from functools import partial

from pypdfium2 import raw as pdfium_c

from core.artwork.painting import filled_region
from core.artwork.pdf.found import Found
from core.artwork.pdf.segments import all_closed, path_of
from core.geometry.affine import Affine
from core.geometry.path import Path
from core.geometry.region import BaseGeometry


class Clips:
    """The clips of a page, each worked out once."""

    def __init__(self, found: Found) -> None:
        self._found = found
        self._known: dict[bytes, BaseGeometry] = {}

    def of(self, item: object, matrix: Affine, outer: BaseGeometry | None) -> BaseGeometry | None:
        """What shows of an object within an outer clip, None for no limit; the matrix maps its holder's space to mm."""
        clip = pdfium_c.FPDFPageObj_GetClipPath(item)
        paths = pdfium_c.FPDFClipPath_CountPaths(clip) if clip else 0
        region = outer
        for index in range(max(0, paths)):
            count = pdfium_c.FPDFClipPath_CountPathSegments(clip, index)
            if count < 1 or not self._found.takes(count):
                continue
            path = path_of(count, partial(pdfium_c.FPDFClipPath_GetPathSegment, clip, index))
            one = self._region(all_closed(path.transformed(matrix)))
            region = one if region is None else self._both(region, one)
        return region

    def _region(self, path: Path) -> BaseGeometry:
        key = path.segments.tobytes()
        if key not in self._known:
            self._known[key] = filled_region(path, "nonzero", tolerance_mm=self._found.tolerance_mm)
        return self._known[key]

    def _both(self, one: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
        key = one.wkb + b"&" + other.wkb
        if key not in self._known:
            self._known[key] = one.intersection(other)
        return self._known[key]
