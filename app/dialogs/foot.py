"""The line at the foot of a dialog: what else it offers at the left, at the right the way out and the main button."""

from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QWidget

from app.qt.captions import caption


class Foot(QHBoxLayout):
    """``main`` accepts the dialog and is what Enter presses; the button before it, if there is one, rejects."""

    def __init__(self, dialog: QDialog, main: str, *offers: QWidget, leave: str = "Cancel") -> None:
        super().__init__()
        self.setSpacing(8)
        for offer in offers:
            self.addWidget(offer)
        self.addStretch(1)
        if leave:
            cancel = QPushButton(caption(leave))
            cancel.clicked.connect(dialog.reject)
            self.addWidget(cancel)
        self.main = QPushButton(caption(main))
        self.main.setProperty("role", "main")
        self.main.setDefault(True)
        self.main.clicked.connect(dialog.accept)
        self.addWidget(self.main)
