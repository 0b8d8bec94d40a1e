"""What all pages share: a heading, a body that scrolls, a note line and one main action at the foot."""

import itertools
from collections.abc import Callable, Sequence

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtGui import QResizeEvent, QShowEvent
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QApplication,
    QFrame,
    QLayout,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from app.qt.captions import caption, filled
from app.qt.guarded import Guarded
from app.session.session import Session
from app.session.settings import Settings
from app.stages.parts import Parts
from app.stages.room import Room, door_button
from app.stages.stage import Stage, stage_of
from app.widgets.fields import Card, LengthField, NumberField, on_refusal, show_role, small_button, words
from app.widgets.findings_list import FindingsList
from app.widgets.plain_text import plain_tip
from app.widgets.scrolled import MARGIN_PX, Scrolled
from app.widgets.steady import hold_layouts
from app.words.wording import count_text
from core.errors import TainError
from core.findings import Finding
from core.job.job import Job

ASKED_CODES = frozenset({"undecided", "white-over-dark"})
"""Findings that are questions; the Layers page asks them in its own words."""


class Page(Guarded, QWidget):
    """The page of one stage. It shows the session and sends whole new jobs; it holds no data of its own.

    go_to: another stage is wanted. wrong_wanted: a piece came out wrong. place_wanted: (x, y, span) mm in the front
    frame to zoom to. finding_picked: a
    finding of the page's list. Subclasses fill ``body`` in ``__init__`` and bring it up to date in ``refresh``, which
    runs only while the page is seen.
    """

    go_to = Signal(object)
    wrong_wanted = Signal()
    place_wanted = Signal(float, float, float)
    finding_picked = Signal(object)

    def __init__(self, stage: Stage, lead: str, session: Session, settings: Settings, *, parent: QWidget) -> None:
        super().__init__(parent)  # from the start: a widget that moves has all within it styled anew
        self.stage, self.session, self.settings = stage, session, settings
        self.setAccessibleName(filled("{title} page", title=stage.title))
        self._stale = True
        self._source = session.job.source
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        self._parts = Parts(f"{stage.title}, what it decides", lambda room: room not in self._shut and self.furnished)
        self._parts.opened.connect(self._show_what_is_open)
        layout.addWidget(self._parts, 1)
        self.front = self._parts.front
        self.body = self.front.body
        self.body.addWidget(words(stage.title, role="title"))
        self._lead = words(lead, role="quiet")
        self.body.addWidget(self._lead)
        self._shut: set[Room] = set()
        self._door_of: dict[Room, QPushButton] = {}
        self._to_furnish: list[Callable[[], None]] = []
        foot = QFrame()
        foot.setProperty("role", "foot")
        layout.addWidget(foot)
        self.foot = QVBoxLayout(foot)
        self.foot.setContentsMargins(MARGIN_PX, 12, MARGIN_PX, 12)
        self.foot.setSpacing(8)
        self.note = words(role="refusal")
        self.note.hide()
        self.foot.addWidget(self.note)
        self.main_action = QPushButton()
        self.main_action.setProperty("role", "main")
        self.show_main_action("Go o&n")
        self.main_action.clicked.connect(self.on_main_action)
        self.foot.addWidget(self.main_action)
        session.job_changed.connect(self._another_job)
        session.plan_changed.connect(self.touch)
        session.busy_changed.connect(self._busy_changed)
        settings.changed.connect(self._settings_changed)

    # --- for subclasses ------------------------------------------------------------------------------------------

    def refresh(self) -> None:
        """Bring everything on the page up to date."""
        raise NotImplementedError

    def on_main_action(self) -> None:
        """What the button at the foot does; by default it leads on, past the findings that it names."""
        if unseen := self.unseen():
            self.session.look_at(unseen)
        self.go_to.emit(self.next_stage())

    def show_go_on(self, *, enabled: bool = True) -> None:
        """Have the button at the foot lead to the next stage; findings that nobody looked at yet are named first."""
        unseen = len(self.unseen())
        if unseen:
            self.show_main_action(
                filled("Leave {unseen} and go o&n", unseen=count_text(unseen, "finding", "findings")), enabled=enabled
            )
        else:
            self.show_main_action(filled("Go o&n to {title}", title=self.next_stage().title), enabled=enabled)

    def stage_findings(self) -> list[Finding]:
        """What was found that is dealt with on this page, but for what the page asks about in its own words."""
        plan = self.session.plan
        findings = plan.findings if plan is not None else ()
        return [one for one in findings if stage_of(one) is self.stage and one.code not in ASKED_CODES]

    def listed_findings(self) -> list[Finding]:
        """Those of them that the page lists; others it may show in a way of its own."""
        return self.stage_findings()

    def unseen(self) -> list[Finding]:
        """Warnings of this page that the maker has not gone past yet."""
        found = self.stage_findings()
        return [one for one in found if one.severity == "warning" and not self.session.was_looked_at(one)]

    def add_wrong_button(self) -> None:
        """A way to what may have gone wrong with a finished piece."""
        button = small_button("It came out wrong…", tip="From what is seen on the piece to its cause, and a trial")
        button.clicked.connect(lambda: self.wrong_wanted.emit())
        self.body.addWidget(button)

    def add_findings_card(self) -> None:
        """A card, seen only when there is something in it, with what was found for this stage."""
        self._findings_card = Card("To look at")
        self._findings_list = FindingsList(filled("Findings for {title}", title=self.stage.title), most_px=200)
        self._findings_list.picked.connect(self.finding_picked)
        self._findings_card.body.addWidget(self._findings_list)
        self.body.addWidget(self._findings_card)

    def show_findings_card(self) -> None:
        """Bring the card of findings up to date."""
        found = self.listed_findings()
        self._findings_card.setVisible(bool(found))
        self._findings_list.show_findings(found, inches=self.inches)

    def next_stage(self) -> Stage:
        """The stage after this one."""
        order = list(Stage)
        return order[min(order.index(self.stage) + 1, len(order) - 1)]

    def show_main_action(self, text: str, *, enabled: bool = True) -> None:
        """Name the button at the foot."""
        text = caption(text)
        self.main_action.setText(text)
        self.main_action.setAccessibleName(text.replace("&", ""))
        self.main_action.setEnabled(enabled)
        self.main_action.setToolTip(plain_tip(filled("{what} (Ctrl+Return)", what=text.replace("&", "").rstrip("…"))))

    def press_main_action(self) -> None:
        """What the main button does, from wherever the keys are; what is typed in a field of the page counts first."""
        focused = QApplication.focusWidget()
        if isinstance(focused, QAbstractSpinBox) and self.isAncestorOf(focused):
            focused.interpretText()
        elif isinstance(focused, QLineEdit) and self.isAncestorOf(focused):
            focused.editingFinished.emit()
        self.main_action.click()

    def add_room(self, title: str, *, in_part: bool = False, at_door: str = "") -> tuple[Room, QPushButton]:
        """A room for what is rarely changed, and the door to it, which goes where the caller puts it.

        Where the page is high enough it lies open below the front instead; in_part: even if it scrolls there.
        at_door: what the door says where that is not the title.
        """
        room = Room(title, self.stage.title, in_part=in_part)
        door = door_button(room, at_door)
        door.clicked.connect(lambda: self.open_room(room))
        room.left.connect(lambda: self.leave_room(door))
        self._parts.add_room(room)
        self._door_of[room] = door
        return room, door

    def furnish_later(self, furnish: Callable[[], None]) -> None:
        """Have what lies behind a door made once the front is seen, one door after the other: a long page does not
        hold the window up.
        """
        if not self._to_furnish:
            QTimer.singleShot(0, self, self._furnish_next)
        self._to_furnish.append(furnish)

    @property
    def furnished(self) -> bool:
        """Whether all that lies behind doors is made."""
        return not self._to_furnish

    def _furnish_next(self) -> None:
        if self._to_furnish:
            self._to_furnish.pop(0)()
        if self._to_furnish:
            QTimer.singleShot(0, self, self._furnish_next)
        else:
            self._parts.arrange()

    @property
    def rooms(self) -> list[Room]:
        """What lies behind doors, or open below the front."""
        return self._parts.rooms

    @property
    def open_rooms(self) -> tuple[Room, ...]:
        """The rooms that lie open below the front, because there is room."""
        return self._parts.below

    def show_doors(self, rooms: Sequence[Room]) -> None:
        """Show the doors to these rooms only; who stands in another one is led back to the front."""
        self._shut = set(self._door_of) - set(rooms)
        if self.seen_part in self._shut:
            self.leave_room()
        self._parts.arrange()
        self._show_what_is_open()

    def open_room(self, room: Room) -> None:
        """Show a room of the page; where it lies open, the keys go into it."""
        while self._to_furnish:
            self._to_furnish.pop(0)()
        if room in self.open_rooms:
            stops = [one for one in _tab_stops(room.body) if one.isEnabled() and one.isVisibleTo(room)]
            if stops:
                stops[0].setFocus(Qt.FocusReason.OtherFocusReason)
            return
        self._parts.show_alone(room)
        self.keep_tab_order()
        room.back.setFocus(Qt.FocusReason.OtherFocusReason)

    def leave_room(self, door: QPushButton | None = None) -> None:
        """Show the front of the page again; the keys go to the door that led away."""
        self._parts.show_alone(None)
        if door is not None and door.isVisible():
            door.setFocus(Qt.FocusReason.OtherFocusReason)

    @property
    def seen_part(self) -> Scrolled:
        """The part that is shown: a room that a door led to, or the front."""
        return self._parts.alone or self.front

    def _show_what_is_open(self) -> None:
        """No doors to rooms that lie open, nor to those that are not to be had."""
        for room, door in self._door_of.items():
            door.setVisible(room not in self._shut and room not in self.open_rooms)
        self.keep_tab_order()

    def end_body(self, *, grows: bool = False) -> None:
        """Call after the last card: the rest of the page stays empty, or is used by a card that grows."""
        self._parts.front_grows = grows
        self.body.addStretch(1)

    def tab_stops(self) -> list[QWidget]:
        """What the Tab key stops at on this page: its main button first, then all from the top down."""
        seen = [self.seen_part, *(self.open_rooms if self.seen_part is self.front else ())]
        return [*_tab_stops(self.foot), *(stop for part in seen for stop in _tab_stops(part.body))]

    def keep_tab_order(self) -> None:
        """Call after widgets came in between others: the Tab key goes through them as ``tab_stops`` has them."""
        stops = self.tab_stops()
        for one, other in itertools.pairwise(stops):
            QWidget.setTabOrder(one, other)

    def watch(self, *fields: NumberField) -> None:
        """Have the note line say why a field turned something down; lengths follow mm or inch."""
        for field in fields:
            on_refusal(field, self.say)
            if isinstance(field, LengthField):
                field.show_inches(self.inches)

    def hold_still(self, held: bool) -> None:
        """Have nothing on the page move while something on it is dragged; what changed meanwhile is laid out after."""
        for part in (self.front, *self.rooms):
            hold_layouts(part.content, held)
        self._parts.hold(held)

    def say(self, text: str, *, role: str = "refusal") -> None:
        """Put words in the note line above the main action; "" hides it."""
        show_role(self.note, role)
        self.note.setText(text)
        self.note.setVisible(bool(text))

    def commit(self, change: Callable[[], Job], label: str, *, merge_key: str | None = None) -> None:
        """Make the change's result the present job; an error meant for the maker goes to the note line."""
        try:
            job = change()
        except TainError as error:
            self.say(str(error))
            self.touch()
            return
        self.say("")
        self.session.commit(job, label, merge_key=merge_key)

    @property
    def inches(self) -> bool:
        """Whether lengths are shown in inches."""
        return self.settings.inches

    # --- keeping up ----------------------------------------------------------------------------------------------

    def _another_job(self) -> None:
        if self.session.job.source is not self._source:
            self._source = self.session.job.source
            self._forget_typing()
        if self.note.text():  # what it says is of the job that was
            self.say("")
        self.touch()

    def _busy_changed(self) -> None:
        if not self.session.complete:  # else the plan that came told it
            self.touch()

    def _forget_typing(self) -> None:
        """What is being typed was meant for artwork that is gone; another may have the same layers."""
        focused = QApplication.focusWidget()
        if focused is None or not self.isAncestorOf(focused):
            return
        if isinstance(focused, NumberField):
            focused.show_value(focused.value())
        elif isinstance(focused, QLineEdit):
            while focused.isUndoAvailable():
                focused.undo()
            focused.setModified(False)

    def touch(self) -> None:
        """Something that the page shows has changed."""
        if self.isVisible():
            self._stale = False
            self.refresh()
        else:
            self._stale = True

    def showEvent(self, event: QShowEvent) -> None:
        """Qt: the page comes into view."""
        super().showEvent(event)
        if self._stale:
            self.touch()
        self.keep_tab_order()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size; lists are as long as a window this high lets them be."""
        super().resizeEvent(event)
        for one in self.findChildren(FindingsList):
            one.fit_height()

    def _settings_changed(self, key: str) -> None:
        if key == "units":
            for field in self.findChildren(LengthField):
                field.show_inches(self.inches)
            self.touch()


def _tab_stops(layout: QLayout) -> list[QWidget]:
    found: list[QWidget] = []
    for place in range(layout.count()):
        item = layout.itemAt(place)
        assert item is not None
        widget, inner = item.widget(), item.layout()
        if inner is not None:
            found += _tab_stops(inner)
        elif widget is not None and widget.focusPolicy() & Qt.FocusPolicy.TabFocus:
            found.append(widget)
        elif widget is not None and (content := widget.layout()) is not None:
            found += _tab_stops(content)
    return found
