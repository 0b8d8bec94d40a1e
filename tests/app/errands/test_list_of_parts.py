"""Many parts from a list in the real window: read, matched, looked at, laid out, written, opened again."""

import json

import pytest
from PySide6.QtGui import QGuiApplication

from app.dialogs.list_of_parts.dialog import ListDialog
from app.stages.stage import Stage
from core.order.order_file import load_work
from tests.app.window.test_accessibility import nameless
from tests.core.order.designs import PLATE

pytestmark = pytest.mark.usefixtures("shared_window")


@pytest.fixture
def ready(window, settle, tmp_path):
    path = tmp_path / "plate.svg"
    path.write_text(PLATE)
    window.files.open(path)
    settle(window)
    window.go_to(Stage.SHEET)
    return window


@pytest.fixture
def names(tmp_path):
    path = tmp_path / "club.csv"
    path.write_text("Name;Role;Number\nAnna Bérg;Cook;2\nMaximiliane-Charlotte Tannenberg;Pilot;1\nBo;Clerk;1\n")
    return path


def idle(qtbot, window):
    qtbot.waitUntil(lambda: not window.sheet_page.placing.busy, timeout=60_000)


def open_list(window, dialogs, settle, steps):
    dialogs.expect("run", steps)
    window.sheet_page.list_of_parts.click()
    settle(window)


def choose(field, text):
    field.setCurrentIndex(field.findText(text))
    assert field.currentText() == text
    field.activated.emit(field.currentIndex())


def test_from_a_list_to_files(ready, dialogs, settle, qtbot, names, tmp_path):
    window = ready

    def proof(dialog):
        idle(qtbot, window)
        dialogs.expect("save", tmp_path / "proof.pdf")
        dialog.save()
        idle(qtbot, window)
        return False

    def offer(dialog):
        idle(qtbot, window)
        assert "no price" in dialog.told.text()
        return False

    def steps(dialog):
        assert isinstance(dialog, ListDialog) and nameless(dialog) == []
        idle(qtbot, window)
        assert not dialog.lay.isEnabled() and not dialog.write.isEnabled()
        dialogs.expect("open", names)
        dialog.list.read.click()
        idle(qtbot, window)
        assert "separated by semicolons" in dialog.list.form.text() and "3 rows" in dialog.list.form.text()
        assert [field.currentText() for field in dialog.fields.rows.sources] == ["column Name", "column Role"]
        assert dialog.told.text().startswith("3 parts")
        choose(dialog.fields.count, "as column Number says")
        idle(qtbot, window)
        assert dialog.told.text().startswith("4 parts")
        assert "Anna Bérg, Cook" in dialog.preview.where.text() and not dialog.preview.back.isEnabled()
        assert dialog.preview.picture.accessibleDescription() == "Anna Bérg, Cook"
        dialog.preview.go(2)
        assert "takes" in dialog.preview.told.text()
        choose(dialog.fields.rows.fits[0], "goes in two lines")
        idle(qtbot, window)
        assert "two lines" in dialog.preview.told.text()
        dialog.preview.on.click()
        assert dialog.preview.where.text().startswith("4 of 4, row 4: Bo, Clerk")
        dialog.preview.made.click()
        idle(qtbot, window)
        assert dialog.order.rows_off == (4,) and dialog.told.text().startswith("3 parts")
        assert dialog.list.rows_off.isVisibleTo(dialog)
        dialog.list.rows_off.click()
        idle(qtbot, window)
        assert dialog.order.rows_off == ()
        dialog.lay.click()
        idle(qtbot, window)
        assert dialog.told.text().startswith("4 parts on 1 sheet"), dialog.told.text()
        dialogs.expect("save", tmp_path / "out")
        dialog.write.click()
        idle(qtbot, window)
        assert dialog.told.text() == "Wrote 8 files to out.", dialog.told.text()
        dialogs.expect("run", proof)
        dialog.proof.click()
        dialogs.expect("run", offer)
        dialog.offer.click()
        return True

    open_list(window, dialogs, settle, steps)
    dialogs.expect("save", tmp_path / "club-order")
    window.menus.actions["save"].trigger()
    settle(window)
    data = json.loads((tmp_path / "out" / "pieces.json").read_text())
    assert data["parts"] == 4 and len(data["sheets"]) == 1
    assert (tmp_path / "proof.pdf").read_bytes().startswith(b"%PDF")
    order = load_work(tmp_path / "club-order.tain")
    assert order.names.path == str(names) and order.fields[0].fit == "two lines" and order.sheets

    def again(dialog):
        idle(qtbot, window)
        assert dialog.order.fields == order.fields and dialog.order.names == order.names
        names.write_text("Name;Role;Number\nKim;Cook;1\n")
        dialog.list.again.click()
        idle(qtbot, window)
        assert dialog.told.text().startswith("1 part.")
        return False

    open_list(window, dialogs, settle, again)
    dialogs.expect("ask", "discard")
    window.files.open(tmp_path / "club-order.tain")
    dialogs.expect("run", lambda dialog: True)
    settle(window)
    qtbot.waitUntil(lambda: not dialogs.answers, timeout=10_000)
    assert window.session.order == order and not window.session.modified


