"""Cards of the Paint page about film: how masks are cut, tight places with ways out."""

from __future__ import annotations

from dataclasses import replace

from PySide6.QtCore import QModelIndex, Qt
from PySide6.QtGui import QStandardItem, QStandardItemModel
from PySide6.QtWidgets import QAbstractItemView, QCheckBox, QListView

from app.session.painting import Painted
from app.stages.paint.colours import mask_words
from app.stages.paint.desk import PaintDesk
from app.widgets.fields import Card, LengthField, small_button, words
from app.widgets.findings_list import WrappedRows
from app.words.wording import count_text, length_text, unbroken
from core.finishing.tight_places import TightPlace
from core.job.painting.decisions import with_masks

PLACE_SPAN_MM = 12.0
MOST_PLACES = 200
LENGTHS = (
    ("bleed_mm", "Bleed", "How far an opening reaches beyond its own area, over standing coat"),
    ("clearance_mm", "Clearance", "How far it stays off areas that still wait"),
    ("least_bridge_mm", "Least bridge", "Narrowest film that can be cut, weeded and laid"),
    ("least_opening_mm", "Least slot", "Narrowest slot worth cutting where none is needed"),
    ("marks_mm", "Marks at", "How far the register marks lie outside the piece"),
)


class MasksCard(Card):
    """How masks are cut and laid, and the mask files."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__("Masks")
        self._page = page
        self._steps = words()
        self.body.addWidget(self._steps)
        self._fields: dict[str, LengthField] = {}
        for key, label, tip in LENGTHS:
            field = LengthField(f"{label} of masks", low=0.1 if key == "least_bridge_mm" else 0.0, high=20.0, step=0.1)
            field.entered.connect(lambda value, key=key: self._change(key, value))
            self.row(label, field, help_text=tip)
            self._fields[key] = field
        page.watch(*self._fields.values())
        self._film = QCheckBox("Film stays on while burning")
        self._film.setToolTip("The sheet's own film is burned through with the coat and is the first mask")
        self._film.toggled.connect(lambda on: self._change("film_stays_on", on))
        self.body.addWidget(self._film)
        self._save = small_button("Save masks…", tip="SVG and DXF of every mask, as seen from the back")
        self._save.clicked.connect(self._save_masks)
        self.body.addWidget(self._save)

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
        self._save.setEnabled(any(step.made_by == "knife" or not step.patches.is_empty for step in steps))

    def _change(self, key: str, value: object) -> None:
        self._page.decide(
            lambda plan: with_masks(plan.job, replace(plan.job.finishing.masks, **{key: value})),  # type: ignore[arg-type]
            "How masks are cut",
            merge_key=f"masks {key}",
        )

    def _save_masks(self) -> None:
        if self._page.painted is not None:
            self._page.files.save_masks(self._page.painted)


class TightCard(Card):
    """Places closer than the film's least bridge; a click zooms to one and tells the ways out."""

    def __init__(self, page: PaintDesk) -> None:
        super().__init__()
        self._page = page
        self._shown: tuple[TightPlace, ...] | None = None
        self._title = words(role="heading")
        self.body.addWidget(self._title)
        self._model = QStandardItemModel(self)
        self._list = QListView()
        self._list.setAccessibleName("Tight places")
        self._list.setModel(self._model)
        self._list.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self._list.setItemDelegate(WrappedRows(self._list))
        self._list.setResizeMode(QListView.ResizeMode.Adjust)
        self._list.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self._list.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._list.setFixedHeight(132)
        self._list.clicked.connect(self._pick)
        self._list.activated.connect(self._pick)
        self.body.addWidget(self._list)
        self._ways = words()
        self.body.addWidget(self._ways)

    def show_painted(self, painted: Painted) -> None:
        """List the places, closest first."""
        places = sorted(
            (place for step in painted.painting.steps for place in step.tight_places),
            key=lambda place: place.distance_mm,
        )
        self.setVisible(bool(places))
        if self._shown == tuple(places):
            return
        self._shown = tuple(places)
        self._title.setText(count_text(len(places), "tight place", "tight places"))
        self._model.clear()
        for place in places[:MOST_PLACES]:
            item = QStandardItem(self._place_words(place))
            item.setData(place, Qt.ItemDataRole.UserRole)
            self._model.appendRow(item)
        self._ways.setText("A click shows the place and tells the ways out.")

    def _place_words(self, place: TightPlace) -> str:
        gap = length_text(place.distance_mm, inches=self._page.inches, places=2)
        stretch = length_text(place.stretch_mm, inches=self._page.inches)
        return unbroken(f"{place.own} beside {place.kept_off}: {gap}, {stretch} long")

    def _pick(self, index: QModelIndex) -> None:
        place = index.data(Qt.ItemDataRole.UserRole)
        self._ways.setText("\n".join(f"• {way}" for way in place.ways_out))
        self._page.place_wanted.emit(place.x_mm, place.y_mm, PLACE_SPAN_MM)
