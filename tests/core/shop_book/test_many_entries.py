"""Large books, forged exports, damaged entries: nothing is read that is not shown, nothing hides what is there."""

import json
import sqlite3
from dataclasses import replace

import pytest

from core.burning.machines import CO2_FLATBED
from core.errors import UnreadableError
from core.sheet.recipes import Recipe
from core.shop_book import entries
from core.shop_book.entries import Damaged
from core.shop_book.exchange import exported, import_into
from core.shop_book.kinds import JobDone, RecipeNote
from core.shop_book.store import open_book


@pytest.fixture
def book(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        yield book


def note(speed=800.0):
    return RecipeNote(purpose="fill", recipe=Recipe(speed_mm_s=speed, power_pct=20.0))


@pytest.fixture
def many(book):
    with book.writing():
        for number in range(300):
            book.add("recipe", f"harbour sign {number}", note(100.0 + number), note="quick" if number % 2 else "slow")
    return book


@pytest.fixture
def decoded(monkeypatch):
    counted = []
    real = entries.from_data
    monkeypatch.setattr(entries, "from_data", lambda *rest, **named: (counted.append(1), real(*rest, **named))[1])
    return counted


def test_only_what_is_shown_is_read(many, decoded):
    assert len(many.listed("recipe")) == 300 and decoded == []
    assert many.find("recipe", "sign 217").value == note(317.0) and len(decoded) == 1
    found = many.search("harbour quick", most=10)
    assert len(found) == 10 and all(entry.note == "quick" for entry in found) and len(decoded) == 11
    with pytest.raises(UnreadableError, match="and 288 more"):
        many.find("recipe", "harbour")


def test_a_list_makes_only_what_is_looked_at(many, monkeypatch):
    made = []
    real = entries.Listed
    monkeypatch.setattr(entries, "Listed", lambda *row: (made.append(1), real(*row))[1])
    listed = many.listed()
    assert len(listed) >= 300 and made == []
    assert listed[-1] == listed[len(listed) - 1] and len(made) == 2
    whole = list(listed)
    assert whole == [listed[at] for at in range(len(listed))] and list(listed[5:9]) == whole[5:9]
    assert [(one.kind, one.name, one.stamp) for one in whole] == sorted(
        (one.kind, one.name, one.stamp) for one in whole
    )
    assert listed[whole.index(next(one for one in whole if one.kind == "stock"))].kind == "stock"
    with pytest.raises(IndexError):
        listed[len(listed)]


def test_search_follows_every_change(many):
    entry = many.find("recipe", "harbour sign 217")
    assert [one.name for one in many.search("317")] == ["harbour sign 217"]
    many.change(entry.uuid, note(999.25))
    assert many.search("317") == () and many.search("999.25")[0].uuid == entry.uuid
    many.remove(entry.uuid)
    assert many.search("999.25") == ()
    many.revert(entry.uuid, entry.stamp)
    assert many.search("317.0")[0].uuid == entry.uuid
    many.add("recipe", "Größe", note())
    assert [one.name for one in many.search("GRÖSS")] == [] and [one.name for one in many.search("grö")] == ["Größe"]
    assert many.find_listed("recipe", "GRÖSSE").name == "Größe" and many.search("harbour größe") == ()
    assert many.search('"; -- *') == () and len(many.search("bour sign 21")) == 13


def test_the_newest_timed_jobs_of_a_machine_are_found_without_reading_others(book, decoded):
    from core.burning.run_time_fit import TimedJob

    timing = TimedJob(
        name="a", actual_s=10.0, predicted_s=9.0, acceleration_mm_s2=1e4, turn_round_s=0.01,
        inverse_acceleration_slope=1.0, turn_rounds=5.0,
    )  # fmt: skip
    for number in range(8):
        timed = replace(timing, name=str(number)) if number % 2 else None
        value = JobDone(done="2026-01-01", stock="s", machine="M" if number else "N", predicted_s=9.0, timing=timed)
        book.add("job", f"job {number}", value)
    decoded.clear()
    found = book.timed_jobs(most=3)
    assert {name: [job.timing.name for job in jobs] for name, jobs in found.items()} == {"M": ["3", "5", "7"]}
    assert len(decoded) == 3


def document(*entries):
    return json.dumps({"tain_shop_book": 1, "entries": list(entries)}).encode()


def forged(book, kind="recipe", **changes):
    data = json.loads(exported(book))
    return {**next(item for item in data["entries"] if item["kind"] == kind), **changes}


def test_an_entry_of_another_kind_does_not_hide_a_machine(many):
    machine = many.find("machine", CO2_FLATBED.name)
    told = import_into(many, document(forged(many, uuid=machine.uuid, stamp="2026-01-01T00:00:00.000000Z")), name="x")
    assert "comes as a recipe, but is a machine here" in told.problems[0] and told.updated == 0
    assert many.entry(machine.uuid) == machine


@pytest.mark.parametrize("stamp", ("9999-12-31T23:59:59.999999Z", "1500-01-01T00:00:00.000000Z", "2026-01-01", 7))
def test_a_stamp_of_no_time_is_refused(many, stamp):
    told = import_into(many, document(forged(many, stamp=stamp)), name="x")
    assert len(told.problems) == 1 and told.updated == 0


def test_a_stamp_without_its_zeros_is_read_as_with_them(many):
    entry = many.find("recipe", "harbour sign 0")
    plain = forged(many, name="harbour sign 0", uuid=entry.uuid, stamp="2001-2-3T4:5:6.7Z")
    assert import_into(many, document(plain), name="x").kept == 1
    assert many.history(entry.uuid)[1].stamp == "2001-02-03T04:05:06.700000Z"


def test_an_entry_from_the_end_of_time_can_still_be_changed(many):
    entry = many.find("recipe", "harbour sign 0")
    many.take_in(replace(entry, stamp="9999-12-31T23:59:59.999999Z", value=note(1.0)))
    assert many.change(entry.uuid, note(2.0)).value == note(2.0)


def test_merging_entries_of_one_name_takes_steps_in_line_with_their_number(tmp_path, book):
    plain = forged(fill(book))
    entries = [
        {**plain, "uuid": f"00000000-0000-4000-8000-{number:012d}", "data": {**plain["data"], "note": str(number)}}
        for number in range(240)
    ]
    steps = []
    for count in (120, 240):
        with open_book(tmp_path / f"{count}.sqlite") as other:
            asked = []
            other._connection.set_trace_callback(asked.append)
            told = import_into(other, document(*entries[:count]), name="x")
            other._connection.set_trace_callback(None)
            assert told.added == count and len({one.name for one in other.listed("recipe")}) == count
            steps.append(len(asked))
    assert steps[1] < 2.1 * steps[0]


def fill(book):
    book.add("recipe", "fill", note())
    return book


def test_what_is_damaged_can_be_looked_at_exported_and_reverted(book, tmp_path):
    entry = book.add("recipe", "fill", note(800.0))
    book.change(entry.uuid, note(900.0))
    connection = sqlite3.connect(tmp_path / "book.sqlite")
    connection.execute("UPDATE entry SET body = '{\"purpose\": 3}' WHERE uuid = ?", (entry.uuid,))
    connection.commit()
    connection.close()
    (found,) = book.search("fill", kind="recipe")
    assert isinstance(found.value, Damaged) and found.value.text == '{"purpose": 3}'
    assert '{\\"purpose\\": 3}' in exported(book).decode()
    assert book.history(book.find_listed("recipe", "fill").uuid)[1].value == note(800.0)
    book.revert(entry.uuid, entry.stamp)
    assert book.find("recipe", "fill").value == note(800.0)


@pytest.mark.parametrize("value", (replace(CO2_FLATBED, spot_mm=0.0), replace(CO2_FLATBED, name="a\ud800")))
def test_what_could_not_be_read_back_is_not_written(book, value):
    with pytest.raises(UnreadableError):
        book.add("machine", "new", value)
    with pytest.raises(UnreadableError):
        book.change(book.find("machine", CO2_FLATBED.name).uuid, value)
    assert len(book.listed("machine")) == 2
