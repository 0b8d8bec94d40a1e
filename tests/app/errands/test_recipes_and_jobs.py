"""Recipes kept, compared, put on a layer, reverted; jobs noted and run times learned from them, in the window."""

from dataclasses import replace

import pytest

from app.dialogs.job_done import JobDoneDialog
from app.dialogs.recipes import KeepRecipeDialog, RecipesDialog
from app.dialogs.run_time_fit import RunTimeFitDialog
from app.stages.stage import Stage
from core.job.decisions import with_machine, with_recipe
from core.job.prepare import prepare
from core.shop_book.store import open_book
from tests.app.commands.test_dose_commands import PLATE as WIDE_PLATE
from tests.app.window.test_accessibility import nameless
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

MACHINE = "CO2 flatbed 100 W"


@pytest.fixture
def idle(with_plate, qtbot):
    return lambda: qtbot.waitUntil(lambda: not with_plate.shop.busy)


def run(window, dialogs, idle, key, steps):
    dialogs.expect("run", steps)
    window.menus.actions[key].trigger()
    idle()


def fill(window):
    return next(layer for layer in window.session.job.layers if layer.purpose == "fill")


def change_fill(window, settle, **settings):
    layer = fill(window)
    window.session.commit(with_recipe(window.session.job, layer.id, replace(layer.recipe, **settings)), "by hand")
    settle(window)


def keep(window, dialogs, idle, name, photo=""):
    def steps(dialog):
        assert isinstance(dialog, KeepRecipeDialog) and nameless(dialog) == []
        dialog.accept()
        assert dialog.refusal.text() == "Give it a name."
        dialog.name.setText(name)
        dialog.verdict.setText("clean")
        if photo:
            dialog.add.click()
            assert dialog.photo_paths == (photo,)
        return True

    dialogs.expect("run", steps)
    if photo:
        dialogs.expect("open", photo)
    window.menus.actions["keep recipe"].trigger()
    idle()


def test_a_recipe_is_kept_with_verdict_and_photo(with_plate, dialogs, idle):
    keep(with_plate, dialogs, idle, "quay signs", photo="/photos/quay.jpg")
    with open_book() as book:
        note = book.find("recipe", "quay signs").value
        assert note.stock_uuid == book.find("stock", "mirrored acrylic 3").uuid
    assert note.recipe == fill(with_plate).recipe and note.verdict == "clean" and note.photos == ("/photos/quay.jpg",)
    assert "quay signs" in with_plate.banner.text.text()


def test_two_are_compared_and_one_is_put_on_a_layer(with_plate, dialogs, idle, settle, qtbot):
    window = with_plate
    keep(window, dialogs, idle, "usual")
    change_fill(window, settle, speed_mm_s=400.0)
    keep(window, dialogs, idle, "slow")

    def steps(dialog):
        assert isinstance(dialog, RecipesDialog) and nameless(dialog) == []
        qtbot.waitUntil(lambda: dialog.list.count() == 2 and not window.shop.busy)
        assert dialog.list.item(1).text() == "usual (fill)"
        dialog.list.setCurrentRow(1)
        at = dialog.other.findText("Compare with: slow")
        dialog.other.setCurrentIndex(at)
        dialog.other.activated.emit(at)
        assert ["Speed", "800 mm/s", "400 mm/s"] in dialog.table.texts()
        told = dialog.told.text()
        assert "Clean" in told and "Frosts" in told and "50\u00a0%" in told
        dialog.put.click()
        return True

    run(window, dialogs, idle, "recipes", steps)
    settle(window)
    assert fill(window).recipe.speed_mm_s == 800.0 and "usual" in fill(window).recipe.origin.note
    assert window.session.undo_label == "Recipe usual on Fill"
    window.session.undo()
    assert fill(window).recipe.speed_mm_s == 400.0


