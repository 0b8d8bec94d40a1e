"""Fills as drawn beside compensated ones, for every sample: which leaves less coat, which spills less?"""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from core.burning.beam import clearing_line
from core.burning.coverage import coverage
from core.burning.edges import EDGE_S
from core.geometry.affine import apply_to_region
from core.job.decisions import with_recipe
from core.job.job import Job
from core.job.plan import Plan
from core.job.prepare import prepare
from core.output.opening import open_job
from core.sheet.faces import turn_matrix
from core.sheet.recipes import Edges

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
KINDS: tuple[Edges, ...] = ("as drawn", "compensated")


def run() -> Iterator[str]:
    """Left-over and spill in per cent of the fills, by the careful figures and by the S that is most likely."""
    for path in sorted(SAMPLES.glob("*.*")):
        if path.suffix not in (".svg", ".dxf"):
            continue
        told = [f"{kind}: {_figures(prepare(_with_edges(open_job(path), kind)))}" for kind in KINDS]
        yield f"edges of {path.name:24} {'; '.join(told)}"


def _with_edges(job: Job, edges: Edges) -> Job:
    for layer in job.layers:
        if layer.purpose == "fill":
            job = with_recipe(job, layer.id, replace(layer.recipe, edges=edges))
    return job


def _figures(plan: Plan) -> str:
    sums = {"careful": [0.0, 0.0], f"S {EDGE_S:g}": [0.0, 0.0]}
    area = 0.0
    for layer in plan.layers:
        if layer.rows is None or layer.coverage is None or layer.region is None:
            continue
        line = clearing_line(layer.layer.recipe, plan.job.machine, plan.job.stock)
        region = apply_to_region(turn_matrix(plan.job.turn, plan.job.sheet), layer.region)
        likely = coverage(region, layer.rows, line, clearing_s=EDGE_S, spill_s=EDGE_S)
        area += layer.coverage.region_mm2
        for total, found in zip(sums.values(), (layer.coverage, likely), strict=True):
            total[0] += found.left_over_mm2
            total[1] += found.spill_mm2
    if not area:
        return "no fill"
    return ", ".join(
        f"{name} left {100 * left / area:.2f} spill {100 * spill / area:.2f}" for name, (left, spill) in sums.items()
    )
