"""Machines and stocks edited in the window: figures, origins, errors, added, copied, removed, refused."""

from dataclasses import replace

import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QLineEdit

from app.dialogs.profiles import ProfilesDialog
from app.stages.stage import Stage
from app.theme.in_force import apply_theme
from app.theme.theme import DARK, LIGHT, theme
from core.shop_book.store import open_book
from tests.app.window.test_accessibility import nameless
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

MACHINE, STOCK = "CO2 flatbed 100 W", "mirrored acrylic 3 mm"


@pytest.fixture
def edit(window, dialogs, qtbot):
    """Runs the editor from the menu; ``steps(dialog)`` does what the maker does."""

    def run(steps):
        def work(dialog):
            assert isinstance(dialog, ProfilesDialog) and nameless(dialog) == []
            qtbot.waitUntil(lambda: not window.shop.busy and dialog.list.count() > 1)
            steps(dialog)
            qtbot.waitUntil(lambda: not window.shop.busy)
            return True

        dialogs.answers.insert(0, ("run", work))
        window.menus.actions["profiles"].trigger()
        qtbot.waitUntil(lambda: not window.shop.busy)

    return run


def found(kind, name):
    with open_book() as book:
        return book.find(kind, name).value


def keep(window, dialog, qtbot):
    dialog.keep.click()
    qtbot.waitUntil(lambda: not window.shop.busy and not dialog.keep.isEnabled())


def stocks(window, dialog, qtbot, name):
    dialog.kind.setCurrentIndex(1)
    dialog.kind.activated.emit(1)
    qtbot.waitUntil(lambda: not window.shop.busy and dialog.list.count() > 5)
    choose(dialog, name)


def choose(dialog, name):
    dialog.list.setCurrentRow(next(row for row in range(dialog.list.count()) if dialog.list.item(row).text() == name))


def test_a_figure_changes_with_where_it_comes_from_and_how_sure_it_is(window, edit, qtbot):
    def steps(dialog):
        assert dialog.list.currentItem().text() == MACHINE
        row = dialog.form.rows["spot_mm"]
        assert row.origin.kind.currentText() == "starting point" and row.origin.error.text() == "–"
        row.field.setValue(0.142)
        assert row.origin.kind.currentText() == "set by hand" and row.origin.date.text()
        at = row.origin.kind.findText("measured here")
        row.origin.kind.setCurrentIndex(at)
        row.origin.kind.activated.emit(at)
        row.origin.date.setText("2026-05-01")
        row.origin.date.editingFinished.emit()
        row.origin.error.setValue(0.003)
        assert dialog.list.currentItem().text() == f"{MACHINE} (changed)"
        keep(window, dialog, qtbot)

    edit(steps)
    machine = found("machine", MACHINE)
    origin = dict(machine.figure_origins)["spot_mm"]
    assert machine.spot_mm == 0.142
    assert (origin.kind, origin.date, origin.standard_error) == ("measured", "2026-05-01", 0.003)
    assert machine in window.shop.machines


def test_what_makes_no_sense_is_refused_in_a_sentence(window, edit, qtbot, dialogs):
    def steps(dialog):
        form = dialog.form
        spot = form.rows["spot_mm"].field
        spot.lineEdit().setText("wide")
        spot.lineEdit().editingFinished.emit()
        QTest.keyClick(spot, Qt.Key.Key_Return)
        assert "Spot: “wide” can't be used" in dialog.refusal.text() and form.value.spot_mm == 0.137
        form.table.setText("50 = 40, 20 = 10")
        form.table.editingFinished.emit()
        assert "does not rise" in dialog.refusal.text() and form.value.power_table == ()
        form.rows["spot_mm"].origin.date.setText("May")
        form.rows["spot_mm"].origin.date.editingFinished.emit()
        assert "“May” is no date" in dialog.refusal.text()
        stocks(window, dialog, qtbot, STOCK)
        dialog.form.rows["frosting_dose_j_mm2"].field.setValue(0.1)
        dialog.keep.click()
        qtbot.waitUntil(lambda: not window.shop.busy)
        assert "not above its clearing dose" in dialog.refusal.text() and dialog.keep.isEnabled()

    edit(steps)
    assert found("stock", STOCK).frosting_dose_j_mm2 == 0.8


def test_power_table_optics_and_scanning(window, edit, qtbot):
    def steps(dialog):
        form = dialog.form
        form.table.setText("10 = 8.2, 50 = 43")
        form.table.editingFinished.emit()
        form.rows["scans_both_ways"].field.click()
        form.beam.setValue(7.0)
        form.optics.click()
        keep(window, dialog, qtbot)

    edit(steps)
    machine = found("machine", MACHINE)
    origins = dict(machine.figure_origins)
    assert machine.power_table == ((10.0, 8.2), (50.0, 43.0)) and not machine.scans_both_ways
    # 4 M² λ f / (π D) with 1.2, 10.6 µm, 50.8 mm, 7 mm (A. E. Siegman, Lasers, ch. 17)
    assert machine.spot_mm == pytest.approx(0.11753, abs=1e-5)
    assert "from the optics" in origins["spot_mm"].note and origins["power_table"].kind == "set by hand"


