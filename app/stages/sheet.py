"""Sheet: stock and machine, size, where the artwork lies, which way the sheet is turned over."""

from collections.abc import Callable, Sequence
from dataclasses import replace

from PySide6.QtCore import QRect
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QWidget

from app.fields import Card, ChoiceField, LengthField, NumberField, words
from app.session import Session
from app.settings import Settings
from app.shop import Shop
from app.stages.page import Page, small_button
from app.stages.stage import Stage
from app.theme import theme
from core.burning.machines import Machine
from core.job.decisions import (
    aligned,
    moved_to,
    placed_bounds_mm,
    rotated,
    sheet_to_fit,
    with_machine,
    with_sheet,
    with_stock,
    with_stop_corner,
    with_turn,
)
from core.job.job import Job
from core.job.plan import Plan
from core.sheet.faces import Corner, turned_corner
from core.sheet.placement import Turn
from core.sheet.stock import Stock

CORNERS: tuple[Corner, ...] = ("top left", "top right", "bottom left", "bottom right")
TURN_WORDS: dict[Turn, str] = {
    "sideways": "Like a page of a book: left and right change places.",
    "endways": "Like a pad's leaf: top and bottom change places.",
}
MARGIN_MM = 5.0
PLACE_PX = 36
LARGEST_SHEET_MM = 10_000.0


