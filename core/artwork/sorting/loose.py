"""Open lines that would make an outline of a piece: drawn line by line, or as one whose ends miss each other."""

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray

from core.artwork.checkup.line_checks import open_lines
from core.artwork.drawing import Drawing
from core.artwork.painting import region_tolerance_mm
from core.artwork.sorting.verdict import Verdict, ask
from core.geometry.engine import enclosed
from core.geometry.flattening import flatten
from core.geometry.path import Path, joined
from core.geometry.rings import Rings, geometries

_LEAST_MM2 = 25.0
"""Smaller loops are ticks and arrow heads, not pieces (common practice, no source)."""


def loose_outlines(drawing: Drawing, closed: Sequence[int]) -> dict[int, Verdict]:
    """The question for each shape whose open lines go round something that no closed line (``closed``) goes round."""
    lines = open_lines(drawing)
    chains = lines.chains
    loops = np.flatnonzero(chains.path.closed)
    if not len(loops):
        return {}
    tolerance_mm = region_tolerance_mm(drawing.width_mm, drawing.height_mm)
    region = _regions([chains.path.subpath(i) for i in loops.tolist()], tolerance_mm)
    alone = shapely.area(region) >= _LEAST_MM2
    if closed:
        around = _regions([drawing.shapes[i].path for i in closed], tolerance_mm)
        discs = geometries(shapely.polygons(shapely.get_exterior_ring(shapely.get_parts(around))))
        alone[shapely.STRtree(discs).query(region, predicate="covered_by")[0]] = False
    asked: dict[int, Verdict] = {}
    for number in loops[alone].tolist():
        members = chains.members[chains.member_starts[number] : chains.member_starts[number + 1]]
        what = (
            "An open line whose ends nearly meet"
            if len(members) == 1
            else f"One of {len(members)} loose lines that together go round something"
        )
        verdict = ask(f"{what}: the outline of a piece to cut, or lines to score?")
        asked |= dict.fromkeys(lines.shape[members].tolist(), verdict)
    return asked


def _regions(paths: Sequence[Path], tolerance_mm: float) -> NDArray[np.object_]:
    """What each path goes round."""
    flat = flatten(joined(list(paths)), tolerance_mm)
    group = np.repeat(np.arange(len(paths)), [len(path.starts) for path in paths])
    return enclosed(Rings(points=flat.points, starts=flat.starts, group=group), "evenodd", group_count=len(paths))
