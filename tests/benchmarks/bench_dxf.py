"""A DXF of 50,000 lines, 20,000 arcs and 5,000 splines, beside ezdxf's bare load of the same bytes."""

import io
import time
from collections.abc import Iterable

import ezdxf
import numpy as np

from core.artwork.drawing import ReadOptions
from core.artwork.dxf.reading import read_dxf
from tests.benchmarks import Line, timed

LINES, ARCS, SPLINES, INSERTS = 50_000, 20_000, 5_000, 20_000


def run() -> Iterable[Line]:
    for name, data in (("plain entities", _plain_entities()), ("placed blocks", _placed_blocks())):
        bare = timed(
            lambda data=data: ezdxf.read(io.StringIO(data.decode())) and None, clock=time.process_time, repeats=2
        )
        ours = timed(lambda data=data: len(read_dxf(data, ReadOptions()).shapes), clock=time.process_time, repeats=2)
        yield Line(
            name=f"read DXF, {name}, {len(data) / 1e6:.1f} MB",
            time_s=ours.time_s,
            reference="ezdxf's bare load",
            reference_s=bare.time_s,
            peak_mib=ours.peak_mib,
            note=f"{ours.result:,} shapes",
            at_least=1 / 1.5,
        )


def _plain_entities() -> bytes:
    random = np.random.default_rng(1)
    document = ezdxf.new("R2010", units=4)
    space = document.modelspace()
    starts = random.uniform(0, 1000, (LINES, 2))
    for start, end in zip(starts, starts + random.uniform(-5, 5, (LINES, 2)), strict=True):
        space.add_line(start, end)
    for centre, radius, angle in zip(
        random.uniform(0, 1000, (ARCS, 2)), random.uniform(1, 20, ARCS), random.uniform(0, 360, ARCS), strict=True
    ):
        space.add_arc(centre, radius, angle, angle + 120)
    for centre in random.uniform(0, 1000, (SPLINES, 2)):
        space.add_open_spline(centre + random.uniform(-10, 10, (10, 2)), degree=3)
    return _written(document)


def _placed_blocks() -> bytes:
    random = np.random.default_rng(2)
    document = ezdxf.new("R2010", units=4)
    block = document.blocks.new("LEAF")
    block.add_lwpolyline([(0, 0, 0.4), (5, 0, 0.4)], format="xyb", close=True)
    block.add_line((0, 0), (5, 0))
    for place, angle in zip(random.uniform(0, 1000, (INSERTS, 2)), random.uniform(0, 360, INSERTS), strict=True):
        document.modelspace().add_blockref("LEAF", place, dxfattribs={"rotation": angle})
    return _written(document)


def _written(document: ezdxf.document.Drawing) -> bytes:
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode()
