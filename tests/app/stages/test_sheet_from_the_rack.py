"""The Sheet stage with the rack: a piece taken, the job placed and dragged on it, flaws noted; the real window."""

import threading
from dataclasses import replace

import pytest
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QMouseEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolButton

from app.dialogs.flaw_form import FlawForm
from app.dialogs.piece_choice import PieceChoiceDialog
from app.dialogs.rack import RackDialog
from app.stages.sheet import page as sheet_page
from app.stages.stage import Stage
from app.theme.in_force import apply_theme
from core.job import fitting
from core.job.decisions import with_sheet
from core.sheet.offcuts import Piece, rectangle
from core.sheet.placement import Flaw
from core.shop_book.rack import add_piece, rack_pieces
from core.shop_book.store import open_book
from tests.app.window.test_accessibility import nameless
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

LEFT, NO_KEY = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
CTRL = Qt.KeyboardModifier.ControlModifier
STOCK = "mirrored acrylic 3 mm"
ODD = (((0.0, 0.0), (140.0, 0.0), (140.0, 60.0), (100.0, 100.0), (0.0, 100.0)),)
SCRATCH = Flaw(kind="line", points=((5.0, 20.0), (60.0, 25.0)), note="from the saw")


def put_on_rack(name, outline, **more):
    with open_book() as book:
        return add_piece(book, name, Piece(stock=STOCK, thickness_mm=3.0, outline=outline, **more)).uuid


@pytest.fixture
def ready(with_plate, qtbot):
    """The window on the Sheet stage, and a wait until all of it is worked out."""
    window = with_plate
    window.go_to(Stage.SHEET)

    def wait():
        page = window.sheet_page
        qtbot.waitUntil(
            lambda: (
                not window.session.busy
                and not window.shop.busy
                and not page.placing.busy
                and not page.hinting.busy
                and window.sheet_work.ready
                and window.faces.pictures.settled
            ),
            timeout=60_000,
        )

    wait()
    window.wait_all = wait
    return window


def take(window, dialogs, qtbot, name):
    def steps(dialog):
        assert isinstance(dialog, PieceChoiceDialog) and nameless(dialog) == []
        qtbot.waitUntil(lambda: bool(dialog.served) and not window.sheet_page.placing.busy, timeout=60_000)
        names = [one.choice.name for one in dialog.served]
        dialog.list.setCurrentRow(names.index(name))
        assert dialog.put.isEnabled() and dialog.picture.accessibleDescription()
        return True

    dialogs.expect("run", steps)
    window.sheet_page.take_piece()
    window.wait_all()


def codes(window):
    return [finding.code for finding in window.session.plan.findings]


def test_a_piece_is_taken_and_the_job_lies_where_no_flaw_shows(ready, dialogs, qtbot):
    window = ready
    before = window.session.job
    piece_id = put_on_rack("R1", ODD, flaws=(SCRATCH,), price=8.0, where="shelf 2")
    put_on_rack("full", rectangle(600.0, 300.0), full=True, price=40.0)
    take(window, dialogs, qtbot, "R1")
    job, page = window.session.job, window.sheet_page
    assert job.piece_id == piece_id and job.sheet.outline == ODD and job.sheet.flaws == (SCRATCH,)
    assert codes(window) == []
    assert "“R1”" in page.piece_card.about.text() and "shelf 2" in page.piece_card.about.text()
    assert window.session.undo_label == "Onto “R1” of the rack"
    assert window.sheet_work.laid.fits and not window.sheet_work.laid.shown
    assert page.place_card.state.text() == "Fits, no flaw shows."
    # the size is the piece's own
    assert not any(field.isEnabled() for field in page.piece_card.fields.values())
    assert not page.piece_card.fit.isVisible() and page.piece_card.plain.isVisible()
    window.session.undo()
    window.wait_all()
    assert window.session.job == before and page.piece_card.width_field.isEnabled()


