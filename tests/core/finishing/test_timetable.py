"""The timetable: the starting points by hand arithmetic, and what must hold for any chain."""

from dataclasses import replace
from datetime import datetime, timedelta
from itertools import pairwise

import icalendar
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import UnreadableError
from core.finishing.bench_work import label_of
from core.finishing.calendar_file import calendar_file, piece_words
from core.finishing.masks import mask_figures
from core.finishing.paints import Finishing, Paint, Workday, starting_paint
from core.finishing.steps import PaintArea, PaintStep
from core.finishing.timetable import BurnTimes, chain_of, sessions, time_text, timetable

ONE_DAY = Workday(start="2026-03-02T08:00", opens_h=0.0, closes_h=24.0)


def steps_of(*paints: Paint) -> tuple[PaintStep, ...]:
    """Masked steps, the last one without a mask."""
    region = shapely.box(0, 0, 10, 10)
    return tuple(
        PaintStep(
            number=number,
            area=PaintArea(paint=paint, region=region, shape_ids=("a",)),
            opening=region if number < len(paints) else None,
            made_by="knife" if number < len(paints) else "none",
            patches=shapely.MultiPolygon(),
            kept_off=(),
            figures=mask_figures(region),
            tight_places=(),
            effort_min=0.0,
        )
        for number, paint in enumerate(paints, start=1)
    )


THREE = steps_of(starting_paint("a", "#111111"), starting_paint("b", "#222222"), starting_paint("c", "#333333"))


def test_three_colours_two_coats_each_by_the_starting_points() -> None:
    """Common practice: 20 min between coats, 60 min before the next mask, overnight (12 h) before handling."""
    table = timetable(THREE, Finishing(workday=replace(ONE_DAY, mask_min=0.0, coat_min=0.0, peel_min=0.0)))
    at = {(task.link.step, task.link.kind, task.link.coat): task.start for task in table.tasks}
    start = datetime(2026, 3, 2, 8)
    for step, begin_min in ((1, 0), (2, 80), (3, 160)):
        assert at[step, "coat", 1] == start + timedelta(minutes=begin_min)
        assert at[step, "coat", 2] == start + timedelta(minutes=begin_min + 20)
    assert at[2, "mask", 1] == start + timedelta(minutes=80)
    assert (3, "mask", 1) not in at
    assert table.done == (start + timedelta(minutes=180, hours=12),)


def test_handwork_comes_on_top() -> None:
    """mask 10, coat 3, wait 20, coat 3, wait 60, peel 2 = 98 min, twice; then 3 + 20 + 3; then 12 h."""
    table = timetable(THREE, Finishing(workday=ONE_DAY))
    last = datetime(2026, 3, 2, 8) + timedelta(minutes=2 * 98 + 26)
    assert table.tasks[-1].end == last
    assert table.end == last + timedelta(hours=12)


def test_two_pieces_are_masked_then_sprayed_in_the_same_waits() -> None:
    table = timetable(THREE, Finishing(workday=ONE_DAY, pieces=2))
    alone = timetable(THREE, Finishing(workday=ONE_DAY))
    longer = table.end - alone.end
    assert timedelta(0) < longer < timedelta(minutes=2 * 15 + 6)  # only handwork is done twice, never a wait
    first = sessions(table.tasks)[0]
    assert (first.link.kind, first.pieces) == ("mask", (1, 2))


@st.composite
def paints(draw: st.DrawFn) -> Paint:
    return Paint(
        name=draw(st.sampled_from("abc")),
        colour="#202020",
        coats=draw(st.integers(1, 3)),
        between_coats_min=draw(st.integers(0, 90)),
        recoat_within_min=draw(st.sampled_from([0.0, 30.0, 240.0])),
        mask_after_min=draw(st.integers(0, 300)),
        cure_h=draw(st.integers(0, 48)),
    )


