"""What a job costs, reckoned in the window with the shop's rates, and the line to quote."""

import pytest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QWidget

from app.dialogs.cost import CostDialog
from app.stages.stage import Stage
from core.job.costs.pricing import quote_words
from core.job.costs.rates import Rates
from core.job.fitting import with_piece
from core.sheet.offcuts import Piece, rectangle
from core.shop_book.rack import add_piece
from core.shop_book.shops_own import keep_rates, rates_of
from core.shop_book.store import open_book
from tests.app.window.test_accessibility import mnemonics, nameless
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")


@pytest.fixture
def idle(with_plate, qtbot):
    return lambda: qtbot.waitUntil(lambda: not with_plate.shop.busy, timeout=60_000)


def ask(window, dialogs, idle, steps):
    def ready(dialog):
        assert isinstance(dialog, CostDialog)
        idle()
        idle()
        return steps(dialog)

    dialogs.expect("run", ready)
    window.go_to(Stage.HAND_OVER)
    part(window.hand_over_page, "Cost and quote…").click()
    idle()


def test_without_rates_it_says_where_to_set_them(with_plate, dialogs, idle):
    def steps(dialog):
        assert nameless(dialog) == []
        assert "Set the shop's rates" in dialog.told.text() and not dialog.keep.isEnabled()
        dialog.show()
        seen = [one for one in dialog.findChildren(QWidget) if one.isVisible()]
        letters = sorted(mnemonics([one.text() for one in seen if isinstance(one, (QAbstractButton, QLabel))]))
        dialog.hide()
        assert len(letters) == len(set(letters)), letters
        return False

    ask(with_plate, dialogs, idle, steps)


def test_machine_time_is_reckoned_kept_and_quoted(with_plate, dialogs, idle):
    minutes = with_plate.session.plan.time_s / 60

    def steps(dialog):
        dialog.fields["machine_per_h"].setValue(60.0)
        idle()
        dialog.fields["setup_min"].setValue(5.0)
        idle()
        dialog.fields["margin_pct"].setValue(50.0)
        idle()
        assert dialog.cost.total == pytest.approx(minutes + 5.0)
        assert dialog.cost.quote == pytest.approx(1.5 * (minutes + 5.0))
        rows = {row[0]: row[1] for row in dialog.table.texts()}
        assert rows["Machine"] == f"{minutes + 5.0:.2f}" and rows["Together"] == f"{minutes + 5.0:.2f}"
        assert dialog.quote.text() == quote_words(dialog.cost)
        dialog.copy.click()
        assert QApplication.clipboard().text() == quote_words(dialog.cost)
        dialog.keep.click()
        idle()
        assert not dialog.keep.isEnabled()
        return False

    ask(with_plate, dialogs, idle, steps)
    with open_book() as book:
        assert rates_of(book) == Rates(machine_per_h=60.0, setup_min=5.0, margin_pct=50.0)


def test_a_piece_of_the_rack_pays_what_is_not_kept(with_plate, dialogs, idle, settle):
    piece = Piece(stock="mirrored acrylic 3 mm", thickness_mm=3.0, outline=rectangle(200.0, 120.0), price=8.0)
    with open_book() as book:
        entry = add_piece(book, "R1", piece)
        keep_rates(book, Rates(currency="EUR"))
    session = with_plate.session
    session.commit(with_piece(session.job, piece, entry.uuid, session.job.stock), "onto R1")
    settle(with_plate)

    def steps(dialog):
        assert dialog.currency.text() == "EUR"
        sheet = next(line for line in dialog.cost.lines if line.what == "sheet")
        assert 0 < sheet.amount < 8.0 and "EUR" in dialog.quote.text()
        return False

    ask(with_plate, dialogs, idle, steps)


def test_price_breaks_tax_and_a_number_of_parts_are_offered(with_plate, dialogs, idle):
    def steps(dialog):
        for name, value in (("machine_per_h", 60.0), ("setup_min", 5.0), ("tax_pct", 10.0)):
            dialog.fields[name].setValue(value)
            idle()
        dialog.breaks.setText("10: 5, 50: 12,5")
        dialog.breaks.editingFinished.emit()
        idle()
        assert [row[0] for row in dialog.prices.texts()] == ["1", "10, 5 % off", "50, 12.5 % off"]
        one, ten, _ = dialog.prices.texts()
        run = dialog.cost.total - 5.0
        assert float(one[2]) == pytest.approx(run + 5.0, abs=0.006)
        assert float(ten[1]) == pytest.approx((10 * run + 5.0) * 0.95 / 10, abs=0.006)
        assert float(ten[4]) == pytest.approx(1.1 * float(ten[2]), abs=0.006)
        dialog.quantity.setValue(7)
        assert [row[0] for row in dialog.prices.texts()] == ["7"] and dialog.quote.text().startswith("7 at ")
        assert "Not reckoned: " in dialog.quote.text()
        dialog.breaks.setText("ten: 5")
        dialog.breaks.editingFinished.emit()
        assert "no price break" in dialog.told.text() and not dialog.keep.isEnabled()
        dialog.breaks.setText("10: 5")
        dialog.breaks.editingFinished.emit()
        idle()
        dialog.keep.click()
        idle()
        return False

    ask(with_plate, dialogs, idle, steps)
    with open_book() as book:
        assert rates_of(book).breaks == ((10, 5.0),) and rates_of(book).tax_pct == 10.0