def test_a_plain_sheet_instead_forgets_piece_outline_and_flaws(ready, dialogs, qtbot):
    put_on_rack("R1", ODD, flaws=(SCRATCH,))
    take(ready, dialogs, qtbot, "R1")
    ready.sheet_page.piece_card.plain.click()
    ready.wait_all()
    sheet = ready.session.job.sheet
    assert (ready.session.job.piece_id, sheet.outline, sheet.flaws) == ("", (), ())
    assert (sheet.width_mm, sheet.height_mm) == (140.0, 100.0)


def test_another_stock_is_no_longer_the_piece(ready, dialogs, qtbot):
    put_on_rack("R1", ODD)
    take(ready, dialogs, qtbot, "R1")
    page = ready.sheet_page
    other = next(stock for stock in ready.shop.stocks if stock.name == "back-painted acrylic 3 mm")
    part(page, "Stock").chosen.emit(other)
    ready.wait_all()
    assert ready.session.job.piece_id == "" and ready.session.job.sheet.outline == ODD


def test_nothing_fits_says_by_how_much_and_leads_to_the_rack(ready, dialogs, qtbot):
    told = []

    def empty(dialog):
        qtbot.waitUntil(lambda: not dialog.search.bar.isVisibleTo(dialog) and not ready.sheet_page.placing.busy)
        qtbot.waitUntil(lambda: dialog.body.note.isVisibleTo(dialog))
        assert "on the rack yet" in dialog.body.note.accessibleName()
        return False

    dialogs.expect("run", empty)
    ready.sheet_page.take_piece()
    put_on_rack("small", rectangle(70.0, 37.0))

    def too_small(dialog):
        qtbot.waitUntil(lambda: bool(dialog.served) and not ready.sheet_page.placing.busy, timeout=60_000)
        told.append(dialog.told.text())
        assert not dialog.put.isEnabled()
        dialog.rack.click()
        assert dialog.rack_wanted
        return False

    dialogs.expect("run", too_small)
    dialogs.expect("run", lambda dialog: isinstance(dialog, RackDialog))
    ready.sheet_page.take_piece()
    ready.wait_all()
    assert told == ["Nothing fits: “small” is nearest and would have to be 2.58 mm larger all round."]


def test_pieces_are_listed_as_they_are_tried_and_the_one_chosen_stays_so(ready, dialogs, qtbot):
    for number in range(4):
        put_on_rack(f"R{number}", rectangle(300.0, 200.0 - number), price=4.0 + number, flaws=(SCRATCH,))
    said = []

    def steps(dialog):
        qtbot.waitUntil(lambda: dialog.list.count() == 2, timeout=60_000)
        said.append(dialog.told.text())
        dialog.list.setCurrentRow(1)
        chosen = dialog.chosen.choice.piece_id
        qtbot.waitUntil(lambda: not ready.sheet_page.placing.busy, timeout=60_000)
        assert dialog.list.count() == 4 and dialog.chosen.choice.piece_id == chosen
        ranks = [one.choice.rank for one in dialog.served]
        assert ranks == sorted(ranks)
        return False

    dialogs.expect("run", steps)
    ready.sheet_page.take_piece()
    assert said == ["Trying the pieces… 2 pieces so far."]


def test_trying_the_pieces_can_be_stopped(ready, dialogs, qtbot):
    for number in range(6):
        put_on_rack(f"R{number}", rectangle(500.0 + number, 400.0), flaws=(SCRATCH,) * 8)

    def steps(dialog):
        qtbot.waitUntil(lambda: ready.sheet_page.placing.busy)
        dialog.search.stop.click()
        assert not ready.sheet_page.placing.busy and "Stopped" in dialog.told.text()
        return False

    dialogs.expect("run", steps)
    ready.sheet_page.take_piece()
    ready.wait_all()
    assert ready.session.job.piece_id == ""


