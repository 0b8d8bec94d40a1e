"""A piece as the maker gives it: places typed in, an outline drawn in a file."""

from pathlib import Path

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import ReadOptions
from core.artwork.painting import filled_region
from core.artwork.reading import load_source, read_artwork
from core.errors import UnreadableError
from core.geometry.flattening import DEFAULT_TOLERANCE_MM
from core.geometry.path import joined
from core.sheet.offcuts import outline_of
from core.sheet.placement import Points
from core.units import parse_length_mm


def points_mm(text: str, *, default_unit: str = "mm") -> Points:
    """``"0,0 120,0 90,80"`` as points. Raises UnreadableError."""
    points = []
    for word in text.replace(";", " ").split():
        parts = word.split(",")
        if len(parts) != 2:
            raise UnreadableError(f"“{word}” is no place.", hint="Write places like 40,12 52,30 (mm).")
        x_mm, y_mm = (parse_length_mm(part, default_unit=default_unit) for part in parts)
        points.append((x_mm, y_mm))
    return tuple(points)


def outline_in(path: Path) -> tuple[Points, ...]:
    """The largest closed outline in an artwork file, with what lies in it as holes. Raises UnreadableError."""
    drawing = read_artwork(load_source(path), ReadOptions())
    paths = [part for shape in drawing.shapes for part in shape.path.subpaths() if part.closed.all()]
    region: BaseGeometry = filled_region(joined(paths), "evenodd", tolerance_mm=DEFAULT_TOLERANCE_MM)
    parts = shapely.get_parts(region)
    if not len(parts):
        raise UnreadableError(f"{path.name} holds no closed outline.", hint="Draw the piece as one closed line.")
    return outline_of(max(parts, key=lambda part: part.area))
