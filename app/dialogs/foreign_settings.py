"""An exported file brings settings that are not the shop's own: side by side before any is taken."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog, QHeaderView, QVBoxLayout, QWidget

from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.widgets.fields import small_button, words
from app.widgets.plain_table import PlainTable

if TYPE_CHECKING:
    from core.shop_book.foreign_settings import ForeignSetting


class ForeignSettingsQuestion(QDialog):
    """What differs, row by row. Accepted with ``takes_own``: the shop's settings are taken; without: the file's."""

    def __init__(self, parent: QWidget | None, name: str, found: Sequence["ForeignSetting"]) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Whose settings?"))
        self.takes_own = True
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        title = words(filled("{name} brings settings that are not the shop's.", name=name), role="heading")
        title.setMinimumWidth(680)
        layout.addWidget(title)
        layout.addWidget(words("Nothing in a file proves who wrote it. Take its settings only where you know them."))
        self.table = PlainTable("Settings that differ", ("Of what", "Setting", "In the file", "In the shop"))
        header = self.table.horizontalHeader()
        header.setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)  # the figures are what is compared
        header.setSectionResizeMode(0, QHeaderView.ResizeMode.Stretch)
        self.table.show_rows([(one.of, one.which, one.in_file, one.in_book) for one in found])
        self.table.setMinimumHeight(240)
        layout.addWidget(self.table, 1)
        file = small_button("Take the &file's")
        file.clicked.connect(self._take_the_files)
        layout.addLayout(Foot(self, "Take the &shop's", file, leave="Don't open"))

    def _take_the_files(self) -> None:
        self.takes_own = False
        self.accept()
        self.accept()
