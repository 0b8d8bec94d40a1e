"""A window shows what a new one shows, in whatever order its workers' deliveries came in between the maker's acts."""

import random
from collections.abc import Callable, Iterator
from dataclasses import replace

import pytest
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication

from app.session import background
from app.stages.stage import Stage
from app.window.main_window import MainWindow
from core.finishing.paints import BARE
from core.job.decisions import with_recipe, with_sheet
from core.job.painting.colouring import filled_shapes
from core.job.painting.decisions import with_paint_of, with_suggested_paints
from tests.any_order import Deliveries, shown
from tests.windows import wait_until, wait_until_settled

ACTS = 7
COMMANDS = (
    "undo", "redo", "put cut", "put fill", "put guide", "leave out", "as suggested", "turn", "rotate", "select all",
    "select none", "invert", "units inch", "units mm", "work out", "stop",
)  # fmt: skip


def acts(window: MainWindow, dice: random.Random) -> Iterator[Callable[[], object]]:
    """What a maker does, by lot: goes to a page, decides something, presses a key."""
    session = window.session

    def commit(job_of: Callable[..., object]) -> None:
        if session.current:
            session.commit(job_of(session.plan), "By lot")

    def pitch(plan):
        fills = [layer for layer in plan.job.layers if layer.purpose == "fill"]
        recipe = fills[0].recipe
        return with_recipe(plan.job, fills[0].id, replace(recipe, pitch_mm=dice.choice((0.04, 0.06, 0.2))))

    def bare(plan):
        return with_paint_of(plan, [shape.id for shape in filled_shapes(plan)[: dice.randrange(4)]], BARE)

    def sheet(plan):
        return with_sheet(plan.job, replace(plan.job.sheet, width_mm=dice.choice((100.0, 200.0))))

    def press(key):
        action = window.menus.actions[key]
        if action.isEnabled():
            action.trigger()

    while True:
        stage, decide, key = dice.choice(list(Stage)), dice.choice((pitch, bare, sheet, None)), dice.choice(COMMANDS)
        if decide is None:
            decide = with_suggested_paints
        yield dice.choice(
            (
                lambda stage=stage: window.go_to(stage),
                lambda decide=decide: commit(decide),
                lambda key=key: press(key),
            )
        )


def picture(window: MainWindow, rest: Callable[[], object]) -> QImage:
    """The faces as they are seen with the keys there, all of the artwork on them."""
    window.activateWindow()
    wait_until(window.isActiveWindow)
    window.faces.setFocus()
    window.menus.actions["fit"].trigger()
    window.faces.grab()  # what is wanted is asked for when it is painted
    QApplication.processEvents()
    rest()
    return window.faces.grab().toImage()


@pytest.mark.parametrize("seed", (0, 1, 8, 10))
def test_in_any_order(make_window, monkeypatch, plate, seed):
    """Three of these find a page that is told of no worker's end and says for ever that work is under way."""
    deliveries = Deliveries(seed)
    with monkeypatch.context() as patched:
        patched.setattr(background, "ThreadPoolExecutor", deliveries.executor)
        window = make_window()
    window.files.open(plate)
    deliveries.hand_all_over(window)
    doing = acts(window, deliveries.dice)
    for _ in range(ACTS):
        next(doing)()
        deliveries.hand_some_over()
    if window.session.stopped or window.paint_ahead.stopped:
        window.menus.actions["work out"].trigger()
    deliveries.hand_all_over(window)
    if window.loupe.on:  # where it lies is not of the job
        window.loupe_desk.toggle()
    faces, seen = picture(window, lambda: deliveries.hand_all_over(window)), shown(window)

    new = make_window()
    new.settings.set("units", window.settings.get("units"))
    new.files.artwork_path = window.files.artwork_path
    new.session.begin_again(window.session.history, unsaved=window.session.modified)
    wait_until_settled(new)
    new.session.select(window.session.selection)
    if window.paint_ahead.painted is not None:  # paints that nobody decided are known once they were looked at
        new.go_to(Stage.PAINT)
        wait_until_settled(new)
    new.go_to(window.stage)
    wait_until_settled(new)
    if new.loupe.on:
        new.loupe_desk.toggle()
    new_faces = picture(new, lambda: wait_until_settled(new))  # all is laid out by then
    assert shown(new) == seen
    assert new_faces == faces
