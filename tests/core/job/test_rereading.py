"""A job on another state of its artwork keeps what was decided about each shape."""

from dataclasses import replace

import pytest

from core.artwork.drawing import ArtworkSource
from core.errors import JobError, UnreadableError
from core.job.job import new_job, with_overrides
from core.job.painting.decisions import with_paint_of
from core.job.prepare import prepare
from core.job.rereading import reread

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
PLATE = '<rect x="1" y="1" width="58" height="38" fill="none" stroke="#c00" stroke-width="0.1"/>'
LEFT = '<rect id="left" x="8" y="8" width="8" height="12"/>'
RIGHT = '<rect x="40" y="8" width="9" height="12"/>'
STAR = '<circle id="star" cx="30" cy="30" r="3"/>'


def art(*parts: str, name: str = "plate.svg") -> ArtworkSource:
    return ArtworkSource(name=name, data=(HEAD + "".join(parts) + "</svg>").encode())


def layer_by_middle(job):
    """What every shape is for, told by where it lies: ids come and go."""
    plan = prepare(job)
    middles = {shape.id: tuple(shape.path.start_points[0].round(2).tolist()) for shape in plan.drawing.shapes}
    return {middles[shape]: layer for shape, layer in plan.layer_of.items()}


def id_at(job, x, y):
    plan = prepare(job)
    found = [one.id for one in plan.drawing.shapes if tuple(one.path.start_points[0].round(2).tolist()) == (x, y)]
    return found[0]


def test_decisions_go_with_their_shapes_though_all_numbers_move():
    job = new_job(art(PLATE, LEFT, RIGHT))
    job = with_overrides(job, [id_at(job, 8, 8)], "score")
    job = with_overrides(job, [id_at(job, 40, 8)], "guide")
    found = reread(job, art(STAR, PLATE, RIGHT, LEFT))
    assert layer_by_middle(found.job) == {
        (33.0, 30.0): "fill", (1.0, 1.0): "cut", (40.0, 8.0): "guide", (8.0, 8.0): "score",
    }  # fmt: skip
    assert (found.kept, found.dropped) == (2, 0)
    assert found.words == "3 shapes as before, 1 new."
    assert (found.job.sheet, found.job.layers, found.job.turn) == (job.sheet, job.layers, job.turn)


def test_a_named_shape_keeps_its_purpose_wherever_it_goes():
    job = new_job(art(PLATE, LEFT, RIGHT))
    job = with_overrides(job, [id_at(job, 8, 8)], "score")
    moved = '<path id="left" d="M20 22h14v7h-14z"/>'
    found = reread(job, art(PLATE, RIGHT, moved))
    assert layer_by_middle(found.job)[(20.0, 22.0)] == "score"
    assert found.words == "2 shapes as before, 1 changed."


def test_a_decision_about_what_is_gone_is_told():
    job = new_job(art(PLATE, LEFT, RIGHT))
    job = with_overrides(job, [id_at(job, 40, 8)], "guide")
    found = reread(job, art(PLATE, LEFT))
    assert found.job.overrides == () and found.dropped == 1
    assert found.words == "2 shapes as before, 1 gone. 1 decision about a shape that is gone went with it."


def test_paints_of_single_shapes_go_with_them():
    job = new_job(art(PLATE, LEFT, RIGHT))
    plan = prepare(job)
    job = with_paint_of(plan, [id_at(job, 40, 8)], "bare")
    found = reread(job, art(STAR, RIGHT, PLATE, LEFT))
    (painted,) = found.job.finishing.paint_of
    assert painted == (id_at(found.job, 40, 8), job.finishing.paint_of[0][1])


def test_the_same_bytes_change_nothing_but_the_name():
    job = new_job(art(PLATE, LEFT))
    found = reread(job, art(PLATE, LEFT, name="other.svg"))
    assert found.followed.alike and found.words == "Every shape is as it was."
    assert replace(found.job, source=job.source) == job


def test_what_can_not_be_read_or_holds_nothing_is_refused_and_a_job_that_could_not_be_read_takes_the_new_file():
    job = new_job(art(PLATE, LEFT))
    with pytest.raises(UnreadableError):
        reread(job, ArtworkSource(name="half.svg", data=b"<svg"))
    with pytest.raises(UnreadableError):
        reread(job, art())
    with pytest.raises(JobError):
        reread(new_job(), art(PLATE))
    broken = new_job(ArtworkSource(name="half.svg", data=b"<svg"))
    assert len(reread(broken, art(PLATE, LEFT)).followed.new) == 2