def test_a_stocks_recipes_and_cautions(window, edit, qtbot):
    def steps(dialog):
        stocks(window, dialog, qtbot, STOCK)
        form = dialog.form
        form.recipes["fill"].fields["speed_mm_s"].setValue(700)
        form.may_be_cut.click()
        assert not form.cautions["reflection"].isEnabled() and form.cautions["reflection"].isChecked()
        form.cautions["unknown-paint"].click()
        keep(window, dialog, qtbot)
        choose(dialog, "mirrored glass 4 mm")
        assert not dialog.form.may_be_cut.isEnabled()

    edit(steps)
    stock = found("stock", STOCK)
    assert stock.fill.speed_mm_s == 700 and stock.fill.origin.kind == "set by hand" and stock.fill.origin.date
    assert stock.cut is None and stock.caution_codes == ("reflection", "solvent-on-coat", "unknown-paint")


def test_added_copied_renamed_removed(window, edit, qtbot, dialogs):
    def steps(dialog):
        dialog.copy.click()
        assert dialog.form.value.name == f"{MACHINE}, copy"
        dialog.add.click()
        assert dialog.form.value.name == "New machine"
        name = next(edit for edit in dialog.form.findChildren(QLineEdit) if edit.accessibleName() == "Name")
        name.setText("Flatbed by the window")
        name.editingFinished.emit()
        keep(window, dialog, qtbot)
        choose(dialog, "CO2 desktop 40 W")
        dialog.remove.click()
        qtbot.waitUntil(lambda: not window.shop.busy)

    dialogs.expect("ask", "remove")
    edit(steps)
    with open_book() as book:
        names = [entry.name for entry in book.entries("machine")]
    assert names == [MACHINE, f"{MACHINE}, copy", "Flatbed by the window"]
    assert [machine.name for machine in window.shop.machines] == names


def test_a_sheet_that_gives_off_chlorine_is_refused_by_its_kind(window, edit, qtbot):
    def steps(dialog):
        stocks(window, dialog, qtbot, STOCK)
        dialog.copy.click()
        kind = next(edit for edit in dialog.form.findChildren(QLineEdit) if edit.accessibleName() == "Kind")
        kind.setText("vinyl")
        kind.editingFinished.emit()
        keep(window, dialog, qtbot)

    edit(steps)
    assert "hydrogen chloride" in found("stock", f"{STOCK}, copy").refused


def test_another_windows_change_is_told_and_stays_in_the_history(window, edit, qtbot, dialogs):
    def steps(dialog):
        dialog.form.rows["spot_mm"].field.setValue(0.15)
        with open_book() as book:
            entry = book.find("machine", MACHINE)
            book.change(entry.uuid, replace(entry.value, spot_mm=0.16))
        keep(window, dialog, qtbot)

    dialogs.expect("ask", "mine")
    edit(steps)
    assert "changed elsewhere" in dialogs.asked[0]
    with open_book() as book:
        uuid = book.find("machine", MACHINE).uuid
        assert [state.value.spot_mm for state in book.history(uuid)] == [0.15, 0.16, 0.137]


def test_closing_asks_about_changes_and_throws_them_away(window, edit, qtbot, dialogs):
    def steps(dialog):
        dialog.show()
        dialog.form.rows["spot_mm"].field.setValue(0.15)
        dialog.reject()
        assert dialog.isVisible()
        dialog.reject()
        assert not dialog.isVisible()

    dialogs.expect("ask", "cancel")
    dialogs.expect("ask", "drop")
    edit(steps)
    assert found("machine", MACHINE).spot_mm == 0.137


def test_inches(window, edit, qtbot):
    window.settings.set("units", "inch")

    def steps(dialog):
        spot = dialog.form.rows["spot_mm"].field
        assert spot.text() == "0.005394 in"
        spot.lineEdit().setText("0.006")
        QTest.keyClick(spot, Qt.Key.Key_Return)
        keep(window, dialog, qtbot)

    edit(steps)
    assert found("machine", MACHINE).spot_mm == pytest.approx(0.1524)


def test_the_next_job_uses_what_was_edited(window, edit, qtbot, settle, plate):
    def steps(dialog):
        stocks(window, dialog, qtbot, STOCK)
        dialog.form.rows["clearing_dose_j_mm2"].field.setValue(0.22)
        keep(window, dialog, qtbot)

    edit(steps)
    window.files.open(plate)
    settle(window)
    assert window.session.job.stock.clearing_dose_j_mm2 == 0.22
    window.go_to(Stage.SHEET)
    assert part(window.pages[Stage.SHEET], "Stock").currentText() == STOCK


def test_figures_lie_on_the_dialogs_ground_and_keep_it_in_another_theme(qapp, window, edit):
    """The columns begin at the edge of what scrolls: a ground of its own would touch their words."""

    def grounds(dialog):
        picture, form = dialog.grab().toImage(), dialog.form
        at = form.mapTo(dialog, QPoint(2, 2)) * picture.devicePixelRatio()
        return picture.pixelColor(at).name(), picture.pixelColor(2, 2).name()

    def look(dialog):
        dialog.show()
        assert grounds(dialog) == (theme().palette.window,) * 2
        for looks in (DARK, LIGHT):
            apply_theme(qapp, looks.name)
            assert grounds(dialog) == (looks.palette.window,) * 2

    edit(look)
