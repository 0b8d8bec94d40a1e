"""Nothing moves under the pointer while something is dragged."""

from PySide6.QtWidgets import QLayout, QWidget

from app.qt.guarded import Guarded


class Steady(Guarded, QWidget):
    """Mixed into what comes and goes beside something that is dragged: it stays or stays away until that ends."""

    _held = False
    _wanted: bool | None = None

    def hold_still(self, held: bool) -> None:
        """Begin to put coming and going off, or do now what was put off."""
        self._held = held
        wanted, self._wanted = self._wanted, None
        if not held and wanted is not None:
            self.setVisible(wanted)

    def setVisible(self, visible: bool) -> None:
        """Qt: it is to be seen or not; ``show`` and ``hide`` come here, too."""
        if self._held:
            self._wanted = visible
        else:
            super().setVisible(visible)


def hold_layouts(within: QWidget, held: bool) -> None:
    """Have no layout within move anything, or lay out now what changed meanwhile."""
    layouts = [*within.findChildren(QLayout)]
    if (own := within.layout()) is not None:
        layouts.append(own)
    for layout in layouts:
        layout.setEnabled(not held)
    if not held and own is not None:
        own.activate()
