"""The paints on the faces, whether the Paint page is seen, folded away or was never opened."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QObject

from app.canvas.faces_view import FacesView
from app.session.background import Background, Question
from app.session.paint_ahead import PaintAhead
from core.progress import Progress

if TYPE_CHECKING:
    from app.canvas.modes import RegionLook
    from app.session.painting import Painted


class PaintsShown(QObject):
    """Keeps the painted areas on the faces as the paint plan and the step that is looked at have them.

    What the sheet looks like after a step is worked out off the GUI thread: fine artwork takes long.
    """

    def __init__(self, faces: FacesView, ahead: PaintAhead) -> None:
        super().__init__(faces)
        self._faces, self._ahead = faces, ahead
        self._question = Question(Background("paint looks", self))
        self._shown: tuple[object, ...] = (None, None, None)
        ahead.changed.connect(self._show)

    def _show(self) -> None:
        painted, at = self._ahead.painted, self._ahead.shown_at
        shown = (painted.painting, painted.bench, at) if painted is not None else (None, None, None)
        if all(a is b for a, b in zip(shown, self._shown, strict=True)):
            return
        self._shown = shown
        self._question.stop()
        if painted is None:
            self._faces.set_region_looks(())
        elif at is None:
            self._faces.set_region_looks(_looks(painted, at))
        else:
            known, step = painted, at

            def work(progress: Progress) -> "tuple[RegionLook, ...]":
                return _looks(known, step)

            self._question.ask_once(work, self._faces.set_region_looks)


def _looks(painted: "Painted", at: int | None) -> "tuple[RegionLook, ...]":
    from app.canvas.paint_looks import looks_of  # the core that it needs is there with the paint plan

    return looks_of(painted, at)
