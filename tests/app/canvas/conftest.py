"""A view with its drawing thread, closed after each test."""

from collections.abc import Callable, Iterator

import pytest

pytest.importorskip("PySide6.QtWidgets")

from PySide6.QtCore import QPoint, QPointF
from PySide6.QtGui import QColor, QImage

from app.canvas.faces_layout import Face
from app.canvas.faces_view import FacesView
from core.job.plan import Plan

SETTLE_MS = 20_000


class Canvas:
    """A shown view and what tests ask of it."""

    def __init__(self, view: FacesView, qtbot) -> None:  # type: ignore[no-untyped-def]
        self.view, self._qtbot = view, qtbot

    def show(self, plan: Plan | None, mode: str = "layers") -> None:
        """Show a plan and wait until all of it is drawn."""
        self.view.set_mode(mode)  # type: ignore[arg-type]
        self.view.set_plan(plan)
        self.settle()

    def settle(self) -> None:
        """Wait until everything is drawn."""
        self._qtbot.waitUntil(lambda: self.view.pictures.settled, timeout=SETTLE_MS)

    @property
    def front(self) -> Face:
        """The front face as it lies now."""
        return self.view.state.faces[0]

    @property
    def bed(self) -> Face:
        """The bed face as it lies now."""
        return self.view.state.faces[1]

    def picture(self) -> QImage:
        """What is seen now."""
        return self.view.grab().toImage()

    def pixel(self, face: Face, x_mm: float, y_mm: float, *, within: QImage | None = None) -> QColor:
        """The colour of the pixel that shows a front point on a face."""
        at = face.to_px(x_mm, y_mm)
        return QColor((within or self.picture()).pixel(int(at.x()), int(at.y())))


@pytest.fixture
def canvas(qtbot) -> Iterator[Canvas]:  # type: ignore[no-untyped-def]
    """An empty view of 900 x 500 px, side by side."""
    view = FacesView()
    qtbot.addWidget(view)
    view.resize(900, 500)
    view.show()
    qtbot.waitExposed(view)
    yield Canvas(view, qtbot)
    view.shutdown()


@pytest.fixture
def at() -> Callable[[Face, float, float], QPoint]:
    """The pixel of a front point on a face, as the mouse wants it."""

    def where(face: Face, x_mm: float, y_mm: float) -> QPoint:
        point: QPointF = face.to_px(x_mm, y_mm)
        return point.toPoint()

    return where
