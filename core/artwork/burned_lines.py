"""The lines that cutting or scoring a shape follows: its centre line, or the outline of what it fills.

Curves stay curves. Dashes and clips are respected: what is not drawn is not cut.
"""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Shape
from core.geometry.dashing import dash_intervals
from core.geometry.flattening import flatten
from core.geometry.path import EMPTY, LINE, Floats, Path, joined, polyline
from core.geometry.path_pieces import kept, steps_of
from core.geometry.pens import own_space
from core.geometry.rings import geometries
from core.geometry.stroke import Stroke

_FINENESS = 0.1

Indices = NDArray[np.intp]
Spans = dict[int, list[tuple[float, float]]]


def lines_of(shape: Shape, painted: BaseGeometry, *, line_width_mm: float, tolerance_mm: float) -> tuple[Path, ...]:
    """The lines to burn, one path a subpath. ``painted``: the shape's region, thin strokes left out.

    A shape with a fill gives the outline of what it paints, as curves where that is simply its path. A shape with a
    stroke alone, however wide, gives its centre line.
    """
    path = shape.path
    filled = shape.fill is not None or shape.area is not None
    if not filled:
        if shape.stroke is not None and shape.stroke.dashes:
            path = dashed_path(path, shape.stroke, tolerance_mm)
        if shape.clip is not None:
            path = clipped_path(path, shape.clip, tolerance_mm)
        return tuple(path.subpaths())
    wide = shape.stroke is not None and shape.stroke.width_mm > line_width_mm
    if shape.area is None and shape.clip is None and not wide and _is_own_outline(path, tolerance_mm):
        return tuple(closed_path(path).subpaths())
    return tuple(outline_of(painted).subpaths())


def _is_own_outline(path: Path, tolerance_mm: float) -> bool:
    rings = [shapely.linearrings(points) for points in flatten(path, tolerance_mm).parts() if len(points) > 3]
    return bool(rings) and bool(shapely.is_simple(shapely.MultiLineString(rings)))


def closed_path(path: Path) -> Path:
    """The path with a line back to its start on every subpath that lacks one, as filling does."""
    parts = []
    for part in path.subpaths():
        start, end = part.start_points[0], part.end_points[-1]
        if not part.closed[0] and np.hypot(*(end - start)) > 1e-9:
            back = np.array([[*end, *start, 0.0, 0.0, 0.0, 0.0]])
            part = Path(
                kinds=np.append(part.kinds, np.uint8(LINE)),
                segments=np.concatenate([part.segments, back]),
                starts=part.starts,
                closed=np.ones(1, bool),
            )
        elif not part.closed[0]:
            part = Path(kinds=part.kinds, segments=part.segments, starts=part.starts, closed=np.ones(1, bool))
        parts.append(part)
    return joined(parts)


def outline_of(region: BaseGeometry) -> Path:
    """The rings of a region as closed polylines."""
    rings = shapely.get_rings(shapely.get_parts(region))
    return joined([polyline(shapely.get_coordinates(ring), closed=True) for ring in rings])


def clipped_path(path: Path, clip: BaseGeometry, tolerance_mm: float) -> Path:
    """What of a path lies within a region."""
    if not len(path) or clip.is_empty:
        return EMPTY
    steps = steps_of(path, tolerance_mm)
    shapely.prepare(clip)
    if shapely.covers(clip, shapely.MultiLineString(list(steps.ends))):
        return path
    lines = geometries(shapely.linestrings(steps.ends))
    inside = shapely.covers(clip, lines)
    cut = np.flatnonzero(~inside & shapely.intersects(clip, lines))
    owner, begin, end = np.flatnonzero(inside), steps.t[inside, 0], steps.t[inside, 1]
    pieces, which = shapely.get_parts(shapely.intersection(lines[cut], clip), return_index=True)
    straight = shapely.get_type_id(pieces) == 1
    pieces, which = pieces[straight], cut[which[straight]]
    if len(pieces):
        corners = np.stack(
            [
                shapely.get_coordinates(shapely.get_point(pieces, 0)),
                shapely.get_coordinates(shapely.get_point(pieces, -1)),
            ],
            axis=1,
        )
        along = steps.ends[which, 1] - steps.ends[which, 0]
        share = ((corners - steps.ends[which, :1]) * along[:, None]).sum(axis=2) / (along * along).sum(axis=1)[:, None]
        share = np.sort(np.clip(share, 0.0, 1.0), axis=1)
        span = steps.t[which, 1] - steps.t[which, 0]
        owner = np.concatenate([owner, which])
        begin = np.concatenate([begin, steps.t[which, 0] + span * share[:, 0]])
        end = np.concatenate([end, steps.t[which, 0] + span * share[:, 1]])
    return kept(path, _spans(len(path), steps.segment[owner], begin, end))


def dashed_path(path: Path, stroke: Stroke, tolerance_mm: float) -> Path:
    """The dashes of a stroke as open lines along its path; dashes of no length are left out."""
    own = own_space(stroke.matrix)
    if own is None or not len(path):
        return path
    steps = steps_of(path, tolerance_mm * _FINENESS)
    ends = steps.ends if own.into is None else steps.ends @ own.into
    length = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
    dashes = tuple(dash * own.scale for dash in stroke.dashes)
    intervals = dash_intervals(length, steps.line, dashes, stroke.dash_offset * own.scale)
    if intervals is None:
        return path
    owner: list[Indices] = []
    begin: list[Floats] = []
    end: list[Floats] = []
    for line, starts, stops in intervals:
        own_steps = np.flatnonzero(steps.line == line)
        reach = np.concatenate([[0.0], np.cumsum(length[own_steps])])
        for start, stop in zip(starts, stops, strict=True):
            first = max(int(np.searchsorted(reach, start, side="right")) - 1, 0)
            last = min(int(np.searchsorted(reach, stop, side="left")), len(own_steps))
            which = own_steps[first:last]
            if not len(which):
                continue
            low, high = steps.t[which, 0].copy(), steps.t[which, 1].copy()
            size = np.maximum(length[which], 1e-300)
            low[0] += (high[0] - low[0]) * max(start - reach[first], 0.0) / size[0]
            high[-1] -= (steps.t[which[-1], 1] - steps.t[which[-1], 0]) * max(reach[last] - stop, 0.0) / size[-1]
            owner.append(steps.segment[which])
            begin.append(low)
            end.append(high)
    if not owner:
        return EMPTY
    return kept(path, _spans(len(path), np.concatenate(owner), np.concatenate(begin), np.concatenate(end)))


def _spans(count: int, segment: Indices, begin: Floats, end: Floats) -> Spans:
    """Shares of each of ``count`` segments, those that follow on each other joined."""
    spans: Spans = {index: [] for index in range(count)}
    order = np.lexsort((begin, segment))
    for index, a, b in zip(segment[order].tolist(), begin[order].tolist(), end[order].tolist(), strict=True):
        own = spans[index]
        if own and a <= own[-1][1] + 1e-9:
            own[-1] = (own[-1][0], max(own[-1][1], b))
        elif b > a:
            own.append((a, b))
    return {
        index: [(0.0 if a < 1e-9 else a, 1.0 if b > 1 - 1e-9 else b) for a, b in own] for index, own in spans.items()
    }
