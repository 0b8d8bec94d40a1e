"""What is painted over both faces."""

from typing import Protocol

from PySide6.QtGui import QPainter

from app.canvas.faces_layout import Face


class Overlay(Protocol):
    """Something painted over both faces, such as a loupe."""

    def paint(self, painter: QPainter, face: Face) -> None:
        """Paint in px of the view; ``face`` maps places. The painter is clipped to the face."""
