"""What a screen reader says of what is only drawn: the stages' marks, verdicts, and every picture and plot."""

from dataclasses import replace

import pytest

from app.stages.stage import Stage, marks
from app.widgets.chance_bar import ChanceBar
from core.job.decisions import with_recipe

pytestmark = pytest.mark.usefixtures("shared_window")


def settled_on(window, stage, settle, qtbot):
    window.go_to(stage)
    settle(window)
    work = (window.burn_page.advising, window.paint_page.painting, window.shop)
    qtbot.waitUntil(lambda: not any(one.busy for one in work), timeout=60_000)
    settle(window)


def test_a_stage_says_its_mark_and_why(with_plate, settle):
    window = with_plate
    for stage, mark in marks(window.session).items():
        said = window.rail.button(stage).accessibleName()
        assert said.startswith(stage.title) and mark.state.value in said and mark.why in said


@pytest.mark.parametrize("speed_mm_s", [800.0, 5.0])
def test_the_verdict_and_the_dose_window_are_said_in_words(with_plate, settle, qtbot, speed_mm_s):
    window = with_plate
    job = window.session.job
    fill = next(layer for layer in job.layers if layer.purpose == "fill")
    window.session.commit(with_recipe(job, fill.id, _at(fill.recipe, speed_mm_s)), "Speed")
    settled_on(window, Stage.BURN, settle, qtbot)
    page = window.burn_page
    verdict = next(one.verdict.verdict for one in window.session.plan.layers if one.verdict is not None)
    said = [one.accessibleDescription() for one in drawn_on(page) if one.accessibleDescription()]
    assert any(verdict.split()[0] in text.lower() for text in said), (verdict, said)
    bars = [one for one in page.findChildren(ChanceBar) if one.isVisible()]
    assert bars and all("in 100" in one.accessibleDescription() for one in bars)


def _at(recipe, speed_mm_s):
    return replace(recipe, speed_mm_s=speed_mm_s)


def drawn_on(page):
    """Widgets of ours that are seen and paint themselves."""
    return [
        one
        for one in page.findChildren(object)
        if type(one).__module__.startswith("app.") and "paintEvent" in vars(type(one)) and one.isVisible()
    ]


def test_everything_that_is_drawn_has_a_name_or_is_only_for_show(with_plate, settle, qtbot):
    window = with_plate
    nameless = set()
    for stage in Stage:
        settled_on(window, stage, settle, qtbot)
        nameless |= {type(one).__name__ for one in drawn_on(window.pages[stage]) if not one.accessibleName()}
    assert nameless <= ONLY_FOR_SHOW


ONLY_FOR_SHOW = {"Sign", "Swatch", "PurposeSwatch"}
"""The words beside them say the same."""
