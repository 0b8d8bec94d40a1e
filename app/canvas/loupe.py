"""The loupe over the faces: the coat after burning, magnified, on the bed and as seen from the front after painting.

Pictures are worked out off the GUI thread, for what is seen only; a newer place gives up an older one.
"""

from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QObject, QPointF, QRectF, Qt, Signal
from PySide6.QtGui import QColor, QFontMetricsF, QImage, QPainter, QPainterPath, QPen

from app.canvas.aim import LENS_PX, Aim
from app.canvas.faces_layout import Face, FaceName
from app.canvas.faces_view import FacesView
from app.canvas.sheet_picture import ruler_font
from app.session.background import Background, Question
from app.theme.theme import theme, theme_changes
from core.progress import Progress
from core.units import MM_PER_INCH, length_text

if TYPE_CHECKING:
    from app.canvas.looked_at import Seen
    from core.burning.loupe import FillLoupe
    from core.job.plan import Plan

LEAST, MOST, USUAL = 10.0, 200.0, 50.0
LENS_GAP_PX = 6


class Loupe(QObject):
    """An overlay of the faces. seen_changed: another picture is shown, or none."""

    seen_changed = Signal()

    def __init__(self, view: FacesView) -> None:
        super().__init__(view)
        self._view = view
        self._question = Question(Background("loupe", self))
        self._asked: Aim | None = None
        self._loupes: tuple[FillLoupe, ...] | None = None
        self._plan: Plan | None = None
        self._pointer_mm: tuple[float, float] | None = None
        self._kept_mm: tuple[float, float] | None = None
        self.on = False
        self.magnification = USUAL
        self.paint_colour: str | None = None
        self.inches = False
        self.seen: Seen | None = None
        view.touch.pointed.connect(self._pointed)
        view.add_overlay(self)
        theme_changes().changed.connect(view.update)

    # --- what it does --------------------------------------------------------------------------------------------

    def show_on(self, on: bool) -> None:
        """Show it, or put it away."""
        self.on = on
        self._begin_anew()

    def show_plan(self, plan: "Plan | None") -> None:
        """Look at this plan; only a complete one can be looked at."""
        self._plan = plan if plan is not None and plan.complete else None
        self._begin_anew()

    def lay_on(self, x_mm: float, y_mm: float) -> None:
        """Look at a place of the front until the pointer comes over the faces."""
        self._pointer_mm, self._kept_mm = None, (x_mm, y_mm)
        self._view.update()

    def show_magnification(self, times: float) -> None:
        """Magnify so many times."""
        self.magnification = min(max(times, LEAST), MOST)
        self._view.update()

    def show_paint(self, colour: str | None) -> None:
        """The paint that is seen from the front where the coat is gone; None for the bare sheet."""
        self.paint_colour = colour
        self._view.update()

    def show_inches(self, inches: bool) -> None:
        """Say how far across in inches, or in mm."""
        self.inches = inches
        self.seen_changed.emit()

    @property
    def settled(self) -> bool:
        """Whether what is shown is what is aimed at."""
        return not self.on or self._plan is None or (self.seen is not None and self.seen.aim == self._aim())

    @property
    def words(self) -> str:
        """What is seen, in words."""
        if self._plan is None:
            return "Nothing to look at until the job is worked out."
        if self.seen is None:
            return "Looking…"
        told = ", ".join(f"{word} {100 * share:.0f} %" for word, share in self.seen.shares if share >= 0.005)
        return f"{length_text(self.seen.aim.span_mm, inches=self.inches, places=2)} across: {told}"

    # --- working it out ------------------------------------------------------------------------------------------

    def _begin_anew(self) -> None:
        self._question.stop()
        self._asked, self._loupes, self.seen = None, None, None
        self.seen_changed.emit()
        self._view.update()

    def _pointed(self, point: tuple[float, float] | None) -> None:
        self._pointer_mm = point
        if point is not None:
            self._kept_mm = None
        if self.on:
            self._view.update()

    def _aim(self) -> Aim:
        """Where the pointer is, else where it was laid, else the middle of the view: a listed place comes there."""
        x_mm, y_mm = self._pointer_mm or self._kept_mm or (self._view.state.view.x_mm, self._view.state.view.y_mm)
        px_per_mm = self._view.logicalDpiX() / MM_PER_INCH
        span_mm = lens_px(self._view.state.faces[0]) / px_per_mm / self.magnification
        return Aim(x_mm=x_mm, y_mm=y_mm, span_mm=span_mm, paint=self.paint_colour)

    def _ask(self, plan: "Plan") -> None:
        aim = self._aim()
        if aim == self._asked:
            return
        self._asked = aim
        known = self._loupes

        def work(progress: Progress) -> "tuple[tuple[FillLoupe, ...], Seen]":
            from app.canvas.looked_at import looked
            from core.job.looking import plan_loupes

            loupes = known if known is not None else plan_loupes(plan)
            return loupes, looked(loupes, plan, aim)

        self._question.ask_once(work, self._take)

    def _take(self, found: "tuple[tuple[FillLoupe, ...], Seen]") -> None:
        self._loupes, self.seen = found
        self.seen_changed.emit()
        self._view.update()

    # --- painting ------------------------------------------------------------------------------------------------

    def paint(self, painter: QPainter, face: Face) -> None:
        """Paint the lens on a face (see ``Overlay``)."""
        if not self.on or self._plan is None:
            return
        self._ask(self._plan)
        if self.seen is not None:
            aim = self.seen.aim
            picture = picture_on(self.seen, face.name)
            title = "from the front, painted" if aim.paint else "from the front"
            box, place = lens_box(face, aim), face.to_px(aim.x_mm, aim.y_mm)
            if QLineF(box.center(), place).length() > 1.0:
                _paint_pointer_to(painter, box.center(), place)
            self._paint_lens(painter, box, picture, title if face.name == "front" else "bed")

    def _paint_lens(self, painter: QPainter, box: QRectF, picture: QImage, title: str) -> None:
        colours = theme().canvas
        lens = QPainterPath()
        lens.addEllipse(box)
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setClipPath(lens, Qt.ClipOperation.IntersectClip)
        painter.drawImage(box, picture)
        painter.restore()
        painter.setBrush(Qt.BrushStyle.NoBrush)
        for colour, width in ((colours.halo, 5.0), (colours.pointer, 2.0)):
            painter.setPen(QPen(QColor(colour), width))
            painter.drawEllipse(box)
        painter.setFont(ruler_font(self._view.font()))
        text = f"{self.magnification:g}×, {title}"
        metrics = QFontMetricsF(painter.font())
        plate = QRectF(0, 0, metrics.horizontalAdvance(text) + 12, metrics.height() + 6)
        plate.moveCenter(QPointF(box.center().x(), box.bottom() - plate.height() - 6))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(colours.pointer))
        painter.drawRoundedRect(plate, 4, 4)
        painter.setPen(QColor(colours.halo))
        painter.drawText(plate, Qt.AlignmentFlag.AlignCenter, text)