@settings(max_examples=60)
@given(st.lists(paints(), min_size=1, max_size=4), st.integers(1, 5), st.integers(0, 23), st.sampled_from([1, 8, 12]))
def test_one_pair_of_hands_all_waits_only_in_hours(colours, pieces: int, hour: int, hours: int) -> None:
    day = Workday(start=f"2026-03-02T{hour:02d}:30", opens_h=9.0, closes_h=9.0 + hours)
    steps = steps_of(*colours)
    table = timetable(steps, Finishing(workday=day, pieces=pieces))
    chain = chain_of(steps, day, {})
    abraded = [replace(link, duration_min=link.duration_min + day.abrade_min) for link in chain]
    assert len(table.tasks) == pieces * len(chain)
    for before, after in pairwise(table.tasks):
        assert before.end <= after.start
    for piece in range(1, pieces + 1):
        own = [task for task in table.tasks if task.piece == piece]
        assert [task.link for task in own] == [
            late if task.late else link for task, link, late in zip(own, chain, abraded, strict=True)
        ]
        for before, after in pairwise(own):
            waited_min = (after.start - before.end).total_seconds() / 60
            assert waited_min >= after.link.wait_min
            assert after.late == (0 < after.link.within_min < waited_min)
        last_coat = max(task.end for task in own if task.link.kind == "coat")
        assert table.done[piece - 1] >= last_coat + timedelta(hours=colours[-1].cure_h)
    for task in table.tasks:
        assert task.start >= datetime(2026, 3, 2, hour, 30)
        assert task.start.hour >= 9
        assert task.end <= task.start.replace(hour=0, minute=0) + timedelta(hours=9 + hours)


def test_work_that_does_not_fit_before_closing_waits_for_the_morning() -> None:
    day = Workday(start="2026-03-02T17:50", opens_h=8.0, closes_h=18.0)
    table = timetable(THREE, Finishing(workday=day))
    assert table.tasks[0].start == datetime(2026, 3, 2, 17, 50)
    assert table.tasks[1].start == datetime(2026, 3, 3, 8, 0)


def test_a_coat_after_the_cans_latest_time_is_marked() -> None:
    """A day of an hour and 70 min between coats: the second can only come on the next morning."""
    slow = replace(starting_paint("a", "#111111"), recoat_within_min=90.0, between_coats_min=70.0)
    day = Workday(start="2026-03-02T08:00", opens_h=8.0, closes_h=9.0, abrade_min=7.0)
    table = timetable(steps_of(slow), Finishing(workday=day))
    assert [task.late for task in table.tasks] == [False, True]
    second = table.tasks[1]
    assert second.label == "a: coat 2" and sessions(table.tasks)[1].label == "a: abrade, then coat 2"
    assert second.start == datetime(2026, 3, 3, 8, 0)
    assert second.end - second.start == timedelta(minutes=7 + 3)
    assert any("later than the can allows" in note for note in table.notes)


def test_a_first_coat_is_put_off_where_the_second_would_come_too_late() -> None:
    slow = replace(starting_paint("a", "#111111"), recoat_within_min=60.0)
    day = Workday(start="2026-03-02T17:57", opens_h=8.0, closes_h=18.0)
    table = timetable(steps_of(slow), Finishing(workday=day))
    assert [task.late for task in table.tasks] == [False, False]
    assert [task.start.hour for task in table.tasks] == [8, 8] and table.start.day == 3


def test_twelve_pieces_of_four_coats_keep_a_limit_of_half_an_hour() -> None:
    """Six pieces take 18 min a round, seven 21: batches of six with 13 to 27 min between their coats keep it."""
    quick = replace(
        starting_paint("a", "#111111"), coats=4, between_coats_min=12.0, recoat_within_min=30.0, mask_after_min=0.0
    )
    table = timetable(steps_of(quick), Finishing(workday=ONE_DAY, pieces=12))
    assert len(table.tasks) == 48 and not any(task.late for task in table.tasks)
    handwork = timedelta(minutes=12 * 4 * 3)
    assert table.tasks[-1].end - table.start == handwork  # two batches of six: never a wait for hands
    assert [session.pieces for session in sessions(table.tasks)] == [
        tuple(range(first, first + 6)) for first in (1, 7) for _ in range(4)
    ]


def test_backing_goes_through_the_same_mask() -> None:
    white = replace(starting_paint("white", "#ffffff"), mask_after_min=90.0)
    cream = replace(starting_paint("cream", "#f4f1e8"), coats=1, backing="white", backing_coats=2)
    chain = chain_of(steps_of(cream, starting_paint("b", "#222222")), Workday(), {"white": white})
    assert [(link.kind, link.coat, link.wait_min) for link in chain[:5]] == [
        ("mask", 1, 0.0),
        ("coat", 1, 0.0),
        ("backing", 1, 20.0),
        ("backing", 2, 20.0),
        ("peel", 1, 90.0),
    ]


def test_without_a_date_it_counts_days() -> None:
    table = timetable(THREE, Finishing())
    assert not table.dated
    assert time_text(table.start, dated=False) == "day 1, 08:00"
    assert time_text(table.end, dated=False).startswith("day 1, 23:") or "day 2" in time_text(table.end, dated=False)
    assert timetable((), Finishing()).tasks == ()


