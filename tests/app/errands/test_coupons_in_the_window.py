"""A coupon made, opened, exported, read back: the stock's doses in the book change, and the next job uses them."""

from dataclasses import replace
from functools import reduce
from pathlib import Path

import numpy as np
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.dialogs.coupon_maker import OFFERED_KINDS
from core.burning.beam import line_width_mm, power_w
from core.job.decisions import with_tick
from core.shop_book.store import open_book
from tests.app.window.test_accessibility import nameless
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

CLEARING, SPOT = 0.21, 0.15


@pytest.fixture
def with_coupon(with_plate, dialogs, qtbot, settle):
    window = with_plate

    def make(kind):
        def choose(dialog):
            at = OFFERED_KINDS.index(kind)
            dialog.kind.setCurrentIndex(at)
            dialog.kind.activated.emit(at)
            assert dialog.coupon.kind == kind and nameless(dialog) == []
            return True

        dialogs.expect("run", choose)
        if window.session.modified:
            dialogs.expect("ask", "discard")
        window.menus.actions["make coupon"].trigger()
        qtbot.waitUntil(lambda: not window.shop.busy)
        settle(window)
        with open_book() as book:
            return next(coupon for coupon in book.values("coupon") if coupon.kind == kind)

    return window, make


def read(window, dialogs, qtbot, fill_in):
    dialogs.expect("run", fill_in)
    window.menus.actions["read coupon"].trigger()
    qtbot.waitUntil(lambda: not dialogs.answers and not window.shop.busy)


def widths_as_burned(dialog, coupon):
    """What a loupe would show of the lines, were the coat and the spot what they are here."""
    random = np.random.default_rng(4)
    for patch in coupon.patches:
        width = line_width_mm(
            power_w=power_w(coupon.machine, patch.recipe.power_pct), speed_mm_s=patch.recipe.speed_mm_s,
            spot_mm=SPOT, clearing_dose_j_mm2=CLEARING,
        )  # fmt: skip
        dialog.widths[patch.label].setText(f"{max(0.0, width + random.normal(0, 0.0005)) if width else 0.0:.4f}")


def test_a_coupon_opens_as_a_job_that_exports_with_its_looks(with_coupon, dialogs, qtbot, tmp_path):
    window, make = with_coupon
    coupon = make("pitch-ladder")
    assert coupon.code in window.session.job.source.name
    assert window.session.complete and window.session.modified
    assert coupon.code in window.banner.text.text()
    dialogs.expect("save", str(tmp_path / "looks.svg"))
    window.banner.action.click()
    qtbot.waitUntil(lambda: not window.shop.busy)
    assert coupon.code.encode() in (tmp_path / "looks.svg").read_bytes()
    from core.output.export import export_bytes

    assert coupon.code.encode() in export_bytes(window.session.plan, ".svg")


def test_too_small_an_offcut_is_told_and_nothing_made(with_plate, dialogs):
    def choose(dialog):
        dialog.width_field.setValue(10)
        assert dialog.coupon is None and not dialog.make.isEnabled()
        assert "too small" in dialog.told.text()
        return False

    dialogs.expect("run", choose)
    with_plate.menus.actions["make coupon"].trigger()


def test_line_widths_change_the_doses_and_the_next_job_uses_them(with_coupon, dialogs, qtbot, settle, plate):
    window, make = with_coupon
    coupon = make("line-widths")

    def fill_in(dialog):
        assert not dialog.keep.isEnabled() and nameless(dialog) == []
        widths_as_burned(dialog, dialog.coupon)
        assert "±" in dialog.told.text() and dialog.residuals.isVisibleTo(dialog)
        assert dialog.learned.fit.clearing_dose_j_mm2.value == pytest.approx(CLEARING, rel=0.05)
        return True

    read(window, dialogs, qtbot, fill_in)
    assert "learned" in window.banner.text.text()
    dialogs.expect("ask", "discard")
    window.files.open(plate)
    settle(window)
    job = window.session.job
    assert job.stock.clearing_dose_j_mm2 == pytest.approx(CLEARING, rel=0.05) != 0.19
    assert job.machine.spot_mm == pytest.approx(SPOT, rel=0.05)
    origin = dict(job.stock.figure_origins)["clearing_dose_j_mm2"]
    assert origin.kind == "measured" and origin.standard_error > 0 and coupon.code in origin.note


