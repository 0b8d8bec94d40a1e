"""A step of a drag over a scratched piece with an outline of its own, beside the check that the plan itself gets."""

import random
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from core.artwork.reading import load_source
from core.job.burned import sheet_findings
from core.job.job import new_job
from core.job.laying import Laying
from core.job.prepare import plan_steps
from core.sheet.placement import Flaw, Sheet
from tests.benchmarks import Line, timed

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
OUTLINE = (
    ((0.0, 0.0), (300.0, 0.0), (300.0, 150.0), (240.0, 200.0), (0.0, 200.0)),
    ((20.0, 20.0), (40.0, 20.0), (30.0, 40.0)),
)
STEPS = 200


def run() -> Iterable[Line]:
    """Mean time of a step, over the whole piece and beyond its edges."""
    for name in ("crest", "house-number", "ornament-mirror"):
        job = replace(new_job(load_source(SAMPLES / f"{name}.svg")), sheet=_scratched())
        plan = next(plan_steps(job))
        laying, dice = Laying(plan), random.Random(7)
        places = [(dice.uniform(-150, 150), dice.uniform(-100, 100)) for _ in range(STEPS)]
        ours = timed(lambda laying=laying, places=places: [laying.at(*place) for place in places])
        check = timed(lambda job=job, plan=plan: sheet_findings(job, plan.layers))
        yield Line(
            name=f"a step of a drag, {name}, 20 flaws",
            time_s=ours.time_s / STEPS,
            reference="the plan's own check",
            reference_s=check.time_s,
            peak_mib=ours.peak_mib,
        )


def _scratched() -> Sheet:
    dice = random.Random(1)
    flaws = []
    for number in range(20):
        x, y = dice.uniform(5, 290), dice.uniform(5, 190)
        kind = ("point", "line", "patch")[number % 3]
        points = ((x, y), (x + 20, y + 4), (x + 4, y + 6))[: number % 3 + 1]
        flaws.append(Flaw(kind=kind, points=points, surface="coat" if number % 2 else "clear face"))
    return Sheet(width_mm=300.0, height_mm=200.0, thickness_mm=3.0, outline=OUTLINE, flaws=tuple(flaws))
