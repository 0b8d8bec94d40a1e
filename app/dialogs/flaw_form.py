"""A flaw of the sheet by numbers: what it is, which surface, where, how wide."""

from PySide6.QtWidgets import QDialog, QLineEdit, QVBoxLayout, QWidget

from app.dialogs.foot import Foot
from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.widgets.fields import Card, ChoiceField, LengthField, words
from core.errors import TainError
from core.sheet.offcuts import check_flaw
from core.sheet.piece_given import points_mm
from core.sheet.placement import Flaw, Points, Turn
from core.units import MM_PER_INCH

KINDS = (("a point", "point"), ("a line", "line"), ("a patch", "patch"))
SIDES = (("the front", "front"), ("the back", "back"))
SURFACES = (("on the clear face", "clear face"), ("in the coat", "coat"))
LARGEST_MM = 500.0


class FlawForm(Guarded, QDialog):
    """``flaw`` is what the fields come to once they are taken."""

    def __init__(self, parent: QWidget | None, flaw: Flaw | None, *, turn: Turn, inches: bool) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Flaw of the sheet"))
        self.setMinimumWidth(440)
        self._inches = inches
        self.flaw = flaw or Flaw(kind="point", points=(), turn=turn)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        card = Card()
        self.kind = ChoiceField("Kind of flaw", KINDS)
        self.surface = ChoiceField("Surface it is on", SURFACES)
        self.side = ChoiceField("Side it is measured from", SIDES)
        self.width_field = LengthField("Width of the flaw", low=0, high=LARGEST_MM, step=0.5)
        self.width_field.show_inches(inches)
        self.places = QLineEdit()
        unit, example = ("in", "1.5,0.5 2,0.8") if inches else ("mm", "40,12 52,30")
        self.places.setPlaceholderText(filled("{unit}, like {example}", unit=unit, example=example))
        self.note = QLineEdit()
        card.row("It &is", self.kind)
        card.row("&Lies", self.surface)
        card.row("Seen &from", self.side, help_text="Places are measured from that side's top left corner")
        card.row(
            "&Places",
            self.places,
            help_text=filled("From the top left corner, {unit}: {example}", unit=unit, example=example),
        )
        card.row("&Width", self.width_field, help_text="Diameter of a point, width of a line")
        card.row("&Note", self.note)
        layout.addWidget(card)
        self.refusal = words(role="refusal")
        self.refusal.hide()
        layout.addWidget(self.refusal)
        layout.addLayout(Foot(self, "&Keep it"))
        self._show(self.flaw)
        self.places.setFocus()

    def _show(self, flaw: Flaw) -> None:
        self.kind.show_value(flaw.kind)
        self.surface.show_value(flaw.surface)
        self.side.show_value(flaw.noted_from)
        self.width_field.show_value(flaw.width_mm)
        self.places.setText(places_text(flaw.points, inches=self._inches))
        self.note.setText(flaw.note)

    def accept(self) -> None:
        """Qt: it is to be kept, if it makes sense."""
        try:
            flaw = Flaw(
                kind=KINDS[max(0, self.kind.currentIndex())][1],  # type: ignore[arg-type]  # one of the kinds
                points=self._points(),
                width_mm=self.width_field.value(),
                surface=SURFACES[max(0, self.surface.currentIndex())][1],  # type: ignore[arg-type]
                noted_from=SIDES[max(0, self.side.currentIndex())][1],  # type: ignore[arg-type]
                turn=self.flaw.turn,
                note=self.note.text().strip(),
            )
            check_flaw(flaw)
        except TainError as error:
            self.refusal.setText(str(error))
            self.refusal.show()
        else:
            self.flaw = flaw
            super().accept()

    def _points(self) -> Points:
        """What is typed; text that only shows the flaw's places stands for the places themselves."""
        if self.places.text() == places_text(self.flaw.points, inches=self._inches):
            return self.flaw.points
        return points_mm(self.places.text(), default_unit="in" if self._inches else "mm")


def places_text(points: Points, *, inches: bool) -> str:
    """Places as they are typed."""
    scale, places = (MM_PER_INCH, 3) if inches else (1.0, 2)
    return " ".join(f"{round(x / scale, places):g},{round(y / scale, places):g}" for x, y in points)
