"""What shapes paint, as regions: fills by their rule, strokes as areas, clipped.

All regions are valid polygons or multipolygons in mm. Simple shapes take a short way through GEOS in bulk; rings that
cross or touch go through the plane engine.
"""

from collections import deque
from collections.abc import Sequence
from threading import Lock

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Drawing, Finding, Shape
from core.errors import UnreadableError
from core.geometry.engine import FillRule, TooTangledError, enclosed, shared, united
from core.geometry.flattening import flatten
from core.geometry.path import Floats, Path, joined
from core.geometry.rings import NOTHING, Indices, Rings
from core.geometry.stroke import Stroke
from core.geometry.stroke_rings import stroke_rings
from core.progress import Progress, silent

_BATCH_EDGES = 150_000


def region_tolerance_mm(width_mm: float, height_mm: float) -> float:
    """Flattening tolerance for regions of a drawing this large: 0.01 mm, finer where that would be seen, coarser where
    the drawing is larger than any sheet (a building drawn in metres)."""
    longest_mm = max(width_mm, height_mm)
    coarsest_mm = max(0.01, longest_mm / 300_000)
    return float(np.clip(longest_mm / 10_000, 1e-4, coarsest_mm)) if np.isfinite(longest_mm) else 0.01


def filled_region(path: Path, fill_rule: FillRule, *, tolerance_mm: float) -> BaseGeometry:
    """The area inside a path by its fill rule (SVG 2, 13.4); open subpaths count as closed.

    Raises UnreadableError when the path crosses itself more often than can be worked out.
    """
    points, starts = _path_rings(path, tolerance_mm)
    return _one(Rings(points=points, starts=starts, group=np.zeros(len(starts) - 1, np.intp)), fill_rule)


def stroke_region(path: Path, stroke: Stroke, *, tolerance_mm: float) -> BaseGeometry:
    """The area that a stroke paints, dashes, caps and joins included. Raises like ``filled_region``."""
    return _one(stroke_rings([path], [stroke], tolerance_mm=tolerance_mm), "nonzero")


def painted_region(shape: Shape, *, tolerance_mm: float, line_width_mm: float | None = None) -> BaseGeometry:
    """All that a shape paints: fill united with stroke, clipped; ``shape.area`` wins over both.

    Strokes no wider than ``line_width_mm`` are lines and left out, when it is given, unless they only widen a fill of
    their colour. Raises like ``filled_region``.
    """
    regions, findings = painted_regions([shape], tolerance_mm=tolerance_mm, line_width_mm=line_width_mm)
    if findings:
        raise UnreadableError(findings[0].message)
    region: BaseGeometry = regions[0]
    return region


def painted_regions(
    shapes: Sequence[Shape],
    *,
    tolerance_mm: float,
    line_width_mm: float | None = None,
    progress: Progress = silent,
) -> tuple[NDArray[np.object_], tuple[Finding, ...]]:
    """``painted_region`` of many shapes (n,), with findings instead of errors; what fails paints nothing."""
    result = np.full(len(shapes), NOTHING, object)
    findings: list[Finding] = []
    batch: list[int] = []
    edges = 0
    for index, shape in enumerate(shapes):
        if shape.area is not None:
            result[index] = shape.area
            continue
        batch.append(index)
        edges += 4 * len(shape.path)
        if edges > _BATCH_EDGES or len(batch) >= 2000:
            progress(index / len(shapes), "working out painted areas")
            _paint_batch([shapes[i] for i in batch], batch, tolerance_mm, line_width_mm, result, findings)
            batch, edges = [], 0
    _paint_batch([shapes[i] for i in batch], batch, tolerance_mm, line_width_mm, result, findings)
    _clip(shapes, result)
    return result, tuple(findings)


def drawing_regions(
    drawing: Drawing, *, line_width_mm: float | None = None, progress: Progress = silent
) -> NDArray[np.object_]:
    """``painted_regions`` of a drawing's shapes (n,), in the drawing's own tolerance; read only."""
    return _drawing_paint(drawing, line_width_mm, progress)[0]


def painting_findings(drawing: Drawing, *, line_width_mm: float | None = None) -> tuple[Finding, ...]:
    """What ``drawing_regions`` could not work out."""
    return _drawing_paint(drawing, line_width_mm, silent)[1]


_Paint = tuple[NDArray[np.object_], tuple[Finding, ...]]
_LOCK = Lock()
_REMEMBERED: deque[tuple[tuple[Shape, ...], float | None, _Paint]] = deque(maxlen=4)
"""Sorting, composing and checking ask for the same regions one after the other."""


