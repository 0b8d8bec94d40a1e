"""Stops and backers: what is made to go with the job, with its figures, seen before it is opened or saved."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QDialog, QHBoxLayout, QVBoxLayout, QWidget

from app.canvas.piece_picture import PieceLook, PiecePicture
from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.session.placing import Placing
from app.widgets import messages
from app.widgets.fields import Card, ChoiceField, LengthField, NumberField, small_button, words
from app.words.wording import in_shown_units, unbroken
from core.errors import TainError
from core.job.companions import USUAL_CLEARANCE_MM, USUAL_MM, Companion, CompanionWish, Kind, companion
from core.job.plan import Plan
from core.output.job_files import save_jobs
from core.sheet.offcuts import Piece, rectangle
from core.sheet.stock import Stock

KINDS: tuple[tuple[str, Kind], ...] = (
    ("Backing plate", "backer"),
    ("Opening it goes into", "opening"),
    ("Corner stop", "corner stop"),
    ("Nest for blanks", "nest"),
    ("Pins for the sheet", "pins"),
)
ABOUT: dict[Kind, str] = {
    "backer": "A plate behind the piece, larger all round, its parts joined, with lines that the piece hides.",
    "opening": "A plate with an opening for the piece: below zero it is pressed in.",
    "corner stop": "An angle for the corner of the bed, so that every sheet lies in the same place.",
    "nest": "A frame that holds ready-cut blanks of the job's outline, front down.",
    "pins": "Holes in what is left of the sheet, and a board with pins: a sheet taken out for paint comes back.",
}
JOINS = (("gaps are closed", "grow"), ("bars are laid", "bridges"))


class CompanionsDialog(QDialog):
    """``found`` is what the choices come to, None while they come to nothing; accepted: it is to be opened."""

    def __init__(
        self, parent: QWidget | None, placing: Placing, plan: Plan, stocks: Sequence[Stock], *, inches: bool
    ) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Stops and backers"))
        self._placing, self._plan, self._inches = placing, plan, inches
        self._stocks = [stock for stock in stocks if stock.cut is not None and not stock.refused]
        self.found: Companion | None = None
        self.saved: Path | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        columns = QHBoxLayout()
        columns.setSpacing(16)
        left = QVBoxLayout()
        left.addWidget(self._card())
        left.addStretch(1)
        columns.addLayout(left, 2)
        right = QVBoxLayout()
        self.picture = PiecePicture("What is made, as seen from the front", least=QSize(360, 240))
        right.addWidget(self.picture, 1)
        self.told = words()
        right.addWidget(self.told)
        columns.addLayout(right, 3)
        layout.addLayout(columns, 1)
        layout.addLayout(self._foot())
        self.resize(860, 560)
        self.finished.connect(lambda result: placing.stop())
        self._kind_chosen()

    def _card(self) -> Card:
        card = Card()
        self.kind = ChoiceField("What is made", KINDS)
        card.row("&What", self.kind)
        self._about = words(role="quiet")
        card.body.addWidget(self._about)
        self.stock = ChoiceField("Stock it is cut from", [(stock.name, stock) for stock in self._stocks])
        usual = next((stock for stock in self._stocks if stock.name == self._plan.job.stock.name), None)
        self.stock.show_value(usual or next(iter(self._stocks), None))
        card.row("&From", self.stock)
        self.join = ChoiceField("How islands are joined", JOINS)
        for choice in (self.stock, self.join):
            choice.setMinimumContentsLength(16)  # the stock's thickness is at its name's end
        self.count = NumberField("How many blanks side by side", low=1, high=100, places=0)
        self.count.show_value(1)
        self.fields: dict[str, LengthField] = {}
        self._rows: dict[str, tuple[QWidget, QWidget]] = {}
        for key, label, name, low, high, value in (
            ("margin_mm", "&Margin", "Margin round the piece", -100.0, 300.0, USUAL_MM["margin"]),
            ("bridge_mm", "&Least web", "Least width of a web", 0.5, 100.0, USUAL_MM["bridge"]),
            ("inset_mm", "L&ines in by", "How far lines lie inside the piece", 0.1, 50.0, USUAL_MM["inset"]),
            ("clearance_mm", "&Clearance", "Clearance all round", -2.0, 5.0, USUAL_CLEARANCE_MM["nest"]),
            ("frame_mm", "F&rame", "Width of the frame", 2.0, 200.0, USUAL_MM["frame"]),
            ("arm_mm", "&Arms", "Length of the arms", 10.0, 1000.0, USUAL_MM["arm"]),
            ("width_mm", "Wi&dth", "Width of the arms", 2.0, 300.0, USUAL_MM["width"]),
            ("pin_mm", "&Pins", "Diameter of the pins", 0.5, 30.0, USUAL_MM["pin"]),
        ):
            field = LengthField(name, low=low, high=high, step=0.1 if high <= 30 else 1.0, places=3)
            field.show_inches(self._inches)
            field.show_value(value)
            field.entered.connect(lambda value: self.draw())
            self.fields[key] = field
            self._rows[key] = (card.row(label, field), field)
        self._rows["join"] = (
            card.row("&Joined", self.join, help_text="How parts that stand apart become one"),
            self.join,
        )
        self._rows["count"] = (card.row("How ma&ny", self.count), self.count)
        self.kind.chosen.connect(lambda kind: self._kind_chosen())
        for choice in (self.stock, self.join):
            choice.chosen.connect(lambda value: self.draw())
        self.count.entered.connect(lambda value: self.draw())
        return card

    def _foot(self) -> Foot:
        self.save = small_button("&Save as job files…", tip="Into a folder, one for each part")
        self.save.clicked.connect(self._save)
        foot = Foot(self, "&Open it as a job", self.save, leave="Close")
        self.open_it = foot.main
        return foot

    # --- drawing -------------------------------------------------------------------------------------------------

    @property
    def wish(self) -> CompanionWish | None:
        """What the fields ask for; None without a stock that may be cut."""
        if not self._stocks:
            return None
        stock = self._stocks[max(0, self.stock.currentIndex())]
        wish = CompanionWish(
            kind=KINDS[max(0, self.kind.currentIndex())][1],
            stock=stock,
            join="bridges" if self.join.currentIndex() == 1 else "grow",
            count=round(self.count.value()),
        )
        figures = {key: field.value() for key, field in self.fields.items()}
        return replace(wish, **figures)  # type: ignore[arg-type]  # lengths of that name

    def _kind_chosen(self) -> None:
        kind = KINDS[max(0, self.kind.currentIndex())][1]
        self._about.setText(ABOUT[kind])
        shown = {
            "backer": ("margin_mm", "bridge_mm", "inset_mm", "join"),
            "opening": ("clearance_mm", "frame_mm"),
            "corner stop": ("arm_mm", "width_mm"),
            "nest": ("clearance_mm", "frame_mm", "count"),
            "pins": ("pin_mm", "clearance_mm"),
        }[kind]
        for key, row in self._rows.items():
            for widget in row:
                widget.setVisible(key in shown)
        if kind in USUAL_CLEARANCE_MM:
            self.fields["clearance_mm"].show_value(USUAL_CLEARANCE_MM[kind])
        self.draw()

    def draw(self) -> None:
        """Have what is wanted drawn; the drawing before is given up."""
        wish, plan = self.wish, self._plan
        self._show(None, "Drawing it…")
        if wish is None:
            self._show(None, "No stock of the shop book may be cut by the laser.")
        else:
            self._placing.do(
                lambda progress, tell: companion(plan, wish, progress),
                lambda found: self._show(found, found.told),
                lambda error: self._show(None, str(error)),
            )

    def _show(self, found: Companion | None, told: str) -> None:
        self.found = found
        self.told.setText(unbroken(in_shown_units(told, inches=self._inches)))
        self.save.setEnabled(found is not None)
        self.open_it.setEnabled(found is not None and len(found.jobs) == 1)
        if found is None:
            return
        sheet = found.jobs[-1][1].sheet
        piece = Piece(stock="", thickness_mm=1.0, outline=rectangle(sheet.width_mm, sheet.height_mm))
        parts = ((found.kept, ""),) if not found.kept.is_empty else ()
        self.picture.show_piece(PieceLook(piece=piece, parts=parts), self.told.text())

    # --- saving --------------------------------------------------------------------------------------------------

    def _save(self) -> None:
        found = self.found
        if found is None:
            return
        folder = messages.save_file(self, "A folder for the job files", path=str(Path.home() / "stops"), filters="")
        if folder is None:
            return
        try:
            save_jobs(found.jobs, folder)
        except TainError as error:
            self.told.setText(str(error))
        else:
            self.saved = folder
            self.told.setText(
                filled(
                    "{join} are in {folder}.",
                    join=" and ".join((f"{name}.tain" for name, _ in found.jobs)),
                    folder=folder,
                )
            )
