import sqlite3
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest

from core.burning.machines import CO2_FLATBED, STARTING_MACHINES
from core.errors import UnreadableError, WriteError
from core.sheet.recipes import Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3, STARTING_STOCKS
from core.shop_book import store
from core.shop_book.kinds import JobDone, RecipeNote
from core.shop_book.migrations import VERSION
from core.shop_book.profiles import known_machines, known_stocks
from core.shop_book.store import StaleEntryError, open_book

ROOT = Path(__file__).parents[3]
OLD_BOOK = Path(__file__).with_name("book_version_1.sql")


@pytest.fixture
def path(tmp_path):
    return tmp_path / "kept here" / "shop-book.sqlite"


@pytest.fixture
def book(path):
    with open_book(path) as opened:
        yield opened


def integrity(path):
    connection = sqlite3.connect(path)
    try:
        return connection.execute("PRAGMA integrity_check").fetchone()[0]
    finally:
        connection.close()


def note(speed):
    return RecipeNote(purpose="fill", recipe=Recipe(speed_mm_s=speed, power_pct=20.0), note="harbour sign")


def run_child(code, *arguments):
    words = [sys.executable, "-c", code, *map(str, arguments)]
    return subprocess.Popen(words, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT)


# --- first opening, TAIN_HOME ---------------------------------------------------------------------------------------


def test_a_new_book_holds_the_starting_profiles(book):
    assert set(book.values("machine")) == set(STARTING_MACHINES)
    assert set(book.values("stock")) == set(STARTING_STOCKS)
    assert book.entries("job") == ()


def test_tain_home_says_where_the_book_lies_and_profiles_come_from_it(tmp_path, monkeypatch):
    monkeypatch.setenv("TAIN_HOME", str(tmp_path / "elsewhere"))
    assert known_machines() == STARTING_MACHINES and known_stocks() == STARTING_STOCKS
    assert not (tmp_path / "elsewhere").exists()
    with open_book() as book:
        assert book.path.parent == tmp_path / "elsewhere"
        entry = book.find("machine", "flatbed")
        book.change(entry.uuid, replace(entry.value, spot_mm=0.15))
    assert replace(CO2_FLATBED, spot_mm=0.15) in known_machines()


# --- entries --------------------------------------------------------------------------------------------------------


def test_what_is_added_is_read_back_by_another_opening(book, path):
    job = JobDone(done="2024-06-02", stock="mirror", machine="flatbed", predicted_s=400.0, photos=("a.jpg",))
    added = [book.add("job", "house number", job), book.add("recipe", "quick fill", note(900.0))]
    with open_book(path) as other:
        assert [other.entry(entry.uuid) for entry in added] == added
        assert other.entries("job") == (added[0],)


def test_changes_keep_every_earlier_state_and_any_can_come_back(book):
    entry = book.add("recipe", "fill", note(800.0))
    for speed in (900.0, 1000.0):
        entry = book.change(entry.uuid, note(speed), note=f"tried {speed:g}")
    states = book.history(entry.uuid)
    assert [state.value.recipe.speed_mm_s for state in states] == [1000.0, 900.0, 800.0]
    assert states[0] == entry and states[1].note == "tried 900"
    reverted = book.revert(entry.uuid, states[2].stamp)
    assert reverted.value == note(800.0)
    assert [state.value.recipe.speed_mm_s for state in book.history(entry.uuid)] == [800.0, 1000.0, 900.0, 800.0]
    with pytest.raises(UnreadableError, match="no state"):
        book.revert(entry.uuid, "2001-01-01T00:00:00.000000Z")


def test_removed_entries_are_out_of_sight_and_come_back_whole(book):
    entry = book.add("recipe", "fill", note(800.0))
    book.remove(entry.uuid, note="never again")
    assert book.entries("recipe") == () and book.search("fill harbour") == ()
    assert [gone.note for gone in book.entries("recipe", removed=True)] == ["never again"]
    book.revert(entry.uuid, entry.stamp)
    assert [back.value for back in book.entries("recipe")] == [entry.value]


def test_a_change_based_on_an_old_state_is_refused_but_loses_nothing(book, path):
    entry = book.add("recipe", "fill", note(800.0))
    with open_book(path) as other:
        other.change(entry.uuid, note(900.0), based_on=entry.stamp)
    with pytest.raises(StaleEntryError, match="changed elsewhere"):
        book.change(entry.uuid, note(700.0), based_on=entry.stamp)
    book.change(entry.uuid, note(700.0))
    assert [state.value.recipe.speed_mm_s for state in book.history(entry.uuid)] == [700.0, 900.0, 800.0]


