"""A repair before and after, side by side, before it is accepted."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from PySide6.QtCore import QPointF, QRectF, QSize, Signal
from PySide6.QtGui import QColor, QPainter, QPainterPath, QPaintEvent, QPen, QPolygonF, QTransform, QWheelEvent
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.session.background import Background, once
from app.theme.theme import theme
from app.widgets.fields import words
from app.widgets.plain_text import plain_label
from app.words.wording import count_text
from core.artwork.checkup.repairs import repair
from core.errors import TainError
from core.geometry.flattening import flatten, path_bounds_mm
from core.geometry.path import joined
from core.progress import Progress

if TYPE_CHECKING:
    from core.artwork.drawing import Drawing, Shape

LEAST_SPAN_MM, NEAR_SPAN_MM, LARGE_MM = 2.0, 6.0, 30.0
GLANCE_TOLERANCE_MM = 0.003
Bounds = tuple[float, float, float, float]


class RepairPreview(QDialog):
    """Works the repairs out off the GUI thread, then shows both drawings and offers to take them.

    ``place_mm``: the place of the finding that was chosen, drawing frame; it is looked at from near by.
    """

    def __init__(
        self,
        parent: QWidget | None,
        drawing: "Drawing",
        codes: Sequence[str],
        sentences: Sequence[str],
        *,
        place_mm: tuple[float, float] | None = None,
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Before and after"))
        self._drawing, self._place_mm = drawing, place_mm
        self._whole: Bounds = (0.0, 0.0, drawing.width_mm, drawing.height_mm)
        self._background = Background("repair", self)
        self.finished.connect(lambda result: self._background.close())
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        for sentence in sentences[:4]:
            layout.addWidget(words(sentence))
        if len(sentences) > 4:
            layout.addWidget(words(filled("… and {sentences} more.", sentences=len(sentences) - 4), role="quiet"))
        self.before, self.after = DrawingGlance("Before"), DrawingGlance("After")
        self.before.zoomed.connect(self.after.take_view)
        self.after.zoomed.connect(self.before.take_view)
        pictures = QHBoxLayout()
        pictures.setSpacing(16)
        for name, glance in (("Before", self.before), ("After", self.after)):
            column = QVBoxLayout()
            column.setSpacing(4)
            heading = plain_label(name)
            heading.setProperty("role", "heading")
            column.addWidget(heading)
            column.addWidget(glance, 1)
            pictures.addLayout(column)
        layout.addLayout(pictures, 1)
        self.told = words("Working it out…", role="quiet")
        layout.addWidget(self.told)
        line = QHBoxLayout()
        leave = QPushButton(caption("&Leave it"))
        leave.clicked.connect(self.reject)
        self.mend = QPushButton(caption("&Mend it") if len(codes) == 1 else caption("&Mend all"))
        self.mend.setProperty("role", "main")
        self.mend.setEnabled(False)
        self.mend.clicked.connect(self.accept)
        whole = QPushButton(caption("Show all of &it"))
        whole.clicked.connect(lambda: self._show_view(self._whole))
        line.addWidget(whole)
        line.addStretch(1)
        line.addWidget(leave)
        line.addWidget(self.mend)
        layout.addLayout(line)
        self.resize(760, 480)
        self._background.start(
            once(lambda progress: _repaired(drawing, codes, progress)), on_value=self._show, on_failed=self._failed
        )

    def _show(self, after: "Drawing") -> None:
        before_changed, after_changed = changed_shapes(self._drawing, after)
        self._whole = view_of((), self._drawing)
        view = view_of(before_changed + after_changed, self._drawing, place_mm=self._place_mm)
        self.before.show_drawing(self._drawing, before_changed, view)
        self.after.show_drawing(after, after_changed, view)
        if not before_changed and not after_changed:
            self.told.setText(caption("This repair changes nothing here any more."))
            return
        self.told.setText(
            filled(
                "{before_changed} before, {after_changed} after, marked in both. The wheel zooms. Undo takes it back.",
                before_changed=count_text(len(before_changed), "shape", "shapes"),
                after_changed=count_text(len(after_changed), "shape", "shapes"),
            )
        )
        self.mend.setEnabled(True)
        self.mend.setFocus()

    def _show_view(self, view: Bounds) -> None:
        self.before.take_view(view)
        self.after.take_view(view)

    def _failed(self, error: TainError) -> None:
        self.told.setText(str(error))


class DrawingGlance(Guarded, QWidget):
    """A drawing's outlines, some marked. ``view``: the part shown; ``zoomed`` tells it after the wheel moved."""

    zoomed = Signal(object)

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self.setMinimumSize(QSize(280, 220))
        self._plain, self._marked = QPainterPath(), QPainterPath()
        self.view: Bounds = (0.0, 0.0, 1.0, 1.0)

    def show_drawing(self, drawing: "Drawing", marked: Sequence["Shape"], view: Bounds) -> None:
        """Show this drawing's part within ``view`` (x0, y0, x1, y1), mm."""
        marked_ids = {shape.id for shape in marked}
        self._plain = outline([shape for shape in drawing.shapes if shape.id not in marked_ids])
        self._marked = outline(marked)
        self.take_view(view)

    def take_view(self, view: Bounds) -> None:
        """Show another part."""
        self.view = view
        self.update()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Qt: zoom at the pointer."""
        factor = 1.25 ** (-event.angleDelta().y() / 120)
        at = self._to_view().inverted()[0].map(event.position())
        x0, y0, x1, y1 = self.view
        self.view = (
            at.x() + (x0 - at.x()) * factor,
            at.y() + (y0 - at.y()) * factor,
            at.x() + (x1 - at.x()) * factor,
            at.y() + (y1 - at.y()) * factor,
        )
        self.update()
        self.zoomed.emit(self.view)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        colours = theme().canvas
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.fillRect(self.rect(), QColor(colours.page))
            painter.setPen(QColor(theme().palette.border))
            painter.drawRect(self.rect().adjusted(0, 0, -1, -1))
            painter.setTransform(self._to_view())
            for path, colour, width in ((self._plain, colours.guide, 1.0), (self._marked, colours.snap, 2.5)):
                pen = QPen(QColor(colour), width)
                pen.setCosmetic(True)
                painter.setPen(pen)
                painter.drawPath(path)

    def _to_view(self) -> QTransform:
        x0, y0, x1, y1 = self.view
        scale = min(self.width() / max(x1 - x0, 1e-9), self.height() / max(y1 - y0, 1e-9))
        middle = QRectF(QPointF(x0, y0), QPointF(x1, y1)).center()
        transform = QTransform.fromTranslate(self.width() / 2, self.height() / 2)
        return transform.scale(scale, scale).translate(-middle.x(), -middle.y())


def changed_shapes(before: "Drawing", after: "Drawing") -> tuple[tuple["Shape", ...], tuple["Shape", ...]]:
    """Shapes that only one of the two drawings holds: (of the first, of the second)."""
    in_before, in_after = set(map(id, before.shapes)), set(map(id, after.shapes))
    return (
        tuple(shape for shape in before.shapes if id(shape) not in in_after),
        tuple(shape for shape in after.shapes if id(shape) not in in_before),
    )


def view_of(shapes: Sequence["Shape"], drawing: "Drawing", *, place_mm: tuple[float, float] | None = None) -> Bounds:
    """A window around the shapes, or all that is drawn where there are none.

    Where the shapes are large, a place in them is looked at from near by instead.
    """
    path = joined([shape.path for shape in shapes or drawing.shapes])
    if not len(path):
        return (0.0, 0.0, drawing.width_mm, drawing.height_mm)
    x0, y0, x1, y1 = path_bounds_mm(path)
    if place_mm is not None and max(x1 - x0, y1 - y0) > LARGE_MM:
        half = NEAR_SPAN_MM / 2
        return (place_mm[0] - half, place_mm[1] - half, place_mm[0] + half, place_mm[1] + half)
    pad = max(0.1 * max(x1 - x0, y1 - y0), LEAST_SPAN_MM / 2)
    return (x0 - pad, y0 - pad, x1 + pad, y1 + pad)


def outline(shapes: Sequence["Shape"]) -> QPainterPath:
    """The shapes' outlines as one painter path."""
    result = QPainterPath()
    for points in flatten(joined([shape.path for shape in shapes]), GLANCE_TOLERANCE_MM).parts():
        if np.isfinite(points).all():
            result.addPolygon(QPolygonF([QPointF(x, y) for x, y in points.tolist()]))
    return result


def _repaired(drawing: "Drawing", codes: Sequence[str], progress: Progress) -> "Drawing":
    for done, code in enumerate(codes):
        progress(done / len(codes), "Mending")
        drawing = repair(drawing, code)
    return drawing
