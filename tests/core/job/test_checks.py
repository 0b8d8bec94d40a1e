"""What is wrong with a job as set up: findings at their place on the front."""

from dataclasses import replace

import pytest

from core.artwork.drawing import ArtworkSource
from core.job.decisions import with_recipe
from core.job.job import new_job
from core.job.prepare import prepare

# two strips 0.1 mm high whose rows of a 0.5 mm raster can't both be hit
STRIPS = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">
<path d="M5 5h20v10h-20z"/><path d="M30 20h10v.1h-10z"/><path d="M30 20.25h10v.1h-10z"/></svg>"""


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_parts_between_the_scan_lines_are_found_at_their_place(turn):
    job = replace(new_job(ArtworkSource(name="strips.svg", data=STRIPS)), turn=turn)
    fill = next(layer for layer in job.layers if layer.purpose == "fill")
    plan = prepare(with_recipe(job, fill.id, replace(fill.recipe, pitch_mm=0.5)))
    found = next(finding for finding in plan.findings if finding.code == "missed-parts")
    _, _, x1, y1 = next(one for one in plan.layers if one.layer.id == fill.id).region.bounds
    assert "between the scan lines" in found.message
    assert x1 - 10 < found.x_mm < x1 and y1 - 0.4 < found.y_mm < y1
    fine = prepare(with_recipe(job, fill.id, replace(fill.recipe, pitch_mm=0.05)))
    assert not [finding for finding in fine.findings if finding.code == "missed-parts"]
