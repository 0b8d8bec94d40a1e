"""The datum on its sheet: where its marks or pins are, how it holds, and room for them. All places front frame, mm."""

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.errors import JobError
from core.geometry.path import Path, ellipse, polyline
from core.sheet.datum import Datum, DatumKind
from core.sheet.drawn import Hole
from core.sheet.play import Play, Point, play_of_two_points

MARK_ARM_MM = 3.0
MARK_RADIUS_MM = 1.5
MARK_BAR_MM = 0.5
"""Width of the bars of a cleared mark."""
KEY_PLAY_MM = 1.0
"""The third hole is so much wider than its pin, so that it takes no part in holding the sheet."""
WEB_MM = 3.0
"""So much sheet stays between a hole, its edge and what is burned."""
MARK_ROOM_MM = 1.0
"""So far a mark stays off all else."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LaidDatum:
    """The datum of a job on its sheet. places: of three marks or pins, none for the part's edge.

    The first two hold, far apart; the third tells a sheet or a film that is laid the wrong way round.
    """

    datum: Datum
    places: tuple[Point, ...] = ()

    @property
    def kind(self) -> DatumKind:
        """Which of the three it is."""
        return self.datum.kind

    @property
    def holes(self) -> tuple[Hole, ...]:
        """The holes in the sheet, for pins alone."""
        if self.kind != "pins":
            return ()
        held = self.datum.pin_mm + self.datum.pin_clearance_mm
        widths_mm = (held, held, self.datum.pin_mm + KEY_PLAY_MM)
        return tuple(
            Hole(x_mm=x, y_mm=y, diameter_mm=width) for (x, y), width in zip(self.places, widths_mm, strict=True)
        )

    @property
    def play(self) -> Play:
        """How the sheet can come back on marks or pins. Raises JobError for the part's edge, which a nest holds."""
        if self.kind == "part edge":
            raise JobError("The part's edge has the play of its nest.")
        off_mm = self.datum.met_within_mm if self.kind == "marks" else self.datum.pin_clearance_mm / 2
        return play_of_two_points(self.places[0], self.places[1], off_mm)

    @property
    def film_words(self) -> str:
        """How film is laid by it."""
        return {
            "part edge": "Film is cut to the part's edge: lay it flush.",
            "marks": "Lay film by the three marks; the fourth corner has none.",
            "pins": "Lay film over the three pins.",
        }[self.kind]

    @property
    def words(self) -> str:
        """What to lay by, in a sentence."""
        if self.kind == "part edge":
            return "Datum: the part's cut edge. Film is cut to it and laid flush."
        where = ", ".join(f"{x:.1f} / {y:.1f}" for x, y in self.places)
        if self.kind == "marks":
            return f"Datum: three marks in the waste, at {where} mm of the front. The outline is cut last."
        return f"Datum: three pins of {self.datum.pin_mm:g} mm, at {where} mm of the front. The outline is cut last."


def mark_paths(place: Point) -> tuple[Path, ...]:
    """A scored mark: two arms and a circle."""
    x, y = place
    arm = MARK_ARM_MM
    return (
        polyline(np.array([[x - arm, y], [x + arm, y]])),
        polyline(np.array([[x, y - arm], [x, y + arm]])),
        ellipse(place, MARK_RADIUS_MM, MARK_RADIUS_MM),
    )


def mark_region(place: Point) -> BaseGeometry:
    """A cleared mark: two bars across each other."""
    (x, y), arm, half = place, MARK_ARM_MM, MARK_BAR_MM / 2
    bars = [shapely.box(x - arm, y - half, x + arm, y + half), shapely.box(x - half, y - arm, x + half, y + arm)]
    return shapely.union_all(bars)


def corner_places(outline: BaseGeometry, away_mm: float) -> tuple[Point, Point, Point]:
    """Three corners of the box round a part, so far off it: the two that lie across come first."""
    x0, y0, x1, y1 = outline.bounds
    return (x1 + away_mm, y0 - away_mm), (x0 - away_mm, y1 + away_mm), (x0 - away_mm, y0 - away_mm)


def room_for_places(sheet: BaseGeometry, taken: BaseGeometry, reach_mm: float) -> BaseGeometry:
    """Where a place can be that needs so much room to each side, in the sheet and off what is taken."""
    inside = sheet.buffer(-reach_mm, join_style="mitre")
    return shapely.difference(inside, taken.buffer(reach_mm, quad_segs=8))


def three_places(room: BaseGeometry, *, apart_mm: float, key_apart_mm: float) -> tuple[Point, Point, Point] | None:
    """Two places as far apart as there are, and a third that shows the wrong way round; None where there are none.

    Turned by half a turn, or over, the third comes at least ``key_apart_mm`` off all three.
    """
    corners = shapely.get_coordinates(room)
    if not len(corners):
        return None
    points = np.unique(np.round(corners, 3), axis=0)
    hull = points if len(points) < 3 else shapely.get_coordinates(shapely.MultiPoint(points).convex_hull)
    apart = np.hypot(*(hull[:, None] - hull[None]).transpose(2, 0, 1))
    one, other = np.unravel_index(int(apart.argmax()), apart.shape)
    first, second = hull[one], hull[other]
    if apart.max() < apart_mm:
        return None
    over = _over(points, first, second)
    twins = [first + second - points, over, first + second - over]
    clear = np.min([np.hypot(*(points - twin).T) for twin in twins], axis=0)
    clear = np.minimum(clear, np.minimum(np.hypot(*(points - first).T), np.hypot(*(points - second).T)))
    if clear.max() < key_apart_mm:
        return None
    third = points[int(clear.argmax())]
    return tuple((float(x), float(y)) for x, y in (first, second, third))  # type: ignore[return-value]  # three of them


def _over(points: NDArray[np.float64], first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points mirrored about the line through two of them."""
    along = (second - first) / np.hypot(*(second - first))
    turned: NDArray[np.float64] = 2 * (first + np.outer((points - first) @ along, along)) - points
    return turned