def test_pasted_cells_and_numbers(ready, dialogs, settle, qtbot):
    window = ready

    def steps(dialog):
        idle(qtbot, window)
        QGuiApplication.clipboard().setText("Name\tPost\nAda\t<b>x</b>\nBo\tCook\n")
        dialog.list.paste.click()
        idle(qtbot, window)
        assert "no column" in dialog.rows.told.text()
        choose(dialog.fields.rows.sources[1], "numbers that run")
        idle(qtbot, window)
        assert "2 of 2" not in dialog.preview.where.text() and "Ada, 1" in dialog.preview.where.text()
        dialog.fields.rows.numbers[1].setText("A to")
        dialog.fields.rows.numbers[1].editingFinished.emit()
        assert "no running numbers" in dialog.told.text()
        dialog.fields.rows.numbers[1].setText("A to F")
        dialog.fields.rows.numbers[1].editingFinished.emit()
        idle(qtbot, window)
        assert "Ada, A" in dialog.preview.where.text()
        return False

    open_list(window, dialogs, settle, steps)


def test_a_text_is_picked(window, dialogs, settle, qtbot, names, tmp_path):
    path = tmp_path / "plate.svg"
    path.write_text(PLATE.replace("{name}", "Anna Berg").replace("{role}", "Cook"))
    window.files.open(path)
    settle(window)
    window.go_to(Stage.SHEET)

    def steps(dialog):
        idle(qtbot, window)
        assert nameless(dialog) == [] and not dialog.list.read.isEnabled()
        choose(dialog.fields.text, "Anna Berg")
        dialog.fields.name.setText("name")
        dialog.fields.pick.click()
        idle(qtbot, window)
        assert [one.name for one in dialog.order.fields] == ["name"]
        assert dialog.fields.text.findText("Anna Berg") == -1 and dialog.fields.text.findText("Cook") == 0
        dialogs.expect("open", names)
        dialog.list.read.click()
        idle(qtbot, window)
        assert dialog.preview.where.text().startswith("1 of 3, row 2: Anna Bérg.")
        return False

    open_list(window, dialogs, settle, steps)


def test_a_design_without_fields_says_so(with_plate, dialogs, settle, qtbot):
    with_plate.go_to(Stage.SHEET)

    def steps(dialog):
        qtbot.waitUntil(lambda: not with_plate.sheet_page.placing.busy)
        assert "holds no field" in dialog.told.text()
        assert not dialog.list.read.isEnabled() and not dialog.lay.isEnabled()
        return False

    open_list(with_plate, dialogs, settle, steps)
