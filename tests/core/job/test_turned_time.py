from dataclasses import replace

import pytest

from core.artwork.drawing import ArtworkSource
from core.job.job import Job, new_job
from core.job.prepare import plan_steps, prepare
from core.job.turned_time import quickest_angles, time_if_at, time_if_turned
from core.sheet.placement import Placement

LONG = b"""<svg xmlns="http://www.w3.org/2000/svg" width="150mm" height="60mm" viewBox="0 0 150 60">
<rect x="1" y="1" width="148" height="58" fill="none" stroke="#000" stroke-width=".1"/>
<path d="M10 10h120v9h-120zM10 30h90l10 8h-100z"/><circle cx="125" cy="42" r="9"/></svg>"""


@pytest.fixture(scope="module")
def job() -> Job:
    return new_job(ArtworkSource(name="long.svg", data=LONG))


def turned(job: Job, angle_deg: float) -> Job:
    return replace(job, placement=Placement(centred=True, rotation_deg=angle_deg))


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 90.0, 180.0, 270.0])
def test_the_time_foretold_is_that_of_the_job_turned(job: Job, angle_deg: float) -> None:
    plan, there = prepare(job), prepare(turned(job, angle_deg))
    foretold = time_if_turned(plan, angle_deg)
    assert foretold.best_s == pytest.approx(there.time_s, rel=0.005)
    assert foretold.most_s == pytest.approx(there.time_range.most_s, rel=0.005)


def test_it_does_not_matter_how_the_plan_lies_or_whether_it_is_complete(job: Job) -> None:
    aside, first = prepare(turned(job, 90.0)), next(plan_steps(job))
    for angle_deg in (0.0, 90.0):
        there = prepare(turned(job, angle_deg)).time_s
        assert time_if_at(aside, angle_deg).best_s == pytest.approx(there, rel=0.005)
        assert time_if_at(first, angle_deg).best_s == pytest.approx(there, rel=0.01)


def test_the_quickest_turn_has_its_rows_along_the_sign(job: Job) -> None:
    plan = prepare(job)
    assert quickest_angles(plan, (0.0, 90.0, 180.0, 270.0)) == (0.0, 180.0)
    assert time_if_turned(plan, 90.0).best_s > 1.2 * plan.time_s


def test_a_job_of_lines_alone_takes_the_same_either_way() -> None:
    data = LONG.replace(b'<path d="M10 10h120v9h-120zM10 30h90l10 8h-100z"/><circle cx="125" cy="42" r="9"/>', b"")
    plan = prepare(new_job(ArtworkSource(name="cut.svg", data=data)))
    assert time_if_turned(plan, 90.0) == plan.time_range
    assert quickest_angles(plan, (0.0, 90.0)) == (0.0, 90.0)
