"""Coverage: whether the coat comes off clean, in words and figures, and where it does not."""

from dataclasses import replace

from PySide6.QtCore import QModelIndex, Qt, Signal
from PySide6.QtGui import QIcon, QResizeEvent, QStandardItem, QStandardItemModel
from PySide6.QtWidgets import QAbstractItemView, QGridLayout, QLabel, QListView, QPushButton, QVBoxLayout, QWidget

from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.session.session import Session
from app.session.settings import Settings
from app.stages.dose_across import DoseAcrossPlot
from app.stages.page import Page
from app.stages.stage import Stage
from app.theme.icons import icon
from app.widgets.chance_bar import ChanceBar, headline_icon
from app.widgets.fields import Card, clear, small_button, words
from app.widgets.findings_list import MOST_MEASURED, WrappedRows, most_high_px
from app.widgets.plain_text import plain_label, plain_tip
from app.widgets.swatch import Sign
from app.words.wording import (
    area_text,
    in_shown_units,
    length_text,
    percent_text,
    pitch_text,
    place_text,
    unbroken,
)
from core.artwork.arrived import ArtworkSource
from core.burning.across_rows import dose_across_rows
from core.burning.chance import in_hundred
from core.burning.coverage_map import Place
from core.burning.recipe_advice import sentence
from core.job.decisions import with_recipe
from core.job.headlines import layer_headline
from core.job.job import Job, Layer
from core.job.other_pitches import COMPARED_LPI, AtPitch, at_other_pitches
from core.job.places_seen import SPECK_MM2, listed_places, on_front
from core.job.plan import LayerPlan, Plan
from core.sheet.placement import Turn
from core.units import pitch_mm_from_lpi

PLACE_WORDS = {"lost": "Lost", "left over": "Left over", "spill": "Spill"}
LEAST_SPAN_MM = 1.0
PLACES_PX = 200
PLACE_ROLE = Qt.ItemDataRole.UserRole


class CoveragePage(Page):
    """A card for each fill layer: verdict, figures, other pitches, worst places.

    loupe_wanted: the loupe is to lie at this place of the front, mm: the worst one, as soon as it is known.
    """

    loupe_wanted = Signal(float, float)

    def __init__(self, session: Session, settings: Settings, *, parent: QWidget) -> None:
        super().__init__(
            Stage.COVERAGE,
            "Whether each fill comes off clean, as the dose model sees it. A scrap has the last word.",
            session,
            settings,
            parent=parent,
        )
        self.cards: dict[str, _CoverageCard] = {}
        self._laid_for: ArtworkSource | None = None
        self._layers = QVBoxLayout()
        self._layers.setSpacing(12)
        self._none = words("No fill in this job, so no coat to clear.", role="quiet")
        self._none.setObjectName("no fill")
        self.body.addWidget(self._none)
        self.body.addLayout(self._layers)
        self.rows_room, door = self.add_room("The dose across the rows", in_part=True)
        self._plots = QVBoxLayout()
        self._plots.setSpacing(12)
        self.rows_room.body.addLayout(self._plots)
        self.rows_room.body.addWidget(
            words(
                "From row to row, deep within the fill. The coloured line is the nearest row alone: where it stays "
                "below its dashed line, coat stays (hatched). The other is all rows together: above its dashed line "
                "the sheet turns rough.",
                role="quiet",
            )
        )
        self.rows_room.end()
        self.body.addWidget(door)
        self.add_wrong_button()
        self.end_body()

    def refresh(self) -> None:
        """Show verdicts, figures and places."""
        self.show_go_on()
        plan = self.session.plan
        fills = [one for one in plan.layers if one.verdict is not None] if plan is not None else []
        self._none.setVisible(not fills)
        if not fills:
            self.show_doors([])
        if list(self.cards) != [planned.layer.id for planned in fills]:
            clear(self._layers)
            self.cards = {planned.layer.id: _CoverageCard(self, planned.layer) for planned in fills}
            clear(self._plots)
            for card in self.cards.values():
                self._layers.addWidget(card)
                self._plots.addWidget(card.across)
            self.show_doors([self.rows_room] if fills else [])
            self.keep_tab_order()
        for planned in fills:
            assert plan is not None
            self.cards[planned.layer.id].show_layer(plan, planned)
        if plan is not None and self._laid_for is not plan.job.source:
            self.ask_for_loupe()

    def ask_for_loupe(self) -> None:
        """Have the loupe lie at the worst place, if it is known; else once it is."""
        plan = self.session.plan
        self._laid_for = None
        if plan is None or not self.session.complete or not self.session.current:
            return
        self._laid_for = plan.job.source
        listed = [place for planned in plan.layers for place in listed_places(planned)]
        if listed:
            self.loupe_wanted.emit(*on_front(plan.job, listed[0]))

    def take_pitch(self, layer: Layer, lines_per_inch: int) -> None:
        """Give a layer this pitch."""
        recipe = replace(layer.recipe, pitch_mm=pitch_mm_from_lpi(lines_per_inch))
        self.commit(
            lambda: with_recipe(self.session.job, layer.id, recipe),
            filled("{lines_per_inch} LPI for {name}", lines_per_inch=lines_per_inch, name=layer.name),
        )

    def show_place(self, place: Place) -> None:
        """Zoom to a place until its scan lines are told apart."""
        plan = self.session.plan
        if plan is not None:
            x_mm, y_mm = on_front(plan.job, place)
            x0, y0, x1, y1 = place.bounds_mm
            self.place_wanted.emit(x_mm, y_mm, max(LEAST_SPAN_MM, 1.5 * max(x1 - x0, y1 - y0)))


