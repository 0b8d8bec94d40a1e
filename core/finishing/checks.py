"""Numbers of finishing that make no sense, said before anything is planned with them."""

import math
import re

from core.errors import UnreadableError
from core.finishing.paints import BARE, Finishing, Paint

MAX_PIECES = 500
_COLOUR = re.compile("#[0-9a-fA-F]{6}")


def check_finishing(finishing: Finishing) -> None:
    """Raises UnreadableError for the first figure that makes no sense, saying which and what would."""
    names = [paint.name.casefold() for paint in finishing.paints]
    for paint in finishing.paints:
        _check_paint(paint)
        if names.count(paint.name.casefold()) > 1:
            raise UnreadableError(f"Two paints are called “{paint.name}”.", hint="Give one another name.")
    masks = finishing.masks
    _in_range(masks.bleed_mm, "The bleed", 0.0, 20.0, "mm")
    _in_range(masks.clearance_mm, "The clearance", 0.0, 20.0, "mm")
    _in_range(masks.least_bridge_mm, "The film's least bridge", 0.1, 50.0, "mm")
    _in_range(masks.least_opening_mm, "The least opening", 0.0, 50.0, "mm")
    _in_range(masks.marks_mm, "The distance of the register marks", 0.0, 100.0, "mm")
    day = finishing.workday
    _in_range(day.opens_h, "The hour work begins", 0.0, 24.0, "h")
    _in_range(day.closes_h, "The hour work ends", 0.0, 24.0, "h")
    hands = ((day.mask_min, "Laying a mask"), (day.coat_min, "A coat"), (day.peel_min, "Peeling a mask"))
    for value, what in (*hands, (day.abrade_min, "Abrading a coat")):
        _in_range(value, what, 0.0, 240.0, "min")
    if day.closes_h - day.opens_h < max(1.0, max(day.mask_min, day.abrade_min + day.coat_min, day.peel_min) / 60):
        raise UnreadableError("The working day is too short for one step.", hint="Let it last an hour or more.")
    if not 1 <= finishing.pieces <= MAX_PIECES:
        raise UnreadableError(f"{finishing.pieces} pieces can't be planned.", hint=f"Give 1 to {MAX_PIECES}.")


def _check_paint(paint: Paint) -> None:
    name = paint.name
    if not name.strip() or name.casefold() == BARE:
        raise UnreadableError(f"A paint can't be called “{name}”.", hint="Give it a name of its own.")
    if not _COLOUR.fullmatch(paint.colour):
        raise UnreadableError(f"{name}: “{paint.colour}” is no colour.", hint="Write it like #1b8a8f.")
    for count, what, least in (
        (paint.coats, "coats", 1),
        (paint.hides_in_coats, "coats to hide", 1),
        (paint.backing_coats, "coats of backing", 0),
    ):
        if not least <= count <= 50:
            raise UnreadableError(f"{name}: {count} {what} make no sense.", hint=f"Give {least} to 50.")
    _in_range(paint.between_coats_min, f"{name}: the time between coats", 0.0, 10_080.0, "min")
    _in_range(paint.recoat_within_min, f"{name}: the latest time for the next coat", 0.0, 100_000.0, "min")
    _in_range(paint.mask_after_min, f"{name}: the time before the next mask", 0.0, 20_160.0, "min")
    _in_range(paint.cure_h, f"{name}: the full cure", 0.0, 2000.0, "h")
    _in_range(paint.loss_share, f"{name}: the loss", 0.0, 0.95, "of 1")
    if paint.kind != "film":
        _in_range(paint.spreading_rate_m2_l, f"{name}: the spreading rate", 0.01, 1000.0, "m² a litre")
    _in_range(paint.can_ml, f"{name}: the can", 0.0, 100_000.0, "ml")
    _in_range(paint.price, f"{name}: the price", 0.0, 1e6, "")


def _in_range(value: float, what: str, least: float, most: float, unit: str) -> None:
    if not (math.isfinite(value) and least <= value <= most):
        raise UnreadableError(f"{what} is {value:g} {unit}.".replace(" .", "."), hint=f"Give {least:g} to {most:g}.")
