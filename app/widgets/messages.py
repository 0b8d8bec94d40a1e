"""The one way to a dialog. Everything that asks or tells goes through here, so that tests can answer."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtGui import QColor
from PySide6.QtWidgets import QAbstractButton, QColorDialog, QDialog, QFileDialog, QMessageBox, QPushButton, QWidget

from app.qt.captions import caption, filled
from app.theme.icons import icon
from app.theme.theme import theme_changes
from app.widgets.plain_text import make_plain
from core.errors import TainError


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A button of a question. ``key`` comes back; ``role``: "do", "destroy", or "cancel" (also what Escape gives)."""

    key: str
    text: str
    role: str = "do"


SIGN_PX = 40
_ROLES = {
    "do": QMessageBox.ButtonRole.AcceptRole,
    "destroy": QMessageBox.ButtonRole.DestructiveRole,
    "cancel": QMessageBox.ButtonRole.RejectRole,
}


class Dialogs:
    """Real dialogs on the screen."""

    def tell(self, parent: QWidget | None, title: str, text: str, hint: str) -> None:
        """Say something and wait until it was read."""
        told_box(parent, title, text, hint).exec()

    def ask(self, parent: QWidget | None, title: str, text: str, hint: str, answers: Sequence[Answer]) -> str:
        """Ask and give back the key of the answer. The first answer is the one Enter gives."""
        box, keys = asked_box(parent, title, text, hint, answers)
        box.exec()
        return keys[box.clickedButton()]

    def open_file(self, parent: QWidget | None, title: str, folder: str, filters: str) -> str:
        """A file to open, or "" for none."""
        return QFileDialog.getOpenFileName(parent, title, folder, filters)[0]

    def save_file(self, parent: QWidget | None, title: str, path: str, filters: str) -> str:
        """A file to write, or "" for none. Asking before overwriting is the caller's."""
        return QFileDialog.getSaveFileName(
            parent, title, path, filters, options=QFileDialog.Option.DontConfirmOverwrite
        )[0]

    def choose_colour(self, parent: QWidget | None, title: str, colour: str) -> str:
        """A colour "#rrggbb", or "" for none."""
        chosen = QColorDialog.getColor(QColor(colour), parent, title)
        return chosen.name() if chosen.isValid() else ""

    def run(self, dialog: QDialog) -> bool:
        """Show a dialog of ours until it is accepted (True) or rejected; no larger than the screen."""
        dialog.resize(dialog.size().boundedTo(dialog.screen().availableSize() * 0.95))
        return dialog.exec() == QDialog.DialogCode.Accepted


def told_box(parent: QWidget | None, title: str, text: str, hint: str) -> QMessageBox:
    """The box that says something."""
    box = _Box("warning", title, text, parent)
    box.setStandardButtons(QMessageBox.StandardButton.Ok)
    box.setInformativeText(caption(hint))
    return make_plain(box)


def asked_box(
    parent: QWidget | None, title: str, text: str, hint: str, answers: Sequence[Answer]
) -> tuple[QMessageBox, dict[QAbstractButton, str]]:
    """The box that asks something, and the key of each of its buttons."""
    box = _Box("question", title, text, parent)
    box.setInformativeText(caption(hint))
    make_plain(box)
    keys: dict[QAbstractButton, str] = {}
    for answer in answers:
        button = box.addButton(caption(answer.text), _ROLES[answer.role])
        keys[button] = answer.key
        if answer.role == "cancel":
            box.setEscapeButton(button)
        if len(keys) == 1:
            box.setDefaultButton(button)
    return box, keys


class _Box(QMessageBox):
    """A message with a sign of ours, in the colours of now; the desktop's signs look different everywhere."""

    def __init__(self, sign: str, title: str, text: str, parent: QWidget | None) -> None:
        super().__init__(
            QMessageBox.Icon.NoIcon, caption(title), caption(text), QMessageBox.StandardButton.NoButton, parent
        )
        self._sign = sign
        self._draw_sign()
        theme_changes().changed.connect(self._draw_sign)

    def _draw_sign(self) -> None:
        role = "warning" if self._sign == "warning" else "accent"
        self.setIconPixmap(icon(self._sign, role).pixmap(QSize(SIGN_PX, SIGN_PX), self.devicePixelRatioF()))


_dialogs = Dialogs()


def use(dialogs: Dialogs) -> Dialogs:
    """Put another set of dialogs in place; gives back the one before."""
    global _dialogs
    before, _dialogs = _dialogs, dialogs
    return before


def tell(parent: QWidget | None, title: str, text: str, *, hint: str = "") -> None:
    """Say something and wait until it was read."""
    _dialogs.tell(parent, title, text, hint)


def tell_error(parent: QWidget | None, title: str, error: TainError) -> None:
    """Say what went wrong and what to do next."""
    _dialogs.tell(parent, title, error.message, error.hint)


def ask(parent: QWidget | None, title: str, text: str, answers: Sequence[Answer], *, hint: str = "") -> str:
    """Ask and give back the key of the answer; the first answer is the one Enter gives."""
    return _dialogs.ask(parent, title, text, hint, answers)


def open_file(parent: QWidget | None, title: str, *, folder: str, filters: str) -> Path | None:
    """A file to open, or None."""
    chosen = _dialogs.open_file(parent, title, folder, filters)
    return Path(chosen) if chosen else None


def save_file(parent: QWidget | None, title: str, *, path: str, filters: str) -> Path | None:
    """A file to write, or None. Does not ask about overwriting."""
    chosen = _dialogs.save_file(parent, title, path, filters)
    return Path(chosen) if chosen else None


def ask_target(parent: QWidget | None, title: str, path: Path, suffix: str, *, filters: str) -> Path | None:
    """A file to write, with the right ending, that the maker agreed to overwrite where it exists; or None."""
    chosen = save_file(parent, title, path=str(path), filters=filters)
    if chosen is None:
        return None
    if chosen.suffix.lower() != suffix:
        chosen = chosen.with_name(chosen.name + suffix)
    return chosen if not chosen.exists() or may_replace(parent, title, chosen) else None


def may_replace(parent: QWidget | None, title: str, path: Path) -> bool:
    """Ask whether a file that exists may be replaced."""
    answers = (Answer(key="cancel", text="Keep the old one", role="cancel"), Answer(key="replace", text="&Replace"))
    text = filled("{name} exists already. Replace it?", name=path.name)
    return ask(parent, title, text, answers, hint=str(path.parent)) == "replace"


def choose_colour(parent: QWidget | None, title: str, colour: str) -> str | None:
    """A colour "#rrggbb", or None."""
    return _dialogs.choose_colour(parent, title, colour) or None


def run(dialog: QDialog) -> bool:
    """Show a dialog of ours; True when it was accepted.

    The Enter key presses the button that the dialog names as its default, or none: never the one that comes first.
    """
    buttons = dialog.findChildren(QPushButton)
    if not any(button.isDefault() for button in buttons):
        for button in buttons:
            button.setAutoDefault(False)
    return _dialogs.run(dialog)
