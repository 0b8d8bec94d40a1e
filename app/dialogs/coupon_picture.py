"""A coupon, or an offcut of a trial, as it is read: its patches, what stands under them, what was seen on them."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QColor, QMouseEvent, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.canvas.sheet_picture import ruler_font
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.theme.theme import theme

if TYPE_CHECKING:
    from core.burning.patches import BurnedPiece

RIM_PX = 8


class CouponPicture(Guarded, QWidget):
    """clicked: the label of a patch."""

    clicked = Signal(str)

    def __init__(self, name: str = "The coupon") -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self.setMinimumSize(QSize(320, 200))
        self._coupon: BurnedPiece | None = None
        self._seen: dict[str, str] = {}

    def show_coupon(self, coupon: "BurnedPiece | None", seen: Mapping[str, str] | None = None) -> None:
        """Show this coupon; ``seen`` says in a word what was seen on patches, by their labels."""
        self._coupon, self._seen = coupon, dict(seen or {})
        self.setAccessibleDescription(
            filled("Coupon {code}, {patches} patches", code=coupon.code, patches=len(coupon.patches)) if coupon else ""
        )
        self.update()

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Qt: a button goes down."""
        if self._coupon is None:
            return
        at = (event.position() - self._corner()) / self._scale()
        patch = self._coupon.patch_at(at.x(), at.y())
        if patch is not None:
            self.clicked.emit(patch.label)

    def middle_of(self, label: str) -> QPointF:
        """The middle of a patch, px."""
        assert self._coupon is not None
        patch = self._coupon.patch(label)
        middle = QPointF(patch.x_mm + patch.width_mm / 2, patch.y_mm + patch.height_mm / 2)
        return self._corner() + middle * self._scale()

    def _scale(self) -> float:
        assert self._coupon is not None
        room = self.width() - 2 * RIM_PX, self.height() - 2 * RIM_PX
        return min(room[0] / self._coupon.width_mm, room[1] / self._coupon.height_mm)

    def _corner(self) -> QPointF:
        assert self._coupon is not None
        scale = self._scale()
        return QPointF(
            (self.width() - self._coupon.width_mm * scale) / 2, (self.height() - self._coupon.height_mm * scale) / 2
        )

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        if self._coupon is None:
            return
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setFont(ruler_font(self.font()))
            palette, scale, corner = theme().palette, self._scale(), self._corner()
            whole = QRectF(corner, corner + QPointF(self._coupon.width_mm, self._coupon.height_mm) * scale)
            painter.setPen(QColor(palette.border))
            painter.setBrush(QColor(palette.surface))
            painter.drawRect(whole)
            for patch in self._coupon.patches:
                box = QRectF(
                    corner + QPointF(patch.x_mm, patch.y_mm) * scale,
                    QRectF(0, 0, patch.width_mm, patch.height_mm).size() * scale,
                )
                seen = self._seen.get(patch.label, "")
                painter.setBrush(QColor(palette.accent_soft if seen else palette.pressed))
                painter.setPen(QPen(QColor(palette.accent if seen else palette.border), 2.0 if seen else 1.0))
                painter.drawRect(box)
                painter.setPen(QColor(palette.text))
                two_lines = box.height() >= 2 * painter.fontMetrics().height()
                text = (f"{patch.label}\n{seen}" if two_lines else f"{patch.label} {seen}") if seen else patch.label
                line_px = painter.fontMetrics().height()
                if box.height() >= line_px:
                    painter.drawText(box, int(Qt.AlignmentFlag.AlignCenter) | int(Qt.TextFlag.TextWordWrap), text)
                else:  # too flat for words: they stand beside it
                    beside = QRectF(box.right() + RIM_PX, box.center().y() - line_px / 2, whole.width(), line_px)
                    painter.drawText(beside, int(Qt.AlignmentFlag.AlignVCenter), text)
