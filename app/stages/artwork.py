"""Artwork: what file, how large, how it was drawn, and what was found in it."""

from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QSpinBox, QVBoxLayout, QWidget

from app.qt.captions import caption, filled
from app.session.session import Session
from app.session.settings import Settings
from app.stages.account_card import AccountCard
from app.stages.page import Page
from app.stages.stage import Stage
from app.widgets.fields import Card, ChoiceField, LengthField, NumberField, clear, small_button, words
from app.widgets.findings_list import FindingsList
from app.words.wording import count_text, size_text
from core.artwork.arrived import check_options
from core.artwork.checkup.scales import SCALES
from core.artwork.picture_decisions import PictureOptions
from core.artwork.picture_kinds import is_picture
from core.findings import Finding, repair_words
from core.job.job import Job

if TYPE_CHECKING:
    from app.stages.picture_card import PictureCard

TALL_PX = 900
"""From this height on a page has room for what lies folded away on others."""
UNITS: tuple[tuple[str, str | None], ...] = (
    ("as the file says", None),
    ("a millimetre", "mm"),
    ("a centimetre", "cm"),
    ("an inch", "in"),
    ("a pixel, 96 an inch", "px"),
    ("a point, 72 an inch", "pt"),
)


class ArtworkPage(Page):
    """open_wanted: a file dialog, to begin a job. replace_wanted: the same, to put other artwork in this job.

    mend_wanted: (repair codes, the finding that was chosen or None), with a
    look before and after.
    """

    open_wanted = Signal()
    replace_wanted = Signal()
    mend_wanted = Signal(tuple, object)
    compare_wanted = Signal()

    def __init__(self, session: Session, settings: Settings, *, parent: QWidget) -> None:
        super().__init__(Stage.ARTWORK, "What the customer sent, at its real size.", session, settings, parent=parent)
        self._shown_repairs: tuple[str, ...] = ()
        self._begin = self._begin_card()
        self.body.addWidget(self._begin)
        self._of_file = QVBoxLayout()
        self._of_file.setSpacing(self.body.spacing())
        self.body.addLayout(self._of_file)
        self._cards: tuple[Card, ...] = ()
        self._picture: PictureCard | None = None
        self.end_body()

    # --- cards ---------------------------------------------------------------------------------------------------

    def _make_cards(self) -> None:
        """Those about a file, made with the first one: an empty window shows none of them."""
        self._file = self._file_card()
        self._size = self._size_card()
        self._drawn = self._drawn_card()
        self._found = self._found_card()
        self._account = AccountCard()
        self._account.picked.connect(self.finding_picked)
        self._account.show_tall(self.height() >= TALL_PX)
        self._cards = (self._file, self._account, self._found, self._size, self._drawn)
        for card in self._cards:
            self._of_file.addWidget(card)
        self.keep_tab_order()

    def _begin_card(self) -> Card:
        card = Card("Begin with a file")
        card.body.addWidget(
            words("Drop an SVG, DXF, PDF, picture or Tain job anywhere on the window, or open one below.")
        )
        card.body.addWidget(words("Recent files and samples lie in the middle of the window.", role="quiet"))
        return card

    def _file_card(self) -> Card:
        card = Card()
        self._name = words(role="heading")
        card.body.addWidget(self._name)
        self._measure = card.figure("Size of the page")
        self._shapes = card.figure("Shapes")
        self._units_from = words(role="quiet")
        card.body.addWidget(self._units_from)
        other = small_button(
            "Put other artwork in this job…", tip="Sheet, recipes and ticks stay; undo brings this back"
        )
        other.clicked.connect(self.replace_wanted)
        card.body.addWidget(other)
        return card

    def _size_card(self) -> Card:
        card = Card("Size")
        self._units = ChoiceField("One unit of the file is", UNITS)
        self._units.chosen.connect(self._choose_units)
        card.row("One &unit is", self._units, help_text="Change this when the file says its unit wrong, or not at all")
        self._scale = NumberField("Scale", unit="%", low=0.01, high=100_000, step=5, places=3)
        self._scale.entered.connect(lambda value: self._choose_scale(value / 100))
        card.row("Sca&le", self._scale, help_text="100 % is the size the file says")
        self._width = LengthField("Width of the page", low=0.01, high=100_000)
        self._width.entered.connect(self._choose_width)
        card.row("&Width", self._width, help_text="Type the width it should have; the scale follows")
        self._page_number = QSpinBox()
        self._page_number.setKeyboardTracking(False)
        self._page_number.valueChanged.connect(
            lambda page: self._read(replace(self.session.job.reading, page=page), f"Page {page}")
        )
        self._page_label = card.row("Pa&ge", self._page_number, help_text="Which page of the PDF is the artwork")
        self.watch(self._scale, self._width)
        return card

    def _drawn_card(self) -> Card:
        card = Card("How it was drawn")
        self._reversed = QCheckBox(caption("It is drawn as seen from the &back"))
        self._reversed.setAccessibleName(caption("It is drawn as seen from the back"))
        self._reversed.toggled.connect(self._choose_reversed)
        card.body.addWidget(self._reversed)
        card.body.addWidget(
            words(
                "Leave this off for artwork that reads right: Tain turns it over for the bed by itself, once.",
                role="quiet",
            )
        )
        return card

    def _picture_card(self) -> "PictureCard":
        """Made with the first picture."""
        if self._picture is None:
            from app.stages.picture_card import PictureCard

            self._picture = PictureCard()
            self._picture.changed.connect(self._choose_picture)
            self._picture.compare_wanted.connect(self.compare_wanted)
            self._of_file.insertWidget(self._of_file.indexOf(self._account), self._picture)
            for field in self._picture.findChildren(LengthField):
                field.show_inches(self.inches)
            self.keep_tab_order()
        return self._picture

    def _found_card(self) -> Card:
        card = Card()
        self._found_title = words(role="heading")
        card.body.addWidget(self._found_title)
        self._list = FindingsList("Findings about the artwork", most_px=260)
        self._list.picked.connect(self._picked)
        card.body.addWidget(self._list)
        line = QHBoxLayout()
        self._mend_one = small_button("&Mend this…", "Mend what is selected", tip="Shows it before and after first")
        self._mend_one.clicked.connect(lambda: self._wish_mend(self._list.chosen))
        self._mend_all = small_button(
            "Mend &all…", "Mend all that can be mended", tip="Shows it before and after first"
        )
        self._mend_all.clicked.connect(lambda: self.mend_wanted.emit(self._repairs(), None))
        line.addWidget(self._mend_one)
        line.addWidget(self._mend_all)
        line.addStretch(1)
        card.body.addLayout(line)
        self._mended = QVBoxLayout()
        self._mended.setSpacing(4)
        card.body.addLayout(self._mended)
        return card

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size."""
        super().resizeEvent(event)
        self._show_tall()

    def _show_tall(self) -> None:
        if self._cards:
            self._account.show_tall(self.height() >= TALL_PX)

    # --- showing -------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show the file, its size and findings; before there is one, how to begin."""
        job, plan = self.session.job, self.session.plan
        has_file = job.source is not None
        self._begin.setVisible(not has_file)
        if has_file and not self._cards:
            self._make_cards()
        for card in self._cards:
            card.setVisible(has_file)
        if self._picture is not None:
            self._picture.setVisible(has_file)
        self._show_main_action()
        if job.source is None:
            return
        self._show_picture()
        self._name.setText(job.source.name)
        self._units.show_value(job.reading.units)
        self._scale.show_value(100 * job.reading.scale)
        self._reversed.blockSignals(True)
        self._reversed.setChecked(job.reading.arrives_reversed)
        self._reversed.blockSignals(False)
        self._found.setVisible(plan is not None)
        self._account.setVisible(plan is not None)
        self._width.setEnabled(plan is not None)
        if plan is None:
            self._measure.setText("–")
            self._shapes.setText("–")
            self._units_from.setText(self.session.error.message if self.session.error else "")
            return
        drawing = plan.drawing
        self._measure.setText(size_text(drawing.width_mm, drawing.height_mm, inches=self.inches))
        self._shapes.setText(f"{plan.account.shapes:,}")
        self._account.show_plan(plan, inches=self.inches)
        self._units_from.setText(filled("Size from: {units_from}.", units_from=drawing.units_from))
        self._width.show_value(drawing.width_mm)
        paged = drawing.page_count > 1
        self._page_label.setVisible(paged)
        self._page_number.setVisible(paged)
        self._page_number.blockSignals(True)
        self._page_number.setRange(1, drawing.page_count)
        self._page_number.setSuffix(f" of {drawing.page_count}")
        self._page_number.setValue(job.reading.page)
        self._page_number.blockSignals(False)
        self._show_findings()

    def _show_picture(self) -> None:
        job, plan = self.session.job, self.session.plan
        is_file = job.source is not None and is_picture(job.source.data[:32])
        inside = plan is not None and any(shape.kind in ("picture", "image") for shape in plan.drawing.shapes)
        self._units.setEnabled(not is_file)
        if not (is_file or inside):
            if self._picture is not None:
                self._picture.hide()
            return
        self._picture_card().show()
        width_mm = None
        if is_file:
            left, _, right, _ = job.reading.picture.tones.crop
            drawn_mm = plan.drawing.width_mm / job.reading.scale / (right - left) if plan is not None else 100.0
            width_mm = job.reading.picture.width_mm or drawn_mm
        screens = plan.screens.values() if plan is not None else ()
        ruling = next((made.lines_per_inch for made in screens), None)
        self._picture_card().show_options(job.reading.picture, width_mm=width_mm, ruling=ruling)

    def _show_main_action(self) -> None:
        if self.session.job.source is None:
            self.show_main_action("&Open artwork…")
        else:
            self.show_go_on(enabled=self.session.plan is not None)

    def _show_findings(self) -> None:
        findings = self.stage_findings()
        self._list.show_findings(findings, inches=self.inches)
        self._list.setVisible(bool(findings))
        self._found_title.setText(
            count_text(len(findings), "finding", "findings") if findings else caption("Nothing amiss found")
        )
        self._show_mending()
        if self._shown_repairs == self.session.job.repairs:
            return
        self._shown_repairs = self.session.job.repairs
        clear(self._mended)
        for code in self._shown_repairs:
            back = small_button(filled("Take back: {repair_words}", repair_words=repair_words(code)))
            back.clicked.connect(lambda checked=False, code=code: self._take_back(code))
            self._mended.addWidget(back)

    def _show_mending(self) -> None:
        repairs = self._repairs()
        chosen = self._list.chosen
        self._mend_one.setVisible(any(finding.repair for finding in self._list.findings))
        self._mend_all.setVisible(len(repairs) > 1)
        self._mend_one.setEnabled(chosen is not None and chosen.repair is not None)

    def _repairs(self) -> tuple[str, ...]:
        """The repairs that the listed findings name, once each, but for scales: those are a question each."""
        named = (finding.repair for finding in self._list.findings if finding.repair)
        return tuple(dict.fromkeys(code for code in named if code not in SCALES))

    # --- deciding ------------------------------------------------------------------------------------------------

    def on_main_action(self) -> None:
        """Open a file, or go on."""
        if self.session.job.source is None:
            self.open_wanted.emit()
        else:
            super().on_main_action()

    def _picked(self, finding: Finding) -> None:
        self._show_mending()
        self.finding_picked.emit(finding)

    def _wish_mend(self, finding: Finding | None) -> None:
        if finding is not None and finding.repair:
            self.mend_wanted.emit((finding.repair,), finding)

    def _take_back(self, code: str) -> None:
        from core.job.decisions import with_repair

        self.commit(
            lambda: with_repair(self.session.job, code, False),
            filled("Take back: {repair_words}", repair_words=repair_words(code)),
        )

    def _choose_units(self, units: object) -> None:
        self._read(replace(self.session.job.reading, units=units), "Unit of the file")  # type: ignore[arg-type]

    def _choose_scale(self, scale: float) -> None:
        self._read(replace(self.session.job.reading, scale=scale), "Scale", merge_key="scale")

    def _choose_width(self, width_mm: float) -> None:
        plan = self.session.plan
        if plan is not None and self.session.current and plan.drawing.width_mm > 0:
            self._choose_scale(self.session.job.reading.scale * width_mm / plan.drawing.width_mm)

    def _choose_picture(self, options: PictureOptions, label: str, merge_key: str | None) -> None:
        self._read(replace(self.session.job.reading, picture=options), label, merge_key=merge_key)

    def _choose_reversed(self, arrives_reversed: bool) -> None:
        reading = replace(self.session.job.reading, arrives_reversed=arrives_reversed)
        self._read(reading, "Drawn as seen from the back" if arrives_reversed else "Drawn as seen from the front")

    def _read(self, reading, label: str, *, merge_key: str | None = None) -> None:  # type: ignore[no-untyped-def]
        def change() -> Job:
            check_options(reading)
            reading.picture.check()
            return replace(self.session.job, reading=reading)

        self.commit(change, label, merge_key=merge_key)
