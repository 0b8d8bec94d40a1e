"""What shapes paint, as regions: fills by their rule, strokes as areas, clipped.

All regions are valid polygons or multipolygons in mm. Simple shapes take a short way through GEOS in bulk; rings that
cross or touch go through ``arrangement``.
"""

from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import replace
from threading import Lock

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.affine import Affine
from core.artwork.arrangement import FillRule, Rings, TooTangledError, assemble, geometries, only_polygons, resolved
from core.artwork.dashing import dashed
from core.artwork.drawing import Drawing, Finding, Shape, Stroke
from core.artwork.flattening import flatten
from core.artwork.path import Floats, Path, joined
from core.artwork.pens import own_space
from core.artwork.stroke_outlines import Chords, Indices, Pen, chords_of, mapped, outlines
from core.errors import UnreadableError
from core.progress import Progress, silent

NOTHING: BaseGeometry = shapely.MultiPolygon()

_SAME_POINT_MM = 1e-6
_BATCH_EDGES = 150_000
_DASH_FINENESS = 0.1
"""Dashed lines are flattened this much finer, as chords are shorter than their curves and would shift the dashes."""


def region_tolerance_mm(width_mm: float, height_mm: float) -> float:
    """Flattening tolerance for regions of a drawing this large: 0.01 mm, finer where that would be seen."""
    longest_mm = max(width_mm, height_mm)
    return float(np.clip(longest_mm / 10_000, 1e-4, 0.01)) if np.isfinite(longest_mm) else 0.01


def filled_region(path: Path, fill_rule: FillRule, *, tolerance_mm: float) -> BaseGeometry:
    """The area inside a path by its fill rule (SVG 2, 13.4); open subpaths count as closed.

    Raises UnreadableError when the path crosses itself more often than can be worked out.
    """
    points, starts = _path_rings(path, tolerance_mm)
    return _one(Rings(points=points, starts=starts, group=np.zeros(len(starts) - 1, np.intp)), fill_rule)


def stroke_region(path: Path, stroke: Stroke, *, tolerance_mm: float) -> BaseGeometry:
    """The area that a stroke paints, dashes, caps and joins included. Raises like ``filled_region``."""
    points, starts = _stroke_rings(path, stroke, tolerance_mm)
    return _one(Rings(points=points, starts=starts, group=np.zeros(len(starts) - 1, np.intp)), "nonzero")


def painted_region(shape: Shape, *, tolerance_mm: float, line_width_mm: float | None = None) -> BaseGeometry:
    """All that a shape paints: fill united with stroke, clipped; ``shape.area`` wins over both.

    Strokes no wider than ``line_width_mm`` are lines and left out, when it is given. Raises like ``filled_region``.
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
    with _LOCK:
        for shapes, width_mm, paint in _REMEMBERED:
            if shapes is drawing.shapes and width_mm == line_width_mm:
                return paint
    tolerance_mm = region_tolerance_mm(drawing.width_mm, drawing.height_mm)
    paint = painted_regions(drawing.shapes, tolerance_mm=tolerance_mm, line_width_mm=line_width_mm, progress=progress)
    paint[0].setflags(write=False)
    with _LOCK:
        _REMEMBERED.append((drawing.shapes, line_width_mm, paint))
    return paint


def united(regions: Iterable[BaseGeometry]) -> BaseGeometry:
    """The union of polygonal regions, valid."""
    parts = shapely.get_parts(np.array([region for region in regions if not region.is_empty], object))
    if len(parts) < 2:
        return parts[0] if len(parts) else NOTHING
    points, starts = _polygon_rings(parts)
    try:
        return _one(Rings(points=points, starts=starts, group=np.zeros(len(starts) - 1, np.intp)), "nonzero")
    except UnreadableError:
        return only_polygons(shapely.union_all(parts, grid_size=_SAME_POINT_MM))


def subtracted(region: BaseGeometry, taken: BaseGeometry) -> BaseGeometry:
    """What of a region is left when another is taken out of it, valid."""
    return _overlay(shapely.difference, region, taken)


def shared(region: BaseGeometry, other: BaseGeometry) -> BaseGeometry:
    """What two regions have in common, valid."""
    return _overlay(shapely.intersection, region, other)


def _overlay(operation, region: BaseGeometry, other: BaseGeometry) -> BaseGeometry:  # type: ignore[no-untyped-def]
    try:
        return only_polygons(operation(region, other))
    except shapely.errors.GEOSException:  # near-coincident edges: once more on a grid, which never fails
        return only_polygons(operation(region, other, grid_size=_SAME_POINT_MM))


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
        what = shapes[0].label or f"A {shapes[0].kind}"
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
        if shape.stroke is not None and (line_width_mm is None or shape.stroke.width_mm > line_width_mm)
    ]
    if stroked:
        _add_strokes(shapes, stroked, tolerance_mm, result)
    return result


def _add_strokes(shapes: list[Shape], stroked: list[int], tolerance_mm: float, result: NDArray[np.object_]) -> None:
    """Unites each stroke with what the shape's fill gave."""
    parts = []
    for number, index in enumerate(stroked):
        stroke = shapes[index].stroke
        assert stroke is not None
        parts.append((number, *_stroke_rings(shapes[index].path, stroke, tolerance_mm)))
        fills = shapely.get_parts(result[index])
        if len(fills):
            parts.append((number, *_polygon_rings(fills)))
    points = np.concatenate([points for _, points, _ in parts])
    counts = [np.diff(starts) for _, _, starts in parts]
    group = np.repeat([number for number, _, _ in parts], [len(count) for count in counts]).astype(np.intp)
    starts = np.concatenate([[0], np.cumsum(np.concatenate(counts))]).astype(np.intp)
    order = np.argsort(group, kind="stable")
    assert (order == np.arange(len(order))).all()
    result[stroked] = enclosed(Rings(points=points, starts=starts, group=group), "nonzero", group_count=len(stroked))


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