class _CoverageCard(Card):
    """One fill layer."""

    def __init__(self, page: CoveragePage, layer: Layer) -> None:
        super().__init__(layer.name)
        self._page, self._layer = page, layer
        self.across = Card(layer.name)
        self._plot = DoseAcrossPlot(filled("Dose across the rows of {name}", name=layer.name))
        self.across.body.addWidget(self._plot)
        self._shown_places: tuple[tuple[Place, ...], Turn, bool] | None = None
        self._shown_compared: tuple[object, ...] = ()
        self._sign = Sign()
        self._verdict = words(role="heading")
        self._verdict.setObjectName("verdict")
        line = self.line(self._sign, self._verdict)
        line.setStretch(1, 1)
        self.chance_bar = ChanceBar(filled("Chance of {name} to come out clean", name=layer.name))
        self.body.addWidget(self.chance_bar)
        self._chance = words()
        self.body.addWidget(self._chance)
        self._words = words(role="quiet")
        self.body.addWidget(self._words)
        self._cleared_width = self.figure("Cleared width of one line")
        self._pitch = self.figure("Pitch")
        self._left_over = self.figure("Coat left over")
        self._spill = self.figure("Spill past the edge")
        self._lost = self.figure("Features lost")
        self._dose = self.figure("Dose, mean")
        self._peak = self.figure("Dose, peak")
        self._frosting = self.figure("Frosting begins at")
        self.body.addWidget(words("The same recipe at other pitches", role="heading"))
        self._compared = QGridLayout()
        self._compared.setSpacing(8)
        self._compared.setColumnStretch(2, 1)
        self._compared_rows = [self._compared_row(row, lpi) for row, lpi in enumerate(COMPARED_LPI)]
        self.body.addLayout(self._compared)
        self._places_title = words(role="heading")
        self.body.addWidget(self._places_title)
        self._places = PlacesList(filled("Worst places of {name}", name=layer.name))
        self._places.clicked.connect(self._show_place)
        self._places.activated.connect(self._show_place)
        self.body.addWidget(self._places)

    def _compared_row(self, row: int, lpi: int) -> tuple[Sign, QLabel, QPushButton]:
        name, sign, verdict = plain_label(filled("{lpi} LPI", lpi=lpi)), Sign(16), words()
        sign.setObjectName(f"sign at {lpi} LPI")
        verdict.setObjectName(f"verdict at {lpi} LPI")
        use = small_button("Use", filled("Use {lpi} lines per inch", lpi=lpi))
        use.clicked.connect(lambda: self._page.take_pitch(self._layer, lpi))
        for column, widget in enumerate((name, sign, verdict, use)):
            self._compared.addWidget(widget, row, column)
        return sign, verdict, use

    def show_layer(self, plan: Plan, planned: LayerPlan) -> None:
        """Show the layer's verdict, figures and places."""
        self._layer = planned.layer
        verdict, figures = planned.verdict, planned.coverage
        assert verdict is not None
        inches, stock = self._page.inches, plan.job.stock
        self._plot.show_dose(
            dose_across_rows(planned.layer.recipe, plan.job.machine),
            clears_j_mm2=stock.clearing_dose_j_mm2,
            frosts_j_mm2=stock.frosting_dose_j_mm2,
        )
        leads, chance = layer_headline(plan.job, planned), planned.chance
        self._sign.show_icon(headline_icon(leads))
        self._verdict.setText(unbroken(leads.words))
        self.chance_bar.show_chance(chance, wanted=plan.job.wanted_chance)
        self._chance.setText(unbroken(sentence(chance)) if chance is not None else "")
        self._words.setText(unbroken(in_shown_units(verdict.words, inches=inches)))
        self._cleared_width.setText(length_text(verdict.cleared_width_mm, inches=inches, places=4))
        self._pitch.setText(pitch_text(planned.layer.recipe.pitch_mm, inches=inches))
        self._dose.setText(filled("{mean_dose_j_mm2:.2f} J/mm²", mean_dose_j_mm2=verdict.mean_dose_j_mm2))
        self._peak.setText(filled("{peak_dose_j_mm2:.2f} J/mm²", peak_dose_j_mm2=verdict.peak_dose_j_mm2))
        self._frosting.setText(
            filled("{frosting_dose_j_mm2:.2f} J/mm²", frosting_dose_j_mm2=plan.job.stock.frosting_dose_j_mm2)
        )
        if figures is None:
            for label in (self._left_over, self._spill, self._lost):
                label.setText(caption("working out…") if self._page.session.busy else "–")
        else:
            clean = verdict.verdict == "clean"
            left = coarse_area_text(figures.left_over_mm2, clean=clean, inches=inches)
            self._left_over.setText(
                left if left.startswith("under") else f"{left} ({percent_text(figures.left_over_pct / 100)})"
            )
            spilt = coarse_area_text(figures.spill_mm2, clean=clean, inches=inches)
            self._spill.setText(
                spilt
                if planned.screen is None
                else unbroken(filled("up to {spilt} of the tones, if hits add", spilt=spilt))
            )
            self._lost.setText(str(figures.lost_features))
        self._show_compared(plan.job, planned)
        self._show_places(plan.job, listed_places(planned))

    def _show_compared(self, job: Job, planned: LayerPlan) -> None:
        recipe = self._layer.recipe
        of_tones = planned.screen if planned.verdict is not None and planned.verdict.of_tones else None
        shown = (recipe, job.machine, job.stock, job.wanted_chance, of_tones)
        if shown == self._shown_compared:
            return
        self._shown_compared = shown
        for one, (sign, label, use) in zip(
            at_other_pitches(recipe, job.machine, job.stock, of_tones), self._compared_rows, strict=True
        ):
            sign.show_icon(_sign(one.good(job.wanted_chance), clean=one.good(0.0)))
            label.setText(_words_at(one))
            use.setEnabled(abs(one.recipe.pitch_mm - recipe.pitch_mm) > 1e-9)

    def _show_places(self, job: Job, places: tuple[Place, ...]) -> None:
        self._places_title.setText(caption("Worst places") if places else "")
        self._places_title.setVisible(bool(places))
        self._places.setVisible(bool(places))
        shown = (places, job.turn, self._page.inches)
        if shown != self._shown_places:
            self._shown_places = shown
            self._places.show_places(job, places, inches=self._page.inches)

    def _show_place(self, index: QModelIndex) -> None:
        self._page.show_place(index.data(PLACE_ROLE))


