"""Film that masks are cut from: kinds, and how it is cut. Common practice, no source."""

from dataclasses import dataclass
from typing import Literal

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
