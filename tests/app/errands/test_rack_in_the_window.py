"""The rack's own dialog, and jobs that are done: pieces become what is left of them, and come back in one step."""

from dataclasses import replace

import pytest
import shapely
from lxml import etree

from app.dialogs.flaw_form import FlawForm
from app.dialogs.job_done import JobDoneDialog
from app.dialogs.piece_form import PieceForm
from app.dialogs.rack import RackDialog
from app.dialogs.shop_book import ShopBookDialog
from core.artwork.drawing import ArtworkSource
from core.job.burned import cut_away
from core.job.fitting import place_job, with_piece, with_place
from core.sheet.batches import Batch
from core.sheet.ground import PlacingOptions
from core.sheet.offcuts import Piece, piece_region, rectangle
from core.sheet.placement import Flaw
from core.shop_book.rack import add_piece, put_back, rack_pieces
from core.shop_book.store import open_book
from tests.app.window.test_accessibility import mnemonics, nameless

pytestmark = pytest.mark.usefixtures("shared_window")

STOCK = "mirrored acrylic 3 mm"
PIECE = Piece(stock=STOCK, thickness_mm=3.0, outline=rectangle(200.0, 120.0), price=8.0, where="shelf 2")
NAME_PLATE = ArtworkSource(
    name="name-plate.svg",
    data=b'<svg xmlns="http://www.w3.org/2000/svg" width="20mm" height="20mm" viewBox="0 0 20 20">'
    b'<path d="M2 2h9v9h-9z"/></svg>',
)
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="70mm" viewBox="0 0 90 70">'
    '<path d="M5 5h80v60h-40l-40-20z" fill="none" stroke="#000" stroke-width=".1"/>'
    '<circle cx="30" cy="25" r="10" fill="none" stroke="#000" stroke-width=".1"/></svg>'
)


@pytest.fixture
def idle(with_plate, qtbot):
    return lambda: qtbot.waitUntil(lambda: not with_plate.shop.busy)


def on_rack():
    with open_book() as book:
        return {name: piece for _, name, piece in rack_pieces(book)}


def show(window, dialogs, idle, steps):
    def ready(dialog):
        assert isinstance(dialog, RackDialog)
        idle()
        return steps(dialog)

    dialogs.expect("run", ready)
    window.menus.actions["rack"].trigger()
    idle()


def test_the_empty_rack_says_what_it_is_for(with_plate, dialogs, idle):
    def steps(dialog):
        assert nameless(dialog) == []
        assert "The rack is empty" in dialog.about.text()
        assert not dialog.edit.isEnabled() and not dialog.remove.isEnabled()
        return True

    show(with_plate, dialogs, idle, steps)


def test_a_piece_by_numbers_with_film_price_place_and_flaw(with_plate, dialogs, idle):
    def flaw(dialog):
        assert isinstance(dialog, FlawForm)
        dialog.places.setText("40,12 52,30")
        dialog.kind.setCurrentIndex(1)
        dialog.accept()
        return True

    def form(dialog):
        assert isinstance(dialog, PieceForm) and nameless(dialog) == []
        dialog.accept()
        assert "name" in dialog.refusal.text()
        dialog.label.setText("R12")
        dialog.width_field.setValue(430.0)
        dialog.height_field.setValue(250.0)
        dialog.film_back.setCurrentIndex(2)
        dialog.price.setValue(12.5)
        dialog.where.setText("shelf 2")
        dialogs.answers.insert(0, ("run", flaw))
        dialog.add_flaw.click()
        dialog.accept()
        return True

    def steps(dialog):
        dialogs.answers.insert(0, ("run", form))
        dialog.new.click()
        idle()
        assert dialog.list.count() == 1
        assert dialog.list.item(0).text().splitlines() == [
            "R12, 430.0 × 250.0 mm",
            "mirrored acrylic 3 mm",
            "1 flaw, worth 12.50, shelf 2",
        ]
        assert "Film: front unknown, back paper." in dialog.about.text()
        assert "Flaw 1: line in the coat." in dialog.about.text()
        return True

    show(with_plate, dialogs, idle, steps)
    piece = on_rack()["R12"]
    assert piece.full and piece.outline == rectangle(430.0, 250.0) and piece.film_back == "paper"
    assert piece.flaws == (Flaw(kind="line", points=((40.0, 12.0), (52.0, 30.0))),)