def test_a_profile_renamed_is_found_by_its_new_name(book):
    entry = book.find("stock", "mirrored acrylic 3")
    book.change(entry.uuid, replace(entry.value, name="mirror from the quay shop"))
    assert book.find("stock", "QUAY").uuid == entry.uuid
    with pytest.raises(UnreadableError, match="more than one stock"):
        book.find("stock", "mirrored")
    with pytest.raises(UnreadableError, match=r"no stock .* It has"):
        book.find("stock", "slate")


def test_search_wants_every_word_anywhere(book):
    book.add("recipe", "quick fill", note(900.0))
    assert [entry.name for entry in book.search("QUICK harbour")] == ["quick fill"]
    assert book.search("quick lighthouse") == ()
    assert {entry.kind for entry in book.search("glass")} == {"stock"}
    assert book.search("glass", kind="machine") == ()


def test_stamps_rise_even_when_a_clock_ran_ahead(book):
    entry = book.add("recipe", "fill", note(800.0))
    ahead = replace(entry, stamp="2999-01-01T00:00:00.000000Z", value=note(850.0))
    assert book.take_in(ahead) == "updated"
    changed = book.change(entry.uuid, note(900.0))
    assert changed.stamp > ahead.stamp
    assert len({state.stamp for state in book.history(entry.uuid)}) == 3


def test_an_unknown_kind_and_an_unknown_entry_are_told(book):
    with pytest.raises(UnreadableError, match="holds no"):
        book.add("boat", "dinghy", note(1.0))
    with pytest.raises(UnreadableError, match="no entry"):
        book.entry("nowhere")


def test_one_damaged_entry_does_not_hide_the_others(book, path):
    entry = book.add("recipe", "fill", note(800.0))
    other = book.add("recipe", "good", note(900.0))
    connection = sqlite3.connect(path)
    connection.execute("UPDATE entry SET body = '{\"purpose\": 3}' WHERE uuid = ?", (entry.uuid,))
    connection.commit()
    connection.close()
    assert book.entries("recipe") == (other,)
    assert len(book.damaged()) == 1 and "“fill”" in book.damaged()[0]


# --- two at once, killed, full, old, new, damaged ------------------------------------------------------------------

_WRITE_MANY = """
import sys
from core.sheet.recipes import Recipe
from core.shop_book.kinds import RecipeNote
from core.shop_book.store import open_book
from pathlib import Path
with open_book(Path(sys.argv[1])) as book:
    for number in range(int(sys.argv[3])):
        value = RecipeNote(purpose="fill", recipe=Recipe(speed_mm_s=1.0 + number, power_pct=20.0))
        book.add("recipe", f"{sys.argv[2]} {number}", value)
"""


def test_two_processes_open_a_new_book_and_write_at_once(path):
    children = [run_child(_WRITE_MANY, path, name, 40) for name in ("left", "right", "third")]
    assert [child.wait(timeout=60) for child in children] == [0, 0, 0]
    for child in children:
        child.stdin.close()
        child.stdout.close()
    with open_book(path) as book:
        assert len(book.entries("recipe")) == 120
        assert len(book.entries("stock")) == len(STARTING_STOCKS)
    assert integrity(path) == "ok"


_STOP_HALFWAY = """
import sys
from dataclasses import replace
from pathlib import Path
from core.shop_book.store import open_book
book = open_book(Path(sys.argv[1]))
with book.writing():
    for entry in book.entries("stock"):
        book.change(entry.uuid, replace(entry.value, clearing_dose_j_mm2=0.5))
    if sys.argv[2] == "spilled":  # make SQLite write pages to the file itself before the commit
        book._connection.execute("PRAGMA cache_size = 1")
        for number in range(400):
            book.add("stock", f"filler {number}", replace(entry.value, name=f"filler {number}"))
    print("halfway", flush=True)
    sys.stdin.read()
"""


@pytest.mark.parametrize("how", ["in memory", "spilled"])
def test_a_process_killed_in_the_middle_of_a_change_leaves_the_book_as_it_was(book, path, how):
    book.add("recipe", "fill", note(800.0))
    child = run_child(_STOP_HALFWAY, path, how)
    assert child.stdout.readline() == "halfway\n"
    if how == "spilled":
        assert path.with_name(path.name + "-journal").stat().st_size > 0
    child.kill()
    child.wait(timeout=30)
    child.stdin.close()
    child.stdout.close()
    with open_book(path) as again:
        assert set(again.values("stock")) == set(STARTING_STOCKS)
        assert len(again.entries("recipe")) == 1
        again.add("recipe", "after", note(900.0))
    assert integrity(path) == "ok"


def test_a_second_window_waits_and_then_says_so(book, path, monkeypatch):
    monkeypatch.setattr(store, "BUSY_TIMEOUT_S", 0.05)
    with open_book(path) as other, book.writing():
        book.add("recipe", "mine", note(800.0))
        with pytest.raises(WriteError, match="in use elsewhere"):
            other.add("recipe", "yours", note(900.0))
    assert [entry.name for entry in book.entries("recipe")] == ["mine"]


