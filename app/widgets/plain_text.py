"""Words from files are shown as they stand and never as markup: a name like ``<img src=…>`` opens nothing.

Labels come from ``plain_label``, tooltips that hold more than fixed words go through ``plain_tip``; a test looks for
others.
"""

import html

from PySide6.QtGui import Qt
from PySide6.QtWidgets import QLabel, QMessageBox

from app.qt.captions import caption, told
from app.qt.guarded import Guarded


class PlainLabel(Guarded, QLabel):
    """A label whose words come through the door whoever puts them there: many are sentences of ``core``."""

    def setText(self, text: str) -> None:
        """Qt: show these words."""
        super().setText(told(text))


def plain_label(text: str = "") -> QLabel:
    """A label that shows its text as it stands."""
    label = PlainLabel()
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setText(caption(text))
    return label


def plain_tip(text: str) -> str:
    """The text for a tooltip, for which Qt would guess whether it is markup."""
    text = caption(text)
    return f"<span>{html.escape(text)}</span>" if Qt.mightBeRichText(text) else text


def make_plain(box: QMessageBox) -> QMessageBox:
    """A message box, its text and its hint shown as they stand."""
    box.setTextFormat(Qt.TextFormat.PlainText)
    for label in box.findChildren(QLabel):
        if not label.pixmap() or label.text():
            label.setTextFormat(Qt.TextFormat.PlainText)
    return box
