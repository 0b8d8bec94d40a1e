"""Jigs: stops that put a sheet, or one blank after the other, in the same place.

All is drawn in the front frame, as everything is: the export turns it for back work with the same turn as the job that
it serves, so that the opening of a nest fits the blank that lies front down in it.
"""

import math
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import JobError, UnreadableError
from core.geometry.affine import apply_to_region, translation
from core.sheet.drawn import Drawn, Hole
from core.sheet.faces import Corner
from core.sheet.kerf import offset
from core.sheet.laid_datum import KEY_PLAY_MM, WEB_MM, room_for_places, three_places
from core.sheet.play import Play, Point, play_of_two_points

_MOST_BLANKS = 100


def corner_stop(corner: Corner, *, arm_mm: float = 80.0, width_mm: float = 20.0, relief_mm: float = 3.0) -> Drawn:
    """An angle to lay round one corner of a sheet, named as seen from the front.

    relief_mm: diameter of the round that keeps the sheet's own corner, burred or chipped, from touching.
    """
    _above_zero(arm_mm=arm_mm, width_mm=width_mm)
    if width_mm >= arm_mm or relief_mm < 0 or relief_mm > width_mm:
        raise UnreadableError("The arms of a corner stop must be longer than wide.", hint="Like 80 long, 20 wide.")
    angle = shapely.box(0, 0, arm_mm, arm_mm).difference(shapely.box(width_mm, width_mm, 2 * arm_mm, 2 * arm_mm))
    if relief_mm:
        angle = angle.difference(shapely.Point(width_mm, width_mm).buffer(relief_mm / 2, quad_segs=32))
    vertical, horizontal = corner.split()
    flip_x, flip_y = horizontal == "right", vertical == "bottom"
    placed = apply_to_region(
        (-1.0 if flip_x else 1.0, 0.0, 0.0, -1.0 if flip_y else 1.0, arm_mm * flip_x, arm_mm * flip_y), angle
    )
    return Drawn(name="corner stop", width_mm=arm_mm, height_mm=arm_mm, kept=placed)


def nest(
    blank: BaseGeometry, *, clearance_mm: float = 0.2, frame_mm: float = 15.0, finger_mm: float = 16.0, count: int = 1
) -> Drawn:
    """A frame with an opening for a ready-cut blank, ``clearance_mm`` wider all round; several in a row for ``count``.

    finger_mm: diameter of the round at the opening's lower edge to lift the blank by, 0 for none. The blank's holes
    do not matter. The beam leaves corners round by half the kerf: sharp blanks want a clearance of at least that.
    Raises UnreadableError for senseless figures or a blank that is no single piece.
    """
    _above_zero(frame_mm=frame_mm)
    if not (math.isfinite(clearance_mm) and clearance_mm >= 0 and finger_mm >= 0):
        raise UnreadableError("A nest needs a clearance of 0 or more.", hint="0.1 to 0.3 mm is common, no source.")
    if not 1 <= count <= _MOST_BLANKS:
        raise UnreadableError(f"A nest for {count} blanks can't be.", hint=f"Ask for 1 to {_MOST_BLANKS}.")
    parts = shapely.get_parts(blank)
    if len(parts) != 1 or parts[0].is_empty:
        raise UnreadableError("A nest is made for one piece at a time.", hint="Name one with a single outline.")
    opening = offset(shapely.Polygon(parts[0].exterior), clearance_mm)
    if finger_mm:
        opening = shapely.union(opening, shapely.Point(*_lowest(opening)).buffer(finger_mm / 2, quad_segs=32))
    x0, y0, x1, y1 = opening.bounds
    pitch_mm = x1 - x0 + frame_mm
    openings = [
        apply_to_region(translation(frame_mm - x0 + number * pitch_mm, frame_mm - y0), opening)
        for number in range(count)
    ]
    width_mm, height_mm = frame_mm + count * pitch_mm, y1 - y0 + 2 * frame_mm
    frame = shapely.box(0, 0, width_mm, height_mm)
    return Drawn(
        name="nest", width_mm=width_mm, height_mm=height_mm, kept=shapely.difference(frame, shapely.union_all(openings))
    )


