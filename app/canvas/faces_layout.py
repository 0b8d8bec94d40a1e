"""Where the two faces lie in the view, and the maps between their pixels and the front frame."""

from dataclasses import dataclass, replace
from typing import Literal

from PySide6.QtCore import QPointF, QRect, QRectF

from core.sheet.placement import Sheet, Turn

FaceName = Literal["front", "bed"]
Arrangement = Literal["by width", "side by side", "stacked"]

TITLE_PX = 32
RULER_PX = 20
RULE_PX = 1
NARROW_PX = 640
MUCH_LARGER = 1.2
TURN_BACK = 1.15
"""The other arrangement must win by so much more before the faces change over, so that no small step flips them."""
FIT_MARGIN_PX = 40
FIT_SHARE = 0.93
"""How much of a face's limiting side a fitted artwork takes."""
MAX_PX_PER_MM = 1000.0
MIN_SPAN_FACTOR = 4.0
"""Zooming out ends when the sheet takes a quarter of what it takes when it fits."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """The front point in the middle of both faces, and the zoom they share."""

    x_mm: float
    y_mm: float
    px_per_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Face:
    """One face on the screen. ``frame`` holds title and rulers too, ``area`` is where the sheet is drawn.

    ``mirror_x``/``mirror_y``: the turn, on the bed; never set on the front.
    """

    name: FaceName
    frame: QRect
    area: QRect
    view: View
    sheet: Sheet
    mirror_x: bool
    mirror_y: bool

    @property
    def middle(self) -> QPointF:
        """Middle of the area, px."""
        return QPointF(self.area.x() + self.area.width() / 2, self.area.y() + self.area.height() / 2)

    @property
    def sign_x(self) -> float:
        """-1 where x is mirrored."""
        return -1.0 if self.mirror_x else 1.0

    @property
    def sign_y(self) -> float:
        """-1 where y is mirrored."""
        return -1.0 if self.mirror_y else 1.0

    def to_px(self, x_mm: float, y_mm: float) -> QPointF:
        """A front point on this face, px of the view."""
        middle, scale = self.middle, self.view.px_per_mm
        return QPointF(
            middle.x() + self.sign_x * (x_mm - self.view.x_mm) * scale,
            middle.y() + self.sign_y * (y_mm - self.view.y_mm) * scale,
        )

    def to_front(self, point: QPointF) -> tuple[float, float]:
        """The front point, mm, that a pixel of this face shows."""
        middle, scale = self.middle, self.view.px_per_mm
        return (
            self.view.x_mm + self.sign_x * (point.x() - middle.x()) / scale,
            self.view.y_mm + self.sign_y * (point.y() - middle.y()) / scale,
        )

    def own(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """A front point in this face's own frame; the same map leads back."""
        return (
            self.sheet.width_mm - x_mm if self.mirror_x else x_mm,
            self.sheet.height_mm - y_mm if self.mirror_y else y_mm,
        )

    def rect_px(self, x0_mm: float, y0_mm: float, x1_mm: float, y1_mm: float) -> QRectF:
        """A front box on this face, px."""
        return QRectF(self.to_px(x0_mm, y0_mm), self.to_px(x1_mm, y1_mm)).normalized()

    @property
    def sheet_rect(self) -> QRectF:
        """The sheet on this face, px."""
        return self.rect_px(0.0, 0.0, self.sheet.width_mm, self.sheet.height_mm)


def laid_out(
    size: tuple[int, int],
    arrangement: Arrangement,
    view: View,
    sheet: Sheet,
    turn: Turn,
    *,
    stacked: bool | None = None,
) -> tuple[Face, Face]:
    """Front and bed in a view of this many px: side by side, or one above the other where it is narrow.

    ``stacked``: what was settled on before; None decides it by the sheet.
    """
    width, height = size
    if stacked is None:
        stacked = is_stacked(size, arrangement, (sheet.width_mm, sheet.height_mm))
    frames = _frames(width, height, stacked=stacked)
    names: tuple[FaceName, FaceName] = ("front", "bed")
    front, bed = (
        Face(
            name=name,
            frame=frame,
            area=_area(frame),
            view=view,
            sheet=sheet,
            mirror_x=name == "bed" and turn == "sideways",
            mirror_y=name == "bed" and turn == "endways",
        )
        for name, frame in zip(names, frames, strict=True)
    )
    return front, bed


