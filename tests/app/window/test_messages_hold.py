"""Messages belong to the state that they speak of: they go when it is so no more, and not before."""

from dataclasses import replace

import pytest

from app.session.recovery import leftovers
from app.stages.stage import Stage
from core.errors import WriteError
from core.job.job_file import save_job

pytestmark = pytest.mark.usefixtures("shared_window")


def said(window):
    return window.banner.text.text() if window.banner.isVisible() else ""


def change_speed(window):
    job = window.session.job
    layers = tuple(replace(one, recipe=replace(one.recipe, speed_mm_s=333.0)) for one in job.layers)
    window.session.commit(replace(job, layers=layers), "Another speed")


@pytest.fixture
def other(plate, tmp_path):
    path = tmp_path / "other.svg"
    path.write_text(plate.read_text().replace('cx="44"', 'cx="46"'))
    return path


@pytest.fixture
def exported(with_plate, dialogs, tmp_path, settle):
    dialogs.expect("save", tmp_path / "plate-bed.svg")
    with_plate.files.ask_export(".svg")
    settle(with_plate)
    assert "Exported to" in said(with_plate)
    return with_plate


def test_exported_goes_with_the_recipe(exported):
    exported.go_to(Stage.BURN)
    assert "Exported to" in said(exported)
    change_speed(exported)
    assert said(exported) == ""


def test_exported_goes_with_other_artwork(exported, other, settle):
    exported.files.open(other)
    settle(exported)
    assert said(exported) == ""


def test_a_change_while_the_file_was_written_is_told(with_plate, dialogs, tmp_path, settle):
    dialogs.expect("save", tmp_path / "plate-bed.svg")
    with_plate.files.ask_export(".svg")
    change_speed(with_plate)
    settle(with_plate)
    assert said(with_plate).endswith("What was changed meanwhile is not in it.") and with_plate.banner.kind == "note"


def test_a_copy_that_could_not_be_written_is_said_until_one_could(with_plate, qtbot, monkeypatch, settle):
    window = with_plate

    def full(*_, **__):
        raise WriteError("The disk is full.")

    with monkeypatch.context() as broken:
        broken.setattr("core.order.order_file.save_work", full)
        change_speed(window)
        qtbot.waitUntil(lambda: "disk is full" in said(window), timeout=5000)
        settle(window)  # a new plan is none of its business
        assert "disk is full" in said(window)
    window.autosave.write_now()
    qtbot.waitUntil(lambda: said(window) == "")


def test_what_is_brought_back_is_said_until_it_is_saved(own_plate, home, dialogs, tmp_path, settle):
    window = own_plate
    save_job(window.session.job, home / "recovery" / "abandoned.tain")
    dialogs.expect("ask", "back")
    window.leaving.offer_recovery([one for one in leftovers(home / "recovery") if one.file.stem == "abandoned"])
    settle(window)
    change_speed(window)
    assert "is back" in said(window)
    dialogs.expect("save", tmp_path / "kept.tain")
    window.files.save()
    settle(window)
    assert said(window) == ""


def test_a_note_on_a_page_goes_with_the_job(with_plate):
    window = with_plate
    window.go_to(Stage.LAYERS)
    page = window.pages[Stage.LAYERS]
    page.rename(window.session.job.layers[0], "")
    assert page.note.isVisible() and page.note.text() == "A layer needs a name."
    change_speed(window)
    assert not page.note.isVisible() and page.note.text() == ""


def test_a_layer_that_the_plan_does_not_know_yet_is_shown(with_plate, settle):
    window = with_plate
    window.go_to(Stage.BURN)
    job = window.session.job
    extra = replace(job.layers[0], id="layer-new", name="New")
    window.session.commit(replace(job, layers=(*job.layers, extra)), "A layer more")
    assert "layer-new" in window.burn_page.recipe_cards
    settle(window)
    assert "layer-new" not in window.burn_page.recipe_cards
