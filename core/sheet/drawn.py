"""What Tain draws itself, jigs and backers: what is kept between cut lines, round holes, lines to score."""

from dataclasses import dataclass, field

import shapely
from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True)
class Hole:
    """A round hole at (x, y)."""

    x_mm: float
    y_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawn:
    """A drawing in the frame of its own box, from the origin on.

    kept: what is to be left between its cut lines; empty for holes alone, which go through a sheet of just that size.
    Holes that are to stay circles stand apart from it, and are cut out of it. scores: lines on it.
    """

    name: str
    width_mm: float
    height_mm: float
    kept: BaseGeometry = field(default_factory=shapely.Polygon)
    holes: tuple[Hole, ...] = ()
    scores: BaseGeometry = field(default_factory=shapely.MultiLineString)