def test_an_outline_from_a_drawing_or_by_corners(with_plate, dialogs, idle, tmp_path):
    drawing = tmp_path / "offcut.svg"
    drawing.write_text(DRAWING)

    def form(dialog):
        dialog.label.setText("odd")
        dialogs.answers.insert(0, ("open", tmp_path / "none.svg"))
        dialog.from_drawing.click()
        assert dialog.refusal.isVisibleTo(dialog) and dialog.refusal.text()
        dialogs.answers.insert(0, ("open", drawing))
        dialog.from_drawing.click()
        assert not dialog.refusal.isVisibleTo(dialog) and not dialog.width_field.isEnabled()
        assert dialog.width_field.value() == pytest.approx(80.0) and not dialog.full.isChecked()
        dialog.accept()
        return True

    def corners(dialog):
        assert dialog.corners.text()
        dialog.corners.setText("0,0 10,10 10,0 0,10")
        dialog.corners.editingFinished.emit()
        assert "crosses itself" in dialog.refusal.text()
        dialog.corners.setText("0,0 120,0 90,80 0,80")
        dialog.corners.editingFinished.emit()
        assert not dialog.refusal.isVisibleTo(dialog)
        dialog.accept()
        return True

    def steps(dialog):
        dialogs.answers.insert(0, ("run", form))
        dialog.new.click()
        idle()
        assert len(piece_region(on_rack()["odd"]).interiors) == 1
        dialogs.answers.insert(0, ("run", corners))
        dialog.edit.click()
        idle()
        return True

    show(with_plate, dialogs, idle, steps)
    outer, *holes = on_rack()["odd"].outline
    assert outer == ((0.0, 0.0), (120.0, 0.0), (90.0, 80.0), (0.0, 80.0)) and len(holes) == 1


def test_a_name_that_is_taken_is_told_and_nothing_is_changed(with_plate, dialogs, idle):
    with open_book() as book:
        add_piece(book, "R1", PIECE)
        add_piece(book, "R2", PIECE)

    def form(dialog):
        dialog.label.setText("r1")
        dialog.accept()
        return True

    def steps(dialog):
        dialog.list.setCurrentRow(1)
        dialogs.answers.insert(0, ("run", form))
        dialog.edit.click()
        idle()
        assert "“r1” on the rack already" in dialog.refusal.text()
        return True

    show(with_plate, dialogs, idle, steps)
    assert set(on_rack()) == {"R1", "R2"}


def test_a_piece_is_taken_off_and_brought_back(with_plate, dialogs, idle):
    with open_book() as book:
        add_piece(book, "R1", PIECE)

    def steps(dialog):
        dialog.remove.click()
        idle()
        assert dialog.list.count() == 0 and on_rack() == {}
        dialog.off.setChecked(True)
        idle()
        assert dialog.list.count() == 1 and not dialog.edit.isEnabled()
        dialog.bring_back.click()
        idle()
        assert dialog.list.count() == 0 and set(on_rack()) == {"R1"}
        return True

    show(with_plate, dialogs, idle, steps)


def test_stocks_are_shown_apart(with_plate, dialogs, idle):
    with open_book() as book:
        add_piece(book, "R1", PIECE)
        add_piece(book, "P5", replace(PIECE, stock="mirrored acrylic 5 mm", thickness_mm=5.0))

    def steps(dialog):
        at = dialog.stock.findText("mirrored acrylic 5 mm")
        dialog.stock.setCurrentIndex(at)
        dialog.stock.activated.emit(at)
        assert [dialog.list.item(row).text().split(",")[0] for row in range(dialog.list.count())] == ["P5"]
        return True

    show(with_plate, dialogs, idle, steps)


def test_letters_of_the_dialogs_do_not_clash(with_plate, dialogs, idle):
    from PySide6.QtWidgets import QAbstractButton, QLabel, QWidget

    def letters(dialog):
        dialog.show()
        seen = [one for one in dialog.findChildren(QWidget) if one.isVisible()]
        seen = [one for one in seen if isinstance(one, (QAbstractButton, QLabel))]
        found = sorted(mnemonics([one.text() for one in seen]))
        dialog.hide()
        assert len(found) == len(set(found)), found

    def form(dialog):
        letters(dialog)
        return False

    def steps(dialog):
        letters(dialog)
        dialogs.answers.insert(0, ("run", form))
        dialog.new.click()
        return True

    show(with_plate, dialogs, idle, steps)


def test_the_shop_book_leads_to_the_rack(with_plate, dialogs, idle):
    def book(dialog):
        assert isinstance(dialog, ShopBookDialog)
        idle()
        dialog.rack.click()
        return True

    def rack(dialog):
        assert isinstance(dialog, RackDialog)
        return True

    dialogs.expect("run", book)
    dialogs.expect("run", rack)
    with_plate.menus.actions["shop book"].trigger()
    idle()


# --- done ------------------------------------------------------------------------------------------------------------


@pytest.fixture
def on_piece(with_plate, idle, settle):
    """The plate on a piece of the rack."""
    with open_book() as book:
        entry = add_piece(book, "R1", PIECE)
    session = with_plate.session
    job = with_piece(session.job, PIECE, entry.uuid, session.job.stock)
    session.commit(job, "onto R1")
    settle(with_plate)
    session.commit(with_place(job, place_job(session.plan, PlacingOptions())), "placed")
    settle(with_plate)
    return with_plate


def note_done(window, dialogs, idle, steps):
    dialogs.expect("run", steps)
    window.menus.actions["job done"].trigger()
    idle()
    idle()


