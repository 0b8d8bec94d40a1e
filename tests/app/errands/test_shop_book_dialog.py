"""The shop book in the window: search, figures with their origin, history, an earlier state brought back."""

from app.dialogs.shop_book import ShopBookDialog
from core.burning.unknowns import with_figure
from core.sheet.recipes import Origin
from core.shop_book.store import open_book
from tests.app.window.test_accessibility import nameless

STOCK = "mirrored acrylic 3 mm"


def test_search_figures_history_and_revert(window, dialogs, qtbot):
    with open_book() as book:
        entry = book.find("stock", STOCK)
        measured = Origin(kind="measured", date="2026-05-01", note="coupon ABCDE", standard_error=0.004)
        book.change(entry.uuid, with_figure(entry.value, "clearing_dose_j_mm2", 0.23, measured), note="coupon ABCDE")

    def look(dialog):
        assert isinstance(dialog, ShopBookDialog) and nameless(dialog) == []
        idle = lambda: not window.shop.busy  # noqa: E731
        qtbot.waitUntil(idle)
        assert dialog.entries.count() > 5
        dialog.wanted.setText("abcde mirrored")
        qtbot.waitUntil(lambda: idle() and dialog.entries.count() == 1 and dialog.states.count() == 2)
        told = dialog.figures.toPlainText()
        assert "Clearing dose: 0.23 ± 0.0040 J/mm² (measured here, 2026-05-01, coupon ABCDE)" in told
        assert not dialog.revert.isEnabled()
        dialog.states.setCurrentRow(1)
        assert "0.19" in dialog.figures.toPlainText() and dialog.revert.isEnabled()
        dialog.revert.click()
        qtbot.waitUntil(lambda: idle() and dialog.states.count() == 3)
        return True

    dialogs.expect("run", look)
    window.menus.actions["shop book"].trigger()
    qtbot.waitUntil(lambda: not window.shop.busy)
    with open_book() as book:
        assert book.find("stock", STOCK).value == entry.value
