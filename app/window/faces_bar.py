"""The strip at the faces: what the front shows, steps back and forth, fitting and zooming, the loupe."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtGui import QAction, QKeySequence, QResizeEvent
from PySide6.QtWidgets import QButtonGroup, QFrame, QHBoxLayout, QSizePolicy, QToolButton, QWidget

from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.theme.icons import icon
from app.widgets.plain_text import plain_tip

if TYPE_CHECKING:
    from app.canvas.modes import Shown

HEIGHT_PX = 44
BUTTON_PX = 32
WORDS_FROM_PX = 700
"""Below this width the pictures to choose from are signs only; their names stay in the tooltips."""
PICTURES: tuple[tuple["Shown", str, str, str, str], ...] = (
    ("as sent", "As sent", "artwork", "A", "The artwork as the customer sent it: before"),
    ("as it will look", "As it will look", "look", "B", "The finished piece from the front: after"),
    ("what is burned", "What is burned", "burn", "B", "What the laser does: filled, cut, scored"),
)


class FacesBar(Guarded, QFrame):
    """Buttons of the window's own commands beside a choice of pictures. picture_chosen: what the front shall show."""

    picture_chosen = Signal(str)

    def __init__(self) -> None:
        super().__init__()
        self.setProperty("role", "strip")
        self.setAccessibleName(caption("Tools of the faces"))
        self.setFixedHeight(HEIGHT_PX)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(8, 4, 8, 4)
        self._row.setSpacing(4)
        self.pictures: dict[Shown, QToolButton] = {}
        group = QButtonGroup(self)
        for shown, text, sign, key, about in PICTURES:
            button = QToolButton()
            button.setProperty("role", "segment")
            button.setIcon(icon(sign))
            button.setText(caption(text))
            button.setIconSize(QSize(18, 18))
            button.setCheckable(True)
            button.setFixedHeight(BUTTON_PX)
            button.setAccessibleName(filled("Picture on the front: {lower}", lower=text.lower()))
            button.setToolTip(plain_tip(f"{text} ({key}). {about}"))
            button.clicked.connect(lambda checked=False, shown=shown: self.picture_chosen.emit(shown))
            group.addButton(button)
            self.pictures[shown] = button
            self._row.addWidget(button)
        self._row.addStretch(1)
        self._words_shown: bool | None = None
        self._show_words()

    def add_commands(self, groups: list[list[QAction]]) -> None:
        """Small buttons for these commands, a gap between groups; each follows its action."""
        for number, actions in enumerate(groups):
            if number:
                self._row.addSpacing(8)
            for action in actions:
                self._row.addWidget(_command_button(action))

    def show_picture(self, shown: "Shown") -> None:
        """Mark the picture that the front shows."""
        self.pictures[shown].setChecked(True)

    def show_ready(self, ready: bool) -> None:
        """Whether there is anything to show."""
        for button in self.pictures.values():
            button.setEnabled(ready)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size."""
        super().resizeEvent(event)
        self._show_words()

    def changeEvent(self, event: QEvent) -> None:
        """Qt: fonts and styles change how much room words take."""
        super().changeEvent(event)
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._words_shown = None
            self._show_words()

    def _show_words(self) -> None:
        scale = self.fontMetrics().averageCharWidth() / 7.0
        shown = self.width() >= WORDS_FROM_PX * max(scale, 1.0)
        if shown == self._words_shown or not hasattr(self, "pictures"):
            return
        self._words_shown = shown
        style = Qt.ToolButtonStyle.ToolButtonTextBesideIcon if shown else Qt.ToolButtonStyle.ToolButtonIconOnly
        for button in self.pictures.values():
            button.setToolButtonStyle(style)
            button.setProperty("signs", not shown)
            button.style().unpolish(button)
            button.style().polish(button)


def _command_button(action: QAction) -> QWidget:
    button = QToolButton()
    button.setDefaultAction(action)
    button.setIconSize(QSize(18, 18))
    button.setFixedSize(BUTTON_PX, BUTTON_PX)
    button.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonIconOnly)

    def name() -> None:
        keys = action.shortcut().toString(QKeySequence.SequenceFormat.PortableText)
        plain = action.text().replace("&", "").rstrip("…")
        button.setAccessibleName(plain)
        button.setToolTip(plain_tip(f"{plain} ({keys})" if keys else plain))

    action.changed.connect(name)
    name()
    return button