def fill_the_disk(book):
    """Let the file grow no further, as a full disk would."""
    pages = book._connection.execute("PRAGMA page_count").fetchone()[0]
    book._connection.execute(f"PRAGMA max_page_count = {pages}")


def test_a_full_disk_loses_nothing_and_is_told(book, path):
    kept = book.add("recipe", "fill", note(800.0))
    fill_the_disk(book)
    big = replace(note(900.0), note="long " * 20_000)
    with pytest.raises(WriteError, match=r"disk is full.*still there"):
        book.change(kept.uuid, big)
    with pytest.raises(WriteError, match="disk is full"), book.writing():
        book.change(kept.uuid, note(700.0))
        book.add("recipe", "big", big)
    with open_book(path) as again:
        assert again.entries("recipe") == (kept,)
        assert again.history(kept.uuid) == (kept,)
    assert integrity(path) == "ok"


_FULL_FILE_SYSTEM = """
import resource, signal, sys
from dataclasses import replace
from pathlib import Path
from core.errors import WriteError
from core.shop_book.store import open_book
with open_book(Path(sys.argv[1])) as book:
    entry = book.entries("recipe")[0]
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    size = Path(sys.argv[1]).stat().st_size
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))
    try:
        book.change(entry.uuid, replace(entry.value, note="long " * 20_000))
    except WriteError as error:
        print(error, flush=True)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="file size limits are POSIX")
def test_a_write_that_the_system_refuses_loses_nothing(book, path):
    kept = book.add("recipe", "fill", note(800.0))
    out, _ = run_child(_FULL_FILE_SYSTEM, path).communicate(timeout=60)
    assert "What it held is still there" in out or "what it held is still there" in out
    with open_book(path) as again:
        assert again.entries("recipe") == (kept,)
    assert integrity(path) == "ok"


def old_book(path):
    path.parent.mkdir(parents=True)
    connection = sqlite3.connect(path)
    connection.executescript(OLD_BOOK.read_text(encoding="utf-8"))
    connection.close()


def test_a_book_of_an_older_version_is_read_whole_and_a_copy_stays(path):
    old_book(path)
    with open_book(path) as book:
        (machine,) = book.values("machine")
        (stock,) = book.values("stock")
        assert (machine.name, machine.spot_mm, machine.beam_quality_m2) == ("Bench laser", 0.144, 1.2)
        assert (stock.name, stock.clearing_dose_j_mm2, stock.kerf_mm) == ("harbour mirror 3 mm", 0.207, 0.15)
        entry = book.find("stock", "harbour")
        book.change(entry.uuid, replace(stock, clearing_dose_j_mm2=0.21))
        assert len(book.history(entry.uuid)) == 2
    copy = path.with_suffix(".version-1.sqlite")
    connection = sqlite3.connect(copy)
    assert connection.execute("PRAGMA user_version").fetchone()[0] == 1
    assert connection.execute("SELECT count(*) FROM entry").fetchone()[0] == 2
    connection.close()


def test_an_update_that_fails_leaves_the_old_version_whole(path, monkeypatch):
    old_book(path)

    def broken(connection):
        connection.execute("ALTER TABLE entry ADD COLUMN removed INTEGER NOT NULL DEFAULT 0")
        raise sqlite3.OperationalError("the lights went out")

    monkeypatch.setattr("core.shop_book.migrations.MIGRATIONS", (None, broken))
    with pytest.raises(WriteError, match="lights went out"):
        open_book(path)
    monkeypatch.undo()
    with open_book(path) as book:
        assert len(book.values("stock")) == 1


def test_a_book_of_a_newer_version_is_refused_and_left_alone(path, book):
    book.close()
    connection = sqlite3.connect(path)
    connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    connection.close()
    before = path.read_bytes()
    with pytest.raises(UnreadableError, match="newer Tain"):
        open_book(path)
    assert path.read_bytes() == before


def test_what_is_no_book_is_refused_and_left_alone(tmp_path):
    path = tmp_path / "shop-book.sqlite"
    path.write_bytes(b"not a book at all" * 100)
    with pytest.raises(UnreadableError, match="no shop book"):
        open_book(path)
    assert path.read_bytes() == b"not a book at all" * 100
    with pytest.raises(WriteError, match="can't be made"):
        open_book(path / "below a file" / "shop-book.sqlite")


def test_an_error_inside_a_transaction_undoes_all_of_it(book):
    with pytest.raises(UnreadableError), book.writing():
        book.add("recipe", "one", note(800.0))
        book.find("stock", "slate")
    assert book.entries("recipe") == ()
    assert MIRRORED_ACRYLIC_3 in book.values("stock")