def enclosed(rings: Rings, rule: FillRule, *, group_count: int) -> NDArray[np.object_]:
    """What the rings of each group enclose by the fill rule (group_count,). Raises TooTangledError."""
    result = np.full(group_count, NOTHING, object)
    rings = _tidy(rings)
    if not len(rings.group):
        return result
    ring = np.repeat(np.arange(len(rings.group)), np.diff(rings.starts))
    linear = geometries(shapely.linearrings(rings.points, indices=ring))
    order = np.argsort(rings.group, kind="stable")
    groups, begin = np.unique(rings.group[order], return_index=True)
    lines = shapely.multilinestrings(
        linear[order], indices=np.repeat(np.arange(len(groups)), np.diff(np.append(begin, len(order))))
    )
    simple = np.zeros(group_count, bool)
    simple[groups] = shapely.is_simple(lines)
    plain = simple[rings.group]
    if plain.any():
        _nest(result, rings, linear, plain, rule)
    if not plain.all():
        tangled = _selected(rings, ~plain)
        some = np.flatnonzero(~simple & np.isin(np.arange(group_count), groups))
        renumbered = np.zeros(group_count, np.intp)
        renumbered[some] = np.arange(len(some))
        tangled = Rings(points=tangled.points, starts=tangled.starts, group=renumbered[tangled.group])
        result[some] = resolved(tangled, rule, group_count=len(some))
    return result


def _nest(
    result: NDArray[np.object_], rings: Rings, linear: NDArray[np.object_], plain: NDArray[np.bool_], rule: FillRule
) -> None:
    """Groups whose rings neither cross nor touch: who lies in whom decides."""
    some = np.flatnonzero(plain)
    group, linear = rings.group[some], linear[some]
    areas = _signed_areas(rings)[some]
    winding = np.sign(areas).astype(np.int64)
    outside = np.zeros(len(some), np.int64)
    inner, outer = _containing_pairs(rings, linear, some, group)
    np.add.at(outside, inner, winding[outer])
    inside = outside + winding
    if rule == "nonzero":
        is_in, is_out = inside != 0, outside != 0
    else:
        is_in, is_out = inside % 2 == 1, outside % 2 == 1
    edge = is_in != is_out
    assemble(result, linear[edge], np.where(is_in, 1.0, -1.0)[edge] * np.abs(areas[edge]), group[edge])


def _containing_pairs(
    rings: Rings, linear: NDArray[np.object_], some: Indices, group: Indices
) -> tuple[Indices, Indices]:
    """Pairs (inner, outer) of rings of one group where outer lies around inner."""
    sizes = np.bincount(group)
    shared_group = np.flatnonzero(sizes[group] > 1)
    none = np.zeros(0, np.intp)
    if not len(shared_group):
        return none, none
    discs = geometries(shapely.polygons(linear[shared_group]))
    shapely.prepare(discs)
    eyes = rings.points[rings.starts[:-1][some[shared_group]]]
    tree = shapely.STRtree(discs)
    if len(shared_group) < 200:
        inner, outer = tree.query(shapely.points(eyes), predicate="within")
        same = (group[shared_group][inner] == group[shared_group][outer]) & (inner != outer)
        return shared_group[inner[same]], shared_group[outer[same]]
    # many groups lie over each other in artwork: leave out strangers before looking closely
    inner, outer = tree.query(shapely.points(eyes))
    same = (group[shared_group][inner] == group[shared_group][outer]) & (inner != outer)
    inner, outer = inner[same], outer[same]
    within = shapely.contains_xy(discs[outer], eyes[inner, 0], eyes[inner, 1])
    return shared_group[inner[within]], shared_group[outer[within]]


