"""From a file to both faces, and to the finished plan, beside svgelements' bare parse of the same bytes.

Processor time, so that a busy machine tells nearly the same.
"""

import io
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from typing import Any

import shapely
import svgelements

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.svg import read_svg
from core.burning.coverage import coverage
from core.burning.scan_rows import scan_rows
from core.job.job import Job, new_job
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.job.prepare import plan_steps
from tests.benchmarks import Line, timed
from tests.benchmarks.bench_coverage import LINE, PITCH_MM
from tests.benchmarks.sheets import HEIGHT_MM, SHEETS, WIDTH_MM, clean_rings

MOST_MIB = 600
FEW, MANY = 10_000, 1_000_000
GROWTH = 1.1


def run() -> Iterable[Line]:
    # each sheet in a process of its own: what another left behind is no memory of this one
    with ProcessPoolExecutor(1, mp_context=get_context("spawn"), max_tasks_per_child=1) as apart:
        for name in SHEETS:
            yield from apart.submit(_sheet, name).result()
    yield _painting()
    yield _growth()


def _sheet(name: str) -> list[Line]:
    data = SHEETS[name]()
    steps = plan_steps(_job(name, data))
    faces = timed(lambda: next(steps), clock=time.process_time)
    rest = timed(lambda: list(steps)[-1], clock=time.process_time)
    bare = timed(lambda: svgelements.SVG.parse(io.StringIO(data.decode())), clock=time.process_time)
    parse: dict[str, Any] = {"reference": "svgelements' bare parse", "reference_s": bare.time_s, "most_mib": MOST_MIB}
    edges = _edges(rest.result)
    lines = [
        Line(
            name=f"both faces, 100,000 segments, {name}",
            time_s=faces.time_s,
            peak_mib=faces.peak_mib,
            note=f"{edges:,} edges of fills",
            at_least=1 / 1.5,
            **parse,
        )
    ]
    done_s = faces.time_s + rest.time_s
    lines.append(Line(name=f"all done, {name}", time_s=done_s, peak_mib=rest.peak_mib, at_least=1 / 4, **parse))
    if name == "clean rings":
        lines.append(_coverage_beside_reading(data, rest.result))
    return lines


def _coverage_beside_reading(data: bytes, plan: Plan) -> Line:
    region = next(layer.region for layer in plan.layers if layer.rows is not None)
    rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=0.0)
    reading = timed(lambda: read_svg(data, ReadOptions()), clock=time.process_time)
    ours = timed(lambda: coverage(region, rows, LINE), clock=time.process_time)
    return Line(
        name="coverage of the same file",
        time_s=ours.time_s,
        reference="reading it",
        reference_s=reading.time_s,
        peak_mib=ours.peak_mib,
        at_least=1 / 2,
        most_mib=MOST_MIB,
    )


def _painting() -> Line:
    """Six colours over 400,000 edges."""
    data = clean_rings(400_000).decode()
    colours = ("#000000", "#d03030", "#30a030", "#3050d0", "#d0a020", "#804090")
    pieces = data.split("<path ")
    painted = pieces[0] + "".join(f'<path fill="{colours[i % 6]}" {piece}' for i, piece in enumerate(pieces[1:]))
    steps = plan_steps(_job("painted", painted.encode()))
    next(steps)
    cover = timed(lambda: list(steps)[-1], clock=time.process_time)
    ours = timed(lambda: paint_plan(cover.result), clock=time.process_time)
    return Line(
        name="paint planning, 400,000 edges in six colours",
        time_s=ours.time_s,
        reference="coverage and run time",
        reference_s=cover.time_s,
        peak_mib=ours.peak_mib,
        at_least=1 / 1.5,
    )


def _growth() -> Line:
    """Faces of a hundred times as many segments against the bound of growth."""
    few_s, many_s = (_faces_s(lambda count=count: clean_rings(count)) for count in (FEW, MANY))
    return Line(
        name=f"both faces, {MANY:,} segments, clean rings",
        time_s=many_s,
        reference=f"{FEW:,} segments, grown as n^{GROWTH}",
        reference_s=few_s * (MANY / FEW) ** GROWTH,
        at_least=1.0,
    )


def _faces_s(drawn: Callable[[], bytes]) -> float:
    data = drawn()
    return timed(lambda: next(plan_steps(_job("growth", data))), clock=time.process_time).time_s


def _job(name: str, data: bytes) -> Job:
    job = new_job(ArtworkSource(name=f"{name}.svg", data=data))
    return replace(job, sheet=replace(job.sheet, width_mm=float(WIDTH_MM), height_mm=float(HEIGHT_MM)))


def _edges(plan: Plan) -> int:
    return sum(int(shapely.get_num_coordinates(layer.region)) for layer in plan.layers)
