"""The book out to a file and back in; coupons out as DXF and as sheets of looks; nothing overwritten unasked."""

import io
import json
from dataclasses import replace
from functools import reduce

import ezdxf
import pytest

from core.job.decisions import with_tick
from core.shop_book.store import open_book

pytestmark = pytest.mark.usefixtures("shared_window")

STOCK = "mirrored acrylic 3 mm"


@pytest.fixture
def idle(window, qtbot):
    return lambda: qtbot.waitUntil(lambda: not window.shop.busy and not window.files.busy)


def trigger(window, idle, key):
    window.menus.actions[key].trigger()
    idle()


def with_dose(dose):
    with open_book() as book:
        entry = book.find("stock", STOCK)
        book.change(entry.uuid, replace(entry.value, clearing_dose_j_mm2=dose))


def test_a_book_goes_out_and_comes_into_another(window, dialogs, idle, tmp_path, monkeypatch):
    with_dose(0.21)
    dialogs.expect("save", tmp_path / "carried")
    trigger(window, idle, "export book")
    assert "carried.json" in window.banner.text.text()
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "elsewhere"))
    dialogs.expect("open", tmp_path / "carried.json")
    trigger(window, idle, "import book")
    assert "1 brought up to date" in window.banner.text.text()
    assert next(stock for stock in window.shop.stocks if stock.name == STOCK).clearing_dose_j_mm2 == 0.21
    dialogs.expect("open", tmp_path / "carried.json")
    trigger(window, idle, "import book")
    assert "0 added, 0 brought up to date" in window.banner.text.text()


def test_overwriting_an_export_is_asked(window, dialogs, idle, tmp_path):
    path = tmp_path / "book.json"
    path.write_text("mine", "utf-8")
    for answer, kept in (("cancel", True), ("replace", False)):
        dialogs.expect("save", path)
        dialogs.expect("ask", answer)
        trigger(window, idle, "export book")
        assert (path.read_text("utf-8") == "mine") == kept
    assert json.loads(path.read_text("utf-8"))["tain_shop_book"] == 1


def test_what_is_no_export_is_told_and_changes_nothing(window, dialogs, idle, tmp_path):
    (tmp_path / "odd.json").write_text("{}", "utf-8")
    dialogs.expect("open", tmp_path / "odd.json")
    dialogs.expect("tell")
    trigger(window, idle, "import book")
    assert "no export of a shop book" in dialogs.told[0][0]
    dialogs.expect("open", tmp_path / "missing.json")
    dialogs.expect("tell")
    trigger(window, idle, "import book")
    assert "There is no file" in dialogs.told[1][0]


def test_entries_that_make_no_sense_are_named(window, dialogs, idle, tmp_path):
    dialogs.expect("save", tmp_path / "book.json")
    trigger(window, idle, "export book")
    document = json.loads((tmp_path / "book.json").read_text("utf-8"))
    document["entries"][0]["data"]["spot_mm"] = "wide"
    (tmp_path / "book.json").write_text(json.dumps(document), "utf-8")
    dialogs.expect("open", tmp_path / "book.json")
    dialogs.expect("tell")
    trigger(window, idle, "import book")
    assert "left out" in dialogs.told[0][0] and "entry 1" in dialogs.told[0][1]


@pytest.fixture
def coupon(window, dialogs, idle, settle):
    dialogs.expect("run", True)
    trigger(window, idle, "make coupon")
    settle(window)
    with open_book() as book:
        return book.values("coupon")[0]


def test_a_coupon_is_exported_as_dxf_with_its_settings(window, coupon, dialogs, idle, settle, tmp_path):
    path = tmp_path / f"coupon-{coupon.code}-bed.dxf"
    cautions = window.session.plan.cautions
    ticked = reduce(lambda job, caution: with_tick(job, caution.code, True), cautions, window.session.job)
    window.session.commit(ticked, "all ticked")
    settle(window)
    dialogs.expect("save", path)
    trigger(window, idle, "export dxf")
    document = ezdxf.read(io.StringIO(path.read_text("utf-8")))
    assert not document.audit().errors
    assert len(document.modelspace()) > len(coupon.patches)
    text = path.read_text("utf-8")
    assert coupon.code in text
    plan = window.session.plan
    used = {layer.layer.name for layer in plan.layers if layer.shape_ids}
    assert used <= {layer.dxf.name for layer in document.layers}
    xs = [point for line in document.modelspace() for point in points_of(line)]
    assert max(x for x, _ in xs) - min(x for x, _ in xs) <= coupon.width_mm + 1e-6


def points_of(entity):
    if entity.dxftype() == "LWPOLYLINE":
        return [(x, y) for x, y, *_ in entity.get_points()]
    if entity.dxftype() == "LINE":
        return [tuple(entity.dxf.start)[:2], tuple(entity.dxf.end)[:2]]
    return []


def test_the_sheet_of_looks_has_a_command_and_asks_before_overwriting(window, coupon, dialogs, idle, tmp_path):
    path = tmp_path / "looks.svg"

    def choose(dialog):
        assert dialog.coupon == coupon and coupon.code in dialog.which.currentText()
        return True

    dialogs.expect("run", choose)
    dialogs.expect("save", path)
    trigger(window, idle, "coupon looks")
    assert coupon.code.encode() in path.read_bytes()
    path.write_text("mine", "utf-8")
    dialogs.expect("run", True)
    dialogs.expect("save", path)
    dialogs.expect("ask", "cancel")
    trigger(window, idle, "coupon looks")
    assert path.read_text("utf-8") == "mine"


def test_without_coupons_there_are_no_looks(window, dialogs, idle):
    dialogs.expect("tell")
    trigger(window, idle, "coupon looks")
    assert "no coupon" in dialogs.told[0][0]
