"""Which part of the front a picture shows."""

from dataclasses import dataclass
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, Qt
from PySide6.QtGui import QImage, QTransform

from app.canvas.faces_layout import View

if TYPE_CHECKING:
    from app.canvas.outlines import Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Which part of the front a picture shows: its middle and zoom, its size in px, device pixels a px."""

    view: View
    width_px: int
    height_px: int
    density: float

    @property
    def box(self) -> "Box":
        """The part shown, mm, with a few px around for what is drawn wider than it is."""
        half_w = (self.width_px / 2 + 8) / self.view.px_per_mm
        half_h = (self.height_px / 2 + 8) / self.view.px_per_mm
        return (self.view.x_mm - half_w, self.view.y_mm - half_h, self.view.x_mm + half_w, self.view.y_mm + half_h)

    @property
    def transform(self) -> QTransform:
        """mm to px."""
        scale, view = self.view.px_per_mm, self.view
        return QTransform(
            scale, 0, 0, scale, self.width_px / 2 - view.x_mm * scale, self.height_px / 2 - view.y_mm * scale
        )

    @property
    def origin(self) -> QPointF:
        """The front's origin, px."""
        return self.transform.map(QPointF(0.0, 0.0))

    @property
    def detail_px_per_mm(self) -> float:
        """The zoom in device pixels, which details are chosen by."""
        return self.view.px_per_mm * self.density

    def image(self) -> QImage:
        """An empty image of this frame."""
        size = (round(self.width_px * self.density), round(self.height_px * self.density))
        image = QImage(*size, QImage.Format.Format_ARGB32_Premultiplied)
        image.setDevicePixelRatio(self.density)
        image.fill(Qt.GlobalColor.transparent)
        return image