def test_an_earlier_state_is_compared_and_brought_back(with_plate, dialogs, idle, settle, qtbot):
    window = with_plate
    keep(window, dialogs, idle, "usual")
    change_fill(window, settle, speed_mm_s=500.0)
    keep(window, dialogs, idle, "usual")

    def steps(dialog):
        qtbot.waitUntil(lambda: dialog.list.count() == 1 and dialog.other.count() == 2 and not window.shop.busy)
        assert not dialog.revert.isEnabled()
        dialog.other.setCurrentIndex(1)
        dialog.other.activated.emit(1)
        assert ["Speed", "500 mm/s", "800 mm/s"] in dialog.table.texts() and dialog.revert.isEnabled()
        dialog.revert.click()
        qtbot.waitUntil(lambda: dialog.other.count() == 3 and not window.shop.busy)
        dialogs.answers.insert(0, ("ask", "remove"))
        dialog.remove.click()
        qtbot.waitUntil(lambda: dialog.list.count() == 0 and not window.shop.busy)
        assert dialog.body.note.isVisibleTo(dialog) and not dialog.put.isEnabled()
        return True

    run(window, dialogs, idle, "recipes", steps)
    with open_book() as book:
        gone = book.entries("recipe", removed=True)[0]
        assert [state.value.recipe.speed_mm_s for state in book.history(gone.uuid)] == [800.0, 800.0, 500.0, 800.0]


def note_done(window, dialogs, idle, name, ran):
    def steps(dialog):
        assert isinstance(dialog, JobDoneDialog) and nameless(dialog) == []
        dialog.name.setText(name)
        dialog.time.setText(ran)
        dialog.verdict.setText("clean")
        dialog.accept()
        return dialog.result() == 1

    run(window, dialogs, idle, "job done", steps)


def test_a_job_is_noted_and_what_makes_no_sense_refused(with_plate, dialogs, idle):
    def steps(dialog):
        assert dialog.name.text() == "plate" and "Foreseen" in dialog.lead.text()
        for field, text, told in ((dialog.time, "soon", "no running time"), (dialog.date, "May", "is no date")):
            before = field.text()
            field.setText(text)
            dialog.accept()
            assert told in dialog.refusal.text() and dialog.result() == 0
            field.setText(before)
        dialog.accept()
        return dialog.result() == 1

    run(with_plate, dialogs, idle, "job done", steps)
    with open_book() as book:
        job = book.values("job")[0]
    assert job.actual_s is None and job.timing is None and job.predicted_s == with_plate.session.plan.time_s


def test_run_times_are_learned_and_shown_with_their_spread(with_plate, dialogs, idle, settle, qtbot, tmp_path):
    window = with_plate
    (tmp_path / "wide.svg").write_bytes(WIDE_PLATE)
    window.files.open(tmp_path / "wide.svg")
    settle(window)
    real = replace(window.session.job.machine, scan_acceleration_mm_s2=7_000.0, turn_round_s=0.025)

    def too_few(dialog):
        assert isinstance(dialog, RunTimeFitDialog) and nameless(dialog) == []
        idle()
        assert (
            "No timed jobs so far: acceleration and turn-round take two at least." in dialog.told.text()
            and not dialog.take.isEnabled()
        )
        return False

    run(window, dialogs, idle, "calibrate", too_few)
    for speed in (200.0, 600.0, 1000.0):
        change_fill(window, settle, speed_mm_s=speed)
        time_s = prepare(replace(window.session.job, machine=real)).time_s
        note_done(window, dialogs, idle, f"at {speed:g}", f"{time_s:.2f}")
    window.go_to(Stage.BURN)
    settle(window)
    page = window.burn_page
    assert (
        "±" not in part(page, "Run time of the whole job").text()
        and "3 jobs timed" in part(page, "what is known of the machine").text()
    )

    def learn(dialog):
        qtbot.waitUntil(lambda: dialog.found is not None and not window.shop.busy)
        assert "±" in dialog.told.text() and "95 %" in dialog.told.text()
        assert [row[0] for row in dialog.table.texts()] == ["at 200", "at 600", "at 1000"]
        dialog.take.click()
        idle()
        return bool(dialog.learned)

    run(window, dialogs, idle, "calibrate", learn)
    machine = next(one for one in window.shop.machines if one.name == MACHINE)
    assert machine.turn_round_s == pytest.approx(0.025, rel=0.1)
    assert machine.scan_acceleration_mm_s2 == pytest.approx(7_000.0, rel=0.1)
    assert dict(machine.figure_origins)["turn_round_s"].standard_error > 0
    window.session.commit(with_machine(window.session.job, machine), "machine")
    settle(window)
    assert (
        "±" in part(page, "Run time of the whole job").text()
        and "3 jobs timed here" in part(page, "what is known of the machine").text()
    )
    assert window.session.plan.time_s == pytest.approx(time_s, rel=0.02)
