"""Pictures drawn off the GUI thread: the newest is shown, moved and stretched to the view until the next is there."""

from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QRectF, Signal
from PySide6.QtGui import QImage, QPainter, QRegion

from app.canvas.faces_layout import Face, View
from app.canvas.frame import Frame
from app.session.background import Background, Question
from app.theme.theme import Theme
from core.progress import Progress

if TYPE_CHECKING:
    from app.canvas.picture import Brushwork

MARGIN_SHARE = 0.25
"""How much wider than the face a picture is at each side, so that a pan finds something to show."""
MARGIN_LEFT_SHARE = 0.4
"""A new picture is drawn once less than this share of the margin is left."""
STRETCH_LIMIT = 2.0
"""A picture under way is given up when the zoom has gone further than this meanwhile."""

Paint = Callable[["Brushwork"], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """A picture that is wanted: what of (``key``: pictures of one key differ only by their frame), and how."""

    key: Hashable
    frame: Frame
    theme: Theme
    paint: Paint


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """A finished picture."""

    key: Hashable
    frame: Frame
    image: QImage


def draw(request: Request, progress: Progress) -> Picture:
    """Paint a picture; on whatever thread this is called. Raises Cancelled when the progress callback does."""
    from app.canvas.picture import begin

    image = request.frame.image()
    work = begin(image, request.frame, request.theme, progress)
    try:
        request.paint(work)
    finally:
        work.painter.end()
    return Picture(key=request.key, frame=request.frame, image=image)


class PictureSlot(QObject):
    """One kind of picture: the newest finished one, at most one under way, and the latest wish behind it."""

    changed = Signal()

    def __init__(self, background: Background, parent: QObject) -> None:
        super().__init__(parent)
        self._question = Question(background, self)
        self._question.busy_changed.connect(self._draw_next)
        self._under_way: Request | None = None
        self._waiting: Request | None = None
        self.picture: Picture | None = None

    @property
    def busy(self) -> bool:
        """Whether a picture is under way."""
        return self._question.busy

    def want(self, request: Request) -> None:
        """Have this picture drawn. What is under way for something else, or far off in zoom, is given up."""
        running = self._under_way if self.busy else None
        if running is not None and running.key == request.key:
            if running.frame == request.frame:
                self._waiting = None
                return
            stretch = running.frame.view.px_per_mm / request.frame.view.px_per_mm
            if 1 / STRETCH_LIMIT < stretch < STRETCH_LIMIT:
                self._waiting = request
                return
        self._draw(request)

    def clear(self) -> None:
        """Show nothing and want nothing."""
        self._waiting = self.picture = None
        self._question.stop()

    def _draw(self, request: Request) -> None:
        self._waiting, self._under_way = None, request
        self._question.ask_once(lambda progress: draw(request, progress), self._take)

    def _take(self, picture: Picture) -> None:
        self.picture = picture
        self.changed.emit()

    def _draw_next(self) -> None:
        """One is drawn, or could not be drawn: what waits behind it comes next."""
        if not self.busy and self._waiting is not None:
            self._draw(self._waiting)


def frame_around(face: Face, density: float) -> Frame:
    """The frame of a picture for a face: the face and a margin, of the same oddness so that both middles agree."""
    margin_x, margin_y = (round(size * MARGIN_SHARE) for size in (face.area.width(), face.area.height()))
    return Frame(
        view=face.view,
        width_px=face.area.width() + 2 * margin_x,
        height_px=face.area.height() + 2 * margin_y,
        density=density,
    )


def serves(frame: Frame, face: Face, density: float) -> bool:
    """Whether a picture of this frame is sharp for the face and reaches far enough around it."""
    if frame.view.px_per_mm != face.view.px_per_mm or frame.density != density:
        return False
    wanted = frame_around(face, density)
    if (frame.width_px, frame.height_px) != (wanted.width_px, wanted.height_px):
        return False
    off_x = abs(frame.view.x_mm - face.view.x_mm) * face.view.px_per_mm
    off_y = abs(frame.view.y_mm - face.view.y_mm) * face.view.px_per_mm
    share = 1.0 - MARGIN_LEFT_SHARE
    return off_x <= share * MARGIN_SHARE * face.area.width() and off_y <= share * MARGIN_SHARE * face.area.height()


def place_on(face: Face, frame: Frame, shift_mm: tuple[float, float] = (0.0, 0.0)) -> QRectF:
    """Where a picture lies on a face, px, before mirroring; whole px when it is at the face's own zoom."""
    stretch = face.view.px_per_mm / frame.view.px_per_mm
    off_x = (frame.view.x_mm + shift_mm[0] - face.view.x_mm) * face.view.px_per_mm
    off_y = (frame.view.y_mm + shift_mm[1] - face.view.y_mm) * face.view.px_per_mm
    width, height = frame.width_px * stretch, frame.height_px * stretch
    if stretch == 1.0:
        off_x, off_y = round(off_x * frame.density) / frame.density, round(off_y * frame.density) / frame.density
    middle = face.middle
    return QRectF(middle.x() + off_x - width / 2, middle.y() + off_y - height / 2, width, height)


def lay(painter: QPainter, face: Face, picture: Picture, shift_mm: tuple[float, float] = (0.0, 0.0)) -> QRectF:
    """Draw a picture on a face, mirrored where the face is, moved by so many mm; returns where it came to lie."""
    box = place_on(face, picture.frame, shift_mm)
    middle = face.middle
    painter.save()
    painter.translate(middle)
    painter.scale(face.sign_x, face.sign_y)
    painter.translate(-middle)
    if picture.frame.view.px_per_mm == face.view.px_per_mm:
        painter.drawImage(box.topLeft(), picture.image)
    else:
        painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
        painter.drawImage(box, picture.image)
    painter.restore()
    if face.mirror_x:
        box.moveLeft(2 * middle.x() - box.right())
    if face.mirror_y:
        box.moveTop(2 * middle.y() - box.bottom())
    return box


def uncovered(face: Face, box: QRectF) -> QRegion:
    """The part of a face that a picture lying there leaves free."""
    return QRegion(face.area) - QRegion(box.toAlignedRect().adjusted(1, 1, -1, -1))


def overview_frame(bounds_mm: tuple[float, float, float, float], side_px: int, density: float) -> Frame:
    """A frame that holds everything, at most ``side_px`` wide and high."""
    x0, y0, x1, y1 = bounds_mm
    scale = (side_px - 16) / max(x1 - x0, y1 - y0, 1e-3)
    view = View(x_mm=(x0 + x1) / 2, y_mm=(y0 + y1) / 2, px_per_mm=scale)
    return Frame(
        view=view,
        width_px=round((x1 - x0) * scale) + 16,
        height_px=round((y1 - y0) * scale) + 16,
        density=density,
    )