def used_recipes(window):
    return [planned.layer.recipe for planned in window.session.plan.layers if planned.shape_ids]


def test_a_coupon_made_exported_opened_again_and_read_changes_the_next_job(
    with_coupon, dialogs, qtbot, settle, tmp_path, plate
):
    window, make = with_coupon
    make("pitch-ladder")
    coupon = make("line-widths")
    cautions = window.session.plan.cautions
    ticked = reduce(lambda job, caution: with_tick(job, caution.code, True), cautions, window.session.job)
    window.session.commit(ticked, "all ticked")
    settle(window)
    burned = used_recipes(window)
    dialogs.expect("save", lambda suggested: tmp_path / Path(suggested).name)
    window.menus.actions["export svg"].trigger()
    settle(window)
    dialogs.expect("ask", "discard")
    window.files.open(plate)
    settle(window)
    window.files.open(tmp_path / f"coupon-{coupon.code}-bed.svg")
    settle(window)
    assert window.session.complete and used_recipes(window) == burned

    def fill_in(dialog):
        assert dialog.coupon == coupon
        widths_as_burned(dialog, coupon)
        return True

    read(window, dialogs, qtbot, fill_in)
    window.files.open(plate)
    settle(window)
    stock = window.session.job.stock
    assert stock.clearing_dose_j_mm2 == pytest.approx(CLEARING, rel=0.05)
    assert window.session.job.machine.spot_mm == pytest.approx(SPOT, rel=0.05)


def test_clicking_the_clean_patch_marks_it_and_proves_its_recipe(with_coupon, dialogs, qtbot):
    window, make = with_coupon
    make("pitch-ladder")

    def fill_in(dialog):
        dialog.show()
        label = next(patch.label for patch in dialog.coupon.patches if patch.verdict == "clean")
        QTest.mouseClick(dialog.picture, Qt.MouseButton.LeftButton, pos=dialog.picture.middle_of(label).toPoint())
        assert dialog.looks[label].currentText() == "clean"
        assert dialog.learned.fill.pitch_mm == dialog.coupon.patch(label).recipe.pitch_mm
        return True

    read(window, dialogs, qtbot, fill_in)
    with open_book() as book:
        assert book.find("stock", "mirrored acrylic 3 mm").value.fill.origin.kind == "measured"
        assert len(book.entries("reading")) == 1


def test_too_few_widths_are_told_and_can_not_be_kept(with_coupon, dialogs, qtbot):
    window, make = with_coupon
    make("line-widths")

    def fill_in(dialog):
        first = next(iter(dialog.widths.values()))
        first.setText("0.05")
        assert dialog.learned is None and not dialog.keep.isEnabled() and dialog.told.text()
        first.setText("wide")
        assert "no line widths" in dialog.told.text()
        return False

    read(window, dialogs, qtbot, fill_in)
    with open_book() as book:
        assert book.entries("reading") == ()


def test_pairs_of_a_comb_are_typed_and_change_the_machine(with_coupon, dialogs, qtbot):
    window, make = with_coupon
    coupon = make("both-way-comb")

    def fill_in(dialog):
        assert "upper row" in part(dialog, "how it is read").text() and nameless(dialog) == []
        first, *rest = dialog.pairs.values()
        first.setText("2")
        assert "two rows" in dialog.told.text() and not dialog.keep.isEnabled()
        first.setText("x")
        assert "tells no pair" in dialog.told.text()
        for edit in (first, *rest):
            edit.setText("0 0,5")
        assert "Both-way offset" in dialog.told.text()
        dialog.picture.clicked.emit(coupon.patches[0].label)
        return True

    read(window, dialogs, qtbot, fill_in)
    with open_book() as book:
        assert book.find("machine", coupon.machine.name).value.both_way_offset_mm == pytest.approx(0.02)