def _drawing_paint(drawing: Drawing, line_width_mm: float | None, progress: Progress) -> _Paint:
    remembered = [entry for entry in list(_REMEMBERED) if entry[0] is drawing.shapes]
    for _, width_mm, paint in remembered:
        if width_mm == line_width_mm:
            return paint
    tolerance_mm = region_tolerance_mm(drawing.width_mm, drawing.height_mm)
    shapes = drawing.shapes
    if remembered:  # what counts as a line changes thin strokes only
        _, width_mm, (regions, findings) = remembered[-1]
        thin = [_is_line(shape, line_width_mm) != _is_line(shape, width_mm) for shape in shapes]
    else:
        regions, findings, thin = np.full(len(shapes), NOTHING, object), (), [True] * len(shapes)
    anew = np.flatnonzero(thin)
    made, found = painted_regions(
        [shapes[i] for i in anew.tolist()], tolerance_mm=tolerance_mm, line_width_mm=line_width_mm, progress=progress
    )
    regions = regions.copy()
    regions[anew] = made
    regions.setflags(write=False)
    again = {shapes[i].id for i in anew.tolist()}
    paint = regions, (*(finding for finding in findings if not again & set(finding.shape_ids)), *found)
    with _LOCK:
        _REMEMBERED.append((shapes, line_width_mm, paint))
    return paint


def _is_line(shape: Shape, line_width_mm: float | None) -> bool:
    """Whether a shape's stroke is too thin to count as painted area."""
    if shape.stroke is None or shape.area is not None or line_width_mm is None:
        return False
    return shape.stroke.width_mm <= line_width_mm


def _paint_batch(
    shapes: list[Shape],
    places: list[int],
    tolerance_mm: float,
    line_width_mm: float | None,
    result: NDArray[np.object_],
    findings: list[Finding],
) -> None:
    if not shapes:
        return
    try:
        result[places] = _painted(shapes, tolerance_mm, line_width_mm)
    except TooTangledError:
        if len(shapes) > 1:
            for shape, place in zip(shapes, places, strict=True):
                _paint_batch([shape], [place], tolerance_mm, line_width_mm, result, findings)
            return
        name = shapes[0].label or shapes[0].source_id
        what = f"{shapes[0].kind} “{name}”" if name else f"A {shapes[0].kind} ({shapes[0].id})"
        findings.append(
            Finding(
                code="too-tangled",
                message=f"{what} crosses itself more often than can be worked out; it is left out.",
                severity="problem",
                shape_ids=(shapes[0].id,),
            )
        )


def _painted(shapes: list[Shape], tolerance_mm: float, line_width_mm: float | None) -> NDArray[np.object_]:
    """Fill and stroke of each shape, not clipped yet."""
    result = np.full(len(shapes), NOTHING, object)
    for rule in ("nonzero", "evenodd"):
        some = [i for i, shape in enumerate(shapes) if shape.fill is not None and shape.fill_rule == rule]
        if some:
            points, starts = _path_rings(joined([shapes[i].path for i in some]), tolerance_mm)
            group = np.repeat(np.arange(len(some)), [len(shapes[i].path.starts) for i in some])
            rings = Rings(points=points, starts=starts, group=group)
            result[some] = enclosed(rings, rule, group_count=len(some))
    stroked = [
        i
        for i, shape in enumerate(shapes)
        if shape.stroke is not None
        and (line_width_mm is None or shape.stroke.width_mm > line_width_mm or shape.stroke.colour == shape.fill)
    ]
    if stroked:
        _add_strokes(shapes, stroked, tolerance_mm, result)
    return result


def _add_strokes(shapes: list[Shape], stroked: list[int], tolerance_mm: float, result: NDArray[np.object_]) -> None:
    """Unites each stroke with what the shape's fill gave."""
    strokes = [stroke for i in stroked if (stroke := shapes[i].stroke) is not None]
    rings = stroke_rings([shapes[i].path for i in stroked], strokes, tolerance_mm=tolerance_mm)
    regions = enclosed(rings, "nonzero", group_count=len(stroked))
    for i, region in zip(stroked, regions, strict=True):
        result[i] = region if result[i].is_empty else united([result[i], region])


def _clip(shapes: Sequence[Shape], result: NDArray[np.object_]) -> None:
    by_clip: dict[int, list[int]] = {}
    for index, shape in enumerate(shapes):
        if shape.clip is not None:
            by_clip.setdefault(id(shape.clip), []).append(index)
    for some in by_clip.values():
        clip = shapes[some[0]].clip
        assert clip is not None
        shapely.prepare(clip)
        cut = np.array(some)[~shapely.covers(clip, result[some])]
        for index in cut:
            result[index] = shared(result[index], clip)


def _one(rings: Rings, rule: FillRule) -> BaseGeometry:
    try:
        region: BaseGeometry = enclosed(rings, rule, group_count=1)[0]
    except TooTangledError:
        raise UnreadableError("A path crosses itself more often than can be worked out.") from None
    return region


def _path_rings(path: Path, tolerance_mm: float) -> tuple[Floats, Indices]:
    lines = flatten(path, tolerance_mm)
    return lines.points, lines.starts
