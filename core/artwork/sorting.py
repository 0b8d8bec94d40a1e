"""What each shape is for, with the reason in plain words.

Areas are filled, outlines that can come free are cut, open lines are scored. Where a shape's surroundings leave
two readings it stays undecided, and the reason names both.
"""

from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Drawing, Shape, SortOptions
from core.artwork.paint_order import WhitePaint, white_paint
from core.artwork.painting import drawing_regions, region_tolerance_mm
from core.geometry.engine import enclosed
from core.geometry.flattening import flatten
from core.geometry.path import Path, joined
from core.geometry.rings import Rings, geometries
from core.progress import Progress, silent
from core.purposes import UNDECIDED, Suggestion

CLEAR_MARGIN_MM = 0.5
"""An inner outline this far from fills and other outlines stands clear: it can only be meant to come out."""
_MEETING_MM = 0.01
"""Ends this near close an outline."""
_OVERLAP_MM = 0.02
"""Outlines that overlap no deeper than this only touch."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorted:
    """The purpose of one shape and why."""

    shape_id: str
    purpose: Suggestion
    why: str


@dataclass(slots=True, kw_only=True)
class _Outlines:
    """Closed lines: index of each shape, what it goes round, and how it lies to the others."""

    index: NDArray[np.intp]
    region: NDArray[np.object_]
    around: dict[int, list[int]] = field(default_factory=dict)
    crossed: set[int] = field(default_factory=set)


def sort_shapes(drawing: Drawing, options: SortOptions, *, progress: Progress = silent) -> tuple[Sorted, ...]:
    """A purpose for every shape, in the drawing's order."""
    width_mm = options.line_width_mm
    regions = drawing_regions(drawing, line_width_mm=width_mm, progress=progress)
    white = white_paint(drawing)
    purposes: list[tuple[Suggestion, str] | None] = [
        _from_paint(i, shape, not region.is_empty, white, options)
        for i, (shape, region) in enumerate(zip(drawing.shapes, regions, strict=True))
    ]
    progress(0.6, "sorting lines")
    fills = np.array([i for i, purpose in enumerate(purposes) if purpose and purpose[0] == "fill"], np.intp)
    lines = [i for i, purpose in enumerate(purposes) if purpose is None]
    closed: list[int] = []
    for i in lines:
        purposes[i] = _from_ends(drawing.shapes[i])
        if purposes[i] is None:
            closed.append(i)
    if closed:
        _sort_outlines(drawing, closed, regions[fills], purposes, progress)
    return tuple(
        Sorted(shape_id=shape.id, purpose=purpose[0], why=purpose[1])
        for shape, purpose in zip(drawing.shapes, purposes, strict=True)
        if purpose is not None
    )


def _from_paint(
    index: int, shape: Shape, has_area: bool, white: WhitePaint, options: SortOptions
) -> tuple[Suggestion, str] | None:
    """The purpose that the paint alone decides; None for thin lines."""
    if index in white.paper:
        return "guide", "White, as large as the page and under everything: taken for the paper."
    if index in white.unseen:
        return "guide", "White on white paper: it can't be seen."
    if index in white.over_dark and options.white_keeps is not False:
        return "guide", "White over darker paint: the coat is kept there."
    stroke = shape.stroke
    limit = f"{options.line_width_mm:g} mm"
    wide = stroke is not None and stroke.width_mm > options.line_width_mm
    if has_area:
        if shape.area is not None:
            return "fill", "A painted area."
        if shape.fill is not None and wide:
            return "fill", f"A filled area with a stroke {_width_text(shape)} wide, over the line limit of {limit}."
        if shape.fill is not None:
            return "fill", "A filled area."
        return "fill", f"A stroke {_width_text(shape)} wide, over the line limit of {limit}: an area."
    if shape.clip is not None and (shape.fill is not None or wide or shape.clip.is_empty):
        return "guide", "Its clip hides all of it."
    if stroke is None and shape.fill is not None:
        return "guide", "A fill without area: nothing to burn."
    if stroke is None:
        return "guide", "Not painted: nothing to burn."
    if not len(shape.path):
        return "guide", "An empty line: nothing to burn."
    return None


def _width_text(shape: Shape) -> str:
    assert shape.stroke is not None
    return f"{shape.stroke.width_mm:.2f} mm"


def _line_text(shape: Shape) -> str:
    return f"line {_width_text(shape)} wide" if shape.stroke is not None and shape.stroke.width_mm > 0 else "hairline"


def _from_ends(shape: Shape) -> tuple[Suggestion, str] | None:
    """Score for open lines; None for closed outlines, whose surroundings decide."""
    closed = closed_subpaths(shape.path)
    if not closed.any():
        return "score", f"An open {_line_text(shape)}."
    if not closed.all():
        return UNDECIDED, "It has closed and open parts: to cut or to score?"
    assert shape.stroke is not None
    if shape.stroke.dashes:
        return "score", f"A dashed {_line_text(shape)}: it does not come free."
    if shape.clip is not None and not shapely.covers(shape.clip, _around(shape)):
        return "score", f"A {_line_text(shape)}, cut open by its clip."
    return None


def _around(shape: Shape) -> BaseGeometry:
    result: BaseGeometry = shapely.MultiPoint(flatten(shape.path, 0.05).points)
    return result