@pytest.mark.parametrize("start", ["soon", "2026-13-01T09:00", "0001-01-01T00:00", "9999-12-31T23:59"])
def test_no_date_is_refused(start: str) -> None:
    with pytest.raises(UnreadableError):
        timetable(THREE, Finishing(workday=Workday(start=start)))


def test_the_calendar_file_reads_back_with_every_session() -> None:
    table = timetable(THREE, Finishing(workday=ONE_DAY, pieces=3))
    data = calendar_file(table, name="crest; hall, 2")
    events = icalendar.Calendar.from_ical(data).walk("VEVENT")
    got = [(str(event["SUMMARY"]), event["DTSTART"].dt, event["DTEND"].dt) for event in events]
    expected = [(f"crest; hall, 2: {s.label}", s.start, s.end) for s in sessions(table.tasks)]
    assert got[: len(expected)] == expected
    assert len(got) == len(expected) + len(set(table.done))
    assert len({str(event["UID"]) for event in events}) == len(got)
    assert all(event["DTSTART"].dt.tzinfo is None for event in events)
    assert data == calendar_file(table, name="crest; hall, 2")


def test_the_sheets_own_film_comes_off_after_the_first_colour() -> None:
    first, second = steps_of(starting_paint("a", "#111111"), starting_paint("b", "#222222"))
    chain = chain_of((replace(first, made_by="laser"), second), Workday(), {})
    assert [link.kind for link in chain] == ["coat", "coat", "film", "coat", "coat"]
    assert chain[2].wait_min == 60.0 and "the sheet's own film" in label_of(chain[2])
    patched = replace(first, made_by="laser", patches=shapely.box(0, 0, 2, 2))
    assert [link.kind for link in chain_of((patched, second), Workday(), {})][:4] == ["mask", "coat", "coat", "film"]


def test_a_later_burn_is_a_task_and_waits_for_the_cure() -> None:
    """coat 3, wait 20, coat 3 = 26 min; 12 h of cure; put back 6 and burn 9 min; coats; 12 h; put back 6, cut 4."""
    first, second = steps_of(starting_paint("a", "#111111"), starting_paint("b", "#222222"))
    first = replace(first, made_by="none", opening=None, floods=True)
    burns = BurnTimes(burns_min=(30.0, 9.0), cut_min=4.0, put_back_min=6.0)
    table = timetable((first, replace(second, burn=2)), Finishing(workday=ONE_DAY), burns=burns)
    start = datetime(2026, 3, 2, 8)
    burn, cut = (task for task in table.tasks if task.link.kind == "burn")
    assert burn.label == "b: burn 2" and burn.start == start + timedelta(minutes=26, hours=12)
    assert burn.end - burn.start == timedelta(minutes=15) and burn.link.machine
    assert cut.label == "cut" and cut.start == burn.end + timedelta(minutes=26, hours=12)
    assert table.end == cut.end == cut.start + timedelta(minutes=10)


def test_burns_through_paint_are_watched_whatever_the_day_says() -> None:
    first, second = steps_of(starting_paint("a", "#111111"), starting_paint("b", "#222222"))
    day = Workday(watch_burns=False)
    burns = BurnTimes(burns_min=(30.0, 9.0), put_back_min=6.0)
    chain = chain_of((first, replace(second, burn=2)), day, {}, burns, first_burn=True)
    once, again = (link for link in chain if link.kind == "burn")
    assert once.hands_min == 0.0 and again.hands_min is None
    assert chain_of((first,), Workday(), {}, burns, first_burn=True)[0].hands_min is None


def test_pieces_in_words() -> None:
    assert piece_words([2]) == "piece 2"
    assert piece_words([1, 2, 3]) == "pieces 1 to 3"
    assert piece_words((1, 3)) == "pieces 1, 3"


def test_a_backing_that_cures_longer_is_waited_for() -> None:
    """By hand: coat 3 min, wait 20, coat 3, wait 20, backing 3 = 49 min; then the backing's 30 h, not 12."""
    white = replace(starting_paint("white", "#ffffff"), cure_h=30.0)
    backed = replace(starting_paint("red", "#aa0000"), coats=2, cure_h=12.0, backing="white", backing_coats=1)
    table = timetable(steps_of(backed), Finishing(paints=(backed, white), workday=ONE_DAY))
    assert table.end == datetime(2026, 3, 2, 8) + timedelta(minutes=49, hours=30)
