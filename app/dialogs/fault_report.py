"""What is shown after a fault of the program."""

from PySide6.QtGui import QFontDatabase, QGuiApplication
from PySide6.QtWidgets import QDialog, QHBoxLayout, QPlainTextEdit, QPushButton, QVBoxLayout, QWidget

from app.qt.captions import caption, filled
from app.session.faults import Fault
from app.widgets.fields import words


class FaultDialog(QDialog):
    """Says that something in Tain went wrong and where the job's copy is. Accepted: close Tain; rejected: go on."""

    def __init__(self, parent: QWidget | None, fault: Fault) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Something in Tain went wrong"))
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        title = words("Something in Tain went wrong; it is not your doing.", role="heading")
        title.setMinimumWidth(440)
        layout.addWidget(title)
        if fault.rescue_file is not None:
            layout.addWidget(
                words(filled("A copy of the job is safe in {rescue_file}.", rescue_file=fault.rescue_file))
            )
        else:
            layout.addWidget(words("The job could not be copied. Save it under a new name before you close Tain."))
        layout.addWidget(
            words("To be sure, close Tain and open the job again. If you go on, look twice at what is shown.")
        )
        if fault.report_file is not None:
            layout.addWidget(
                words(
                    filled("What the developers need to know is in {report_file}.", report_file=fault.report_file),
                    role="quiet",
                )
            )
        self.text = _report_text(fault)
        layout.addWidget(self.text, 1)
        line = QHBoxLayout()
        self.look = QPushButton(caption("&What the report holds"))
        self.look.setObjectName("look at the report")
        self.look.clicked.connect(self._show_report)
        self.copy = QPushButton(caption("Copy the &report"))
        self.copy.setObjectName("copy the report")
        self.copy.clicked.connect(lambda: QGuiApplication.clipboard().setText(fault.report))
        self.copy.hide()
        go_on = QPushButton(caption("&Go on"))
        go_on.clicked.connect(self.reject)
        close = QPushButton(caption("&Close Tain"))
        close.setProperty("role", "main")
        close.clicked.connect(self.accept)
        line.addWidget(self.look)
        line.addWidget(self.copy)
        line.addStretch(1)
        line.addWidget(go_on)
        line.addWidget(close)
        layout.addLayout(line)
        close.setDefault(True)

    def _show_report(self) -> None:
        """What would be copied is read first."""
        self.text.show()
        self.look.hide()
        self.copy.show()
        self.copy.setFocus()


def _report_text(fault: Fault) -> QPlainTextEdit:
    text = QPlainTextEdit(fault.report)
    text.setObjectName("report")
    text.setAccessibleName(caption("What the report holds"))
    text.setReadOnly(True)
    text.setTabChangesFocus(True)
    text.setFont(QFontDatabase.systemFont(QFontDatabase.SystemFont.FixedFont))
    text.setMinimumHeight(200)
    text.hide()
    return text
