"""Hand over: what stands in the way, the cautions to tick, the summary, and the files to write."""

from dataclasses import dataclass

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QLabel, QVBoxLayout, QWidget

from app.qt.captions import filled, told
from app.qt.guarded import Guarded
from app.session.session import Session
from app.session.settings import Settings
from app.stages.page import Page
from app.stages.ready import burn_order, why_not_ready
from app.stages.stage import Stage
from app.widgets.fields import Card, clear, small_button, words
from app.widgets.findings_list import FindingsList
from app.widgets.plain_text import plain_label
from app.words.wording import area_text, count_text, length_text, size_text, unbroken
from core.job.cautions import LAST_WORD, cautions_for
from core.job.decisions import with_tick
from core.job.plan import Caution, LayerPlan, Plan
from core.job.timing import range_text
from core.sheet.faces import turned_corner


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportKind:
    """A kind of file that can be handed over."""

    suffix: str
    name: str


EXPORT_KINDS = (ExportKind(suffix=".svg", name="SVG"), ExportKind(suffix=".dxf", name="DXF"))


class HandOverPage(Page):
    """export_wanted: a file of this suffix is to be written. save_wanted: the job file.

    cost_wanted: what the job costs. run_sheet_wanted: the run sheet, to look at and save.
    """

    export_wanted = Signal(str)
    save_wanted = Signal()
    cost_wanted = Signal()
    run_sheet_wanted = Signal()

    def __init__(self, session: Session, settings: Settings, *, parent: QWidget) -> None:
        super().__init__(Stage.HAND_OVER, "A last look, then the files.", session, settings, parent=parent)
        self._ticks: dict[str, QCheckBox] = {}
        self._shown_cautions: tuple[Caution, ...] = ()
        self._in_the_way = self._problems_card()
        self.body.addWidget(self._in_the_way)
        self.body.addWidget(self._summary_card())
        self.body.addWidget(self._cautions_card())
        self.body.addWidget(self._at_machine_card())
        self.body.addWidget(self._files_card())
        self.end_body()

    # --- cards ---------------------------------------------------------------------------------------------------

    def _problems_card(self) -> Card:
        card = Card()
        self._problems_title = words(role="heading")
        card.body.addWidget(self._problems_title)
        self._problems = FindingsList("Problems and warnings", most_px=200)
        self._problems.picked.connect(self.finding_picked)
        card.body.addWidget(self._problems)
        return card

    def _summary_card(self) -> Card:
        card = Card()
        self._told = words()
        card.body.addWidget(self._told)
        self._time = card.figure("Run time")
        self._cost = small_button("Cost and &quote…", tip="Sheet, machine, paint, film and handwork")
        self._cost.clicked.connect(self.cost_wanted)
        self._run_sheet = small_button("Run sheet…", "Run sheet of this job", tip="One PDF for machine and paint bench")
        self._run_sheet.clicked.connect(self.run_sheet_wanted)
        card.line(self._run_sheet, self._cost)
        self._order_title = words("Burned in this order", role="heading")
        card.body.addWidget(self._order_title)
        self._order = QVBoxLayout()
        self._order.setSpacing(4)
        card.body.addLayout(self._order)
        return card

    def _cautions_card(self) -> Card:
        card = Card("True before files go out")
        self._cautions = QVBoxLayout()
        self._cautions.setSpacing(12)
        card.body.addLayout(self._cautions)
        card.body.addWidget(words(LAST_WORD, role="quiet"))
        return card

    def _files_card(self) -> Card:
        card = Card("Files")
        card.body.addWidget(words("The bed, back up, with the turn in it and each layer's settings."))
        self._read_back = words(role="quiet")
        card.body.addWidget(self._read_back)
        self._exports = {}
        line = QHBoxLayout()
        line.setSpacing(8)
        for kind in EXPORT_KINDS[1:]:
            button = small_button(filled("Export &{name}…", name=kind.name), filled("Export {name}", name=kind.name))
            button.clicked.connect(lambda checked=False, suffix=kind.suffix: self.export_wanted.emit(suffix))
            line.addWidget(button)
            self._exports[kind.suffix] = button
        self._save = small_button(
            "Save the &job…", "Save the job file", tip="All decisions and the artwork, to go on later"
        )
        self._save.clicked.connect(self.save_wanted)
        line.addWidget(self._save)
        line.addStretch(1)
        card.body.addLayout(line)
        return card

    def _at_machine_card(self) -> Card:
        card = Card("To be seen at the machine")
        self._at_machine = words()
        card.body.addWidget(self._at_machine)
        self.at_machine_room, door = self.add_room("Cautions at the machine", in_part=True, at_door="Read all of them")
        self._each_at_machine = QVBoxLayout()
        self._each_at_machine.setSpacing(12)
        self.at_machine_room.body.addLayout(self._each_at_machine)
        self.at_machine_room.body.addWidget(words(LAST_WORD, role="quiet"))
        self.at_machine_room.end()
        card.body.addWidget(door)
        return card

    # --- showing -------------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Show problems, cautions, summary, and whether it can be exported."""
        job, plan = self.session.job, self.session.plan
        weighty = [finding for finding in plan.findings if finding.severity != "note"] if plan is not None else []
        problems = sum(finding.severity == "problem" for finding in weighty)
        self._in_the_way.setVisible(bool(weighty))
        self._problems.show_findings(weighty, inches=self.inches)
        self._problems_title.setText(
            filled("{problems} the hand-over", problems=count_text(problems, "problem stops", "problems stop"))
            if problems
            else filled("{weighty} to look at first", weighty=count_text(len(weighty), "thing", "things"))
        )
        self._show_cautions(cautions_for(job))
        self._show_summary(plan)
        self._show_read_back()
        reason = why_not_ready(self.session)
        for button in self._exports.values():
            button.setEnabled(not reason)
        self._save.setEnabled(job.source is not None)
        self.show_main_action("E&xport SVG…", enabled=not reason)
        self.main_action.setAccessibleDescription(reason)
        self.say(reason, role="quiet")

    def _show_read_back(self) -> None:
        """What came of reading the last file back, or that each file will be."""
        result = self.session.read_back
        told = (
            filled("The last file, {words}.", words=result.words)
            if result
            else "Each is read back and compared before it is kept."
        )
        self._read_back.setText(told)

    def _show_cautions(self, cautions: tuple[Caution, ...]) -> None:
        if cautions != self._shown_cautions:
            self._shown_cautions = cautions
            clear(self._cautions)
            clear(self._each_at_machine)
            self._ticks = {one.code: self._caution_row(one) for one in cautions if not one.at_machine}
            there = [one for one in cautions if one.at_machine]
            for one in there:
                self._each_at_machine.addWidget(words(f"• {one.message}"))
            self._at_machine.setText(
                filled(
                    "{there}, ticked there by hand on the run sheet, before anything is burned: {join}.",
                    there=count_text(len(there), "caution", "cautions"),
                    join=", ".join(one.subject for one in there),
                )
            )
            self.keep_tab_order()
        for code, tick in self._ticks.items():
            tick.blockSignals(True)
            tick.setChecked(code in self.session.job.cautions_ticked)
            tick.blockSignals(False)

    def _caution_row(self, caution: Caution) -> QCheckBox:
        line = QHBoxLayout()
        line.setSpacing(8)
        tick = QCheckBox()
        tick.setAccessibleName(told(caution.message))
        tick.toggled.connect(lambda ticked: self._tick(caution, ticked))
        text = ClickableWords(caution.message)
        text.clicked.connect(tick.toggle)
        line.addWidget(tick, 0, Qt.AlignmentFlag.AlignTop)
        line.addWidget(text, 1)
        self._cautions.addLayout(line)
        return tick

    def _show_summary(self, plan: Plan | None) -> None:
        job = self.session.job
        thickness = length_text(job.sheet.thickness_mm, inches=self.inches)
        size = size_text(job.sheet.width_mm, job.sheet.height_mm, inches=self.inches)
        of_front = turned_corner(job.stop_corner, job.turn)
        stock, sheet = f"{job.stock.name[:1].upper()}{job.stock.name[1:]}", unbroken(f"{size}, {thickness}")
        self._told.setText(
            filled(
                "{stock}, {sheet}, on {name}. Turned over {turn}: the {of_front} corner of the front "
                "goes to the stop, {stop_corner} on the bed.",
                stock=stock,
                sheet=sheet,
                name=job.machine.name,
                turn=job.turn,
                of_front=of_front,
                stop_corner=job.stop_corner,
            )
        )
        known = plan is not None and self.session.complete
        self._cost.setEnabled(known)
        self._run_sheet.setEnabled(known)
        self._time.setText(range_text(plan.time_range) if plan is not None and known else "–")
        clear(self._order)
        burned = burn_order(plan) if plan is not None else []
        self._order_title.setVisible(bool(burned))
        for place, planned in enumerate(burned, start=1):
            self._order.addLayout(self._order_row(place, planned, known=known))

    def _order_row(self, place: int, planned: LayerPlan, *, known: bool) -> QHBoxLayout:
        layer = planned.layer
        extent = (
            area_text(planned.area_mm2, inches=self.inches)
            if layer.purpose == "fill"
            else length_text(planned.length_mm, inches=self.inches)
        )
        line = QHBoxLayout()
        line.setSpacing(8)
        line.addWidget(plain_label(f"{place}. {layer.name}"), 1)
        line.addWidget(plain_label(extent))
        time = plain_label(range_text(planned.time_range) if known else "–")
        time.setMinimumWidth(72)
        time.setAlignment(Qt.AlignmentFlag.AlignRight)
        line.addWidget(time)
        return line

    # --- deciding ------------------------------------------------------------------------------------------------

    def on_main_action(self) -> None:
        """Export the first kind of file."""
        self.export_wanted.emit(EXPORT_KINDS[0].suffix)

    def _tick(self, caution: Caution, ticked: bool) -> None:
        label = "Tick a caution" if ticked else "Take a tick back"
        self.session.commit(with_tick(self.session.job, caution.code, ticked), label)


class ClickableWords(Guarded, QLabel):
    """Wrapping text beside a check box that can't wrap its own; clicking it clicks the box."""

    clicked = Signal()

    def __init__(self, text: str) -> None:
        super().__init__(told(text))
        self.setWordWrap(True)

    def mouseReleaseEvent(self, event) -> None:  # type: ignore[no-untyped-def]
        """Qt: a click."""
        self.clicked.emit()
