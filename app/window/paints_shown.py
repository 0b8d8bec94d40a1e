"""The paints on the faces, whether the Paint page is seen, folded away or was never opened."""

from PySide6.QtCore import QObject

from app.canvas.faces_view import FacesView
from app.session.paint_ahead import PaintAhead


class PaintsShown(QObject):
    """Keeps the painted areas on the faces as the paint plan and the step that is looked at have them."""

    def __init__(self, faces: FacesView, ahead: PaintAhead) -> None:
        super().__init__(faces)
        self._faces, self._ahead = faces, ahead
        self._shown: tuple[object, ...] = (None, None, None)
        ahead.changed.connect(self._show)

    def _show(self) -> None:
        painted = self._ahead.painted
        shown = (painted.painting, painted.bench, self._ahead.shown_at) if painted is not None else (None, None, None)
        if all(a is b for a, b in zip(shown, self._shown, strict=True)):
            return
        self._shown = shown
        if painted is None:
            self._faces.set_region_looks(())
        else:
            from app.canvas.paint_looks import looks_of  # the core that it needs is there with the paint plan

            self._faces.set_region_looks(looks_of(painted, self._ahead.shown_at))
