"""The dose window as a plot: pitch across, speed or power up, the recipe as a point that pointer and keys move."""

import math
from functools import partial

import numpy as np
from PySide6.QtCore import QEvent, QLineF, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QBrush,
    QColor,
    QFocusEvent,
    QFontMetricsF,
    QHideEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QPolygonF,
)
from PySide6.QtWidgets import QSizePolicy, QWidget

from app.canvas.sheet_picture import ruler_font
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.stages.burn.dose_lines import (
    NOT_REACHED,
    contour_times,
    frost_edge_mm,
    nice_ticks,
    roomiest,
    unclear_edge_mm,
)
from app.theme import patterns
from app.theme.theme import theme
from core.burning.chance import WANTED, in_hundred
from core.burning.contours import contour
from core.burning.dose_window import REGIONS, DoseWindow
from core.units import MM_PER_INCH, pitch_mm_from_lpi

LEFT_PX, RIGHT_PX, TOP_PX, BOTTOM_PX = 46, 12, 18, 34
POINT_PX, GRAB_PX = 6.5, 14.0
TICK_LPI = (25, 50, 100, 150, 200, 300, 400, 600, 800, 1200, 1600, 2400, 3200, 4800, 9600)
LPI_STEP, FAR = 5.0, 10.0
LEAST_HIGH_PX, OF_WIDTH, OF_WINDOW_HIGH = 216, 0.75, 0.3
VALUE_STEP = {"speed": 5.0, "power": 1.0}
RECKONED_WITH = 0.10
"""An outcome less likely than this is not painted."""


