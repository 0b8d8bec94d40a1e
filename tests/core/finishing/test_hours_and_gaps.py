"""Hours that are free, and areas that lie close: each held against the plain way of working it out."""

import math
from dataclasses import replace

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.finishing.bench_work import Link
from core.finishing.busy_times import Times
from core.finishing.explaining import counted, weak_words
from core.finishing.paints import starting_paint
from core.finishing.tight_places import SHARED_BORDER_MM, ClosePieces, ways_out

DAY = 1440
tasks = st.lists(st.tuples(st.integers(0, 3 * DAY), st.integers(5, 200), st.booleans()), min_size=1, max_size=12)


def link(machine=False, hands_min=None):
    return Link(step=1, paint="navy", kind="burn" if machine else "coat", coat=1, duration_min=1.0, wait_min=0.0,
                machine=machine, hands_min=hands_min)  # fmt: skip


@settings(max_examples=40)
@given(tasks)
def test_tasks_never_share_hands_and_stay_within_hours_each_at_its_first_time(wanted):
    times, taken = Times(opens_min=540.0, closes_min=1020.0), []
    for at, minutes, machine in wanted:
        start = times.first(at, link(machine), minutes)
        times.take(start, link(machine), minutes)
        assert start >= at and start % DAY >= 540 and start % DAY + minutes <= 1020
        assert all(start >= end or start + minutes <= begin for begin, end in taken)
        # no whole minute before it would have done
        for minute in range(math.ceil(at), math.floor(start)):
            in_hours = minute % DAY >= 540 and minute % DAY + minutes <= 1020
            free = all(minute >= end or minute + minutes <= begin for begin, end in taken)
            assert not (in_hours and free)
        taken.append((start, start + minutes))


def test_a_task_longer_than_the_day_begins_with_one():
    times = Times(opens_min=540.0, closes_min=1020.0)
    assert times.first(700.0, link(), 600.0) == DAY + 540.0


def test_a_copy_is_filled_on_its_own():
    times = Times(opens_min=0.0, closes_min=1440.0)
    times.copy().take(100.0, link(), 60.0)
    assert times.first(100.0, link(), 60.0) == 100.0


def test_gaps_are_those_a_general_library_measures_and_their_middle_lies_in_them():
    region = shapely.union_all([shapely.box(0, 0, 10, 10), shapely.box(30, 0, 40, 10)])
    other = shapely.union_all([shapely.box(10.4, 2, 20, 8), shapely.box(41.5, 0, 50, 10), shapely.box(80, 0, 90, 10)])
    found = ClosePieces([region, other], within_mm=2.0).between(0, 1)
    assert [round(one.distance_mm, 9) for one in found] == [0.4, 1.5]
    for one in found:
        place = shapely.Point(one.x_mm, one.y_mm)
        assert shapely.distance(place, region) == pytest.approx(one.distance_mm / 2)
        assert shapely.distance(place, other) == pytest.approx(one.distance_mm / 2)
    assert 6.0 <= found[0].stretch_mm <= 6.0 + 2 * 2.0  # the side that is shared, and round its corners
    assert ClosePieces([region, shapely.Polygon()], within_mm=2.0).between(0, 1) == ()


def test_ways_out_go_by_whether_the_areas_touch():
    touching, apart = (
        ways_out("navy", "gold", mm, waits=True, kept_off_is_smaller=False) for mm in (SHARED_BORDER_MM / 2, 1.0)
    )
    assert touching[0].startswith("Hard edge") and apart[0].startswith("Edge between")
    assert any("bare area" in way for way in ways_out("navy", "bare", 1.0, waits=True, kept_off_is_smaller=True))


def test_a_paint_that_hides_weakly_says_how_many_coats_it_lacks():
    paint = replace(starting_paint("white", "#ffffff"), hides_in_coats=5, coats=2)
    assert "3 more coats" in weak_words(paint)
    assert (counted(1, "opening"), counted(2, "opening")) == ("1 opening", "2 openings")
