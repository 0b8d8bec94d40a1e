"""What the faces show, in words, for screen readers."""

from typing import TYPE_CHECKING

from PySide6.QtGui import QAccessible, QAccessibleEvent
from PySide6.QtWidgets import QWidget

if TYPE_CHECKING:
    from app.canvas.state import FacesState


def describe(widget: QWidget, state: "FacesState") -> None:
    """Have the widget say what the state shows, and tell when that changed."""
    text = state.description()
    if text != widget.accessibleDescription():
        widget.setAccessibleDescription(text)
        QAccessible.updateAccessibility(QAccessibleEvent(widget, QAccessible.Event.DescriptionChanged))
