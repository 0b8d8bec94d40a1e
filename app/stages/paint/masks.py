"""Cards of the Paint page about film: how masks are cut, tight places with ways out."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtWidgets import QCheckBox

from app.qt.captions import caption, filled
from app.session.painting import Painted
from app.stages.paint.card import PaintedCard
from app.stages.paint.desk import PaintDesk
from app.widgets.fields import LengthField, step_button, words
from app.widgets.plain_text import plain_tip
from app.words.paint_words import mask_words
from app.words.wording import count_text, length_text, unbroken
from core.finishing.tight_places import TightPlace
from core.job.painting.decisions import with_masks

PLACE_SPAN_MM = 12.0
LENGTHS = (
    ("bleed_mm", "Bleed", "How far an opening reaches beyond its own area, over standing coat"),
    ("clearance_mm", "Clearance", "How far it stays off areas that still wait"),
    ("least_bridge_mm", "Least bridge", "Narrowest film that can be cut, weeded and laid"),
    ("least_opening_mm", "Least slot", "Narrowest slot worth cutting where none is needed"),
    ("marks_mm", "Marks at", "How far the register marks lie outside the piece"),
)


class MasksCard(PaintedCard):
    """How masks are cut and laid, and the mask files."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__("Masks")
        self._page = page
        self._steps = words()
        self.body.addWidget(self._steps)
        self._fields: dict[str, LengthField] = {}
        for key, label, tip in LENGTHS:
            field = LengthField(
                filled("{label} of masks", label=label),
                low=0.1 if key == "least_bridge_mm" else 0.0,
                high=20.0,
                step=0.1,
            )
            field.entered.connect(lambda value, key=key: self._change(key, value))
            self.row(label, field, help_text=tip)
            self._fields[key] = field
        page.watch(*self._fields.values())
        self._film = QCheckBox(caption("Film stays on while burning"))
        self._film.setToolTip(caption("The sheet's own film is burned through with the coat and is the first mask"))
        self._film.toggled.connect(lambda on: self._change("film_stays_on", on))
        self.body.addWidget(self._film)

    def show_painted(self, painted: Painted) -> None:
        """Show the masks and how they are cut."""
        steps = painted.painting.steps
        self._steps.setText("\n".join(f"{s.number}. {s.area.paint.name}: {mask_words(s)}." for s in steps))
        masks = painted.plan.job.finishing.masks
        for key, field in self._fields.items():
            field.show_value(getattr(masks, key))
        self._film.blockSignals(True)
        self._film.setChecked(masks.film_stays_on)
        self._film.blockSignals(False)

    def _change(self, key: str, value: object) -> None:
        self._page.decide(
            lambda plan: with_masks(plan.job, replace(plan.job.finishing.masks, **{key: value})),  # type: ignore[arg-type]
            "How masks are cut",
            merge_key=f"masks {key}",
        )


class TightCard(PaintedCard):
    """Places closer than the film's least bridge: a count that steps through them, closest first, and the ways out."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__()
        self._page = page
        self._places: tuple[TightPlace, ...] | None = None
        self._at: int | None = None
        self._title = words(role="heading")
        self._title.setToolTip(plain_tip("Closer than the film's least bridge; step through them, the closest first"))
        self._back, self._on = (
            step_button("chevron-left", "Tight place before"),
            step_button("chevron-right", "Tight place after"),
        )
        self._back.clicked.connect(lambda: self._go(-1))
        self._on.clicked.connect(lambda: self._go(1))
        head = self.line(self._title, self._back, self._on)
        head.setStretch(0, 1)
        self._told = words()
        self.body.addWidget(self._told)

    @property
    def told(self) -> str:
        """What is told of the place at hand."""
        return self._told.text()

    def show_painted(self, painted: Painted) -> None:
        """Count the places."""
        places = sorted(
            (place for step in painted.painting.steps for place in step.tight_places),
            key=lambda place: place.distance_mm,
        )
        self.setVisible(bool(places))
        if self._places == tuple(places):
            return
        self._places, self._at = tuple(places), None
        self._show()

    def _show(self) -> None:
        places, at = self._places or (), self._at
        counted = count_text(len(places), "tight place", "tight places") + " for film"
        self._title.setText(
            counted if at is None else filled("Tight place {at} of {places}", at=at + 1, places=len(places))
        )
        self._back.setEnabled(at is not None)
        self._on.setEnabled(at is None or at + 1 < len(places))
        if at is None:
            self._told.hide()
            return
        place = places[at]
        gap = length_text(place.distance_mm, inches=self._page.inches, places=2)
        stretch = length_text(place.stretch_mm, inches=self._page.inches)
        where = unbroken(
            filled(
                "{own} beside {kept_off}: {gap} apart, {stretch} long",
                own=place.own,
                kept_off=place.kept_off,
                gap=gap,
                stretch=stretch,
            )
        )
        self._told.setText("\n".join([where, *(f"• {way}" for way in place.ways_out)]))
        self._told.show()

    def _go(self, by: int) -> None:
        """To the next place or the one before; before the first stands the count."""
        places = self._places or ()
        at = (0 if by > 0 else -1) if self._at is None else self._at + by
        self._at = at if 0 <= at < len(places) else None
        self._show()
        if self._at is not None:
            place = places[self._at]
            self._page.place_wanted.emit(place.x_mm, place.y_mm, PLACE_SPAN_MM)
