"""Pieces of sheet on the rack: full sheets and offcuts of any outline, with what is wrong with them."""

import math
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import UnreadableError
from core.figures import figure
from core.geometry.affine import apply_to_region, translation
from core.sheet.batches import NO_BATCH, Batch
from core.sheet.placement import FARTHEST_MM, Flaw, Points, Sheet

Film = Literal["unknown", "none", "paper", "plastic film"]

FILMS: tuple[Film, ...] = ("unknown", "none", "paper", "plastic film")


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece of stock, seen from the front, the top left corner of its box at the origin, mm.

    stock: the stock's name. outline: its rings, the outer one first, then holes. price: what the piece is worth, in
    the shop's own currency. where: shelf or slot. cut_from: the uuid of the piece it was left of. full: a sheet as
    bought, not an offcut. batch: which delivery it is of. reserved_for: the job that it is kept for, "" for any.
    """

    stock: str
    thickness_mm: float = figure(words="Thickness", unit="mm", least=0.01, most=1_000, step=0.1)
    outline: tuple[Points, ...] = figure(words="Outline", unit="mm", least=-FARTHEST_MM, most=FARTHEST_MM)
    film_front: Film = "unknown"
    film_back: Film = "unknown"
    price: float = figure(0.0, words="Price", least=0, most=1_000_000, always_kept=True)
    where: str = ""
    flaws: tuple[Flaw, ...] = ()
    cut_from: str = ""
    full: bool = False
    note: str = ""
    batch: Batch = field(default=NO_BATCH, metadata={"omit_default": True})
    reserved_for: str = figure("", words="Kept for", most=200, about="The job that it is kept for")


def rectangle(width_mm: float, height_mm: float) -> tuple[Points, ...]:
    """The outline of a plain sheet. Raises UnreadableError when a side is not above zero."""
    if not all(math.isfinite(side) and side > 0 for side in (width_mm, height_mm)):
        raise UnreadableError("A piece needs a width and a height above zero.", hint="Write them in mm, like 300x200.")
    return (((0.0, 0.0), (width_mm, 0.0), (width_mm, height_mm), (0.0, height_mm)),)


def region_of(outline: tuple[Points, ...]) -> BaseGeometry:
    """The polygon of rings, the outer one first. Raises UnreadableError when they make no single polygon."""
    try:
        polygon = shapely.Polygon(outline[0], outline[1:])
    except (ValueError, IndexError, TypeError, shapely.errors.ShapelyError):
        raise UnreadableError("The outline of a piece needs at least three corners.") from None
    if not polygon.is_valid or polygon.area <= 0 or not np.isfinite(polygon.bounds).all():
        raise UnreadableError(
            "The outline of a piece crosses itself, or a hole reaches over its edge.",
            hint="Name the corners in the order in which they lie round the piece.",
        )
    return polygon


def outline_of(region: BaseGeometry) -> tuple[Points, ...]:
    """The rings of a polygon, the outer one first, without the repeated last corner."""
    rings = shapely.get_rings(shapely.get_parts(region)[:1])
    return tuple(tuple((float(x), float(y)) for x, y in shapely.get_coordinates(ring)[:-1]) for ring in rings)


def to_origin(region: BaseGeometry) -> tuple[BaseGeometry, float, float]:
    """The region with the top left corner of its box at the origin, and the (dx, dy) that put it there."""
    x0, y0, _, _ = region.bounds
    return apply_to_region(translation(-x0, -y0), region), -float(x0), -float(y0)


def piece_region(piece: Piece) -> BaseGeometry:
    """The piece as a polygon. Raises UnreadableError where its outline is none."""
    return region_of(piece.outline)


def sheet_region(sheet: Sheet) -> BaseGeometry:
    """The sheet as a polygon, front frame. Raises UnreadableError where its outline is none.

    An outline that does not fill the sheet's size belongs to a sheet it was before: then it is a plain rectangle.
    """
    plain = shapely.box(0.0, 0.0, sheet.width_mm, sheet.height_mm)
    if not sheet.outline:
        return plain
    region = region_of(sheet.outline)
    return region if np.allclose(region.bounds, plain.bounds, atol=1e-6) else plain


def sheet_of(piece: Piece) -> Sheet:
    """The piece as the sheet of a job."""
    region = piece_region(piece)
    _, _, width_mm, height_mm = region.bounds
    plain = region.equals(shapely.box(0.0, 0.0, width_mm, height_mm))
    return Sheet(
        width_mm=float(width_mm),
        height_mm=float(height_mm),
        thickness_mm=piece.thickness_mm,
        outline=() if plain else piece.outline,
        flaws=piece.flaws,
    )


def checked_piece(piece: Piece) -> Piece:
    """The piece, its box put to the origin (flaws noted from the front go along). Raises UnreadableError.

    Checks: outline, thickness, price, and that each flaw has points and a width.
    """
    region, dx, dy = to_origin(piece_region(piece))
    if not (math.isfinite(piece.thickness_mm) and piece.thickness_mm > 0):
        raise UnreadableError(f"A piece {piece.thickness_mm:g} mm thick can't be.", hint="Give a thickness above zero.")
    if not (math.isfinite(piece.price) and piece.price >= 0):
        raise UnreadableError(f"A price of {piece.price:g} can't be.", hint="Give 0 or more.")
    for flaw in piece.flaws:
        check_flaw(flaw)
    if dx == dy == 0.0:
        return piece
    return replace(piece, outline=outline_of(region), flaws=tuple(_shifted(flaw, dx, dy) for flaw in piece.flaws))


def check_flaw(flaw: Flaw) -> None:
    """Raises UnreadableError where a flaw has too few points or figures that make no sense."""
    least = {"point": 1, "line": 2, "patch": 3}[flaw.kind]
    if len(flaw.points) < least or not np.isfinite(np.array(flaw.points, float)).all():
        places = "a place" if least == 1 else f"at least {least} places"
        raise UnreadableError(f"A {flaw.kind} needs {places}.", hint="Write them like 40,12 52,30.")
    if not (math.isfinite(flaw.width_mm) and flaw.width_mm >= 0):
        raise UnreadableError(f"A flaw {flaw.width_mm:g} mm wide can't be.", hint="Give 0 or more.")


def _shifted(flaw: Flaw, dx: float, dy: float) -> Flaw:
    if flaw.noted_from == "back":
        return flaw  # measured from the box's corner on the back, which stays where it is
    return replace(flaw, points=tuple((x + dx, y + dy) for x, y in flaw.points))
