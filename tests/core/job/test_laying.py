"""Places tried while dragging agree with the job that is really put there."""

from dataclasses import replace
from pathlib import Path

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.reading import load_source
from core.job.decisions import moved, placed_bounds_mm
from core.job.job import new_job
from core.job.laying import Laying, laying_of
from core.job.prepare import plan_steps
from core.sheet.placement import Flaw, Sheet

SAMPLES = Path(__file__).parents[3] / "sample_jobs"
OUTLINE = (
    ((0.0, 8.0), (300.0, 0.0), (320.0, 200.0), (200.0, 230.0), (0.0, 200.0)),
    ((20.0, 20.0), (40.0, 20.0), (30.0, 40.0)),
)
FLAWS = (
    Flaw(kind="line", points=((60.0, 60.0), (200.0, 90.0))),
    Flaw(kind="point", points=((150.0, 100.0),), surface="clear face", width_mm=4.0),
    Flaw(kind="patch", points=((100.0, 120.0), (140.0, 120.0), (120.0, 160.0)), noted_from="back"),
)
SHEET = Sheet(width_mm=320.0, height_mm=230.0, thickness_mm=3.0, outline=OUTLINE, flaws=FLAWS)


@pytest.fixture(scope="module")
def plan():
    job = new_job(load_source(SAMPLES / "name-plate.svg"))
    return next(plan_steps(replace(job, sheet=SHEET)))


@settings(max_examples=15, deadline=None)
@given(dx=st.floats(-200, 200), dy=st.floats(-150, 150))
def test_a_place_tried_comes_to_what_the_job_put_there_is_told(plan, dx, dy):
    laid = Laying(plan).at(dx, dy)
    there = next(plan_steps(moved(plan, dx, dy)))
    codes = [finding.code for finding in there.findings]
    assert laid.fits == ("off-sheet" not in codes)
    assert len(laid.shown) == codes.count("flaw-shows")
    again = Laying(there).at(0.0, 0.0)
    assert laid.over_mm == pytest.approx(again.over_mm, abs=0.02)
    for one, other in zip(laid.shown, again.shown, strict=True):
        assert one.number == other.number
        assert shapely.symmetric_difference(one.region, other.region).area < 1e-3


def test_how_far_over_the_edge(plan):
    plain = replace(plan.job, sheet=Sheet(width_mm=320.0, height_mm=230.0, thickness_mm=3.0))
    there = next(plan_steps(plain))
    laying, x1 = Laying(there), placed_bounds_mm(there)[2]
    assert laying.at(320.0 - x1, 0.0).fits  # the cut runs along the edge
    laid = laying.at(320.0 - x1 + 7.5, 0.0)
    assert laid.over_mm == pytest.approx(7.5) and not laid.fits and not laid.has_flaws
    assert laid.over.bounds[2] == pytest.approx(327.5, abs=0.11)


def test_nothing_burned_can_not_be_laid(plan):
    assert laying_of(replace(plan, layers=())) is None