def test_without_coupons_it_says_so(with_plate, dialogs, qtbot):
    dialogs.expect("tell")
    with_plate.menus.actions["read coupon"].trigger()
    qtbot.waitUntil(lambda: not dialogs.answers and not with_plate.shop.busy)


def test_widths_are_typed_in_inches_in_inch_mode(with_coupon, dialogs, qtbot):
    window, make = with_coupon
    make("line-widths")
    window.settings.set("units", "inch")

    def fill_in(dialog):
        edit = next(iter(dialog.widths.values()))
        assert "inches" in part(dialog, "how it is read").text() and edit.accessibleName().endswith(", in")
        edit.setText("0.002 0.0021")
        assert [seen.width_mm for seen in dialog.reading.widths] == pytest.approx([0.0508, 0.05334])
        edit.setText("wide")
        assert "in inches, like" in dialog.told.text()
        return False

    read(window, dialogs, qtbot, fill_in)


def test_a_coupon_is_read_with_the_machine_as_the_book_has_it_now(with_coupon, dialogs, qtbot):
    window, make = with_coupon
    make("pitch-ladder")
    with open_book() as book:
        entry = book.find("machine", window.session.job.machine.name)
        book.change(entry.uuid, replace(entry.value, spot_mm=0.2))

    def fill_in(dialog):
        assert dialog.coupon.machine.spot_mm == 0.2
        clean = next(patch.label for patch in dialog.coupon.patches if patch.verdict == "clean")
        frosts = dialog.looks[clean].findText("frosts")
        assert frosts > 0
        dialog.looks[clean].setCurrentIndex(frosts)
        dialog.looks[clean].activated.emit(frosts)
        shown.append(dialog.learned.frosting_dose_j_mm2.value)
        return True

    shown = []
    read(window, dialogs, qtbot, fill_in)
    with open_book() as book:
        assert book.find("stock", "mirrored acrylic 3 mm").value.frosting_dose_j_mm2 == pytest.approx(shown[0])
    assert "mirrored acrylic 3 mm in the shop book has learned from it." in window.banner.text.text()


def test_a_reading_that_could_not_be_kept_stays_to_be_mended(with_coupon, dialogs, qtbot):
    window, make = with_coupon
    coupon = make("line-widths")
    with open_book() as book:
        stock = book.find("stock", coupon.stock.name)
        book.remove(stock.uuid)

    def again(dialog):
        assert all(edit.text() for edit in dialog.widths.values()) and dialog.learned is not None
        with open_book() as book:
            book.revert(stock.uuid, stock.stamp)
        return True

    dialogs.expect("run", lambda dialog: widths_as_burned(dialog, coupon) or True)
    dialogs.expect("tell")
    dialogs.expect("run", again)
    window.menus.actions["read coupon"].trigger()
    qtbot.waitUntil(lambda: not dialogs.answers and not window.shop.busy)
    assert "no longer has both" in dialogs.told[0][0]
    with open_book() as book:
        assert book.find("stock", coupon.stock.name).value.clearing_dose_j_mm2 == pytest.approx(CLEARING, rel=0.05)
        assert len(book.entries("reading")) == 1


def test_enter_goes_on_to_the_next_width_and_keeps_what_was_typed(with_coupon, dialogs, qtbot):
    window, make = with_coupon
    make("line-widths")

    def fill_in(dialog):
        dialog.show()
        first, second, *_ = dialog.widths.values()
        first.setFocus()
        QTest.keyClicks(first, "0.05")
        QTest.keyClick(first, Qt.Key.Key_Return)
        assert dialog.isVisible() and first.text() == "0.05"
        assert dialog.focusWidget() is second
        return False

    read(window, dialogs, qtbot, fill_in)
