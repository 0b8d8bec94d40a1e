"""Sheet: where the artwork lies, how it is turned, the best place, and what the place comes to."""

from collections.abc import Callable

from PySide6.QtCore import QRect
from PySide6.QtGui import QColor, QPainter, QPaintEvent
from PySide6.QtWidgets import QGridLayout, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.canvas.laid_marks import laid_words
from app.canvas.sheet_work import SheetWork
from app.dialogs.search_bar import SearchBar
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.session.placing import Placing
from app.theme.icons import icon
from app.theme.theme import theme
from app.widgets.fields import Card, ChoiceField, LengthField, NumberField, small_button, words
from app.widgets.plain_text import plain_tip
from app.widgets.swatch import Sign
from core.job.decisions import aligned, moved_to, placed_bounds_mm, rotated
from core.job.job import Job
from core.job.on_bed import margin_mm, placing_options
from core.job.plan import Plan
from core.sheet.ground import FREE_ANGLES_DEG, RIGHT_ANGLES_DEG, PlacingOptions

MARGIN_MM = 5.0
PLACE_PX = 36
FAR_MM = 10_000.0
TURNINGS = (("by right angles", "right"), ("by any 5 degrees", "free"), ("not at all", "fixed"))

Place = Callable[[Callable[[Plan], Job], str, str | None], None]
"""Have the plan's job placed anew: (change, what for undo, merge key)."""


class PlaceButton(Guarded, QPushButton):
    """A small sheet with a mark at the place that the artwork is put to; column and row from 0 to 2."""

    def __init__(self, column: int, row: int) -> None:
        super().__init__()
        self._column, self._row = column, row
        self.setFixedSize(PLACE_PX, PLACE_PX)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        super().paintEvent(event)
        colours = theme().palette
        with QPainter(self) as painter:
            sheet = QRect(9, 9, PLACE_PX - 19, PLACE_PX - 19)
            painter.setPen(QColor(colours.quiet if self.isEnabled() else colours.disabled))
            painter.drawRect(sheet)
            step = (sheet.width() - 6) // 2
            mark = QRect(sheet.left() + 1 + self._column * step, sheet.top() + 1 + self._row * step, 5, 5)
            painter.fillRect(mark, QColor(colours.accent if self.isEnabled() else colours.disabled))


