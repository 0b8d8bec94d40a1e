"""The Burn page's dose window and advice: words, regions, the point moved by pointer and keys, one click and undo."""

import re
import time
from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLabel, QPushButton

from app.session.background import busy_within
from app.stages.burn.dose_lines import contour_times, frost_edge_mm, nice_ticks, roomiest, unclear_edge_mm
from app.stages.stage import Stage
from core.burning.beam import fill_verdict
from core.burning.chance import OUTCOMES
from core.burning.dose_window import REGIONS
from core.job import advising
from core.units import pitch_mm_from_lpi
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")


@pytest.fixture
def burn(with_plate, qtbot, settle):
    window = with_plate
    window.go_to(Stage.BURN)
    page = window.pages[Stage.BURN]

    def advised():
        settle(window)
        qtbot.waitUntil(lambda: not page.advising.busy and "fill" in page.advising.advice, timeout=30_000)

    advised()
    return window, page, advised


def fill_of(window):
    return next(layer for layer in window.session.job.layers if layer.id == "fill").recipe


def set_fill(window, page, **changes):
    layer = next(layer for layer in window.session.job.layers if layer.id == "fill")
    page.take(layer, replace(layer.recipe, **changes), "A recipe", None)


def seen_of(card, kind):
    """What a fill's card shows, on the front of the page and in the room of advice."""
    return [one for part in (card, card.list) for one in part.findChildren(kind) if one.isVisibleTo(part)]


def button_of(card, start):
    buttons = [*card.findChildren(QPushButton), *card.list.findChildren(QPushButton)]
    found = [one for one in buttons if one.accessibleName().startswith(start)]
    assert found, start
    return found[-1]


def test_advice_says_how_far_it_is_and_is_stopped_and_gone_on_with(burn, qtbot, monkeypatch):
    """On a million segments it takes ten seconds and more; between its progress calls there is a third of one."""
    window, page, advised = burn
    as_it_is = advising.advise_layer

    def endless(plan, layer, *, progress):
        while True:  # until progress raises Cancelled
            progress(0.25, "trying speeds")
            time.sleep(0.01)

    monkeypatch.setattr(advising, "advise_layer", endless)
    set_fill(window, page, pitch_mm=pitch_mm_from_lpi(300))
    card = page.advice_cards["fill"]
    told = card.list.findChild(QLabel, "advice under way")
    qtbot.waitUntil(lambda: told.text().endswith("quicker… 25 %"), timeout=30_000)
    button_of(card, "Stop working out the advice").click()
    assert not page.advising.busy and told.text() == "The advice was stopped."
    qtbot.waitUntil(lambda: busy_within(page.advising) == (), timeout=1000)  # its thread is free
    page.touch()
    assert not page.advising.busy, "looked at again it stays stopped"
    monkeypatch.setattr(advising, "advise_layer", as_it_is)
    button_of(card, "Work out the advice").click()
    advised()
    assert not told.isVisibleTo(card.list)


def test_300_lpi_leaves_lines_and_one_click_makes_it_clean(burn):
    window, page, advised = burn
    set_fill(window, page, pitch_mm=pitch_mm_from_lpi(300))
    advised()
    card = page.advice_cards["fill"]
    assert plain(part(card, "verdict").text()) == "Leaves lines of coat; clean 7 in 100"
    button_of(card, "Make it").click()
    advised()
    job = window.session.job
    assert fill_verdict(fill_of(window), job.machine, job.stock).verdict == "clean"
    assert re.fullmatch(
        r"Clean at the best figures, but only \d\d in 100 \(90 wanted\)", plain(part(card, "verdict").text())
    )
    window.menus.actions["undo"].trigger()
    assert fill_of(window).pitch_mm == pitch_mm_from_lpi(300)


def test_half_the_speed_frosts(burn):
    window, page, _ = burn
    set_fill(window, page, speed_mm_s=400.0)
    assert part(page.advice_cards["fill"], "verdict").text() == "Frosts the sheet behind the coat"


def test_the_fastest_recipe_is_clean_and_faster_by_what_it_says(burn):
    window, page, advised = burn
    before_s = window.session.plan.time_s
    saved_s = page.advising.advice["fill"].fastest.time_saved_s
    button_of(page.advice_cards["fill"], "Take it: Advised recipe").click()
    advised()
    job = window.session.job
    assert fill_verdict(fill_of(window), job.machine, job.stock).verdict == "clean"
    assert saved_s > 0
    assert before_s - window.session.plan.time_s == pytest.approx(saved_s, rel=0.02, abs=0.2)
    assert window.session.undo_label == "Advised recipe of Fill"