def is_stacked(
    size: tuple[int, int], arrangement: Arrangement, shown_mm: tuple[float, float], *, was: bool | None = None
) -> bool:
    """Whether the faces lie one above the other: as told, when narrow, or where that shows so wide a thing much larger.

    ``was``: how they lay before; it takes more to change over than to stay.
    """
    if arrangement != "by width":
        return arrangement == "stacked"
    keep = 1.0 if was is None else (1 / TURN_BACK if was else TURN_BACK)
    if size[0] * keep < NARROW_PX:
        return True
    beside, stacked = (
        _fit_px_per_mm(_area(frames[0]), shown_mm)
        for frames in (_frames(*size, stacked=False), _frames(*size, stacked=True))
    )
    return stacked > MUCH_LARGER * keep * beside


def fitted(face: Face) -> View:
    """The view that shows the whole sheet with some room around."""
    return View(
        x_mm=face.sheet.width_mm / 2,
        y_mm=face.sheet.height_mm / 2,
        px_per_mm=_fit_px_per_mm(face.area, (face.sheet.width_mm, face.sheet.height_mm)),
    )


def fitted_box(face: Face, box_mm: tuple[float, float, float, float]) -> View:
    """The view that shows a front box as large as the face allows, a narrow margin around it."""
    x0, y0, x1, y1 = box_mm
    across, down = (FIT_SHARE * max(side, 40) for side in (face.area.width(), face.area.height()))
    scale = min(across / max(x1 - x0, 1e-3), down / max(y1 - y0, 1e-3), MAX_PX_PER_MM)
    return View(x_mm=(x0 + x1) / 2, y_mm=(y0 + y1) / 2, px_per_mm=scale)


def within_reach(view: View, face: Face, reach_mm: tuple[float, float, float, float]) -> View:
    """The view held where there is something to see: middle in the box, zoom between the two ends."""
    least = fitted(face).px_per_mm / MIN_SPAN_FACTOR
    return View(
        x_mm=min(max(view.x_mm, reach_mm[0]), reach_mm[2]),
        y_mm=min(max(view.y_mm, reach_mm[1]), reach_mm[3]),
        px_per_mm=min(max(view.px_per_mm, least), MAX_PX_PER_MM),
    )


def zoomed_at(face: Face, point: QPointF, factor: float) -> View:
    """The view zoomed so that what this pixel shows stays under it."""
    x_mm, y_mm = face.to_front(point)
    share = 1.0 - 1.0 / factor
    return View(
        x_mm=face.view.x_mm + (x_mm - face.view.x_mm) * share,
        y_mm=face.view.y_mm + (y_mm - face.view.y_mm) * share,
        px_per_mm=face.view.px_per_mm * factor,
    )


def panned(face: Face, dx_px: float, dy_px: float) -> View:
    """The view after this face's picture was moved by so many px."""
    scale = face.view.px_per_mm
    return replace(
        face.view,
        x_mm=face.view.x_mm - face.sign_x * dx_px / scale,
        y_mm=face.view.y_mm - face.sign_y * dy_px / scale,
    )


def _area(frame: QRect) -> QRect:
    return frame.adjusted(RULER_PX, TITLE_PX + RULER_PX, 0, 0)


def _fit_px_per_mm(area: QRect, size_mm: tuple[float, float]) -> float:
    width, height = max(area.width() - 2 * FIT_MARGIN_PX, 40), max(area.height() - 2 * FIT_MARGIN_PX, 40)
    return min(width / max(size_mm[0], 1e-3), height / max(size_mm[1], 1e-3), MAX_PX_PER_MM)


def _frames(width: int, height: int, *, stacked: bool) -> tuple[QRect, QRect]:
    # both of one size, so that one picture, mirrored, serves both
    if stacked:
        each = (height - RULE_PX) // 2
        return QRect(0, 0, width, each), QRect(0, height - each, width, each)
    each = (width - RULE_PX) // 2
    return QRect(0, 0, each, height), QRect(width - each, 0, each, height)
