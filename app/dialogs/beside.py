"""A dialog whose choices stand at the left beside a picture of what they come to; what is told below, its foot last."""

from PySide6.QtWidgets import QDialog, QHBoxLayout, QVBoxLayout, QWidget

from app.dialogs.foot import Foot
from app.qt.captions import caption
from app.session.placing import Placing
from app.widgets.fields import words


class BesideDialog(QDialog):
    """``left`` and ``right`` are to be filled, ``told`` says how things stand. What is looked for ends with it."""

    def __init__(self, parent: QWidget | None, placing: Placing, *, title: str, lead: str) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption(title))
        self.placing = placing
        self._whole = QVBoxLayout(self)
        self._whole.setContentsMargins(24, 24, 24, 16)
        self._whole.setSpacing(12)
        self._whole.addWidget(words(lead, role="quiet"))
        columns = QHBoxLayout()
        columns.setSpacing(16)
        self.left, self.right = QVBoxLayout(), QVBoxLayout()
        self.left.setSpacing(12)
        self.right.setSpacing(8)
        columns.addLayout(self.left, 2)
        columns.addLayout(self.right, 3)
        self._whole.addLayout(columns, 1)
        self.told = words()
        self._whole.addWidget(self.told)
        self.resize(860, 520)
        self.finished.connect(lambda result: placing.stop())

    def close_with(self, foot: Foot) -> None:
        """Put the foot under it all."""
        self._whole.addLayout(foot)