def test_the_plot_shows_the_cores_regions_where_the_point_is(burn):
    window, page, _ = burn
    plot = page.advice_cards["fill"].plot
    shown = plot.window_shown
    job, recipe = window.session.job, fill_of(window)
    for lpi, speed in ((300, 800), (600, 800), (600, 400), (900, 900)):
        row = abs(shown.values - speed).argmin()
        column = abs(shown.pitch_mm - pitch_mm_from_lpi(lpi)).argmin()
        there = replace(recipe, pitch_mm=float(shown.pitch_mm[column]), speed_mm_s=float(shown.values[row]))
        assert REGIONS[shown.regions[row, column]] == fill_verdict(there, job.machine, job.stock).verdict
        at = plot.to_px(there.pitch_mm, there.speed_mm_s)
        pitch_mm, value = plot.from_px(at)
        assert pitch_mm == pytest.approx(there.pitch_mm, rel=0.01) and value == pytest.approx(
            there.speed_mm_s, abs=0.51
        )


def test_the_chance_is_shown_as_a_bar_in_words_and_in_the_window(burn):
    window, page, _ = burn
    card, chance = page.advice_cards["fill"], planned_fill(window).chance
    assert card.chance_bar.accessibleDescription() == chance.words
    assert part(card.list, "chance").text().replace("\u00a0", " ").startswith(f"Clean {100 * chance.clean:.0f} in 100")
    shown = card.plot.window_shown
    row = abs(shown.values - fill_of(window).speed_mm_s).argmin()
    column = abs(shown.pitch_mm - fill_of(window).pitch_mm).argmin()
    assert shown.chances[row, column, 0] == pytest.approx(chance.clean, abs=0.05)
    assert card.plot.levels(shown) == (0.5, 0.85)  # the best is short of the 90 in 100 that are wanted


def test_the_edges_of_the_window_are_where_it_is_one_in_two(burn):
    _, page, _ = burn
    shown = page.advice_cards["fill"].plot.window_shown
    frosts = shown.chances[:, :, OUTCOMES.index("frosts")]
    for row, pitch in enumerate(frost_edge_mm(shown, 0.5)):
        at = np.interp(np.log(min(max(pitch, 1e-6), 10.0)), np.log(shown.pitch_mm), frosts[row])
        assert at == pytest.approx(0.5, abs=0.01) or pitch in (0.0, np.inf)
    edge = np.minimum(unclear_edge_mm(shown, 0.5), 10.0)
    assert all(np.diff(edge[8:]) <= 1e-9)  # the faster, the closer the lines must lie


def test_the_chance_that_is_wanted_is_the_jobs(burn):
    window, page, advised = burn
    page.want(75.0)
    advised()
    card = page.advice_cards["fill"]
    assert window.session.job.wanted_chance == 0.75
    assert part(card, "verdict").text().startswith("Comes off clean: ")
    window.menus.actions["undo"].trigger()
    assert window.session.job.wanted_chance == 0.9


def plain(text):
    return text.replace("\u00a0", " ")


def planned_fill(window):
    return next(one for one in window.session.plan.layers if one.layer.id == "fill")


def test_a_drag_is_one_step_of_undo(burn, qtbot):
    window, page, advised = burn
    plot, before = page.advice_cards["fill"].plot, fill_of(window)
    start = plot.to_px(before.pitch_mm, before.speed_mm_s).toPoint()
    QTest.mousePress(plot, Qt.MouseButton.LeftButton, pos=start)
    for step in range(1, 6):
        QTest.mouseMove(plot, start + QPointF(4 * step, 6 * step).toPoint())
    QTest.mouseRelease(plot, Qt.MouseButton.LeftButton, pos=start + QPointF(20, 30).toPoint())
    after = fill_of(window)
    assert after.pitch_mm > before.pitch_mm and after.speed_mm_s < before.speed_mm_s
    assert after.lines_per_inch == pytest.approx(round(after.lines_per_inch))
    advised()
    window.menus.actions["undo"].trigger()
    assert fill_of(window) == before


def test_arrow_keys_move_the_point(burn):
    window, page, _ = burn
    plot, before = page.advice_cards["fill"].plot, fill_of(window)
    QTest.keyClick(plot, Qt.Key.Key_Right)
    assert fill_of(window).lines_per_inch == pytest.approx(before.lines_per_inch - 5)
    QTest.keyClick(plot, Qt.Key.Key_Down, Qt.KeyboardModifier.ShiftModifier)
    assert fill_of(window).speed_mm_s == before.speed_mm_s - 50
    assert "mm/s" in plot.accessibleDescription()


