"""Markers on the vertices of a path (SVG 2, 13.3)."""

import math

import numpy as np

from core.artwork.svg.clipping import box_region
from core.artwork.svg.colours import url_target
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Ink, intersected
from core.artwork.svg.limits import MAX_USE_DEPTH
from core.artwork.svg.values import length_px, parse_view_box, split_length, view_box_matrix
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import compose, determinant, rotation, scaling, translation
from core.geometry.path import ARC, CUBIC, Path

_PROPERTIES = ("marker-start", "marker-mid", "marker-end")
_ANGLE_TO_DEG = {"": 1.0, "deg": 1.0, "grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}

Vertex = tuple[float, float, float]
"""x, y, angle in degrees."""


def has_markers(here: Context) -> bool:
    """Whether any marker property is set."""
    values = here.style.values
    return any(values[name] != "none" for name in _PROPERTIES)


def marker_visits(
    bench: Workbench, path: Path, here: Context, stroke_width: float, paints: tuple[Ink | None, Ink | None]
) -> list[tuple[Node, Context]]:
    """What is to be drawn for the markers of a path (user units), in painting order."""
    markers = [_marker(bench, here.style.values[name]) for name in _PROPERTIES]
    if not any(markers) or here.depth >= MAX_USE_DEPTH:
        return []
    vertices = path_vertices(path)
    first, middle, last = markers
    visits: list[tuple[Node, Context]] = []
    for i, vertex in enumerate(vertices):
        roles = [(first, True)] if i == 0 else []
        if 0 < i < len(vertices) - 1:
            roles.append((middle, False))
        if i == len(vertices) - 1:
            roles.append((last, False))
        for marker, is_start in roles:
            if marker is None or marker in here.uses:
                continue
            bench.budget.mark()
            inside = _context(bench, marker, here, vertex, stroke_width, is_start=is_start)
            if inside is not None:
                inside = inside._replace(outer=paints)
                visits.extend((child, inside) for child in marker.children)
    return visits


def _marker(bench: Workbench, value: str) -> Node | None:
    target = url_target(value)
    node = bench.document.by_id.get(target) if target else None
    return node if node is not None and node.tag == "marker" else None


def _context(
    bench: Workbench, marker: Node, here: Context, vertex: Vertex, stroke_width: float, *, is_start: bool
) -> Context | None:
    attributes = marker.attributes
    inside = bench.fresh_context(marker, here, drawn_with_it=True)
    style = inside.style

    def length(name: str, default: float, percent_of: float) -> float:
        value = length_px(attributes.get(name), percent_of=percent_of, font_size_px=style.font_size_px)
        return default if value is None else value

    width, height = length("markerWidth", 3.0, here.viewport[0]), length("markerHeight", 3.0, here.viewport[1])
    if width <= 0 or height <= 0:
        return None
    x, y, angle_deg = vertex
    matrix = compose(here.matrix, translation(x, y))
    orient = attributes.get("orient", "0").strip()
    if orient == "auto" or orient == "auto-start-reverse":
        turn = angle_deg + 180 if orient != "auto" and is_start else angle_deg
    else:
        parts = split_length(orient)
        turn = parts[0] * _ANGLE_TO_DEG.get(parts[1], 1.0) if parts else 0.0
    matrix = compose(matrix, rotation(turn))
    if attributes.get("markerUnits") != "userSpaceOnUse":
        if stroke_width <= 0:
            return None
        matrix = compose(matrix, scaling(stroke_width, stroke_width))
    view_box = parse_view_box(attributes.get("viewBox"))
    if attributes.get("viewBox") and view_box is None:
        return None
    box = (0.0, 0.0, width, height)
    if view_box is not None:
        scale = view_box_matrix(view_box, width, height, attributes.get("preserveAspectRatio"))
        matrix = compose(matrix, scaling(scale[0], scale[3]))
        box = view_box
    words_x = {"left": box[0], "center": box[0] + box[2] / 2, "right": box[0] + box[2]}
    words_y = {"top": box[1], "center": box[1] + box[3] / 2, "bottom": box[1] + box[3]}
    ref_x = words_x.get(attributes.get("refX", ""), length("refX", 0.0, box[2]))
    ref_y = words_y.get(attributes.get("refY", ""), length("refY", 0.0, box[3]))
    matrix = compose(matrix, translation(-ref_x, -ref_y))
    if determinant(matrix) == 0.0:
        return None
    clip = here.clip
    if style.own.get("overflow", "hidden") not in ("visible", "auto"):
        if view_box is not None:  # the marker's own viewport, seen from inside its viewBox
            scale = view_box_matrix(view_box, width, height, attributes.get("preserveAspectRatio"))
            left, top = -scale[4] / scale[0], -scale[5] / scale[3]
            window = (left, top, left + width / scale[0], top + height / scale[3])
        else:
            window = (0.0, 0.0, width, height)
        clip = intersected(clip, box_region(matrix, window))
    return inside._replace(matrix=matrix, viewport=(box[2], box[3]), clip=clip)


def path_vertices(path: Path) -> list[Vertex]:
    """The vertices of a path with the direction a marker turns to at each (SVG 2, 9.5.2 and 13.3.3). Where a subpath
    closes, its first and last vertex keep their own directions, as renderers do."""
    path = _quartered(path)
    leaving, arriving = _directions(path)
    vertices: list[Vertex] = []
    starts, ends = path.start_points, path.end_points
    for start, stop in zip(path.starts.tolist(), path.stops.tolist(), strict=True):
        points = [starts[start], *ends[start:stop]]
        count = stop - start
        for i, point in enumerate(points):
            before = arriving[start + i - 1] if i > 0 else None
            after = leaving[start + i] if i < count else None
            vertices.append((float(point[0]), float(point[1]), _bisector(before, after)))
    return vertices


def _quartered(path: Path) -> Path:
    """A path whose full ellipses are four arcs each (SVG 2, 10.3), so that they have vertices."""
    whole = (path.kinds == ARC) & (np.abs(path.segments[:, 7] - path.segments[:, 6]) > 2 * np.pi - 1e-9)
    if not whole.any() or len(path) != 1:
        return path
    rows = np.repeat(path.segments, 4, axis=0)
    quarter = (rows[:, 7] - rows[:, 6]) / 4
    rows[:, 6] += quarter * np.arange(4)
    rows[:, 7] = rows[:, 6] + quarter
    return Path(kinds=np.full(4, ARC, np.uint8), segments=rows, starts=path.starts, closed=path.closed)


def _bisector(before: float | None, after: float | None) -> float:
    if before is None or after is None:
        only = after if before is None else before
        return math.degrees(only) if only is not None else 0.0
    x, y = math.cos(before) + math.cos(after), math.sin(before) + math.sin(after)
    if math.hypot(x, y) < 1e-9:
        return math.degrees(before) + 90.0
    return math.degrees(math.atan2(y, x))


def _directions(path: Path) -> tuple[list[float | None], list[float | None]]:
    """Angle (rad) at the start and at the end of each segment; segments of no length take their neighbours'."""
    leaving: list[float | None] = []
    arriving: list[float | None] = []
    for kind, row in zip(path.kinds.tolist(), path.segments, strict=True):
        if kind == ARC:
            u, v, t0, t1 = row[2:4], row[4:6], row[6], row[7]
            way = np.sign(t1 - t0)
            leaving.append(_angle((-u * math.sin(t0) + v * math.cos(t0)) * way))
            arriving.append(_angle((-u * math.sin(t1) + v * math.cos(t1)) * way))
            continue
        points = row.reshape(4, 2)[: 4 if kind == CUBIC else 2]
        leaving.append(next((a for p in points[1:] if (a := _angle(p - points[0])) is not None), None))
        arriving.append(next((a for p in points[-2::-1] if (a := _angle(points[-1] - p)) is not None), None))
    for start, stop in zip(path.starts.tolist(), path.stops.tolist(), strict=True):
        known: float | None = None
        for i in range(start, stop):  # from what comes before, then what comes after
            if leaving[i] is None:
                leaving[i] = arriving[i] = known
            known = arriving[i]
        known = None
        for i in range(stop - 1, start - 1, -1):
            if leaving[i] is None:
                leaving[i] = arriving[i] = known
            known = leaving[i]
    return leaving, arriving


def _angle(vector: np.ndarray) -> float | None:
    return math.atan2(vector[1], vector[0]) if abs(vector[0]) + abs(vector[1]) > 1e-12 else None
