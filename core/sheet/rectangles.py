"""Rectangles on a rectangular room, in strips across it and down it (see ``skylines``)."""

import math
from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region, rotation
from core.sheet.lattices import Place
from core.sheet.skylines import packed

_LIKE_A_BOX = 1e-9
_FITS_MM = 1e-7


def only_rectangles(room: BaseGeometry, shapes: Sequence[BaseGeometry]) -> bool:
    """Whether all of them are rectangles along the axes."""
    every = np.array([room, *shapes], object)
    return bool((shapely.area(every) >= shapely.area(shapely.envelope(every)) * (1 - _LIKE_A_BOX)).all())


def rectangles_laid(
    room: BaseGeometry, wanted: Sequence[tuple[BaseGeometry, int, Sequence[float]]], *, spacing_mm: float
) -> Iterator[list[tuple[int, Place]] | None]:
    """Ever shorter strips, by turns along x and y; None after each trial that found no shorter one.

    room: a rectangle. wanted: rectangles, how often each, and the angles that they may be turned by, of which quarter
    turns are tried. A layout is a list of (which of those wanted, place), without what stands beyond the room.
    """
    searches = [_along(room, wanted, spacing_mm, axis) for axis in (0, 1)]
    while searches:
        for search in list(searches):
            try:
                yield next(search)
            except StopIteration:
                searches.remove(search)


def _along(
    room: BaseGeometry, wanted: Sequence[tuple[BaseGeometry, int, Sequence[float]]], spacing_mm: float, axis: int
) -> Iterator[list[tuple[int, Place]] | None]:
    """Strips along x (axis 0) or y."""
    start = np.array(room.bounds[:2])
    breadth_mm, length_mm = (float(room.bounds[2 + of] - room.bounds[of]) + spacing_mm for of in (1 - axis, axis))
    ways, turned, which = [], [], []
    for of, (shape, count, angles_deg) in enumerate(wanted):
        sizes, frames = [], []
        for angle_deg in angles_deg:
            if not math.isclose(angle_deg % 90.0, 0.0, abs_tol=1e-9):
                continue
            x0, y0, x1, y1 = apply_to_region(rotation(angle_deg), shape).bounds
            across, along = (y1 - y0, x1 - x0) if axis == 0 else (x1 - x0, y1 - y0)
            size = (across + spacing_mm, along + spacing_mm)
            if size[0] <= breadth_mm + _FITS_MM and size not in sizes:
                sizes.append(size)
                frames.append((x0, y0, angle_deg))
        if sizes:
            ways += [tuple(sizes)] * count
            turned += [frames] * count
            which += [of] * count
    if not ways:
        return
    for found in packed(ways, breadth_mm):
        if found is None:
            yield None
            continue
        laid = []
        for stand in found[1]:
            if stand.along_mm + ways[stand.item][stand.way][1] > length_mm + _FITS_MM:
                continue
            x0, y0, angle_deg = turned[stand.item][stand.way]
            x, y = (stand.along_mm, stand.across_mm) if axis == 0 else (stand.across_mm, stand.along_mm)
            laid.append((which[stand.item], (float(start[0]) + x - x0, float(start[1]) + y - y0, angle_deg)))
        yield laid