def closed_subpaths(path: Path) -> NDArray[np.bool_]:
    """Which subpaths close, by their flag or because their ends meet."""
    starts = path.start_points[path.starts]
    ends = path.end_points[path.stops - 1]
    longer = np.add.reduceat(np.abs(path.end_points - path.start_points).sum(axis=1), path.starts) > 4 * _MEETING_MM
    curled = (path.kinds[path.starts] != 0) | (path.stops - path.starts > 1)
    meet = np.hypot(*(ends - starts).T) <= _MEETING_MM
    result: NDArray[np.bool_] = path.closed | (meet & longer & curled)
    return result


def _sort_outlines(
    drawing: Drawing,
    closed: list[int],
    fills: NDArray[np.object_],
    purposes: list[tuple[Suggestion, str] | None],
    progress: Progress,
) -> None:
    outlines = _nested(drawing, closed)
    progress(0.8, "sorting outlines")
    fills = shapely.get_parts(fills)
    near_fill, in_fill, holds_fill = _lie_to_fills(outlines.region, fills)
    near_outline = _near_each_other(outlines)
    for number, index in enumerate(outlines.index.tolist()):
        purposes[index] = _outline_purpose(
            _line_text(drawing.shapes[index]),
            depth=len(outlines.around.get(number, ())),
            alone=len(outlines.index) == 1,
            crossed=number in outlines.crossed,
            near_outline=number in near_outline,
            near_fill=number in near_fill,
            in_fill=number in in_fill,
            holds_fill=number in holds_fill,
            flat=bool(outlines.region[number].is_empty),
        )


def _outline_purpose(
    line: str,
    *,
    depth: int,
    alone: bool,
    crossed: bool,
    near_outline: bool,
    near_fill: bool,
    in_fill: bool,
    holds_fill: bool,
    flat: bool,
) -> tuple[Suggestion, str]:
    if flat:
        return "score", f"A {line} that goes there and back: it goes round nothing."
    if crossed:
        return UNDECIDED, f"A closed {line} that crosses another outline: to cut or to score?"
    if depth == 0:
        if in_fill:
            return UNDECIDED, f"A closed {line} inside a filled area: a hole to cut, or a line to score?"
        return "cut", f"The only closed {line}." if alone else f"A closed {line} with no other outline around it."
    if near_outline:
        margin = f"{CLEAR_MARGIN_MM:g} mm"
        return UNDECIDED, f"A closed {line} less than {margin} from the outline around it: to cut or to score?"
    if near_fill:
        return UNDECIDED, f"An inner closed {line} that touches or crosses a filled area: to cut or to score?"
    if holds_fill:
        return UNDECIDED, f"An inner closed {line} around filled areas: a piece to cut out, or a border to score?"
    return "cut", f"An inner closed {line} in clear margin."


def _nested(drawing: Drawing, closed: list[int]) -> _Outlines:
    """The closed lines with who lies within whom. Equal ones count as one outline: both lie in the same others."""
    tolerance_mm = region_tolerance_mm(drawing.width_mm, drawing.height_mm)
    paths = [drawing.shapes[i].path for i in closed]
    lines = flatten(joined(paths), tolerance_mm)
    group = np.repeat(np.arange(len(closed)), [len(path.starts) for path in paths])
    rings = Rings(points=lines.points, starts=lines.starts, group=group)
    region = enclosed(rings, "evenodd", group_count=len(closed))
    outlines = _Outlines(index=np.array(closed, np.intp), region=region)
    area = shapely.area(region)
    discs = geometries(shapely.polygons(shapely.get_exterior_ring(shapely.get_parts(region))))
    owner = np.repeat(np.arange(len(closed)), shapely.get_num_geometries(region))
    tree = shapely.STRtree(discs)
    inner, outer = tree.query(region, predicate="covered_by")
    outer = owner[outer]
    larger = area[outer] > area[inner] * (1 + 1e-6) + 1e-9
    for a, b in zip(inner[larger].tolist(), outer[larger].tolist(), strict=True):
        outlines.around.setdefault(a, []).append(b)
    first, second = tree.query(region, predicate="overlaps")
    for a, b in zip(first.tolist(), second.tolist(), strict=True):
        if owner[b] > a and not shapely.buffer(shapely.intersection(region[a], discs[b]), -_OVERLAP_MM).is_empty:
            outlines.crossed |= {a, int(owner[b])}
    return outlines


def _lie_to_fills(region: NDArray[np.object_], fills: NDArray[np.object_]) -> tuple[set[int], set[int], set[int]]:
    """Outlines whose line comes near a fill, those whose line lies in one, and those that go round one."""
    if not len(fills):
        return set(), set(), set()
    tree = shapely.STRtree(fills)
    lines = shapely.boundary(region)
    near = tree.query(lines, predicate="dwithin", distance=CLEAR_MARGIN_MM)[0]
    within = tree.query(lines, predicate="within")[0]
    holds = tree.query(region, predicate="intersects")[0]
    return set(near.tolist()), set(within.tolist()), set(holds.tolist())


def _near_each_other(outlines: _Outlines) -> set[int]:
    """Inner outlines whose line comes near that of an outline around them."""
    lines = shapely.boundary(outlines.region)
    inner = [a for a, around in outlines.around.items() for _ in around]
    outer = [b for around in outlines.around.values() for b in around]
    if not inner:
        return set()
    near = shapely.dwithin(lines[inner], lines[outer], CLEAR_MARGIN_MM)
    return set(np.array(inner)[near].tolist())
