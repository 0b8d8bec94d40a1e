"""One kind of picture: one under way at most, the newest wish behind it, and a picture that fails holds nothing up."""

import threading
from dataclasses import dataclass, field

import pytest
from PySide6.QtCore import QObject

from app.canvas.faces_layout import View
from app.canvas.frame import Frame
from app.canvas.picture import Brushwork
from app.canvas.pictures import STRETCH_LIMIT, PictureSlot, Request
from app.session.background import Background, close_all
from app.theme.theme import theme


@dataclass
class Desk:
    """A slot, and pictures that wait for a gate while they are painted."""

    slot: PictureSlot
    gate: threading.Event = field(default_factory=threading.Event)
    painted: list[str] = field(default_factory=list)

    def request(self, key: str, *, x_mm: float = 0.0, px_per_mm: float = 1.0, fails: bool = False) -> Request:
        view = View(x_mm=x_mm, y_mm=0.0, px_per_mm=px_per_mm)

        def paint(work: Brushwork) -> None:
            assert self.gate.wait(10)
            self.painted.append(f"{key} at {x_mm:g}")
            if fails:
                raise ZeroDivisionError

        return Request(
            key=key, frame=Frame(view=view, width_px=4, height_px=4, density=1.0), theme=theme(), paint=paint
        )


@pytest.fixture
def desk(qapp):
    owner = QObject()
    yield Desk(PictureSlot(Background("pictures", owner), owner))
    close_all(owner)


def test_only_the_latest_wish_waits_behind_a_picture_under_way(desk, qtbot):
    for x_mm in (0.0, 1.0, 2.0):
        desk.slot.want(desk.request("a", x_mm=x_mm))
    desk.gate.set()
    qtbot.waitUntil(lambda: not desk.slot.busy)
    assert desk.painted == ["a at 0", "a at 2"]
    assert desk.slot.picture.frame.view.x_mm == 2.0


def test_what_is_under_way_already_is_not_asked_for_twice(desk, qtbot):
    desk.slot.want(desk.request("a"))
    desk.slot.want(desk.request("a", x_mm=1.0))
    desk.slot.want(desk.request("a"))  # back where it is being drawn: the wish behind it is no more
    desk.gate.set()
    qtbot.waitUntil(lambda: not desk.slot.busy)
    assert desk.painted == ["a at 0"]


@pytest.mark.parametrize("other", [("b", 1.0), ("a", 2.0 * STRETCH_LIMIT)])
def test_another_picture_or_one_far_off_in_zoom_is_not_waited_for(desk, qtbot, other):
    key, px_per_mm = other
    desk.slot.want(desk.request("a"))
    desk.slot.want(desk.request(key, px_per_mm=px_per_mm))
    shown = []
    desk.slot.changed.connect(lambda: shown.append(desk.slot.picture))
    desk.gate.set()
    qtbot.waitUntil(lambda: not desk.slot.busy)
    assert [(one.key, one.frame.view.px_per_mm) for one in shown] == [(key, px_per_mm)]


def test_a_picture_that_fails_is_a_fault_and_the_next_is_drawn(desk, qtbot):
    with qtbot.capture_exceptions() as raised:
        desk.slot.want(desk.request("a", fails=True))
        desk.slot.want(desk.request("a", x_mm=1.0))
        desk.gate.set()
        qtbot.waitUntil(lambda: not desk.slot.busy)
    assert [one[0] for one in raised] == [ZeroDivisionError]
    assert desk.slot.picture.frame.view.x_mm == 1.0


def test_cleared_it_shows_nothing_and_wants_nothing(desk, qtbot):
    desk.slot.want(desk.request("a"))
    desk.slot.want(desk.request("a", x_mm=1.0))
    desk.slot.clear()
    desk.gate.set()
    assert not desk.slot.busy
    qtbot.wait(30)
    assert desk.slot.picture is None
