"""Coverage: the dose across the rows as a plot, with the doses at which the coat goes and the sheet turns rough."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFontMetricsF, QPainter, QPaintEvent, QPen, QPolygonF
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.theme import patterns
from app.theme.theme import theme
from app.words.wording import percent_text

if TYPE_CHECKING:
    from core.burning.across_rows import DoseAcross

HIGH_PX, LEFT_PX, AROUND_PX = 200, 8, 18
DASHES_PX = (6.0, 4.0)


class DoseAcrossPlot(Guarded, QWidget):
    """The nearest line alone, which bares, and all together, which may frost; hatched where coat stays."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self._dose: DoseAcross | None = None
        self._clears = self._frosts = 0.0

    def show_dose(self, dose: "DoseAcross", *, clears_j_mm2: float, frosts_j_mm2: float) -> None:
        """Show this, with the least dose that bares the coat and the one that turns the sheet rough."""
        self._dose, self._clears, self._frosts = dose, clears_j_mm2, frosts_j_mm2
        stays = float((dose.nearest_j_mm2 < clears_j_mm2).mean())
        rough = float((dose.together_j_mm2 >= frosts_j_mm2).mean())
        self.setAccessibleDescription(
            filled(
                "Coat stays over {stays} of the way from row to row; {rough} of it turns rough.",
                stays=percent_text(stays),
                rough=percent_text(rough),
            )
        )
        self.update()

    def sizeHint(self) -> QSize:
        """Qt: the size it would like."""
        return QSize(280, HIGH_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        dose = self._dose
        if dose is None:
            return
        palette, canvas = theme().palette, theme().canvas
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            area = QRectF(self.rect()).adjusted(LEFT_PX, AROUND_PX, -LEFT_PX, -AROUND_PX)
            most = 1.15 * max(float(dose.together_j_mm2.max()), float(dose.nearest_j_mm2.max()), self._frosts)
            far = float(dose.y_mm[-1])

            def to_px(y_mm: float, j_mm2: float) -> QPointF:
                return QPointF(area.left() + y_mm / far * area.width(), area.bottom() - j_mm2 / most * area.height())

            def line(values: Sequence[float], colour: str, width_px: float) -> None:
                painter.setPen(QPen(QColor(colour), width_px))
                at = zip(dose.y_mm.tolist(), values, strict=True)
                painter.drawPolyline(QPolygonF([to_px(*one) for one in at]))

            density = self.devicePixelRatioF()
            woven = patterns.weave(canvas.left_over, None, origin=area.topLeft(), density=density)
            step_px = area.width() / (len(dose.y_mm) - 1)
            for at in (dose.nearest_j_mm2 < self._clears).nonzero()[0].tolist():
                painter.fillRect(QRectF(area.left() + (at - 0.5) * step_px, area.top(), step_px, area.height()), woven)
            painter.setPen(QPen(QColor(palette.border), 1.0))
            painter.drawLine(area.bottomLeft(), area.bottomRight())
            line(dose.together_j_mm2.tolist(), palette.text, 2.0)
            line(dose.nearest_j_mm2.tolist(), palette.accent, 2.0)
            for level, colour, words in (
                (self._frosts, palette.problem, filled("frosts from {dose:.2f} J/mm²", dose=self._frosts)),
                (self._clears, palette.accent, filled("bares from {dose:.2f} J/mm²", dose=self._clears)),
            ):
                painter.setPen(patterns.dashed_pen(colour, 1.5, DASHES_PX))
                painter.drawLine(to_px(0.0, level), to_px(far, level))
                self._name(painter, to_px(0.0, level), words, colour, above=level == self._frosts)

    def _name(self, painter: QPainter, at: QPointF, words: str, colour: str, *, above: bool) -> None:
        """Words on a ground of their own above or below a line's beginning, where no curve runs."""
        metrics = QFontMetricsF(self.font())
        top = at.y() - metrics.height() - 3 if above else at.y() + 3
        box = QRectF(at.x() + 4, top, metrics.horizontalAdvance(words) + 8, metrics.height())
        ground = QColor(theme().palette.raised)
        painter.fillRect(box, ground)
        painter.setPen(QColor(colour))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, words)