class PlacesList(Guarded, QListView):
    """Places, worst first; a click or Enter zooms to one. As high as it needs to be, and as the window lets it."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.setAccessibleName(caption(name))
        self._model = QStandardItemModel(self)
        self.setModel(self._model)
        self.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.setItemDelegate(WrappedRows(self))
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setVerticalScrollMode(QAbstractItemView.ScrollMode.ScrollPerPixel)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)

    def show_places(self, job: Job, places: tuple[Place, ...], *, inches: bool) -> None:
        """List these places, where they are on the front."""
        self._model.clear()
        for place in places:
            area = area_text(place.area_mm2, inches=inches)
            at = place_text(*on_front(job, place), inches=inches)
            item = QStandardItem(
                unbroken(filled("{place_words}: {area} at {at}", place_words=PLACE_WORDS[place.kind], area=area, at=at))
            )
            item.setToolTip(plain_tip(in_shown_units(place.words, inches=inches)))
            item.setData(place, PLACE_ROLE)
            self._model.appendRow(item)
        self.fit_height()

    def fit_height(self) -> None:
        """As high as its rows need; a longer list scrolls."""
        rows = range(min(self._model.rowCount(), MOST_MEASURED))
        needed = sum(self.sizeHintForRow(row) for row in rows) + 2 * self.frameWidth() + 4
        self.setFixedHeight(min(needed, most_high_px(self, PLACES_PX)))

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another width, so other line breaks."""
        super().resizeEvent(event)
        self.fit_height()


def coarse_area_text(area_mm2: float, *, clean: bool, inches: bool) -> str:
    """An area; of a fill that comes off clean no more places than anybody sees."""
    if clean and 0 < area_mm2 < SPECK_MM2:
        return f"under {area_text(SPECK_MM2, inches=True)}" if inches else f"under {SPECK_MM2:g} mm²"
    return area_text(area_mm2, inches=inches)


def _words_at(one: AtPitch) -> str:
    """How a recipe would come out at another pitch."""
    of_hundred = in_hundred(one.chance.clean)
    if one.tones is not None:
        most = percent_text(one.tones.most)
        return filled("tones to {most}: {of_hundred} in 100", most=most, of_hundred=of_hundred)
    if one.verdict.verdict == "clean":
        return filled("clean: {of_hundred} in 100", of_hundred=of_hundred)
    return filled("{verdict}; clean {of_hundred} in 100", verdict=one.verdict.verdict, of_hundred=of_hundred)


def _sign(good: bool, *, clean: bool) -> QIcon:
    """Good: as sure as is wanted. clean: likely enough, but not so sure, which is no failure."""
    which = "done" if good else "warning" if clean else "problem"
    return icon(which, which)