def test_a_best_place_is_not_put_on_artwork_that_was_opened_meanwhile(ready, plate, tmp_path, monkeypatch, qtbot):
    window, gate = ready, threading.Event()

    def slow(*args, **options):
        gate.wait(20)
        return fitting.place_job(*args, **options)

    monkeypatch.setattr(sheet_page, "place_job", slow)
    window.sheet_page.find_best()
    qtbot.waitUntil(lambda: window.sheet_page.placing.busy)
    other = tmp_path / "other.svg"
    other.write_text(plate.read_text("utf-8").replace('cx="44"', 'cx="42"'), "utf-8")
    window.files.open(other)
    qtbot.waitUntil(lambda: window.session.job.source.name == "other.svg" and window.session.complete)
    opened = window.session.job
    gate.set()
    window.wait_all()
    assert window.session.job is opened and window.session.undo_label is None
    assert not window.sheet_page.note.text()


def test_a_best_place_for_a_sheet_that_was_is_not_taken(ready, monkeypatch, qtbot):
    window, gate = ready, threading.Event()

    def slow(*args, **options):
        gate.wait(20)
        return fitting.place_job(*args, **options)

    monkeypatch.setattr(sheet_page, "place_job", slow)
    window.sheet_page.find_best()
    qtbot.waitUntil(lambda: window.sheet_page.placing.busy)
    window.session.commit(with_sheet(window.session.job, replace(window.session.job.sheet, width_mm=90.0)), "Sheet")
    changed = window.session.job
    gate.set()
    window.wait_all()
    assert window.session.job is changed and "Look again" in window.sheet_page.note.text()


def test_pieces_kept_for_other_artwork_are_not_offered_once_it_is_opened(ready, plate, tmp_path, settle, qtbot):
    put_on_rack("Kept", rectangle(200.0, 120.0), reserved_for="plate")
    put_on_rack("Free", rectangle(210.0, 120.0))
    ready.shop.wrote.emit()
    ready.wait_all()
    assert offered(ready) == {"Kept", "Free"}
    other = tmp_path / "other.svg"
    other.write_bytes(plate.read_bytes())
    ready.files.open(other)
    settle(ready)
    ready.wait_all()
    assert ready.session.job.source.name == "other.svg" and offered(ready) == {"Free"}


def offered(window):
    tiles = window.sheet_page.findChildren(QToolButton)
    return {name for name in ("Kept", "Free") if any(name in one.text() for one in tiles)}


def test_best_place_is_one_click_and_one_undo(ready):
    window = ready
    flaws = (SCRATCH, Flaw(kind="patch", points=((150.0, 90.0), (170.0, 90.0), (160.0, 115.0)), surface="clear face"))
    window.session.commit(replace(window.session.job, sheet=replace(window.session.job.sheet, flaws=flaws)), "flaws")
    window.wait_all()
    assert "flaw-shows" in codes(window) and window.sheet_work.laid.shown
    before = window.session.job
    window.sheet_page.place_card.best.click()
    window.wait_all()
    assert codes(window) == [] and window.session.undo_label == "To the best place"
    window.session.undo()
    assert window.session.job == before


def move(view, where, modifiers=NO_KEY):
    event = QMouseEvent(
        QEvent.Type.MouseMove,
        QPointF(where),
        QPointF(view.mapToGlobal(where)),
        Qt.MouseButton.NoButton,
        LEFT,
        modifiers,
    )
    QApplication.sendEvent(view, event)


def test_dragging_tells_at_every_step_what_the_place_comes_to(ready):
    window, view = ready, ready.faces
    sheet = replace(
        window.session.job.sheet, flaws=(Flaw(kind="line", points=((20.0, 10.0), (20.0, 190.0)), width_mm=2.0),)
    )
    window.session.commit(replace(window.session.job, sheet=sheet), "flaw")
    window.wait_all()
    said = []
    window.sheet_work.laid_changed.connect(lambda: said.append(window.sheet_page.place_card.state.text()))
    face = view.state.faces[0]
    x0, y0, x1, y1 = view.state.burned_bounds_mm
    start = face.to_px((x0 + x1) / 2, (y0 + y1) / 2).toPoint()
    QTest.mousePress(view, LEFT, NO_KEY, start)
    for left_mm in (100.0, 5.0, -20.0):
        move(view, (start + QPointF((left_mm - x0) * face.view.px_per_mm, 0.0).toPoint()))
    assert said[0] == "Fits, no flaw shows."
    assert said[1].startswith("Fits, but flaw 1 (line in the coat) would show: ")
    assert said[2] == "Reaches 20.0 mm over the edge."  # whole millimetres caught it
    QTest.keyClick(view, Qt.Key.Key_Escape)
    QTest.mouseRelease(view, LEFT, NO_KEY, start)
    window.wait_all()
    assert said[-1] == "Fits, no flaw shows." and window.session.undo_label == "flaw"