class DosePlot(Guarded, QWidget):
    """Shows a window; moves the point and tells where to.

    moved(pitch_mm, value, drag): the point was put there; moves with one ``drag`` number belong together. The point
    stays where ``show_window`` says; what it tells is whole lines an inch and whole steps of speed or power.
    held(True): a drag began; held(False): it ended.
    """

    moved = Signal(float, float, int)
    held = Signal(bool)

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Preferred)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self._window: DoseWindow | None = None
        self._waiting: DoseWindow | None = None
        self._pitch_mm, self._value = 0.0, 0.0
        self._dragging = False
        self._drag = 0
        self._inches, self._wanted = False, WANTED
        self._hovered: QPointF | None = None

    def show_window(
        self, window: DoseWindow | None, pitch_mm: float, value: float, *, inches: bool, wanted: float = WANTED
    ) -> None:
        """Show this window with the recipe there; the plot stands still while the point is dragged.

        wanted: the chance of a clean piece whose line is drawn.
        """
        self._inches, self._wanted = inches, wanted
        if self._dragging and window is not None:
            self._waiting = window
        else:
            self._window = window
            self._pitch_mm, self._value = pitch_mm, value
        self.update()

    @property
    def window_shown(self) -> DoseWindow | None:
        """The window in view."""
        return self._window

    @property
    def is_held(self) -> bool:
        """Whether the point is being dragged."""
        return self._dragging

    # --- places --------------------------------------------------------------------------------------------------

    @property
    def area(self) -> QRectF:
        """Where the plot itself lies, px."""
        return QRectF(LEFT_PX, TOP_PX, self.width() - LEFT_PX - RIGHT_PX, self.height() - TOP_PX - BOTTOM_PX)

    def to_px(self, pitch_mm: float, value: float) -> QPointF:
        """A pitch and a value in px, held within the plot."""
        assert self._window is not None
        low, high = (math.log(float(self._window.pitch_mm[end])) for end in (0, -1))
        most = float(self._window.values[-1])
        across = (math.log(max(pitch_mm, 1e-9)) - low) / (high - low) if math.isfinite(pitch_mm) else 1.0
        area = self.area
        return QPointF(
            area.left() + min(max(across, 0.0), 1.0) * area.width(),
            area.bottom() - min(max(value / most, 0.0), 1.0) * area.height(),
        )

    def from_px(self, point: QPointF) -> tuple[float, float]:
        """Pitch, mm, as whole lines an inch, and value in whole steps, at a pixel."""
        assert self._window is not None
        area, window = self.area, self._window
        across = min(max((point.x() - area.left()) / area.width(), 0.0), 1.0)
        up = min(max((area.bottom() - point.y()) / area.height(), 0.0), 1.0)
        low, high = (math.log(float(window.pitch_mm[end])) for end in (0, -1))
        lpi = max(1.0, round(MM_PER_INCH / math.exp(low + across * (high - low))))
        most = float(window.values[-1])
        return pitch_mm_from_lpi(lpi), max(1.0, round(up * most))

    # --- input ---------------------------------------------------------------------------------------------------

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Qt: a button goes down; on the point it begins a drag, elsewhere the point comes along."""
        if self._window is None or event.button() != Qt.MouseButton.LeftButton:
            return
        if self.area.adjusted(-GRAB_PX, -GRAB_PX, GRAB_PX, GRAB_PX).contains(event.position()):
            self._dragging = True
            self.held.emit(True)
            self._drag += 1
            grabbed = QLineF(event.position(), self.to_px(self._pitch_mm, self._value)).length() <= GRAB_PX
            if not grabbed:
                self._put(event.position())

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Qt: the pointer moves."""
        self._hovered = event.position() if self._window is not None else None
        if self._dragging:
            self._put(event.position())
        elif self._window is not None:
            self.update()
            near = QLineF(event.position(), self.to_px(self._pitch_mm, self._value)).length() <= GRAB_PX
            self.setCursor(Qt.CursorShape.SizeAllCursor if near else Qt.CursorShape.ArrowCursor)

    def leaveEvent(self, event: QEvent) -> None:
        """Qt: the pointer leaves."""
        self._hovered = None
        self.update()

    @property
    def readout(self) -> str:
        """The figures under the pointer, before it lets go; "" where it is not on the plot."""
        window, at = self._window, self._hovered
        if window is None or at is None or not (self._dragging or self.area.contains(at)):
            return ""
        pitch_mm, value = self.from_px(at)
        unit = "mm/s" if window.axis == "speed" else "%"
        told = filled(
            "{mm_per_inch:.0f} LPI, {value:g} {unit}", mm_per_inch=MM_PER_INCH / pitch_mm, value=value, unit=unit
        )
        if window.chances is None:
            return told
        row = int(np.abs(window.values - value).argmin())
        column = int(np.abs(np.log(window.pitch_mm) - math.log(pitch_mm)).argmin())
        return f"{told}: clean {in_hundred(float(window.chances[row, column, 0]))} in 100"

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Qt: a button comes up; what came in meanwhile is shown now."""
        self._let_go()

    def hideEvent(self, event: QHideEvent) -> None:
        """Qt: the plot is not seen any more, and will not hear that the button comes up."""
        super().hideEvent(event)
        self._let_go()

    def _let_go(self) -> None:
        if self._dragging:
            self._dragging = False
            self.held.emit(False)
        if self._waiting is not None:
            self._window, self._waiting = self._waiting, None
            self.update()

    def _put(self, point: QPointF) -> None:
        self._tell(*self.from_px(point))

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Qt: a key goes down; arrows move the point, with Shift further."""
        ways = {
            Qt.Key.Key_Left: (1, 0),
            Qt.Key.Key_Right: (-1, 0),
            Qt.Key.Key_Up: (0, 1),
            Qt.Key.Key_Down: (0, -1),
        }
        way = ways.get(Qt.Key(event.key()))
        if way is None or self._window is None:
            super().keyPressEvent(event)
            return
        times = FAR if event.modifiers() & Qt.KeyboardModifier.ShiftModifier else 1.0
        lines, steps = (part * times for part in way)
        pitch_mm, value = self._pitch_mm, self._value
        if lines:
            pitch_mm = pitch_mm_from_lpi(max(1.0, round(MM_PER_INCH / pitch_mm) + lines * LPI_STEP))
        if steps:
            step = VALUE_STEP[self._window.axis]
            value = min(max(value + steps * step, 1.0), float(self._window.values[-1]))
        if not event.isAutoRepeat():
            self._drag += 1
        self._tell(pitch_mm, value)

    def _tell(self, pitch_mm: float, value: float) -> None:
        if (pitch_mm, value) != (self._pitch_mm, self._value):
            self._pitch_mm, self._value = pitch_mm, value
            self.update()
            self.moved.emit(pitch_mm, value, self._drag)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Qt: the keys come here."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Qt: the keys go elsewhere."""
        super().focusOutEvent(event)
        self.update()

    def sizeHint(self) -> QSize:
        """Qt: the size it would like."""
        return QSize(280, LEAST_HIGH_PX)

    def heightForWidth(self, width: int) -> int:
        """Qt: larger where there is room; never so high that it takes a small window."""
        return max(LEAST_HIGH_PX, min(round(OF_WIDTH * width), round(OF_WINDOW_HIGH * self.window().height())))

    # --- painting ------------------------------------------------------------------------------------------------

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        with QPainter(self) as painter:
            painter.setFont(ruler_font(self.font()))
            palette = theme().palette
            if self._window is None:
                painter.setPen(QColor(palette.quiet))
                painter.drawText(self.area, Qt.AlignmentFlag.AlignCenter, "working out…")
                return
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setClipRect(self.area)
            if self._window.chances is not None:
                self._paint_chances(painter, self._window)
            self._paint_contours(painter, self._window)
            painter.setClipping(False)
            self._paint_words(painter, self._window)
            self._paint_axes(painter, self._window)
            self._paint_point(painter)
            if told := self.readout:
                painter.setPen(QColor(palette.text))
                line = QRectF(LEFT_PX, 0, self.width() - LEFT_PX - RIGHT_PX, TOP_PX)
                painter.fillRect(line, QColor(palette.raised))
                painter.drawText(line, Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight, told)

    def _paint_chances(self, painter: QPainter, window: DoseWindow) -> None:
        """Where each outcome is likelier than not, densely, and where it is to be reckoned with, sparsely.

        Then lines of equal chance.
        """
        assert window.chances is not None
        palette, area, density = theme().palette, self.area, self.devicePixelRatioF()
        origin = area.topLeft()
        painter.fillRect(area, QColor(palette.surface))
        missed = window.chances[:, :, NOT_REACHED].max(1) >= 0.5
        for level, spacing in ((RECKONED_WITH, 2.0), (0.5, 1.0)):
            hatched = partial(patterns.hatch, origin=origin, density=density, spacing=spacing)
            lines = hatched(palette.warning, None, angle_deg=0.0)
            faint = hatched(palette.border, None, angle_deg=45.0)
            rough = patterns.dots(palette.problem, None, origin=origin, density=density, spacing=spacing)
            frosted, unclear = frost_edge_mm(window, level), unclear_edge_mm(window, level)
            self._paint_beside(painter, window, frosted, rough, right=False)
            self._paint_beside(painter, window, unclear, lines, right=True, rows=~missed)
            self._paint_beside(painter, window, unclear, faint, right=True, rows=missed)
        for level in self.levels(window):
            sure = level >= self._wanted
            painter.setPen(QPen(QColor(palette.text), 2.0 if sure else 1.0, Qt.PenStyle.SolidLine))
            for segment in contour(window.chances[:, :, 0], level):
                painter.drawLine(QLineF(*(self._at_cell(window, *end) for end in segment)))

    def levels(self, window: DoseWindow) -> tuple[float, ...]:
        """The chances whose lines are drawn: one in two, and the one wanted or, short of it, the best round one."""
        assert window.chances is not None
        most = float(window.chances[:, :, 0].max())
        best = self._wanted if most > self._wanted else math.floor(20 * (most - 0.01)) / 20
        return tuple(level for level in dict.fromkeys((0.5, best)) if 0.05 <= level < most)

    def _at_cell(self, window: DoseWindow, row: float, column: float) -> QPointF:
        """A place between the window's rows and columns, px."""
        pitch = float(np.exp(np.interp(column, np.arange(len(window.pitch_mm)), np.log(window.pitch_mm))))
        return self.to_px(pitch, float(np.interp(row, np.arange(len(window.values)), window.values)))

    def _paint_beside(
        self,
        painter: QPainter,
        window: DoseWindow,
        edge_mm: np.ndarray,
        brush: QBrush,
        *,
        right: bool,
        rows: np.ndarray | None = None,
    ) -> None:
        """Fill what lies left or right of an edge, for these rows."""
        own = np.flatnonzero(rows) if rows is not None else np.arange(len(window.values))
        if not len(own):
            return
        edge = [self.to_px(float(edge_mm[row]), float(window.values[row])) for row in own]
        edge[0].setY(self.area.bottom() if own[0] == 0 else edge[0].y())
        side = self.area.right() if right else self.area.left()
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(brush)
        painter.drawPolygon(QPolygonF([QPointF(side, edge[0].y()), *edge, QPointF(side, edge[-1].y())]))

    def _paint_contours(self, painter: QPainter, window: DoseWindow) -> None:
        palette = theme().palette
        painter.setPen(QPen(QColor(palette.accent), 1.0, Qt.PenStyle.DashLine))
        for time_s in contour_times(window):
            (pitch_mm,) = window.time_contours((time_s,))
            line = QPolygonF(
                [self._free_px(pitch, value) for pitch, value in zip(pitch_mm, window.values, strict=True)]
            )
            painter.drawPolyline(line)

    def _free_px(self, pitch_mm: float, value: float) -> QPointF:
        """As ``to_px``, but beyond the plot's sides where it lies beyond; the clip cuts it."""
        assert self._window is not None
        low, high = (math.log(float(self._window.pitch_mm[end])) for end in (0, -1))
        held = self.to_px(pitch_mm, value)
        return QPointF(self.area.left() + (math.log(pitch_mm) - low) / (high - low) * self.area.width(), held.y())

    def _paint_words(self, painter: QPainter, window: DoseWindow) -> None:
        likeliest = window.regions if window.chances is None else window.chances.argmax(2)
        for code, name in enumerate(REGIONS):
            at = roomiest(likeliest == code)
            if at is not None:
                row, column = at
                self._paint_plate(painter, self.to_px(float(window.pitch_mm[column]), float(window.values[row])), name)
        for level in self.levels(window) if window.chances is not None else ():
            ends = contour(window.chances[:, :, 0], level).reshape(-1, 2)  # type: ignore[index]  # asked for above
            if len(ends):
                lowest = ends[np.argmin(ends[:, 0] - 0.02 * ends[:, 1])]
                self._paint_plate(painter, self._at_cell(window, *lowest), f"{in_hundred(level)} in 100")
        metrics = QFontMetricsF(painter.font())
        painter.setPen(QColor(theme().palette.accent))
        taken: list[QRectF] = []
        for time_s in contour_times(window):
            (pitch_mm,) = window.time_contours((time_s,))
            at_top = self._free_px(float(pitch_mm[-1]), float(window.values[-1]))
            text = filled("{time_s:g} min", time_s=time_s / 60) if time_s >= 60 else f"{time_s:g} s"
            width = metrics.horizontalAdvance(text)
            box = QRectF(at_top.x() - width / 2, 0, width, TOP_PX)
            inside = self.area.left() <= at_top.x() <= self.area.right()
            box.moveRight(min(box.right(), float(self.width())))
            box.moveLeft(max(box.left(), float(LEFT_PX)))
            if inside and not any(box.adjusted(-6, 0, 6, 0).intersects(other) for other in taken):
                taken.append(box)
                painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def _paint_plate(self, painter: QPainter, middle: QPointF, text: str) -> None:
        palette, metrics = theme().palette, QFontMetricsF(painter.font())
        box = QRectF(0, 0, metrics.horizontalAdvance(text) + 10, metrics.height() + 2)
        box.moveCenter(middle)
        box.moveLeft(min(max(box.left(), self.area.left() + 2), self.area.right() - box.width() - 2))
        painter.setPen(Qt.PenStyle.NoPen)
        painter.setBrush(QColor(palette.surface))
        painter.drawRoundedRect(box, 3, 3)
        painter.setPen(QColor(palette.text))
        painter.drawText(box, Qt.AlignmentFlag.AlignCenter, text)

    def _paint_axes(self, painter: QPainter, window: DoseWindow) -> None:
        palette, area = theme().palette, self.area
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.setPen(QColor(palette.border))
        painter.drawRect(area)
        metrics = QFontMetricsF(painter.font())
        last_px = -math.inf
        for lpi in reversed(TICK_LPI):
            pitch_mm = pitch_mm_from_lpi(lpi)
            if not window.pitch_mm[0] <= pitch_mm <= window.pitch_mm[-1]:
                continue
            at, width = self.to_px(pitch_mm, 0.0), metrics.horizontalAdvance(str(lpi))
            painter.setPen(QColor(palette.border))
            painter.drawLine(QLineF(at, at + QPointF(0, 4)))
            if at.x() - width / 2 > last_px + 5:
                last_px = at.x() + width / 2
                painter.setPen(QColor(palette.quiet))
                box = QRectF(at.x() - width / 2 - 2, at.y() + 4, width + 4, 14)
                painter.drawText(box, Qt.AlignmentFlag.AlignCenter, str(lpi))
        painter.setPen(QColor(palette.quiet))
        below = QRectF(area.left(), self.height() - 16, area.width(), 15)
        painter.drawText(below, Qt.AlignmentFlag.AlignCenter, "Pitch, lines an inch; wider to the right")
        unit = "%" if window.axis == "power" else "in/s" if self._inches else "mm/s"
        scale = MM_PER_INCH if unit == "in/s" else 1.0
        painter.drawText(QRectF(0, 0, LEFT_PX - 6, TOP_PX), Qt.AlignmentFlag.AlignRight, unit)
        for value in nice_ticks(float(window.values[-1]) / scale):
            at = self.to_px(float(window.pitch_mm[0]), value * scale)
            painter.setPen(QColor(palette.border))
            painter.drawLine(QLineF(at, at - QPointF(4, 0)))
            painter.setPen(QColor(palette.quiet))
            aligned = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            painter.drawText(QRectF(0, at.y() - 7, LEFT_PX - 6, 14), aligned, f"{value:g}")

    def _paint_point(self, painter: QPainter) -> None:
        palette, at = theme().palette, self.to_px(self._pitch_mm, self._value)
        painter.setPen(QPen(QColor(palette.surface), 5.0))
        painter.setBrush(QColor(palette.accent))
        painter.drawEllipse(at, POINT_PX, POINT_PX)
        painter.setPen(QPen(QColor(palette.text), 1.5))
        painter.drawEllipse(at, POINT_PX, POINT_PX)
        if self.hasFocus():
            painter.setBrush(Qt.BrushStyle.NoBrush)
            painter.setPen(QPen(QColor(palette.accent), 2.0))
            painter.drawEllipse(at, POINT_PX + 5, POINT_PX + 5)
