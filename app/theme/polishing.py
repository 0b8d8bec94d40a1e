"""Widgets take up the colours of another palette: what is seen at once, hidden ones some a turn of the event loop.

Rules of a style sheet keep the colours that the palette had when a widget was polished. Polishing it anew costs a
fraction of another style sheet: no style changes, so nothing asks for its room again.
"""

from PySide6.QtCore import Qt, QTimer
from PySide6.QtGui import QPixmapCache
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import getCppPointer

A_TURN = 100
"""Hidden widgets of one turn: some 5 ms."""

_waiting: set[int] = set()
"""Where they lie. What stands there later may be another one, which only is polished once more; a widget that was made
by Qt itself can't be kept: nothing tells of its end.
"""


def take_up_palette(app: QApplication) -> None:
    """Have all widgets draw by the palette of now."""
    QPixmapCache.clear()  # pictures of the style sheet, in the colours of before
    is_going_on = bool(_waiting)
    _waiting.clear()
    _waiting.update(_address(widget) for widget in app.allWidgets() if _is_polished(widget))
    _take_turn(app, most=0)
    for window in app.topLevelWidgets():
        window.update()
    if _waiting and not is_going_on:
        QTimer.singleShot(0, _go_on)


def all_took_it_up() -> bool:
    """Whether no hidden widget waits for its colours."""
    return not _waiting


def _go_on() -> None:
    app = QApplication.instance()
    if isinstance(app, QApplication):
        _take_turn(app, most=A_TURN)
    if _waiting:
        QTimer.singleShot(0, _go_on)


def _take_turn(app: QApplication, *, most: int) -> None:
    """Polish all that is seen by now and so many of the others."""
    left = [widget for widget in app.allWidgets() if _address(widget) in _waiting]
    _waiting.clear()
    hidden = [widget for widget in left if not widget.isVisible()]
    for widget in (*(widget for widget in left if widget.isVisible()), *hidden[:most]):
        widget.style().polish(widget)
    _waiting.update(_address(widget) for widget in hidden[most:])


def _is_polished(widget: QWidget) -> bool:
    """What was not is polished when it is first shown."""
    return widget.testAttribute(Qt.WidgetAttribute.WA_WState_Polished)


def _address(widget: QWidget) -> int:
    return getCppPointer(widget)[0]