def test_a_job_done_leaves_its_rest_on_the_rack_with_labels_and_is_undone_in_one_step(
    on_piece, dialogs, idle, tmp_path, qtbot
):
    folder = tmp_path / "labels"

    def steps(dialog):
        assert isinstance(dialog, JobDoneDialog) and nameless(dialog) == []
        card = dialog.left
        assert "1 offcut left" in card.about.text() and card.after.accessibleDescription()
        card.labels.setChecked(True)
        dialog.name.setText("plate one")
        dialog.accept()
        return True

    dialogs.answers.append(("run", steps))
    dialogs.answers.append(("save", folder))
    on_piece.menus.actions["job done"].trigger()
    qtbot.waitUntil(lambda: not dialogs.answers)
    idle()
    rack = on_rack()
    assert set(rack) == {"R1-a"}
    left = shapely.difference(shapely.box(0, 0, 200, 120), cut_away(on_piece.session.plan))
    assert piece_region(rack["R1-a"]).area == pytest.approx(left.area, rel=2e-3)
    assert etree.parse(folder / "label-R1-a.svg").getroot().get("width") == "200mm"
    assert "R1-a" in on_piece.banner.text.text() and on_piece.banner.action.text() == "Undo"
    on_piece.banner.action.click()
    idle()
    assert on_rack() == {"R1": PIECE}
    with open_book() as book:
        assert book.entries("job") == ()
    assert "back on the rack" in on_piece.banner.text.text()


def test_nothing_goes_back_unless_asked(on_piece, dialogs, idle):
    def steps(dialog):
        dialog.left.put_back.setChecked(False)
        assert not dialog.left.labels.isEnabled()
        dialog.accept()
        return True

    note_done(on_piece, dialogs, idle, steps)
    assert set(on_rack()) == {"R1"}


def test_what_is_worth_keeping_is_asked(on_piece, dialogs, idle):
    def steps(dialog):
        dialog.left.least.setValue(119.0)
        idle()
        assert "1 offcut left" in dialog.left.about.text()
        dialog.left.least.setValue(150.0)
        idle()
        assert "nothing worth keeping left" in dialog.left.about.text()
        dialog.accept()
        return True

    note_done(on_piece, dialogs, idle, steps)
    assert on_rack() == {} and "worth keeping" in on_piece.banner.text.text()


def test_a_piece_that_was_used_meanwhile_stays_as_it_is_and_the_job_is_not_noted(on_piece, dialogs, idle):
    def steps(dialog):
        with open_book() as book:
            put_back(book, dialog.left.used.entry.uuid, dialog.left.used.left, job_name="another")
        dialog.accept()
        return True

    dialogs.expect("run", steps)
    dialogs.expect("tell")
    on_piece.menus.actions["job done"].trigger()
    idle()
    idle()
    with open_book() as book:
        assert book.entries("job") == ()
    assert set(on_rack()) == {"R1-a"} and "not on the rack any more" in dialogs.told[0][0]


def test_a_job_on_a_piece_that_is_gone_is_noted_without_it(on_piece, dialogs, idle):
    with open_book() as book:
        book.remove(on_piece.session.job.piece_id)

    def steps(dialog):
        assert dialog.left is None
        dialog.accept()
        return True

    note_done(on_piece, dialogs, idle, steps)
    with open_book() as book:
        assert len(book.entries("job")) == 1


def test_a_piece_is_kept_for_the_job_and_given_back(with_plate, dialogs, idle):
    batch = Batch(supplier="Yard", delivery="3")
    with open_book() as book:
        add_piece(book, "R1", replace(PIECE, batch=batch))

    def steps(dialog):
        assert nameless(dialog) == [] and dialog.give_back.isHidden()
        dialog.keep.click()
        idle()
        idle()
        assert "kept for name-plate" in dialog.list.item(0).text() and "Kept for name-plate" in dialog.about.text()
        assert dialog.keep.isHidden() and not dialog.give_back.isHidden()
        return True

    with_plate.session.commit(replace(with_plate.session.job, source=NAME_PLATE), "named")
    show(with_plate, dialogs, idle, steps)
    assert on_rack() == {}  # no other job is offered it
    with open_book() as book:
        ((_, name, piece),) = rack_pieces(book, names=("Name-Plate",))
        assert name == "R1" and piece.batch == batch

    def back(dialog):
        dialog.give_back.click()
        idle()
        idle()
        assert dialog.give_back.isHidden() and "kept for" not in dialog.list.item(0).text()
        return True

    show(with_plate, dialogs, idle, back)
    assert on_rack() == {"R1": replace(PIECE, batch=batch)}


def test_editing_a_piece_keeps_its_batch_and_whom_it_is_kept_for(with_plate, dialogs, idle):
    piece = replace(PIECE, batch=Batch(supplier="Yard"), reserved_for="sign")
    with open_book() as book:
        add_piece(book, "R1", piece)

    def form(dialog):
        assert isinstance(dialog, PieceForm)
        dialog.where.setText("shelf 9")
        dialog.accept()
        return True

    def steps(dialog):
        dialogs.expect("run", form)
        dialog.edit.click()
        idle()
        return True

    show(with_plate, dialogs, idle, steps)
    with open_book() as book:
        ((_, _, kept),) = rack_pieces(book, names=("sign",))
    assert kept == replace(piece, where="shelf 9")
