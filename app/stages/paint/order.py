"""Card of the Paint page with the colours, first to last: each with its coats and when work goes on."""

from __future__ import annotations

from PySide6.QtCore import QModelIndex, QPersistentModelIndex, QRect, Qt
from PySide6.QtGui import QColor, QPainter
from PySide6.QtWidgets import (
    QAbstractItemView,
    QListWidget,
    QListWidgetItem,
    QStyledItemDelegate,
    QStyleOptionViewItem,
)

from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.theme.theme import theme
from app.widgets.fields import small_button, words
from app.widgets.plain_text import plain_tip
from app.widgets.swatch import CHIP_PX, colour_chip
from app.words.paint_words import mask_words
from app.words.wording import area_text, count_text
from core.finishing.timetable import time_text
from core.job.painting.bench import next_at
from core.job.painting.decisions import with_order

ROW_PX = 28
GAP_PX = 8
FIGURES_ROLE = int(Qt.ItemDataRole.UserRole) + 1


class OrderCard(PaintedCard):
    """Colours from first to last; drag them, or move them with the buttons, and see what it costs."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__("Colours, first to last")
        self._page = page
        self._list = QListWidget()
        self._list.setAccessibleName(caption("Colours, first to last"))
        self._list.setDragDropMode(QAbstractItemView.DragDropMode.InternalMove)
        self._list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._list.setItemDelegate(_Rows(self._list))
        self._list.currentRowChanged.connect(self._choose)
        self._list.model().rowsMoved.connect(self._take_order, Qt.ConnectionType.QueuedConnection)
        self.body.addWidget(self._list)
        self._earlier = small_button("Earlier", "Chosen colour earlier")
        self._earlier.clicked.connect(lambda: self._move(-1))
        self._later = small_button("Later", "Chosen colour later")
        self._later.clicked.connect(lambda: self._move(1))
        self._cheapest = small_button("Cheapest order", tip="The order that costs least masking")
        self._cheapest.clicked.connect(self._take_cheapest)
        self.line(self._earlier, self._later, self._cheapest)
        self._why = words(role="quiet")
        self.body.addWidget(self._why)

    def show_painted(self, painted: Painted) -> None:
        """Show the order, and the first reason for it; the tip holds all of them."""
        painting, table = painted.painting, painted.table
        chosen = self._page.chosen_step
        goes_on = next_at(painting, table)
        self._list.blockSignals(True)
        self._list.clear()
        for step in painting.steps:
            paint = step.area.paint
            item = QListWidgetItem(colour_chip(paint.colour), f"{step.number}. {paint.name}")
            figures = [count_text(paint.coats, "coat", "coats")]
            if moment := goes_on.get(paint.name):
                said = time_text(moment, dated=table.dated)
                figures.append(f"cured {said}" if step is painting.steps[-1] else f"next at {said}")
            item.setData(FIGURES_ROLE, ", ".join(figures))
            item.setData(Qt.ItemDataRole.UserRole, paint.name)
            extent = area_text(step.area.region.area, inches=self._page.inches)
            told = f"{step.number}. {paint.name}, {', '.join(figures)}; {extent}, {mask_words(step)}"
            item.setData(Qt.ItemDataRole.AccessibleTextRole, told)
            item.setToolTip(plain_tip(told))
            self._list.addItem(item)
            if step is chosen:
                self._list.setCurrentItem(item)
        self._list.setFixedHeight(ROW_PX * max(len(painting.steps), 1) + 8)
        self._list.blockSignals(False)
        row, last = self._list.currentRow(), len(painting.steps) - 1
        self._earlier.setEnabled(row > 0)
        self._later.setEnabled(0 <= row < last)
        self._cheapest.setEnabled(bool(painted.plan.job.finishing.order))
        self._why.setText(painting.reasons[0] if painting.reasons else "")
        self._why.setToolTip(plain_tip("\n".join(painting.reasons)))
        self._why.setAccessibleDescription("\n".join(painting.reasons))

    def _choose(self, row: int) -> None:
        item = self._list.item(row)
        if item is not None:
            self._page.choose_paint(str(item.data(Qt.ItemDataRole.UserRole)))

    def _names(self) -> list[str]:
        return [str(self._list.item(row).data(Qt.ItemDataRole.UserRole)) for row in range(self._list.count())]

    def _take_order(self) -> None:
        names = self._names()
        self._page.decide(lambda plan: with_order(plan, names), "Order of colours")

    def _move(self, by: int) -> None:
        names, row = self._names(), self._list.currentRow()
        if 0 <= row + by < len(names):
            names.insert(row + by, names.pop(row))
            self._page.decide(lambda plan: with_order(plan, names), "Order of colours")

    def _take_cheapest(self) -> None:
        self._page.decide(lambda plan: with_order(plan, ()), "Cheapest order of colours")


class _Rows(Guarded, QStyledItemDelegate):
    """Name at the left, figures at the right; a long name gives way."""

    def paint(
        self, painter: QPainter, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex
    ) -> None:
        """Qt: draw a row."""
        figures = str(index.data(FIGURES_ROLE) or "")
        metrics = option.fontMetrics
        row: QRect = option.rect
        wide = metrics.horizontalAdvance(figures)
        place = row.adjusted(row.width() - wide - GAP_PX, 0, -GAP_PX, 0)
        super().paint(painter, option, index)
        painter.save()
        painter.setPen(QColor(theme().palette.quiet))
        painter.drawText(place, int(Qt.AlignmentFlag.AlignVCenter | Qt.AlignmentFlag.AlignRight), figures)
        painter.restore()

    def initStyleOption(self, option: QStyleOptionViewItem, index: QModelIndex | QPersistentModelIndex) -> None:
        """Qt: what the row shows."""
        super().initStyleOption(option, index)
        metrics = option.fontMetrics
        taken = metrics.horizontalAdvance(str(index.data(FIGURES_ROLE) or "")) + CHIP_PX + 5 * GAP_PX
        room = option.rect.width() - taken
        option.text = metrics.elidedText(option.text, Qt.TextElideMode.ElideRight, room)
