"""How painted areas look on the faces: the finished piece, or the sheet at the bench with the film that lies on it."""

from typing import TYPE_CHECKING

from app.canvas.modes import RegionLook
from core.job.painting.bench import looks_at

if TYPE_CHECKING:
    from app.session.painting import Painted

COAT = "#b8bdc2"
FILM, FILM_HATCH = "#c9c2a5", "#5d5638"


def looks_of(painted: "Painted", at: int | None) -> tuple[RegionLook, ...]:
    """The painted areas in their colours, as they are after a step; over them its film, hatched."""
    if at is None:
        areas = painted.painting.colouring.areas
        return tuple(RegionLook(region=one.region, colour=one.paint.colour) for one in areas if not one.region.is_empty)
    step = painted.bench[at]
    seen = looks_at(painted.plan, painted.painting, painted.burning, step)
    looks = [RegionLook(region=look.region, colour=look.colour or COAT) for look in seen]
    if not step.film.is_empty:
        looks.append(RegionLook(region=step.film, colour=FILM, pattern="hatch", pattern_colour=FILM_HATCH, opacity=0.6))
    return tuple(looks)
