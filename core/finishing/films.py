"""Film that masks are cut from: kinds, how it is cut, in what order it is weeded. Common practice, no source."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

FilmKind = Literal["paint mask", "transfer tape"]
CutBy = Literal["plotter", "laser"]

CHLORINE = (
    "Cut film with the laser only where its maker says that it holds no chlorine: PVC film gives off hydrogen chloride."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class FilmWords:
    """What to know of a kind of film. laying: how it gets onto the part; edges: how paint behaves at its edges."""

    laying: str
    edges: str


FILMS: dict[FilmKind, FilmWords] = {
    "paint mask": FilmWords(
        laying="Weed the openings on the liner, lay tape over it, and carry it over, islands and all.",
        edges="Press the edges down; peel while the last coat is still soft.",
    ),
    "transfer tape": FilmWords(
        laying="Lay it dry from the middle outwards; islands are laid one by one.",
        edges="Paper drinks paint: the first coat light, so that none creeps under.",
    ),
}


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
