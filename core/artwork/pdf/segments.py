"""PDFium's path segments as our paths."""

import ctypes
from collections.abc import Callable

import numpy as np
import shapely
from pypdfium2 import raw as pdfium_c
from shapely.geometry.base import BaseGeometry

from core.geometry.path import Path, PathBuilder, joined, polyline


def path_of(count: int, segment: Callable[[int], object]) -> Path:
    """A path from PDFium's segments; a cubic comes as three points one after another."""
    builder = PathBuilder()
    x, y = ctypes.c_float(), ctypes.c_float()
    controls: list[float] = []
    for index in range(count):
        one = segment(index)
        pdfium_c.FPDFPathSegment_GetPoint(one, x, y)
        kind = pdfium_c.FPDFPathSegment_GetType(one)
        if kind == pdfium_c.FPDF_SEGMENT_MOVETO:
            builder.move_to(x.value, y.value)
        elif kind == pdfium_c.FPDF_SEGMENT_LINETO:
            builder.line_to(x.value, y.value)
        elif kind == pdfium_c.FPDF_SEGMENT_BEZIERTO:
            controls += [x.value, y.value]
            if len(controls) == 6:
                builder.cubic_to(*controls)
                controls = []
        if pdfium_c.FPDFPathSegment_GetClose(one):
            builder.close()
    return builder.build()


def all_closed(path: Path) -> Path:
    """All subpaths closed, as filling and clipping take them."""
    if path.closed.all():
        return path
    parts = []
    for subpath in path.subpaths():
        start, end = subpath.start_points[0], subpath.end_points[-1]
        back = [] if np.array_equal(start, end) else [polyline(np.array([end, start]))]
        parts.append(
            Path(
                kinds=np.concatenate([subpath.kinds, *(line.kinds for line in back)]),
                segments=np.concatenate([subpath.segments, *(line.segments for line in back)]),
                starts=subpath.starts,
                closed=np.ones(1, bool),
            )
        )
    return joined(parts)


def around(area: BaseGeometry) -> Path:
    """The outlines of an area."""
    rings = [
        polyline(shapely.get_coordinates(ring), closed=True)
        for polygon in shapely.get_parts(area)
        if isinstance(polygon, shapely.Polygon)
        for ring in (polygon.exterior, *polygon.interiors)
    ]
    return joined(rings)
