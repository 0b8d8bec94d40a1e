import json
from dataclasses import replace

import pytest

from core.burning.coupon_seen import CouponReading, PatchSeen
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.errors import UnreadableError
from core.sheet.recipes import Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3
from core.shop_book.comparing import compared_fills, differences
from core.shop_book.exchange import exported, import_into
from core.shop_book.kinds import RecipeNote
from core.shop_book.store import open_book


@pytest.fixture
def books(tmp_path):
    with open_book(tmp_path / "a.sqlite") as first, open_book(tmp_path / "b.sqlite") as second:
        yield first, second


def note(speed):
    return RecipeNote(purpose="fill", recipe=Recipe(speed_mm_s=speed, power_pct=20.0))


def contents(book):
    return {
        (entry.uuid, entry.stamp, entry.removed): [state.value for state in book.history(entry.uuid)]
        for kind in ("machine", "stock", "recipe", "coupon", "reading", "job")
        for removed in (False, True)
        for entry in book.entries(kind, removed=removed)
    }


def standing(book):
    return {key: value for key, value in contents(book).items() if not key[2]}


def filled(book):
    made = make_coupon("pitch-ladder", MIRRORED_ACRYLIC_3, CO2_FLATBED, made="2024-06-01")
    book.add("coupon", made.code, made)
    book.add("reading", made.code, CouponReading(code=made.code, patches=(PatchSeen(label="A1", look="clean"),)))
    entry = book.add("recipe", "fill", note(800.0))
    book.change(entry.uuid, note(900.0))
    gone = book.add("recipe", "gone", note(100.0))
    book.remove(gone.uuid)
    stock = book.find("stock", "mirrored acrylic 3")
    book.change(stock.uuid, replace(stock.value, clearing_dose_j_mm2=0.21))


def test_an_export_read_into_another_book_carries_all_of_it_once(books):
    first, second = books
    filled(first)
    done = import_into(second, exported(first), name="export.json")
    assert (done.added, done.updated, done.problems) == (3, 1, ())
    assert contents(second) == standing(first)
    again = import_into(second, exported(first), name="export.json")
    assert (again.added, again.updated, again.kept) == (0, 0, 0)
    assert contents(second) == standing(first)


def test_books_changed_apart_merge_both_ways_to_the_same(books):
    first, second = books
    filled(first)
    import_into(second, exported(first), name="x")
    entry = first.find("recipe", "fill")
    second.change(entry.uuid, note(950.0))
    first.change(entry.uuid, note(1000.0))
    second.add("recipe", "only there", note(700.0))
    import_into(first, exported(second), name="x")
    done = import_into(second, exported(first), name="x")
    assert first.entry(entry.uuid) == second.entry(entry.uuid)
    assert first.entry(entry.uuid).value == note(1000.0)
    speeds = [[state.value.recipe.speed_mm_s for state in book.history(entry.uuid)] for book in books]
    assert speeds[0] == speeds[1] == [1000.0, 950.0, 900.0, 800.0]
    assert done.added == 0
    assert standing(first) == standing(second)


def test_a_removal_travels_and_is_not_undone_by_an_older_export(books):
    first, second = books
    entry = first.add("recipe", "fill", note(800.0))
    before = exported(first)
    import_into(second, before, name="x")
    first.remove(entry.uuid)
    import_into(second, exported(first), name="x")
    assert second.entries("recipe") == ()
    import_into(second, before, name="x")
    assert second.entries("recipe") == ()


def test_equal_entries_made_apart_are_one_and_unequal_ones_of_one_name_both_stay(books):
    first, second = books
    for book in books:
        book.add("recipe", "fill", note(800.0))
        stock = replace(MIRRORED_ACRYLIC_3, name="quay mirror", kerf_mm=0.1 if book is first else 0.2)
        book.add("stock", stock.name, stock)
    done = import_into(second, exported(first), name="x")
    assert done.added == 1
    assert len(second.entries("recipe")) == 1
    names = {entry.name: entry.value for entry in second.entries("stock") if "quay" in entry.name}
    assert {name: (value.name, value.kerf_mm) for name, value in names.items()} == {
        "quay mirror": ("quay mirror", 0.2),
        "quay mirror (2)": ("quay mirror (2)", 0.1),
    }
    assert import_into(second, exported(first), name="x").added == 0


def test_readings_of_one_coupon_keep_its_code_as_their_name(books):
    first, second = books
    filled(first)
    code = first.values("coupon")[0].code
    first.add("reading", code, CouponReading(code=code, patches=(PatchSeen(label="A2", look="frosts"),)))
    import_into(second, exported(first), name="x")
    assert [entry.name for entry in second.entries("reading")] == [code, code]
    assert contents(second) == standing(first)


def test_a_touched_starting_profile_wins_over_an_untouched_one(books):
    first, second = books
    stock = first.find("stock", "mirrored acrylic 3")
    first.change(stock.uuid, replace(stock.value, clearing_dose_j_mm2=0.21))
    import_into(first, exported(second), name="x")
    assert first.entry(stock.uuid).value.clearing_dose_j_mm2 == 0.21
    import_into(second, exported(first), name="x")
    assert second.entry(stock.uuid).value.clearing_dose_j_mm2 == 0.21


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[]", b"{}", b'{"tain_shop_book": "1", "entries": []}', b"\xff\xfe", b"[" * 100_000]
)
def test_what_is_no_export_is_refused(books, data):
    with pytest.raises(UnreadableError, match="no export"):
        import_into(books[0], data, name="x.json")


def test_an_export_of_a_newer_version_is_refused(books):
    with pytest.raises(UnreadableError, match="newer Tain"):
        import_into(books[0], b'{"tain_shop_book": 99, "entries": []}', name="x.json")


def test_entries_that_make_no_sense_are_named_and_the_others_come(books):
    first, second = books
    first.add("recipe", "fill", note(800.0))
    document = json.loads(exported(first))
    good = next(item for item in document["entries"] if item["kind"] == "recipe")
    bad = [
        {**good, "kind": "boat"},
        {**good, "uuid": "not one"},
        {**good, "stamp": "yesterday"},
        {**good, "data": {**good["data"], "recipe": {"speed_mm_s": "fast", "power_pct": 1}}},
        {**good, "data": {**good["data"], "recipe": {"speed_mm_s": float("nan"), "power_pct": 1}}},
        {**good, "earlier": [7]},
        {"kind": "recipe"},
        7,
        None,
    ]
    document["entries"] = [*bad, good]
    done = import_into(second, json.dumps(document).encode(), name="x.json")
    assert done.added == 1 and len(done.problems) == len(bad)
    assert all(problem.startswith("x.json, entry ") for problem in done.problems)


def test_differences_name_the_figures_that_differ():
    first = Recipe(speed_mm_s=800.0, power_pct=20.0)
    second = replace(first, speed_mm_s=1000.0, air="low")
    assert [(d.figure, d.first, d.second) for d in differences(first, second)] == [
        ("speed_mm_s", 800.0, 1000.0),
        ("air", "off", "low"),
    ]
    assert differences(first, first) == ()
    with pytest.raises(TypeError):
        differences(first, CO2_FLATBED)
    slow, quick, ratio = compared_fills(first, replace(first, speed_mm_s=1600.0), CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert (slow.verdict, quick.verdict, ratio) == ("clean", "not reached", pytest.approx(0.5))
