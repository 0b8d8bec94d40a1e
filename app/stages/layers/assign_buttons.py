"""Buttons that say what the chosen shapes are for."""

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QGridLayout, QPushButton, QWidget

from app.qt.captions import caption, told
from app.widgets.plain_text import plain_tip
from core.job.job import Layer
from core.purposes import LEAVE_OUT

ASSIGN_TIPS = {"fill": "Ctrl+Shift+F", "cut": "Ctrl+Shift+C", "score": "Ctrl+Shift+R", "guide": "Ctrl+Shift+G"}


class AssignButtons(QWidget):
    """Buttons that put shapes on a layer: one a layer, and "Leave out". ``assigned`` tells the layer's id."""

    assigned = Signal(str)

    def __init__(self, what: str, *, extra: QPushButton | None = None) -> None:
        super().__init__()
        self._what, self._extra = what, extra
        self._shown: tuple[tuple[str, str], ...] = ()
        self._buttons: list[QPushButton] = []
        self._ids: list[str] = []
        self._grid = QGridLayout(self)
        self._grid.setContentsMargins(0, 0, 0, 0)
        self._grid.setSpacing(8)

    def show_layers(self, layers: tuple[Layer, ...]) -> None:
        """One button for each of these layers."""
        ordered = sorted(layers, key=lambda layer: ("fill", "cut", "score", "guide").index(layer.purpose))
        shown = tuple((layer.id, layer.name) for layer in ordered)
        if shown == self._shown:
            return
        self._shown = shown
        wanted = [*shown, (LEAVE_OUT, caption("Leave out"))]
        before = len(self._buttons)
        while len(self._buttons) < len(wanted):
            self._buttons.append(self._new_button(len(self._buttons)))
        self._ids = [layer_id for layer_id, _ in wanted]
        for button, (layer_id, name) in zip(self._buttons, wanted, strict=False):
            name = told(name)
            button.setText(name)
            button.setAccessibleName(f"{name}: {self._what}")
            tip = "Del" if layer_id == LEAVE_OUT else ASSIGN_TIPS.get(layer_id, "")
            button.setToolTip(plain_tip(f"{name} ({tip})" if tip else name))
        for place, button in enumerate(self._buttons):
            button.setVisible(place < len(wanted))
        if self._extra is not None and (len(self._buttons) != before or self._extra.parentWidget() is not self):
            self._grid.addWidget(self._extra, len(self._buttons) // 3, len(self._buttons) % 3)

    def _new_button(self, place: int) -> QPushButton:
        """A button for whatever layer is there. It stays: it may be under the pointer when layers change."""
        button = QPushButton()
        button.clicked.connect(lambda: self.assigned.emit(self._ids[place]))
        self._grid.addWidget(button, place // 3, place % 3)
        return button