class PlaceButton(QPushButton):
    """A small sheet with a mark at the place that the artwork is put to; column and row from 0 to 2."""

    def __init__(self, column: int, row: int) -> None:
        super().__init__()
        self._column, self._row = column, row
        self.setFixedSize(PLACE_PX, PLACE_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        super().paintEvent(event)
        colours = theme().palette
        painter = QPainter(self)
        sheet = QRect(9, 9, PLACE_PX - 19, PLACE_PX - 19)
        painter.setPen(QColor(colours.quiet if self.isEnabled() else colours.disabled))
        painter.drawRect(sheet)
        step = (sheet.width() - 6) // 2
        mark = QRect(sheet.left() + 1 + self._column * step, sheet.top() + 1 + self._row * step, 5, 5)
        painter.fillRect(mark, QColor(colours.accent if self.isEnabled() else colours.disabled))


class SheetPage(Page):
    """The piece of stock and how the artwork lies on it, all in the front frame."""

    def __init__(self, session: Session, settings: Settings, shop: Shop) -> None:
        super().__init__(
            Stage.SHEET, "The piece of stock, and where the artwork lies on it. Drag it on a face.", session, settings
        )
        self._shop = shop
        shop.changed.connect(self.touch)
        self.add_findings_card()
        self.body.addWidget(self._stock_card())
        self.body.addWidget(self._size_card())
        self.body.addWidget(self._place_card())
        self.body.addWidget(self._turn_card())
        self.end_body()

    # --- cards ---------------------------------------------------------------------------------------------------

    def _stock_card(self) -> Card:
        card = Card("Stock and machine")
        self._stock = ChoiceField("Stock")
        self._stock.chosen.connect(
            lambda stock: self.commit(lambda: with_stock(self.session.job, stock), f"Stock: {stock.name}")
        )
        card.row("Stoc&k", self._stock, help_text="Another stock brings its own starting recipes")
        self._machine = ChoiceField("Machine")
        self._machine.chosen.connect(
            lambda machine: self.commit(lambda: with_machine(self.session.job, machine), f"Machine: {machine.name}")
        )
        card.row("&Machine", self._machine)
        self._refused = words(role="refusal")
        card.body.addWidget(self._refused)
        self._coat = words(role="quiet")
        card.body.addWidget(self._coat)
        return card

    def _size_card(self) -> Card:
        card = Card("Size of the sheet")
        self._width = LengthField("Sheet width", low=0.1, high=LARGEST_SHEET_MM)
        self._height = LengthField("Sheet height", low=0.1, high=LARGEST_SHEET_MM)
        self._thickness = LengthField("Sheet thickness", low=0.05, high=100.0, step=0.1)
        for field, label, key in (
            (self._width, "&Width", "width_mm"),
            (self._height, "Hei&ght", "height_mm"),
            (self._thickness, "&Thickness", "thickness_mm"),
        ):
            card.row(label, field)
            field.entered.connect(lambda value, key=key: self._resize(key, value))
        self._fit = small_button("Make the sheet fit the artwork", tip="10 mm of sheet all round what is burned")
        self._fit.clicked.connect(lambda: self._place(sheet_to_fit, "Sheet to fit the artwork"))
        card.body.addWidget(self._fit)
        self.watch(self._width, self._height, self._thickness)
        return card

    def _place_card(self) -> Card:
        card = Card("Place, as seen from the front")
        self._left = LengthField("From the sheet's left edge", low=-LARGEST_SHEET_MM, high=LARGEST_SHEET_MM)
        self._top = LengthField("From the sheet's top edge", low=-LARGEST_SHEET_MM, high=LARGEST_SHEET_MM)
        self._left.entered.connect(
            lambda value: self._place(lambda plan: moved_to(plan, value, None), "Move the artwork", "left")
        )
        self._top.entered.connect(
            lambda value: self._place(lambda plan: moved_to(plan, None, value), "Move the artwork", "top")
        )
        self._rotation = NumberField("Rotation", unit="°", low=-360, high=360, step=90, places=2)
        self._rotation.entered.connect(
            lambda value: self._place(lambda plan: rotated(plan, value), "Rotate the artwork", "rotation")
        )
        card.row("From &left", self._left, help_text="From the sheet's left edge to what is burned")
        card.row("From to&p", self._top, help_text="From the sheet's top edge to what is burned")
        card.row("&Rotation", self._rotation, help_text="Clockwise, seen from the front")
        self.watch(self._left, self._top, self._rotation)
        line = QHBoxLayout()
        line.setSpacing(16)
        line.addLayout(self._align_grid())
        self._lies = words(role="quiet")
        line.addWidget(self._lies, 1)
        card.body.addLayout(line)
        return card

    def _align_grid(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setSpacing(4)
        self._align_buttons = []
        for place in range(9):
            down, across = ("top", "middle", "bottom")[place // 3], ("left", "middle", "right")[place % 3]
            where = "the middle" if across == down == "middle" else f"{down} {across}"
            button = PlaceButton(place % 3, place // 3)
            button.setAccessibleName(f"Put it to {where} of the sheet")
            button.setToolTip(f"To {where}" if place == 4 else f"To {where}, {MARGIN_MM:g} mm off the edges")
            button.clicked.connect(
                lambda checked=False, across=across, down=down, where=where: self._place(
                    lambda plan: aligned(plan, across, down, margin_mm=MARGIN_MM), f"Artwork to {where}"
                )
            )
            grid.addWidget(button, place // 3, place % 3)
            self._align_buttons.append(button)
        return grid

    def _turn_card(self) -> Card:
        card = Card("Turning the sheet over")
        self._turns: dict[Turn, QPushButton] = {}
        line = QHBoxLayout()
        line.setSpacing(8)
        for turn in TURN_WORDS:
            button = small_button(turn.capitalize(), f"Turn {turn}", tip=TURN_WORDS[turn])
            button.setCheckable(True)
            button.setProperty("role", "choice")
            button.clicked.connect(
                lambda checked=False, turn=turn: self.commit(lambda: with_turn(self.session.job, turn), f"Turn {turn}")
            )
            line.addWidget(button)
            self._turns[turn] = button
        card.body.addLayout(line)
        self._turn_words = words(role="quiet")
        card.body.addWidget(self._turn_words)
        self._stop = ChoiceField(
            "Corner of the bed with the stop", [(corner.capitalize(), corner) for corner in CORNERS]
        )
        self._stop.chosen.connect(
            lambda corner: self.commit(lambda: with_stop_corner(self.session.job, corner), f"Stop: {corner} of the bed")
        )
        card.row("St&op corner", self._stop, help_text="The corner of the bed where the machine's stop is")
        self._stop_words = words(role="quiet")
        card.body.addWidget(self._stop_words)
        return card

    # --- showing -------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show stock, size, place and turn."""
        self.show_findings_card()
        self.show_go_on()
        job, plan = self.session.job, self.session.plan
        self._show_stock(job)
        self._width.show_value(job.sheet.width_mm)
        self._height.show_value(job.sheet.height_mm)
        self._thickness.show_value(job.sheet.thickness_mm)
        bounds = placed_bounds_mm(plan) if plan is not None else None
        placeable: list[QWidget] = [self._left, self._top, self._rotation, self._fit, *self._align_buttons]
        for widget in placeable:
            widget.setEnabled(bounds is not None)
        if bounds is not None:
            self._left.show_value(bounds[0])
            self._top.show_value(bounds[1])
        self._rotation.show_value(job.placement.rotation_deg)
        self._lies.setText(
            "What is burned lies in the middle and stays there when the sheet changes."
            if job.placement.centred
            else "What is burned stays where it was put."
        )
        for turn, button in self._turns.items():
            button.setChecked(job.turn == turn)
        self._turn_words.setText(TURN_WORDS[job.turn])
        self._stop.show_value(job.stop_corner)
        of_front = turned_corner(job.stop_corner, job.turn)
        self._stop_words.setText(f"The {of_front} corner of the front goes there.")

    def _show_stock(self, job: Job) -> None:
        self._stock.offer(_offered(job.stock, self._shop.stocks))
        self._stock.show_value(job.stock)
        self._machine.offer(_offered(job.machine, self._shop.machines))
        self._machine.show_value(job.machine)
        self._refused.setText(job.stock.refused)
        self._refused.setVisible(bool(job.stock.refused))
        coat = f"Coat: {job.stock.coat}. " if job.stock.coat else "No coat. "
        cut = "" if job.stock.cut else "It must not be cut by the laser. "
        self._coat.setText(f"{coat}{cut}Its figures: {job.stock.origin.kind}. {job.stock.origin.note}")
        self._coat.setVisible(not job.stock.refused)

    # --- deciding ------------------------------------------------------------------------------------------------

    def _place(self, change: Callable[[Plan], Job], label: str, merge_key: str | None = None) -> None:
        """Placing builds on where things lie now, so it waits for the plan of the present job."""
        self.session.when_current(lambda plan: self.commit(lambda: change(plan), label, merge_key=merge_key))

    def _resize(self, key: str, value_mm: float) -> None:
        sheet = self.session.job.sheet
        sheet = replace(sheet, width_mm=value_mm) if key == "width_mm" else replace(sheet, height_mm=value_mm)
        self.commit(lambda: with_sheet(self.session.job, sheet), "Size of the sheet", merge_key=f"sheet {key}")


def _offered(own: Stock | Machine, known: Sequence[Stock | Machine]) -> list[tuple[str, object]]:
    """The profiles known, and the job's own first where its figures are not those of any of them."""
    offered: list[tuple[str, object]] = [(profile.name, profile) for profile in known]
    if own not in known:
        alike = any(profile.name == own.name for profile in known)
        offered.insert(0, (f"{own.name} (as in this job)" if alike else own.name, own))
    return offered