class PlaceCard(Card):
    """Places by ``place(change, label, merge key)``; ``find_best`` looks for the best place."""

    def __init__(self, place: Place, work: SheetWork, placing: Placing, *, find_best: Callable[[], None]) -> None:
        super().__init__("Place, as seen from the front")
        self._place, self._work, self._placing = place, work, placing
        self._inches = False
        self.sign, self.state = Sign(), words()
        self.line(self.sign, self.state).setStretch(1, 1)
        self.left = LengthField("From the sheet's left edge", low=-FAR_MM, high=FAR_MM)
        self.top = LengthField("From the sheet's top edge", low=-FAR_MM, high=FAR_MM)
        self.left.entered.connect(lambda value: place(lambda plan: moved_to(plan, value, None), MOVE, "left"))
        self.top.entered.connect(lambda value: place(lambda plan: moved_to(plan, None, value), MOVE, "top"))
        self.rotation = NumberField("Rotation", unit="°", low=-360, high=360, step=90, places=2)
        self.rotation.entered.connect(lambda value: self._rotate(value, "rotation"))
        self.beside(
            ("From &left", self.left, "From the sheet's left edge to what is burned"),
            ("From to&p", self.top, "From the sheet's top edge to what is burned"),
            ("&Rotation", self.rotation, "Clockwise, seen from the front"),
        )
        line = QHBoxLayout()
        line.setSpacing(12)
        line.addLayout(self._align_grid())
        right = QVBoxLayout()
        right.setSpacing(4)
        right.addLayout(self._quarter_grid())
        self.best = small_button(
            "&Best place", "Put it to the best place", tip="No flaw showing, then the largest rest"
        )
        self.best.clicked.connect(find_best)
        right.addWidget(self.best)
        line.addLayout(right, 1)
        self.body.addLayout(line)
        self.body.addWidget(SearchBar(placing, "Looking for the best place", stop="Stop"))
        self.lies = words(role="quiet")
        self.search = self._search_card()
        work.laid_changed.connect(self.show_laid)
        placing.busy_changed.connect(self._show_busy)
        self._show_busy()
        self.show_laid()

    def _quarter_grid(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setSpacing(4)
        self._quarters: dict[int, QPushButton] = {}
        for angle in (0, 90, 180, 270):
            button = small_button(f"{angle}°", filled("Rotate to {angle} degrees", angle=angle))
            button.setCheckable(True)
            button.setProperty("role", "choice")
            button.clicked.connect(lambda checked, angle=angle: self._rotate(float(angle), None))
            self._quarters[angle] = button
        for place, button in enumerate(self._quarters.values()):
            grid.addWidget(button, place // 2, place % 2)
        return grid

    def _align_grid(self) -> QGridLayout:
        grid = QGridLayout()
        grid.setSpacing(4)
        self._align_buttons = []
        for place in range(9):
            down, across = ("top", "middle", "bottom")[place // 3], ("left", "middle", "right")[place % 3]
            where = "the middle" if across == down == "middle" else f"{down} {across}"
            button = PlaceButton(place % 3, place // 3)
            button.setAccessibleName(filled("Put it to {where} of the sheet", where=where))
            button.setToolTip(
                plain_tip(
                    filled("To {where}", where=where)
                    if place == 4
                    else filled("To {where}, {margin_mm:g} mm off the edges", where=where, margin_mm=MARGIN_MM)
                )
            )
            button.clicked.connect(
                lambda checked=False, across=across, down=down, where=where: self._place(
                    lambda plan: aligned(plan, across, down, margin_mm=MARGIN_MM), f"Artwork to {where}", None
                )
            )
            grid.addWidget(button, place // 3, place % 3)
            self._align_buttons.append(button)
        return grid

    def _search_card(self) -> Card:
        """How the best place is looked for; it stands behind a door."""
        card = Card()
        card.body.addWidget(self.lies)
        self.turning = ChoiceField("How the search may turn it", TURNINGS)
        card.row("May turn", self.turning, help_text="How the search for the best place may turn the artwork")
        self._edge_set = False
        self.edge = LengthField("Kept free along the edge by the search", low=0, high=200, step=0.5)
        self.edge.entered.connect(self._edge_entered)
        card.row(
            "Edge free",
            self.edge,
            help_text="Kept free along the piece's edge by the search; the margin of machine and stock to start with",
        )
        return card

    def options(self, job: Job) -> PlacingOptions:
        """What the search may do, as the fields say."""
        turning = TURNINGS[max(0, self.turning.currentIndex())][1]
        angles = {"right": RIGHT_ANGLES_DEG, "free": FREE_ANGLES_DEG, "fixed": (job.placement.rotation_deg,)}[turning]
        return placing_options(job, edge_mm=self.edge.value() if self._edge_set else None, angles_deg=angles)

    def show_plan(self, job: Job, plan: Plan | None, *, inches: bool) -> None:
        """Show where the plan's artwork lies."""
        self._inches = inches
        bounds = placed_bounds_mm(plan) if plan is not None else None
        placeable: list[QWidget] = [self.left, self.top, self.rotation, *self._align_buttons, *self._quarters.values()]
        for widget in placeable:
            widget.setEnabled(bounds is not None)
        self.best.setEnabled(bounds is not None and not self._placing.busy)
        if bounds is not None:
            self.left.show_value(bounds[0])
            self.top.show_value(bounds[1])
        self.rotation.show_value(job.placement.rotation_deg)
        if not self._edge_set:
            self.edge.show_value(margin_mm(job))
        for angle, button in self._quarters.items():
            button.setChecked(abs(job.placement.rotation_deg % 360 - angle) < 1e-9)
        self.lies.setText(
            caption("What is burned lies in the middle and stays there when the sheet changes.")
            if job.placement.centred
            else caption("What is burned stays where it was put.")
        )
        self.show_laid()

    def show_laid(self) -> None:
        """Say what the place comes to, while it is dragged too."""
        laid = self._work.laid
        for widget in (self.sign, self.state):
            widget.setVisible(laid is not None)
        if laid is not None:
            said, sign = laid_words(laid, inches=self._inches)
            self.state.setText(f"{said}.")
            self.sign.show_icon(icon(sign, sign))

    def _edge_entered(self) -> None:
        self._edge_set = True

    def _show_busy(self) -> None:
        self.best.setEnabled(not self._placing.busy)

    def _rotate(self, angle_deg: float, merge_key: str | None) -> None:
        self._place(lambda plan: rotated(plan, angle_deg), "Rotate the artwork", merge_key)


MOVE = "Move the artwork"
