"""Random layouts of touching, near and far areas in several colours, and a job from one."""

from dataclasses import replace

import shapely
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import ArtworkSource
from core.finishing.paints import Finishing
from core.job.job import Job, new_job
from core.job.plan import Plan
from core.job.prepare import plan_steps

COLOURS = ("#16324f", "#1b8a8f", "#d8a23a", "#cf4f3a", "#f4f1e8")


@st.composite
def boxes(draw: st.DrawFn, *, colours: int = 3, most: int = 9) -> list[tuple[int, float, float, float, float]]:
    """(colour, x, y, width, height) on a grid of 0.4 mm, so that touching borders and small gaps are common."""
    count = draw(st.integers(colours, most))
    number = st.integers(0, 100)
    result = []
    for index in range(count):
        colour = index if index < colours else draw(st.integers(0, colours - 1))
        x, y = draw(number) * 0.4, draw(number) * 0.4
        result.append((colour, x, y, draw(st.integers(2, 40)) * 0.4, draw(st.integers(2, 40)) * 0.4))
    return result


def regions_of(layout: list[tuple[int, float, float, float, float]], colours: int) -> list[BaseGeometry]:
    """One region a colour; where boxes overlap the later one shows."""
    result: list[BaseGeometry] = [shapely.MultiPolygon() for _ in range(colours)]
    for colour, x, y, width, height in layout:
        box = shapely.box(x, y, x + width, y + height)
        result = [region.difference(box) for region in result]
        result[colour] = result[colour].union(box)
    return [shapely.MultiPolygon([p for p in shapely.get_parts(r) if p.geom_type == "Polygon"]) for r in result]


def svg_of(layout: list[tuple[int, float, float, float, float]], *, extra: str = "") -> bytes:
    """The layout as artwork with a cut outline 5 mm outside."""
    rects = "".join(
        f'<rect x="{x + 5:.3f}" y="{y + 5:.3f}" width="{w:.3f}" height="{h:.3f}" fill="{COLOURS[colour]}"/>'
        for colour, x, y, w, h in layout
    )
    outline = '<rect x="0" y="0" width="70" height="70" fill="none" stroke="#000" stroke-width="0.1"/>'
    size = 'width="70mm" height="70mm" viewBox="0 0 70 70"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{outline}{rects}{extra}</svg>'.encode()


def plan_of(data: bytes, finishing: Finishing | None = None) -> Plan:
    job: Job = new_job(ArtworkSource(name="layout.svg", data=data))
    return next(plan_steps(replace(job, finishing=finishing or Finishing())))
