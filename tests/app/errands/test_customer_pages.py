"""Proof, offer and letterhead from the window's menus, for one job: looked at, then saved."""

from datetime import date

import pypdfium2
import pytest
from PySide6.QtWidgets import QApplication, QScrollArea

from app.dialogs.customer_page import CustomerPageDialog
from app.dialogs.letterhead import LetterheadDialog
from core.job.costs.rates import Rates
from core.job.letterhead import Letterhead
from core.shop_book.shops_own import keep_rates, letterhead_of
from core.shop_book.store import open_book
from tests.app.window.test_accessibility import nameless


def text_of(data):
    document = pypdfium2.PdfDocument(data)
    try:
        return "\n".join(page.get_textpage().get_text_range() for page in document)
    finally:
        document.close()


@pytest.fixture
def idle(with_plate, qtbot):
    return lambda dialog: qtbot.waitUntil(lambda: not dialog.placing.busy, timeout=60_000)


def test_the_letterhead_is_written_in_the_window(with_plate, dialogs, settle, qtbot):
    def steps(dialog):
        assert isinstance(dialog, LetterheadDialog) and nameless(dialog) == []
        qtbot.waitUntil(lambda: dialog.valid.value() == 30)
        dialog.name.setText("Gullwick Signs")
        dialog.address.setPlainText("3 Landing Stage\n\n Gullwick ")
        dialog.contact.setPlainText("signs@gullwick.example")
        dialog.valid.setValue(14)
        dialog.keep()
        qtbot.waitUntil(lambda: dialog.result() == 1)
        return True

    dialogs.expect("run", steps)
    with_plate.menus.actions["letterhead"].trigger()
    settle(with_plate)
    expected = Letterhead(
        name="Gullwick Signs", address="3 Landing Stage; Gullwick", contact="signs@gullwick.example", valid_days=14
    )
    with open_book() as book:
        assert letterhead_of(book) == expected

    def too_long(dialog):
        qtbot.waitUntil(lambda: dialog.name.text() == "Gullwick Signs")
        assert dialog.address.toPlainText() == "3 Landing Stage\nGullwick"
        dialog.terms.setPlainText("x" * 401)
        dialog.keep()
        assert not dialog.refusal.isHidden() and "Terms" in dialog.refusal.text()
        return False

    dialogs.expect("run", too_long)
    with_plate.menus.actions["letterhead"].trigger()
    settle(with_plate)


def test_a_proof_is_looked_at_and_saved(with_plate, dialogs, settle, idle, tmp_path):
    def steps(dialog):
        assert isinstance(dialog, CustomerPageDialog) and nameless(dialog) == []
        idle(dialog)
        assert dialog.told.text() == "1 page." and dialog.save_button.isEnabled()
        assert not dialog.quantity.isVisibleTo(dialog)
        dialog.customer.setText("Rowing club <b>Fern</b>")
        dialog.customer.editingFinished.emit()
        idle(dialog)
        assert "for Rowing club <b>Fern</b>" in text_of(dialog.data)
        for name in ("proof.pdf", "proof.png"):
            dialogs.expect("save", tmp_path / name)
            dialog.save()
            idle(dialog)
            assert dialog.told.text() == f"Wrote {name}."
        return False

    dialogs.expect("run", steps)
    with_plate.menus.actions["proof"].trigger()
    settle(with_plate)
    assert (tmp_path / "proof.png").read_bytes().startswith(b"\x89PNG")
    said = text_of((tmp_path / "proof.pdf").read_bytes())
    for words in ("Proof", "As seen from the front", "checked and agreed", "plate.svg"):
        assert words in said


def test_the_pages_stay_as_wide_as_there_is_room(with_plate, dialogs, settle, idle):
    window = with_plate
    seen = []

    def look(dialog):
        dialog.show()
        idle(dialog)
        for width_px in (1040, 779, 1040):
            dialog.resize(width_px, 589)
            QApplication.processEvents()
            (scroll,) = [one for one in dialog.findChildren(QScrollArea) if one.accessibleName() == "The pages"]
            seen.append((scroll.horizontalScrollBar().maximum(), scroll.widget().width()))
        return False

    dialogs.expect("run", look)
    window.menus.actions["proof"].trigger()
    assert [beyond for beyond, _ in seen] == [0, 0, 0] and seen[1][1] < seen[0][1]


def test_an_offer_follows_the_fields(with_plate, dialogs, settle, idle, tmp_path):
    def no_price(dialog):
        idle(dialog)
        assert "no price" in dialog.told.text() and not dialog.save_button.isEnabled()
        return False

    dialogs.expect("run", no_price)
    with_plate.menus.actions["offer"].trigger()
    with open_book() as book:
        keep_rates(book, Rates(currency="€", handwork_per_h=40.0, setup_min=30.0, machine_per_h=30.0, tax_pct=20.0))

    def steps(dialog):
        assert nameless(dialog) == []
        idle(dialog)
        dialog.number.setText("2026-07")
        dialog.what.setText("Door sign")
        dialog.customer.setText("Hotel Fern")
        dialog.quantity.setValue(12)
        dialog.make_page()
        idle(dialog)
        said = text_of(dialog.data)
        for words in ("Offer 2026-07", "Door sign", "for Hotel Fern", "12", "Tax, 20 %", "To pay", f"{date.today()}"):
            assert words in said, said
        dialogs.expect("save", tmp_path / "offer")
        dialog.save()
        idle(dialog)
        return False

    dialogs.expect("run", steps)
    with_plate.menus.actions["offer"].trigger()
    settle(with_plate)
    assert (tmp_path / "offer.pdf").read_bytes().startswith(b"%PDF")
