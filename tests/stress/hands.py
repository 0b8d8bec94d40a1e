"""The monkey's hands: real mouse and key events at whatever is on the screen."""

import random
from collections.abc import Callable

from PySide6.QtCore import QEvent, QPoint, QPointF, Qt
from PySide6.QtGui import QKeyEvent, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QHeaderView,
    QLineEdit,
    QMenu,
    QScrollBar,
    QSplitterHandle,
    QWidget,
)
from shiboken6 import isValid

from app.canvas.faces_view import FacesView
from app.stages.burn.dose_plot import DosePlot

KEYS = (
    Qt.Key.Key_Tab, Qt.Key.Key_Backtab, Qt.Key.Key_Space, Qt.Key.Key_Return, Qt.Key.Key_Escape, Qt.Key.Key_Up,
    Qt.Key.Key_Down, Qt.Key.Key_Left, Qt.Key.Key_Right, Qt.Key.Key_Home, Qt.Key.Key_End, Qt.Key.Key_PageUp,
    Qt.Key.Key_PageDown, Qt.Key.Key_Delete, Qt.Key.Key_Backspace, Qt.Key.Key_Plus, Qt.Key.Key_Minus, Qt.Key.Key_0,
    Qt.Key.Key_Menu, Qt.Key.Key_F2, Qt.Key.Key_F5, Qt.Key.Key_F6, Qt.Key.Key_F7, Qt.Key.Key_F8, Qt.Key.Key_F9,
    Qt.Key.Key_A, Qt.Key.Key_L, Qt.Key.Key_Z,
)  # fmt: skip
MODIFIERS = (
    *[Qt.KeyboardModifier.NoModifier] * 5,
    Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.ControlModifier,
    Qt.KeyboardModifier.ControlModifier | Qt.KeyboardModifier.ShiftModifier,
    Qt.KeyboardModifier.AltModifier,
)
TYPED = (
    "0", "1", "-1", "12.5", "1e308", "1/8 in", "3 in", "300x200x3", "nonsense", "", " ", "999999999999", "0.0001",
    "50,5", "<img src=x>", "Sign Nº 7", "ﬁ‮", "#12ab", "A" * 400, "%", "\\", "2026-11-25", "1:30",
)  # fmt: skip
SIZED_BY_HAND = (QSplitterHandle, QHeaderView)
"""What is dragged to move it."""


class MovedError(Exception):
    """Something moved under the pointer while it was dragged."""