def _lowest(region: BaseGeometry) -> Point:
    """The middle of the lower edge: where the outline lies lowest below the middle of the box."""
    x0, _, x1, y1 = region.bounds
    middle = (x0 + x1) / 2
    crossing = shapely.intersection(region, shapely.LineString([(middle, region.bounds[1] - 1), (middle, y1 + 1)]))
    return float(middle), float(crossing.bounds[3])


# --- pins ------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class PinHoles:
    """Where pins go through the sheet, front frame: two that hold it, far apart, and a third that only keeps it from
    being put back the wrong way round. Diameters of the holes in the sheet; the pins' own is ``pin_mm``."""

    places: tuple[Point, Point, Point]
    pin_mm: float
    hole_mm: float
    key_hole_mm: float

    @property
    def play(self) -> Play:
        """How the sheet can come back: both holes lie at most half the clearance off their pins."""
        first, second, _ = self.places
        return play_of_two_points(first, second, (self.hole_mm - self.pin_mm) / 2)

    @property
    def holes(self) -> tuple[Hole, ...]:
        """The holes in the sheet."""
        widths_mm = (self.hole_mm, self.hole_mm, self.key_hole_mm)
        return tuple(
            Hole(x_mm=x, y_mm=y, diameter_mm=width) for (x, y), width in zip(self.places, widths_mm, strict=True)
        )

    def board(self, width_mm: float, height_mm: float, *, press_mm: float = 0.0) -> Drawn:
        """Holes through a board as large as the sheet, for pins to stand in: their own diameter less the press."""
        holes = tuple(Hole(x_mm=x, y_mm=y, diameter_mm=self.pin_mm - press_mm) for x, y in self.places)
        return Drawn(name="pin board", width_mm=width_mm, height_mm=height_mm, holes=holes)


def pin_holes(
    sheet: BaseGeometry, burned: BaseGeometry, *, pin_mm: float, clearance_mm: float = 0.05, web_mm: float = WEB_MM
) -> PinHoles:
    """Places for three pins in what the job leaves of the sheet, ``web_mm`` from its edge and from all that is burned.

    clearance_mm: the holes in the sheet are so much wider than the pins. Raises JobError where there is no room,
    UnreadableError for senseless figures.
    """
    _above_zero(pin_mm=pin_mm)
    if not (0 <= clearance_mm < KEY_PLAY_MM and web_mm >= 0):
        raise UnreadableError(
            f"Pins need a clearance of 0 or more, below {KEY_PLAY_MM:g} mm, and a web of 0 or more.",
            hint="Like 0.05 and 3 mm.",
        )
    reach_mm = (pin_mm + KEY_PLAY_MM) / 2 + web_mm
    room = room_for_places(sheet, burned, reach_mm)
    if room.is_empty:
        raise JobError(
            f"There is no room for pins of {pin_mm:g} mm beside the job.", hint="Take thinner pins or a larger sheet."
        )
    places = three_places(room, apart_mm=4 * reach_mm, key_apart_mm=2 * reach_mm)
    if places is None:
        raise JobError("There is no room for three pins that hold the sheet one way only.", hint="Move the job aside.")
    return PinHoles(places=places, pin_mm=pin_mm, hole_mm=pin_mm + clearance_mm, key_hole_mm=pin_mm + KEY_PLAY_MM)


def _above_zero(**figures_mm: float) -> None:
    for name, value in figures_mm.items():
        if not (math.isfinite(value) and value > 0):
            what = name.removesuffix("_mm")
            raise UnreadableError(f"The {what} of a jig is {value:g} mm.", hint="Give a number above zero.")