def lens_px(face: Face) -> float:
    """How large the lens is on a face: as it is, or as large as a small face has room for."""
    return float(max(min(LENS_PX, face.area.width() - 2 * LENS_GAP_PX, face.area.height() - 2 * LENS_GAP_PX), 1))


def lens_box(face: Face, aim: Aim) -> QRectF:
    """Where the lens lies, px: over its place, moved where it would reach over the edge of its face."""
    size = lens_px(face)
    box = QRectF(0.0, 0.0, size, size)
    box.moveCenter(face.to_px(aim.x_mm, aim.y_mm))
    room = QRectF(face.area).adjusted(LENS_GAP_PX, LENS_GAP_PX, -LENS_GAP_PX, -LENS_GAP_PX)
    box.moveLeft(min(max(box.left(), room.left()), room.right() - size))
    box.moveTop(min(max(box.top(), room.top()), room.bottom() - size))
    return box


def _paint_pointer_to(painter: QPainter, middle: QPointF, place: QPointF) -> None:
    """A line from a lens that had to move to the place that it shows."""
    colours = theme().canvas
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for colour, width in ((colours.halo, 5.0), (colours.pointer, 2.0)):
        painter.setPen(QPen(QColor(colour), width))
        painter.drawLine(middle, place)
        painter.drawEllipse(place, 4.0, 4.0)


def picture_on(seen: "Seen", face: FaceName) -> QImage:
    """The picture of one face."""
    return seen.front if face == "front" else seen.bed