class Hands:
    """Clicks, keys, text, drags and wheels at random. ``note`` hears of each."""

    def __init__(self, dice: random.Random, note: Callable[[str], None]) -> None:
        self._dice, self._note = dice, note

    def any_widget(self, within: QWidget) -> QWidget:
        """A widget that is seen and can be reached with the pointer."""
        found = [one for one in within.findChildren(QWidget) if one.isVisible() and one.isEnabled() and one.width() > 2]
        found = [one for one in found if not isinstance(one, QMenu) and one.window() is within.window()]
        return self._dice.choice(found) if found else within

    def click(self, within: QWidget) -> None:
        """Once or twice, with any button."""
        widget = self.any_widget(within)
        button = self._dice.choice([Qt.MouseButton.LeftButton] * 8 + [Qt.MouseButton.RightButton])
        modifiers = self._dice.choice(MODIFIERS)
        at = self._point(widget)
        self._note(f"click {_named(widget)} at {at.x()},{at.y()}")
        if self._dice.random() < 0.1:
            QTest.mouseDClick(widget, button, modifiers, at)
        else:
            QTest.mouseClick(widget, button, modifiers, at)

    def key(self, within: QWidget) -> None:
        """A key where the keys are."""
        widget = QApplication.focusWidget() or within
        key, modifiers = self._dice.choice(KEYS), self._dice.choice(MODIFIERS)
        self._note(f"key {key.name} {modifiers.value} at {_named(widget)}")
        QTest.keyClick(widget, key, modifiers)

    def type(self, within: QWidget) -> None:
        """Something into a field, or another entry of a list."""
        kinds = (QAbstractSpinBox, QLineEdit, QComboBox)
        fields = [one for one in within.findChildren(QWidget) if isinstance(one, kinds)]
        fields = [one for one in fields if one.isVisible() and one.isEnabled() and one.window() is within.window()]
        if not fields:
            return
        field = self._dice.choice(fields)
        if isinstance(field, QComboBox) and not field.isEditable():
            if field.count():
                index = self._dice.randrange(field.count())
                self._note(f"choose {index} of {_named(field)}")
                field.setFocus()
                field.setCurrentIndex(index)
                field.activated.emit(index)
            return
        text = self._dice.choice(TYPED)
        self._note(f"type {text[:20]!r} into {_named(field)}")
        field.setFocus()
        QTest.keyClick(field, Qt.Key.Key_A, Qt.KeyboardModifier.ControlModifier)
        target = field.findChild(QLineEdit) or field
        for letter in text:  # QTest knows Latin letters only
            press = QKeyEvent(QEvent.Type.KeyPress, 0, Qt.KeyboardModifier.NoModifier, letter)
            if isValid(target):
                QApplication.sendEvent(target, press)
        if not isValid(target):
            return
        if self._dice.random() < 0.7:
            QTest.keyClick(target, self._dice.choice([Qt.Key.Key_Return, Qt.Key.Key_Tab]))

    def drag(self, widget: QWidget) -> None:
        """Press, move and let go; raises MovedError where what is held moves meanwhile."""
        button = self._dice.choice([Qt.MouseButton.LeftButton] * 6 + [Qt.MouseButton.MiddleButton])
        modifiers = self._dice.choice(MODIFIERS)
        at = self._point(widget)
        self._note(f"drag {_named(widget)} from {at.x()},{at.y()}")
        window = widget.window()
        QApplication.processEvents()  # what was about to move has moved
        QTest.mousePress(widget, button, modifiers, at)
        where = (widget.mapTo(window, QPoint(0, 0)), widget.size())
        fixed = not isinstance(widget, (*SIZED_BY_HAND, QScrollBar)) and not QApplication.activePopupWidget()
        try:
            for _ in range(self._dice.randrange(1, 9)):
                at += QPoint(self._dice.randrange(-60, 61), self._dice.randrange(-60, 61))
                if not isValid(widget):
                    return
                QTest.mouseMove(widget, at)
                if self._dice.random() < 0.1:
                    QTest.keyClick(widget, self._dice.choice(KEYS))
                    fixed = False  # a key may have asked for just that
                QApplication.processEvents()
                if self._dice.random() < 0.3:
                    QTest.qWait(self._dice.randrange(60))
                if not isValid(widget):  # a card that was made anew
                    return
                there = (widget.mapTo(window, QPoint(0, 0)), widget.size())
                if fixed and _is_held(widget) and there != where:
                    raise MovedError(f"{_named(widget)} moved from {where} to {there} while it was dragged")
        finally:
            if isValid(widget):
                QTest.mouseRelease(widget, button, modifiers, at)

    def wheel(self, within: QWidget) -> None:
        """Turn the wheel over something."""
        widget = self.any_widget(within)
        at = self._point(widget)
        self._note(f"wheel over {_named(widget)}")
        event = QWheelEvent(
            QPointF(at),
            QPointF(widget.mapToGlobal(at)),
            QPoint(),
            QPoint(0, self._dice.choice([-120, 120, 15, -600])),
            Qt.MouseButton.NoButton,
            self._dice.choice(MODIFIERS),
            Qt.ScrollPhase.NoScrollPhase,
            False,
        )
        QApplication.sendEvent(widget, event)

    def popup(self) -> None:
        """What pops up is gone through with keys, or put away."""
        for _ in range(self._dice.randrange(1, 6)):
            popup = QApplication.activePopupWidget()
            if popup is None:
                return
            key = self._dice.choice([Qt.Key.Key_Down, Qt.Key.Key_Down, Qt.Key.Key_Right, Qt.Key.Key_Return])
            self._note(f"popup key {key.name}")
            QTest.keyClick(popup, key)
            QApplication.processEvents()
        popup = QApplication.activePopupWidget()
        if popup is not None:
            QTest.keyClick(popup, Qt.Key.Key_Escape)

    def _point(self, widget: QWidget) -> QPoint:
        return QPoint(self._dice.randrange(max(1, widget.width())), self._dice.randrange(max(1, widget.height())))


def _is_held(widget: QWidget) -> bool:
    """Whether a button is down on something that must stay where it is meanwhile."""
    if isinstance(widget, FacesView):
        return widget.touch.is_held
    return isinstance(widget, DosePlot) and widget.is_held


def _named(widget: QWidget) -> str:
    words = widget.objectName() or widget.accessibleName() or getattr(widget, "text", str)() or ""
    return f"{type(widget).__name__} “{str(words)[:40]}”"