def _signed_areas(rings: Rings) -> Floats:
    lengths = np.diff(rings.starts)
    local = rings.points - np.repeat(rings.points[rings.starts[:-1]], lengths, axis=0)
    following = np.arange(1, len(local) + 1)
    following[rings.starts[1:] - 1] = rings.starts[:-1]
    ahead = local[following]
    result: Floats = np.add.reduceat(local[:, 0] * ahead[:, 1] - local[:, 1] * ahead[:, 0], rings.starts[:-1]) / 2
    return result


def _tidy(rings: Rings) -> Rings:
    """Points closer than a nanometre to the one before dropped, then rings that are no rings; not finite ones too."""
    lengths = np.diff(rings.starts)
    number = np.repeat(np.arange(len(lengths)), lengths)
    points = rings.points
    bad = np.zeros(len(lengths), bool)
    bad[number[~np.isfinite(points).all(axis=1)]] = True
    keep = ~bad[number]
    if len(points):
        before = np.arange(-1, len(points) - 1)
        filled = lengths > 0
        before[rings.starts[:-1][filled]] = rings.starts[1:][filled] - 1
        with np.errstate(invalid="ignore"):
            keep &= np.abs(points - points[before]).max(axis=1) > _SAME_POINT_MM
    left = np.bincount(number[keep], minlength=len(lengths))
    keep &= (left >= 3)[number]
    left = np.where(left >= 3, left, 0)
    used = left > 0
    return Rings(
        points=points[keep],
        starts=np.concatenate([[0], np.cumsum(left[used])]).astype(np.intp),
        group=rings.group[used],
    )


def _selected(rings: Rings, which: NDArray[np.bool_]) -> Rings:
    lengths = np.diff(rings.starts)
    return Rings(
        points=rings.points[np.repeat(which, lengths)],
        starts=np.concatenate([[0], np.cumsum(lengths[which])]).astype(np.intp),
        group=rings.group[which],
    )


def _path_rings(path: Path, tolerance_mm: float) -> tuple[Floats, Indices]:
    lines = flatten(path, tolerance_mm)
    return lines.points, lines.starts


def _polygon_rings(polygons: NDArray[np.object_]) -> tuple[Floats, Indices]:
    """Rings of polygons: shells wind positively, holes negatively."""
    oriented = shapely.orient_polygons(polygons)
    rings = shapely.get_rings(oriented)
    points, which = shapely.get_coordinates(rings, return_index=True)
    last = np.append(which[1:] != which[:-1], True)
    points, which = points[~last], which[~last]
    starts = np.concatenate([[0], np.cumsum(np.bincount(which, minlength=len(rings)))]).astype(np.intp)
    return points, starts


def _stroke_rings(path: Path, stroke: Stroke, tolerance_mm: float) -> tuple[Floats, Indices]:
    """Rings of the stroke, mm, all winding positively: points (n, 2), starts (r + 1,)."""
    none = np.zeros((0, 2)), np.zeros(1, np.intp)
    own = own_space(stroke.matrix)
    if own is None or not len(path) or not np.isfinite(stroke.width) or stroke.width <= 0:
        return none
    pen = Pen(cap=stroke.cap, join=stroke.join, miter_limit=stroke.miter_limit)
    chords = chords_of(path, tolerance_mm * (_DASH_FINENESS if stroke.dashes else 1.0))
    chords = _with_dot_direction(chords, stroke.matrix)
    if own.into is not None:
        chords = mapped(chords, own.into)
    if stroke.dashes:
        chords = dashed(chords, tuple(dash * own.scale for dash in stroke.dashes), stroke.dash_offset * own.scale)
    lines = len(chords.closed)
    half_width = np.full(lines, stroke.width * own.scale / 2)
    points, starts = outlines(chords, half_width, pen, np.full(lines, tolerance_mm / own.stretch))
    if own.back is not None:
        points = points @ own.back
        if np.linalg.det(own.back) < 0:
            points, starts = points[::-1], len(points) - starts[::-1]
    return points, starts.astype(np.intp)


def _with_dot_direction(chords: Chords, matrix: Affine) -> Chords:
    """Square caps of points lie along the pen's own x axis."""
    if not len(chords.dots):
        return chords
    along = np.array([matrix[0], matrix[1]])
    along = along / np.hypot(*along)
    return replace(chords, dot_along=np.tile(along, (len(chords.dots), 1)))
