"""The ruling at which a job's screens come to a file of a size that can be opened: found by screening."""

import math
from dataclasses import replace

from core.job.file_sizes import dxf_bytes
from core.job.job import Job
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.progress import Progress, silent

_LEAST = 5
_TRIES = 6


def ruling_that_fits(plan: Plan, most_bytes: float, *, progress: Progress = silent) -> int | None:
    """A whole ruling at which the screens come to at most so many bytes of DXF; None where none of some tries does."""
    ruling = max(made.lines_per_inch for made in plan.screens.values())
    size = _bytes_of(plan)
    for number in range(_TRIES):
        progress(number / _TRIES, "looking for a ruling that fits")
        ruling = math.floor(min(ruling - 1, 0.98 * ruling * most_bytes / size))
        if ruling < _LEAST:
            return None
        size = _bytes_of(next(plan_steps(_ruled(plan.job, ruling))))
        if size <= most_bytes:
            return ruling
    return None


def _ruled(job: Job, ruling: float) -> Job:
    picture = job.reading.picture
    picture = replace(picture, screen=replace(picture.screen, lines_per_inch=ruling))
    return replace(job, reading=replace(job.reading, picture=picture))


def _bytes_of(plan: Plan) -> float:
    return sum(dxf_bytes(layer.screen) for layer in plan.layers if layer.screen is not None)
