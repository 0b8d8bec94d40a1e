"""A page's parts over each other: the front or a room alone, or, with room enough, rooms open below the front."""

from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QApplication, QWidget

from app.qt.guarded import Guarded
from app.stages.room import Room
from app.widgets.scrolled import Scrolled

LEAST_PART_PX = 220
"""A room that opens in part, and scrolls, has so much of it seen at least."""
GROWS_FIRST_PX = 320
"""A front that grows has so much more than it needs before a room opens below it."""


class Parts(Guarded, QWidget):
    """Lays out ``front`` and the rooms. opened: other rooms lie open below the front than before.

    ``may_open`` asks whether a room is to be had at all now; ``front_grows``: the front uses what room there is.
    """

    opened = Signal()

    def __init__(self, front_name: str, may_open: Callable[[Room], bool]) -> None:
        super().__init__()
        self.front = Scrolled(front_name)
        self.rooms: list[Room] = []
        self.front_grows = False
        self.alone: Room | None = None
        self.below: tuple[Room, ...] = ()
        self._may_open = may_open
        self._held = False
        self._add(self.front)

    def add_room(self, room: Room) -> None:
        """A room, behind its door until there is room for it below the front."""
        self._add(room)
        room.hide()
        self.rooms.append(room)

    def show_alone(self, room: Room | None) -> None:
        """Show one room in the place of everything else; None: the front again."""
        self.alone = room
        self.arrange()

    def hold(self, held: bool) -> None:
        """Have every part stay where it is, while something is dragged."""
        self._held = held
        if not held:
            self.arrange()

    def arrange(self) -> None:
        """Give each part its place."""
        if self._held:
            return
        high_px = self._rooms_that_fit() if self.alone is None else {}
        for room in self.rooms:
            room.show_alone(room is self.alone)
        first = self.alone or self.front
        bottom_px = self.height() - sum(high_px.values())
        if high_px and not self.front_grows:
            bottom_px = min(bottom_px, self._need_px(self.front))  # the rooms follow at once
        _show_bar(first, not high_px)
        first.setGeometry(0, 0, self.width(), bottom_px)
        for room, room_px in high_px.items():
            _show_bar(room, room_px < self._need_px(room))
            room.setGeometry(0, bottom_px, self.width(), room_px)
            bottom_px += room_px
        for part in (self.front, *self.rooms):
            part.setVisible(part is first or part in high_px)
        if self.alone is None and tuple(high_px) != self.below:
            self.below = tuple(high_px)
            self.opened.emit()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size."""
        super().resizeEvent(event)
        self.arrange()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Qt: a part wants more room, or less."""
        if event.type() == QEvent.Type.LayoutRequest:
            self.arrange()
        return super().eventFilter(watched, event)

    def _add(self, part: Scrolled) -> None:
        part.setParent(self)
        part.content.installEventFilter(self)

    def _rooms_that_fit(self) -> dict[Room, int]:
        """The first that the front leaves room for, some of them in part; the one that the keys are in stays open."""
        spare_px, found = self.height() - self._need_px(self.front), {}
        if self.front_grows:
            spare_px -= GROWS_FIRST_PX
        focused = QApplication.focusWidget()
        for room in filter(self._may_open, self.rooms):
            need_px = self._need_px(room)
            if room.in_part and LEAST_PART_PX <= spare_px < need_px:
                need_px = spare_px
            used = room in self.below and focused is not None and room.isAncestorOf(focused)
            if need_px <= spare_px or (used and need_px < self.height() / 2):
                found[room] = need_px
                spare_px -= need_px
        return found

    def _need_px(self, part: Scrolled) -> int:
        """How high a part is with all of it seen, at this width."""
        body = part.body
        return body.totalHeightForWidth(self.width()) if body.hasHeightForWidth() else body.totalSizeHint().height()


def _show_bar(part: Scrolled, wanted: bool) -> None:
    """A bar that is there takes room, so that lines break and it stays; where all of a part is seen there is none."""
    policy = Qt.ScrollBarPolicy.ScrollBarAsNeeded if wanted else Qt.ScrollBarPolicy.ScrollBarAlwaysOff
    part.setVerticalScrollBarPolicy(policy)