def test_power_is_the_other_axis(burn):
    window, page, advised = burn
    card = page.advice_cards["fill"]
    axis = part(card, "Axes of the dose window of Fill")
    axis.setCurrentIndex(1)
    axis.activated.emit(1)
    advised()
    assert card.plot.window_shown.axis == "power"
    before = fill_of(window)
    QTest.keyClick(card.plot, Qt.Key.Key_Up)
    assert fill_of(window).power_pct == before.power_pct + 1 and fill_of(window).speed_mm_s == before.speed_mm_s
    axis.setCurrentIndex(0)  # the page keeps it whatever is opened next
    axis.activated.emit(0)
    advised()
    assert card.plot.window_shown.axis == "speed"


def test_run_time_contours_are_the_windows_times(burn):
    _, page, _ = burn
    shown = page.advice_cards["fill"].plot.window_shown
    times = contour_times(shown)
    assert times
    (pitch_mm,) = shown.time_contours(times[:1])
    row = len(shown.values) // 2
    product = shown.time_s[row, 0] * shown.pitch_mm[0]
    assert pitch_mm[row] * times[0] == pytest.approx(product)


def test_ticks_and_places_of_words():
    assert nice_ticks(1000) == [0, 200, 400, 600, 800, 1000]
    assert nice_ticks(39.37) == [0, 10, 20, 30]
    grid = np.zeros((20, 30), bool)
    assert roomiest(grid) is None
    grid[10, 4:15] = True
    grid[0, :] = True
    assert roomiest(grid) == (10, 9)


def test_all_of_the_advice_is_in_inches_in_inch_mode(burn, qtbot):
    window, page, advised = burn
    set_fill(window, page, pitch_mm=pitch_mm_from_lpi(300))
    advised()
    card = page.advice_cards["fill"]

    def told():
        texts = [one.text() for kind in (QLabel, QPushButton) for one in seen_of(card, kind)]
        return " ".join(texts).replace("\u00a0", " ")

    assert re.search(r"\d mm of a pitch of 0\.085 mm", told()) and not re.search(r"\d in\b(?! 100)", told())
    window.settings.set("units", "inch")
    advised()
    qtbot.waitUntil(lambda: "Make it" in told())
    assert re.search(r"\d in of a pitch of 0\.00335 in", told())
    assert re.findall(r".{30}\d mm.{9}", told()) == []
    assert re.search(r"\d in/s", told()) and "J/in" not in told()
    window.settings.set("units", "mm")
    advised()
    qtbot.waitUntil(lambda: "Make it" in told())
    assert not re.search(r"\d in\b(?! 100)", told())


def test_where_nothing_is_bared_no_inset_is_offered(burn):
    window, page, advised = burn
    card = page.advice_cards["fill"]
    told = [label.text() for label in seen_of(card, QLabel)]
    assert any("Edge inset of" in text for text in told)
    set_fill(window, page, power_pct=5.0)
    advised()
    told = [label.text() for label in seen_of(card, QLabel)]
    assert any("Not reached" in text for text in told) and not any("Edge inset of" in text for text in told)


def test_advice_that_comes_in_leaves_the_recipes_alone(burn):
    """With dozens of fills, as on a coupon, showing every recipe again for each piece of advice took seconds."""
    _, page, _ = burn
    speed = page.recipe_cards["fill"].fields["speed_mm_s"]
    speed.lineEdit().setText("75")  # being typed
    page.advising.changed.emit()
    assert speed.lineEdit().text() == "75"
    page.refresh()
    assert speed.lineEdit().text() == "800.0 mm/s"


def test_a_figure_typed_for_a_job_that_was_changes_nothing_and_the_others_stay_as_they_are(with_plate):
    page, before = with_plate.pages[Stage.BURN], with_plate.session.job
    first = before.layers[0]
    page.change(replace(first, id="gone"), "Power", "power_pct", power_pct=50.0)
    assert with_plate.session.job is before
    shown_before = replace(first, recipe=replace(first.recipe, speed_mm_s=77.0))
    page.change(shown_before, "Power", "power_pct", power_pct=50.0)
    after = with_plate.session.job.layers[0].recipe
    assert (after.power_pct, after.speed_mm_s) == (50.0, first.recipe.speed_mm_s)
