"""500 plates of two lines: filled in, laid on sheets, every sheet worked out; bound 60 s on two idle cores."""

import os
import time
from collections.abc import Iterable
from dataclasses import replace

from core.artwork.drawing import ArtworkSource
from core.job.job import new_job
from core.order.fields import Field
from core.order.list_reading import read_list
from core.order.order import Order
from core.order.working_out import work_out
from core.sheet.placement import Sheet
from tests.benchmarks import Line, timed

COUNT = 500
BOUND_S = 60.0
_PLATE = """<svg xmlns="http://www.w3.org/2000/svg" width="70mm" height="22mm" viewBox="0 0 70 22">
<rect x="0.1" y="0.1" width="69.8" height="21.8" rx="3" fill="none" stroke="red" stroke-width="0.1"/>
<text x="35" y="10" font-family="DejaVu Sans" font-size="7" text-anchor="middle">{name}</text>
<text x="35" y="18" font-family="DejaVu Sans" font-size="4" text-anchor="middle">{role}</text></svg>"""
_FIRST, _LAST = ("Anna", "Jürgen", "Marie", "Per", "Zoë", "Kim", "Björn", "Ada"), ("Berg", "Öttl", "Dubois", "Åström")


def run() -> Iterable[Line]:
    """Wall time, on two idle cores (`chrt -r 1` makes them so); the note has the processor time."""
    rows = "".join(f"{_FIRST[n % 8]} {_LAST[n % 4]} {n},Rowing club {n}\n" for n in range(COUNT))
    job = new_job(ArtworkSource(name="plate.svg", data=_PLATE.encode()))
    job = replace(job, sheet=Sheet(width_mm=600.0, height_mm=300.0, thickness_mm=3.0))
    names = read_list(f"Name,Role\n{rows}".encode(), name="club.csv")
    order = Order(design=job, names=names, fields=(Field(name="name", fit="narrower"),))
    heard = [0]

    def progress(share: float, doing: str) -> None:
        heard[0] += 1

    begun_s = time.process_time()
    ours = timed(lambda: work_out(order, progress=progress))
    used_s = time.process_time() - begun_s
    parts = sum(len(sheet.laid.places) for sheet in ours.result.sheets)
    note = f"{parts} parts on {len(ours.result.sheets)} sheets; {used_s:.0f} s of processor time, {heard[0]} reports"
    if hasattr(os, "getloadavg"):
        note += f"; load {os.getloadavg()[0]:.0f}"
    yield Line(
        name=f"{COUNT} plates of two lines",
        time_s=ours.time_s,
        reference="the bound",
        reference_s=BOUND_S,
        at_least=1.0,
        peak_mib=ours.peak_mib,
        note=note,
    )
