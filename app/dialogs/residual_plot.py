"""The residuals of a threshold fit over power: a fit that holds has them scattered about the line."""

import math
from typing import TYPE_CHECKING

from PySide6.QtCore import QLineF, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from app.canvas.sheet_picture import ruler_font
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.theme.theme import theme

if TYPE_CHECKING:
    from core.burning.calibration import ThresholdFit

LEFT_PX, TOP_PX, BOTTOM_PX = 64, 18, 18


class ResidualPlot(Guarded, QWidget):
    """Width² seen less width² fitted, mm², against power on a logarithmic scale."""

    def __init__(self) -> None:
        super().__init__()
        self.setAccessibleName(caption("Residuals of the fit"))
        self.setMinimumSize(QSize(240, 110))
        self._fit: ThresholdFit | None = None

    def show_fit(self, fit: "ThresholdFit | None") -> None:
        """Show this fit's residuals, or nothing."""
        self._fit = fit
        self.setVisible(fit is not None)
        if fit is not None:
            worst = max(map(abs, fit.residuals_mm2), default=0.0)
            self.setAccessibleDescription(
                filled(
                    "{residuals_mm2} readings, the farthest off by {worst:.2g} mm²",
                    residuals_mm2=len(fit.residuals_mm2),
                    worst=worst,
                )
            )
        self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        if self._fit is None:
            return
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setFont(ruler_font(self.font()))
            palette = theme().palette
            area = QRectF(LEFT_PX, TOP_PX, self.width() - LEFT_PX - 8, self.height() - TOP_PX - BOTTOM_PX)
            logs = [math.log(one.power_w) for one in self._fit.widths]
            low, high = min(logs), max(logs)
            reach = max(*map(abs, self._fit.residuals_mm2), 1e-9) * 1.15
            painter.setPen(QColor(palette.border))
            painter.drawRect(area)
            middle = area.center().y()
            painter.setPen(QPen(QColor(palette.text), 1.0, Qt.PenStyle.DashLine))
            painter.drawLine(QLineF(area.left(), middle, area.right(), middle))
            painter.setPen(QColor(palette.quiet))
            painter.drawText(QRectF(0, 0, self.width(), TOP_PX), Qt.AlignmentFlag.AlignLeft, "Residuals of width², mm²")
            right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            for value, y in ((reach, area.top() + 6), (0.0, middle), (-reach, area.bottom() - 6)):
                painter.drawText(QRectF(0, y - 8, LEFT_PX - 6, 16), right, f"{value:.1g}")
            below = QRectF(area.left(), area.bottom() + 2, area.width(), BOTTOM_PX)
            painter.drawText(below, Qt.AlignmentFlag.AlignLeft, f"{math.exp(low):.3g} W")
            painter.drawText(below, Qt.AlignmentFlag.AlignRight, f"{math.exp(high):.3g} W")
            painter.setPen(Qt.PenStyle.NoPen)
            painter.setBrush(QColor(palette.accent))
            for log, residual in zip(logs, self._fit.residuals_mm2, strict=True):
                across = (log - low) / (high - low) if high > low else 0.5
                painter.drawEllipse(
                    QPointF(area.left() + across * area.width(), middle - residual / reach * area.height() / 2),
                    4.0,
                    4.0,
                )
