"""What the shop book has learned reaches new jobs, the lists of the Sheet page and the commands."""

import json
from dataclasses import replace

import pytest

from app.command_line import main
from app.stages.stage import Stage
from core.shop_book.store import book_path, open_book
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

STOCK = "mirrored acrylic 3 mm"


@pytest.fixture
def learned():
    """A book whose stock has other figures, and one stock more."""
    with open_book() as book:
        entry = book.find("stock", STOCK)
        tougher = replace(entry.value, clearing_dose_j_mm2=0.25, fill=replace(entry.value.fill, speed_mm_s=700.0))
        book.change(entry.uuid, tougher)
        book.add("stock", "sea glass acrylic 3 mm", replace(tougher, name="sea glass acrylic 3 mm"))
    return tougher


@pytest.fixture
def broken_book():
    book_path().parent.mkdir(parents=True, exist_ok=True)
    book_path().write_bytes(b"no book at all" * 100)


def read_shop(window, qtbot):
    window.shop.read()
    qtbot.waitUntil(lambda: not window.shop.busy)


def test_a_new_job_begins_with_what_was_learned(learned, with_plate):
    job = with_plate.session.job
    assert job.stock == learned
    assert next(layer for layer in job.layers if layer.id == "fill").recipe.speed_mm_s == 700.0
    assert not with_plate.session.modified


def test_the_sheet_page_offers_the_books_stocks(learned, with_plate, qtbot, settle):
    window = with_plate
    window.go_to(Stage.SHEET)
    read_shop(window, qtbot)
    choice = part(window.pages[Stage.SHEET], "Stock")
    at = choice.findText("sea glass acrylic 3 mm")
    choice.setCurrentIndex(at)
    choice.activated.emit(at)
    settle(window)
    assert window.session.job.stock.name == "sea glass acrylic 3 mm"
    assert window.session.undo_label == "Stock: sea glass acrylic 3 mm"


def test_a_job_with_older_figures_keeps_them_and_is_offered_the_new_ones(with_plate, qtbot):
    window = with_plate
    own = window.session.job.stock
    with open_book() as book:
        entry = book.find("stock", STOCK)
        book.change(entry.uuid, replace(entry.value, clearing_dose_j_mm2=0.3))
    window.go_to(Stage.SHEET)
    read_shop(window, qtbot)
    choice = part(window.pages[Stage.SHEET], "Stock")
    assert choice.currentText() == f"{STOCK} (as in this job)" and choice.findText(STOCK) > 0
    assert window.session.job.stock == own


def test_without_a_book_none_is_made(with_plate):
    with_plate.go_to(Stage.SHEET)
    assert not book_path().exists()


def test_a_broken_book_costs_what_it_knew_and_no_more(broken_book, window, plate, settle):
    window.files.open(plate)
    settle(window)
    assert window.session.complete
    assert window.banner.kind == "note" and "starting profiles" in window.banner.text.text()


def reported(capsys, tmp_path, plate, name, *words):
    report = tmp_path / f"{name}.json"
    assert main(["prepare", str(plate), "-o", str(tmp_path / f"{name}.svg"), "--report", str(report), *words]) == 0
    return json.loads(report.read_text("utf-8")), (tmp_path / f"{name}.svg").read_bytes(), capsys.readouterr().err


def test_prepare_uses_the_book(capsys, tmp_path, plate):
    before, _, _ = reported(capsys, tmp_path, plate, "before")
    with open_book() as book:
        entry = book.find("stock", STOCK)
        book.change(entry.uuid, replace(entry.value, fill=replace(entry.value.fill, speed_mm_s=400.0)))
        book.add("stock", "sea glass 3 mm", replace(entry.value, name="sea glass 3 mm"))
    after, _, _ = reported(capsys, tmp_path, plate, "after")
    assert after != before
    named, _, _ = reported(capsys, tmp_path, plate, "named", "--stock", "sea glass 3 mm")
    assert "sea glass 3 mm" in json.dumps(named)


def test_prepare_is_the_same_without_a_book_and_with_a_broken_one(capsys, tmp_path, plate):
    without = reported(capsys, tmp_path, plate, "without")
    assert without[2] == "" and not book_path().exists()
    book_path().parent.mkdir(parents=True, exist_ok=True)
    book_path().write_bytes(b"no book at all" * 100)
    report, svg, told = reported(capsys, tmp_path, plate, "broken", "--stock", STOCK)
    assert (report, svg) == without[:2]
    assert len(told.splitlines()) == 1 and "starting profiles" in told


def test_advise_uses_the_book(capsys, plate):
    with open_book() as book:
        entry = book.find("stock", STOCK)
        book.change(entry.uuid, replace(entry.value, clearing_dose_j_mm2=5.0))
    capsys.readouterr()
    assert main(["advise", str(plate)]) == 0
    assert "not reached" in capsys.readouterr().out.lower()
