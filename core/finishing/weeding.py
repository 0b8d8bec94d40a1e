"""Openings of film: in what order they are weeded, what is too narrow to hold. Common practice, no source."""

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WeededPiece:
    """A piece of film that is taken off: its place in the order from 1, its outline, how many islands stay in it."""

    number: int
    piece: shapely.Polygon

    @property
    def islands(self) -> int:
        """Pieces of film inside it that stay."""
        return len(self.piece.interiors)


@dataclass(frozen=True, slots=True, kw_only=True)
class Speck:
    """A place too narrow for film to hold: it is left out, and paint comes down on what it would have covered.

    covers: names of the colours there, "bare" among them.
    """

    x_mm: float
    y_mm: float
    width_mm: float
    covers: tuple[str, ...]


def weeding_order(opening: BaseGeometry) -> tuple[WeededPiece, ...]:
    """Openings in the order they come off: small ones first, while the film round them is still held all over."""
    parts = [part for part in shapely.get_parts(opening) if isinstance(part, shapely.Polygon) and not part.is_empty]
    places = sorted(parts, key=lambda part: (round(shapely.Polygon(part.exterior).area, 3), part.bounds))
    return tuple(WeededPiece(number=number, piece=part) for number, part in enumerate(places, start=1))


def without_specks(opening: BaseGeometry, narrowest_mm: float) -> tuple[BaseGeometry, list[shapely.Polygon]]:
    """The opening with islands of film dropped that are narrower than film can be, and those islands."""
    parts, dropped = [], []
    for part in shapely.get_parts(opening):
        kept = []
        for ring in part.interiors:
            island = shapely.Polygon(ring)
            if width_mm(island) < narrowest_mm:
                dropped.append(island)
            else:
                kept.append(ring)
        parts.append(shapely.Polygon(part.exterior, kept))
    return (shapely.MultiPolygon(parts), dropped) if dropped else (opening, [])


def width_mm(piece: shapely.Polygon) -> float:
    """How wide a piece is where it is widest: the largest circle in it."""
    line = shapely.maximum_inscribed_circle(piece, tolerance=0.01)
    return 2 * float(shapely.length(line))


def specks_of(islands: Sequence[shapely.Polygon], named: Sequence[tuple[str, BaseGeometry]]) -> tuple[Speck, ...]:
    """The islands by the names of what lies under them."""
    specks = []
    for island in islands:
        at = shapely.get_coordinates(shapely.maximum_inscribed_circle(island, tolerance=0.01))[0].tolist()
        covers = tuple(name for name, region in named if shapely.intersection(region, island).area > 1e-6)
        specks.append(Speck(x_mm=at[0], y_mm=at[1], width_mm=width_mm(island), covers=covers))
    return tuple(specks)