def test_ctrl_with_an_arrow_moves_and_tells(ready):
    window = ready
    window.faces.setFocus()
    left = window.sheet_page.place_card.left.value()
    QTest.keyClick(window.faces, Qt.Key.Key_Right, CTRL)
    window.wait_all()
    assert window.sheet_page.place_card.left.value() == pytest.approx(left + 1.0)


def test_quarter_turns_have_buttons(ready):
    button = part(ready.sheet_page.place_card, "Rotate to 90 degrees")
    button.click()
    ready.wait_all()
    assert ready.session.job.placement.rotation_deg == 90.0 and button.isChecked()


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_flaws_are_noted_by_clicks_on_either_face(ready, turn):
    window, view, card = ready, ready.faces, ready.sheet_page.flaws_card
    window.session.commit(replace(window.session.job, turn=turn), turn)
    window.wait_all()
    card.kinds["line"].click()
    assert window.sheet_work.noting == "line"
    bed = view.state.faces[1]
    for place in ((40.0, 30.0), (60.0, 32.0), (70.0, 50.0)):
        QTest.mouseClick(view, LEFT, NO_KEY, bed.to_px(*place).toPoint())
    QTest.keyClick(view, Qt.Key.Key_Backspace)
    QTest.keyClick(view, Qt.Key.Key_Return)
    window.wait_all()
    (flaw,) = window.session.job.sheet.flaws
    assert (flaw.kind, flaw.noted_from, flaw.surface, flaw.turn, len(flaw.points)) == ("line", "back", "coat", turn, 2)
    reach = 1 / bed.view.px_per_mm
    assert flaw.points[0] == pytest.approx((260.0, 30.0) if turn == "sideways" else (40.0, 170.0), abs=reach)
    card.kinds["point"].click()
    QTest.mouseClick(view, LEFT, NO_KEY, view.state.faces[0].to_px(100.0, 90.0).toPoint())
    window.wait_all()
    point = window.session.job.sheet.flaws[1]
    assert (point.kind, point.noted_from, point.surface) == ("point", "front", "clear face")
    QTest.keyClick(view, Qt.Key.Key_Escape)
    assert window.sheet_work.noting is None and not card.kinds["point"].isChecked()
    assert [card.list.item(row).text() for row in range(2)] == ["1: line in the coat", "2: point on the clear face"]
    window.session.undo()
    window.wait_all()
    assert len(window.session.job.sheet.flaws) == 1


def test_flaws_are_noted_edited_and_taken_off_by_numbers(ready, dialogs):
    window, card = ready, ready.sheet_page.flaws_card

    def note(dialog):
        assert isinstance(dialog, FlawForm) and nameless(dialog) == []
        dialog.places.setText("10")
        dialog.accept()
        assert "no place" in dialog.refusal.text()
        dialog.kind.setCurrentIndex(2)
        dialog.places.setText("10,10 30,10 20,30")
        dialog.accept()
        return True

    dialogs.expect("run", note)
    card.by_numbers.click()
    window.wait_all()
    assert window.session.job.sheet.flaws[0].points == ((10.0, 10.0), (30.0, 10.0), (20.0, 30.0))

    def change(dialog):
        assert dialog.places.text() == "10,10 30,10 20,30"
        dialog.note.setText("cloudy")
        dialog.accept()
        return True

    dialogs.expect("run", change)
    card.edit.click()
    window.wait_all()
    assert card.list.item(0).text() == "1: patch in the coat, cloudy"
    card.take_off.click()
    window.wait_all()
    assert window.session.job.sheet.flaws == () and window.session.undo_label == "Take flaw 1 off"
    assert card.none.isVisibleTo(card)


