"""Boundaries of HATCH and MPOLYGON as one path to be filled by the even-odd rule."""

from typing import Any

import ezdxf  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
import numpy as np
from ezdxf.entities.boundary_paths import ArcEdge, EllipseEdge, LineEdge, PolylinePath, SplineEdge

from core.artwork.dxf.curves import Outline, arc_row, ellipse_row, polyline_outline
from core.artwork.dxf.pieces import Pen, RunBuilder
from core.artwork.dxf.spline_entities import spline_of_edge
from core.artwork.dxf.splines import spline_rows
from core.geometry.chaining import chain
from core.geometry.path import ARC, EMPTY, LINE, Path, PathBuilder, joined


def boundary(entity: Any, tolerance: float) -> Path:
    """All boundary loops that the hatch's style paints, each closed, in the hatch's own plane."""
    style = entity.dxf.get("hatch_style", 0)
    builder = RunBuilder()
    builder.begin(_PEN, "")
    groups: list[int] = []
    for number, loop in enumerate(entity.paths.rendering_paths(style)):
        outlines = _polyline_loop(loop) if isinstance(loop, PolylinePath) else _edges(loop, tolerance)
        for kinds, rows, closed in outlines:
            if rows:
                builder.subpath(kinds, rows, closed=closed)
                groups.append(number)
    run = builder.take()
    if run is None:
        return EMPTY
    chained = chain(run.path, np.array(groups, np.intp), tolerance_mm=tolerance).path
    return joined([_closed(part) for part in chained.subpaths()])


def _polyline_loop(loop: PolylinePath) -> list[Outline]:
    return [polyline_outline([(x, y, bulge) for x, y, bulge in loop.vertices], closed=True)]


def _edges(loop: Any, tolerance: float) -> list[Outline]:
    outlines: list[Outline] = []
    for edge in loop.edges:
        if isinstance(edge, LineEdge):
            row = (edge.start.x, edge.start.y, edge.end.x, edge.end.y, 0.0, 0.0, 0.0, 0.0)
            outlines.append(([LINE], [row], False))
        elif isinstance(edge, ArcEdge):
            row = arc_row(edge.center.x, edge.center.y, abs(edge.radius), edge.start_angle, edge.end_angle)
            outlines.append(([ARC], [row], False))
        elif isinstance(edge, EllipseEdge):
            major = edge.major_axis
            minor = (-major.y * edge.ratio, major.x * edge.ratio)
            row = ellipse_row(edge.center.x, edge.center.y, (major.x, major.y), minor, edge.start_param, edge.end_param)
            outlines.append(([ARC], [row], False))
        elif isinstance(edge, SplineEdge):
            (spline,) = spline_rows([spline_of_edge(edge)], tolerance)
            outlines.append(([spline.kind] * len(spline.rows), spline.rows.tolist(), False))
    return outlines


def _closed(path: Path) -> Path:
    """A loop that the file leaves open, closed by a line: an area has no ends."""
    if path.closed[0]:
        return path
    builder = PathBuilder()
    builder.move_to(*path.end_points[-1])
    builder.line_to(*path.start_points[0])
    back = builder.build()
    return Path(
        kinds=np.concatenate([path.kinds, back.kinds]),
        segments=np.concatenate([path.segments, back.segments]),
        starts=path.starts,
        closed=np.ones(1, bool),
    )


_PEN = Pen(kind="HATCH", layer="0", colour="#000000")
