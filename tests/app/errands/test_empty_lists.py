"""Recipes, rack, copies and shop book say what they are for while they hold nothing, and offer the first step."""

import pytest
from PySide6.QtWidgets import QPushButton

from app.dialogs.copies import CopiesDialog
from app.dialogs.piece_form import PieceForm
from app.dialogs.rack import RackDialog
from app.dialogs.recipes import KeepRecipeDialog, RecipesDialog
from app.dialogs.rules import RulesDialog
from app.dialogs.shop_book import ShopBookDialog
from app.session.placing import Placing
from core.sheet.ground import PlacingOptions

pytestmark = pytest.mark.usefixtures("shared_window")


def empty_note(dialog, window, qtbot):
    qtbot.waitUntil(lambda: not window.shop.busy and dialog.body.note.isVisibleTo(dialog))
    note = dialog.body.note
    assert note.accessibleName() and len(note.accessibleDescription()) > 60
    return note


def test_no_recipe_yet_leads_to_keeping_one(with_plate, dialogs, qtbot):
    window = with_plate

    def press_first(dialog):
        assert isinstance(dialog, RecipesDialog)
        empty_note(dialog, window, qtbot).steps[0].click()
        return True

    dialogs.expect("run", press_first)
    dialogs.expect("run", lambda dialog: not isinstance(dialog, KeepRecipeDialog))
    window.menus.actions["recipes"].trigger()


def test_an_empty_window_has_no_recipe_to_keep_and_offers_a_coupon(window, dialogs, qtbot):
    def look(dialog):
        assert [step.text() for step in empty_note(dialog, window, qtbot).steps] == ["&Make a coupon…"]
        return False

    dialogs.expect("run", look)
    window.menus.actions["recipes"].trigger()


def test_an_empty_rack_leads_to_the_first_piece(window, dialogs, qtbot):
    def press_first(dialog):
        assert isinstance(dialog, RackDialog)
        note = empty_note(dialog, window, qtbot)
        dialogs.answers.insert(0, ("run", lambda form: not isinstance(form, PieceForm)))
        note.steps[0].click()
        dialog.off.setChecked(True)  # what was taken off is a list of its own
        qtbot.waitUntil(lambda: not window.shop.busy and not note.isVisibleTo(dialog))
        return True

    dialogs.expect("run", press_first)
    window.menus.actions["rack"].trigger()


def test_a_new_shop_book_leads_to_machines_and_stocks(window, dialogs, qtbot):
    def press_first(dialog):
        assert isinstance(dialog, ShopBookDialog)
        steps = dialog.first_steps
        qtbot.waitUntil(lambda: not window.shop.busy and steps.isVisibleTo(dialog))
        dialog.wanted.setText("quay")  # nothing found is not nothing there
        qtbot.waitUntil(lambda: not window.shop.busy and not steps.isVisibleTo(dialog))
        dialog.wanted.setText("")
        qtbot.waitUntil(lambda: steps.isVisibleTo(dialog))
        steps.findChildren(QPushButton)[0].click()
        return True

    seen = []
    dialogs.expect("run", press_first)
    dialogs.expect("run", lambda dialog: seen.append(dialog.windowTitle()))
    window.menus.actions["shop book"].trigger()
    assert seen == ["Machines and stocks"]


def test_a_book_with_something_of_the_shops_own_is_shown_plainly(with_plate, dialogs, qtbot):
    window = with_plate

    def name_it(dialog):
        dialog.name.setText("usual")
        return True

    dialogs.expect("run", name_it)
    window.menus.actions["keep recipe"].trigger()
    qtbot.waitUntil(lambda: not window.shop.busy)

    def look(dialog):
        qtbot.waitUntil(lambda: not window.shop.busy and dialog.entries.count() > 0)
        assert not dialog.first_steps.isVisibleTo(dialog)
        return True

    dialogs.expect("run", look)
    window.menus.actions["shop book"].trigger()


def test_copies_say_what_they_are_and_name_the_first_step(with_plate, qtbot):
    window = with_plate
    dialog = CopiesDialog(window, Placing(window), window.session.job, PlacingOptions(), inches=False)
    said = dialog.told.text()
    names = [button.text().replace("&", "") for button in dialog.findChildren(QPushButton)]
    assert "Nothing is laid out yet" in said and any(name in said for name in names if name)
    dialog.close()


def test_trials_lead_to_what_plans_one(with_plate, dialogs, qtbot):
    seen = []

    def press_first(dialog):
        empty_note(dialog, with_plate, qtbot).steps[0].click()
        return True

    dialogs.expect("run", press_first)
    dialogs.expect("run", lambda dialog: seen.append(dialog.windowTitle()))
    with_plate.menus.actions["trials"].trigger()
    assert seen == ["It came out wrong"]


def test_run_times_and_rules_say_what_they_come_from(with_plate, dialogs, qtbot):
    dialogs.expect("run", lambda dialog: empty_note(dialog, with_plate, qtbot) is None)
    with_plate.menus.actions["calibrate"].trigger()
    dialog = RulesDialog(with_plate, with_plate.shop)
    empty_note(dialog, with_plate, qtbot)
    dialog.close()


def test_no_piece_of_the_stock_leads_to_the_rack(with_plate, dialogs, qtbot):
    window, seen = with_plate, []

    def press_first(dialog):
        qtbot.waitUntil(lambda: dialog.body.note.isVisibleTo(dialog))
        empty_note(dialog, window, qtbot).steps[0].click()
        return False

    dialogs.expect("run", press_first)
    dialogs.expect("run", lambda dialog: seen.append(dialog.windowTitle()))
    window.sheet_page.take_piece()
    qtbot.waitUntil(lambda: bool(seen))
    assert seen == ["The rack"]
