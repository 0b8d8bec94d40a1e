"""Pictures within their bounds: ten megapixels traced, and a photograph of 200 x 150 mm screened, planned and written.

Processor time of this process; each bound is asked of a core of its own. The reference is the bound.
"""

import io
import time
from collections.abc import Callable, Iterable
from dataclasses import replace
from functools import partial
from typing import Any

import numpy as np
from PIL import Image

from core.artwork.drawing import ArtworkSource
from core.artwork.picture_decisions import PictureOptions
from core.artwork.pictures.reading import read_picture
from core.job.job import Job, new_job
from core.job.prepare import prepare
from core.job.setting import with_setting
from core.output.export import exported
from core.sheet.placement import Sheet
from tests.benchmarks import Line
from tests.sample_pictures import bay

MOST_SVG_MB = 60.0


def run() -> Iterable[Line]:
    logo = _logo()
    drawing, time_s = _processor(partial(read_picture, logo.data, new_job(logo).reading))
    yield _line("10 megapixels traced", time_s, 3.0, f"{len(drawing.shapes)} shapes")
    for lpi in (300, 600):
        plan, time_s = _processor(partial(prepare, _photograph(lpi)))
        (made,) = plan.screens.values()
        yield _line(f"photograph at {lpi} LPI planned", time_s, 20.0, f"{len(made.spans):,} spans")
        svg, time_s = _processor(partial(exported, plan, ".svg"))
        size_mb = len(svg.data) / 1e6
        assert lpi > 300 or size_mb < MOST_SVG_MB
        yield _line("the same as SVG, read back", time_s, 20.0, f"{size_mb:.0f} MB; {svg.read_back.words}")


def _line(name: str, time_s: float, bound_s: float, note: str) -> Line:
    return Line(name=name, time_s=time_s, reference="bound", reference_s=bound_s, note=note)


def _processor(work: Callable[[], Any]) -> tuple[Any, float]:
    begun_s = time.process_time()
    result = work()
    return result, time.process_time() - begun_s


def _logo(width: int = 3650, height: int = 2740) -> ArtworkSource:
    """Blots and waves, soft at their edges."""
    y, x = np.mgrid[0:height, 0:width].astype(np.float32)
    field = np.sin(x / 61) * np.cos(y / 53) + 0.5 * np.sin((x + y) / 170)
    grey = np.clip(127 + 127 * 6 * field, 0, 255).astype(np.uint8)
    return _file(Image.fromarray(grey), "logo.png", (600, 600))


def _photograph(lpi: int) -> Job:
    job = new_job(_file(bay(1600, 1200), "bay.png", (203.2, 203.2)))
    picture = PictureOptions(width_mm=200.0, way="screen", bared_is="dark")
    sheet = Sheet(width_mm=220, height_mm=170, thickness_mm=3)
    job = replace(job, sheet=sheet, reading=replace(job.reading, picture=picture))
    return with_setting(job, "fill", "lines_per_inch", str(lpi))


def _file(image: Image.Image, name: str, dpi: tuple[float, float]) -> ArtworkSource:
    stream = io.BytesIO()
    image.save(stream, "PNG", dpi=dpi)
    return ArtworkSource(name=name, data=stream.getvalue())