def test_flaws_noted_on_the_job_are_kept_with_the_piece_if_asked(ready, dialogs, qtbot):
    piece_id = put_on_rack("R1", ODD)
    take(ready, dialogs, qtbot, "R1")
    card = ready.sheet_page.flaws_card
    assert not card.keep.isVisibleTo(card)
    flaws = (SCRATCH,)
    ready.session.commit(replace(ready.session.job, sheet=replace(ready.session.job.sheet, flaws=flaws)), "note")
    ready.wait_all()
    assert card.keep.isVisibleTo(card)
    card.keep.click()
    ready.wait_all()
    qtbot.waitUntil(lambda: not card.keep.isVisibleTo(card))
    with open_book() as book:
        assert {one[0]: one[2] for one in rack_pieces(book)}[piece_id].flaws == flaws
    assert "“R1”" in ready.banner.text.text()


def test_a_flaw_clicked_on_a_face_is_chosen_in_the_list(ready):
    window = ready
    sheet = replace(window.session.job.sheet, flaws=(SCRATCH, replace(SCRATCH, points=((20.0, 150.0), (50.0, 150.0)))))
    window.session.commit(replace(window.session.job, sheet=sheet), "flaws")
    window.wait_all()
    QTest.mouseClick(window.faces, LEFT, NO_KEY, window.faces.state.faces[1].to_px(35.0, 150.0).toPoint())
    assert window.sheet_page.flaws_card.list.currentRow() == 1


def test_pieces_that_could_serve_are_tiles_with_their_pictures(with_plate, dialogs, qtbot, settle):
    """Each shows its own outline and flaws; a press tries the job on that piece."""
    window = with_plate
    put_on_rack("R1", ODD, flaws=(SCRATCH,))
    put_on_rack("R2", rectangle(140.0, 100.0))
    put_on_rack("chip", rectangle(20.0, 10.0))
    window.go_to(Stage.SHEET)
    settle(window)
    tiles = [one for one in window.sheet_page.findChildren(QToolButton) if one.property("role") == "tile"]
    qtbot.waitUntil(lambda: any(one.isVisible() for one in tiles))
    shown = {one.text().split("\n")[0]: one for one in tiles if one.isVisible()}
    assert set(shown) == {"R1", "R2"}, "a piece too small for the job is no offer"
    assert shown["R1"].accessibleName() == "Onto R1 of the rack, 140.0 × 100.0 mm, 1 flaw"
    drawn = {name: one.icon().pixmap(one.iconSize()).toImage() for name, one in shown.items()}
    assert drawn["R1"] != drawn["R2"]
    for image in drawn.values():
        assert len({image.pixel(x, y) for x in range(image.width()) for y in range(image.height())}) > 2
    corner = drawn["R2"]
    cut_off = sum(
        drawn["R1"].pixelColor(x, y).alpha() == 0 and corner.pixelColor(x, y).alpha() > 0
        for x in range(corner.width())
        for y in range(corner.height())
    )
    assert cut_off > 10, "the corner that is missing is missing in the picture"
    tried = []

    def look(dialog):
        qtbot.waitUntil(lambda: bool(dialog.served) and not window.sheet_page.placing.busy, timeout=60_000)
        tried.append(dialog.served[dialog.list.currentRow()].choice.name)
        return False

    dialogs.expect("run", look)
    shown["R2"].click()
    assert tried == ["R2"]


def test_tiles_of_pieces_follow_the_theme(with_plate, qtbot, qapp):
    window = with_plate
    put_on_rack("R2", rectangle(140.0, 100.0))
    window.go_to(Stage.SHEET)
    tiles = [one for one in window.sheet_page.findChildren(QToolButton) if one.property("role") == "tile"]
    qtbot.waitUntil(lambda: any(one.isVisible() for one in tiles))
    tile = next(one for one in tiles if one.isVisible())

    def drawn():
        return tile.icon().pixmap(tile.iconSize()).toImage()

    try:
        light = drawn()
        apply_theme(qapp, "dark")
        assert drawn() != light
        apply_theme(qapp, "light")
        assert drawn() == light
    finally:
        apply_theme(qapp, "light")
