"""Closed lines: what each goes round, how it lies to the others, and what it is for.

The outermost outline is what frees a piece, so it is cut; what lies inside it is cut only where nothing speaks
against it: its colour, its width, its neighbours, its form.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from core.artwork.drawing import Drawing, Shape
from core.artwork.paint_order import near_white
from core.artwork.painting import region_tolerance_mm
from core.artwork.sorting.by_words import denied, name_of_cut_group
from core.artwork.sorting.lettering import LEAST_LETTERS, MOST_HEIGHT_MM, is_plain, lettering, repeated
from core.artwork.sorting.verdict import Verdict, ask, is_wide_line, line_text, width_text
from core.geometry.engine import enclosed
from core.geometry.flattening import flatten
from core.geometry.path import joined
from core.geometry.rings import Rings, geometries

CLEAR_MARGIN_MM = 0.5
"""An inner outline this far from fills and other outlines stands clear: it can only be meant to come out."""
_OVERLAP_MM = 0.02
"""Outlines that overlap no deeper than this only touch."""
OTHER_WIDTH = 1.5
"""Lines whose widths differ by more than this factor mean different things."""
MOST_ODD_FORMS = 8
"""More openings than this, none of them a plain form, are a pattern as likely as openings."""
_RIM_SHARE = 0.75
"""An inner outline this large within the next one leaves a rim: a border as likely as an opening."""
_FILLED_SHARE = 0.9
"""An outline with one area this large in it is the edge of that area."""
_PAGE_SHARE = 0.995
_JOINED_MM = 0.5
"""Ends that miss each other by less may be joined by a repair."""

Indices = NDArray[np.intp]


@dataclass(slots=True, kw_only=True)
class Outlines:
    """Closed lines by number: index of each shape, the region it goes round, and how it lies to the others.

    around: numbers of those around it; crossed: those that cross another; holds: those with other shapes inside;
    filled: those filled up to the line; has_fills: whether anything is filled. hollow: those with a hole; small_odd: no
    larger than letters, of no plain form, and there once only.
    """

    index: Indices
    region: NDArray[np.object_]
    around: dict[int, list[int]] = field(default_factory=dict)
    crossed: set[int] = field(default_factory=set)
    near_outline: set[int] = field(default_factory=set)
    near_fill: set[int] = field(default_factory=set)
    in_fill: set[int] = field(default_factory=set)
    holds_fill: set[int] = field(default_factory=set)
    holds: set[int] = field(default_factory=set)
    filled: set[int] = field(default_factory=set)
    has_fills: bool = False
    letters: set[int] = field(default_factory=set)
    plain: set[int] = field(default_factory=set)
    hollow: set[int] = field(default_factory=set)
    small_odd: set[int] = field(default_factory=set)


def sort_outlines(
    drawing: Drawing,
    closed: list[int],
    open_to_ask: set[int],
    fills: NDArray[np.object_],
    line_width_mm: float,
    named: Mapping[int, Verdict],
) -> dict[int, Verdict]:
    """The verdict for each closed line of ``open_to_ask`` (shape indices) among all the ``closed`` ones.

    fills: parts of all that is filled; named: verdicts of the other closed lines, which their names gave.
    """
    outlines = nested(drawing, closed)
    _lie_to_fills(outlines, fills)
    _lie_to_shapes(outlines, drawing)
    deciding = _Deciding(
        drawing=drawing, outlines=outlines, line_width_mm=line_width_mm, named=named, has_fills=bool(len(fills))
    )
    return {
        index: verdict
        for number, index in enumerate(outlines.index.tolist())
        if index in open_to_ask and (verdict := deciding.verdict(number)) is not None
    }


class _Deciding:
    """What has to be known of all outlines before one of them is decided."""

    def __init__(
        self,
        *,
        drawing: Drawing,
        outlines: Outlines,
        line_width_mm: float,
        named: Mapping[int, Verdict],
        has_fills: bool,
    ) -> None:
        self._shapes = [drawing.shapes[i] for i in outlines.index]
        self._lines, self._limit_mm = outlines, line_width_mm
        self._area = shapely.area(outlines.region)
        self._named = {n: named[i] for n, i in enumerate(outlines.index.tolist()) if i in named}
        self._marking_colours = {
            _colour(shape)
            for shape in drawing.shapes
            if shape.stroke is not None and shape.fill is None and (shape.is_dashed or _is_open(shape))
        }
        self._outermost = [n for n in range(len(self._shapes)) if self._is_outermost(n)]
        holds_some = any(n in outlines.holds_fill | outlines.holds for n in self._outermost)
        unjoined = any(_nearly_closed(shape) for shape in drawing.shapes)  # may turn out to be the plate
        self._beside_artwork = outlines.has_fills and len(self._outermost) > 1 and not holds_some and not unjoined
        cut_groups = (name_of_cut_group(self._shapes[n]) for n in self._outermost)
        self._cut_layer = next((name for name in cut_groups if name), "")
        self._cut_colours = self._colours_of_pieces()
        self._page_frame = self._frame_of_page(drawing)
        inner = [n for n in range(len(self._shapes)) if outlines.around.get(n)]
        self._wide_lines = {n for n, shape in enumerate(self._shapes) if is_wide_line(shape, line_width_mm)}
        thin = (around for n, around in outlines.around.items() if n not in self._wide_lines)
        self._holding = {other for around in thin for other in around}
        self._odd_forms = sum(n not in outlines.plain for n in inner)

    def verdict(self, number: int) -> Verdict | None:
        """None: an area, not a line to cut."""
        shape, lines = self._shapes[number], self._lines
        line = line_text(shape)
        if is_wide_line(shape, self._limit_mm):
            return self._wide(number)
        if lines.region[number].is_empty:
            return Verdict("score", f"A {line} that goes there and back: it goes round nothing.")
        against = denied(shape)
        if against is not None and against.said == "cut":
            return ask(f"A closed {line}, but called “{against.name[:60]}”: to score, to fill, or to leave out?")
        if near_white(_colour(shape)):
            return ask(f"A white closed {line} on nothing darker: to leave out, to cut or to score?")
        if number in lines.crossed:
            return ask(f"A closed {line} that crosses another outline: to cut or to score?")
        if number in lines.letters:
            return ask(f"Outlines in a row that look like lettering, a {line}: to score, to fill, or to cut them out?")
        if not lines.around.get(number):
            return self._outer(number, line)
        return self._inner(number, line)

    def _wide(self, number: int) -> Verdict | None:
        """A stroke over the line limit: an area, unless it may be the outline of a piece."""
        lines, shape = self._lines, self._shapes[number]
        if lines.around.get(number) or number in lines.in_fill | lines.near_fill | lines.crossed or shape.is_text:
            return None
        return ask(
            f"An outermost outline {width_text(shape)} wide, over the line limit of {self._limit_mm:g} mm: to cut "
            "along its middle, or to fill as an area?"
        )

    def _outer(self, number: int, line: str) -> Verdict:
        if number in self._lines.in_fill:
            return ask(f"A closed {line} inside a filled area: a hole to cut, or a line to score?")
        if number in self._lines.filled:
            return ask(f"A closed {line} round an area that is filled up to it: to cut, to score, or to leave out?")
        if self._beside_artwork:
            return ask(f"A closed {line} beside the artwork, round none of it: a piece to cut out, or a part of it?")
        if self._cut_layer:
            return ask(
                f"An outermost closed {line} that is not in “{self._cut_layer[:60]}”, where lines to cut are: to cut "
                "or not?"
            )
        if number == self._page_frame:
            return ask(f"A closed {line} as large as the page, round other outlines: the sheet's edge, or to cut?")
        if _colour(self._shapes[number]) not in self._cut_colours:
            return ask(
                f"A closed {line} with no other around it; outermost outlines come in more than one colour: which of "
                "them are to cut?"
            )
        if len(self._lines.index) == 1:
            return Verdict("cut", f"The only closed {line}.")
        return Verdict("cut", f"A closed {line} with no other outline around it.")

    def _inner(self, number: int, line: str) -> Verdict:
        lines = self._lines
        if number in lines.near_outline:
            margin = f"{CLEAR_MARGIN_MM:g} mm"
            return ask(f"A closed {line} less than {margin} from the outline around it: to cut or to score?")
        other = self._unlike_outermost(number, line)
        if other is not None:
            return other
        if self._cut_layer:
            return ask(
                f"An inner closed {line} that is not in “{self._cut_layer[:60]}”, where lines to cut are: to score, to "
                "fill or to cut?"
            )
        if any(self._named[n].purpose != "cut" for n in lines.around[number] if n in self._named):
            return ask(f"A closed {line} inside an outline that is not cut, as its name says: to score or to cut?")
        if self._area[number] >= _RIM_SHARE * min(self._area[n] for n in lines.around[number]):
            return ask(f"A closed {line} that leaves only a rim of the outline around it: a border, or to cut?")
        if number in lines.near_fill:
            return ask(f"An inner closed {line} that touches or crosses a filled area: to cut or to score?")
        if number in lines.holds_fill:
            return ask(f"An inner closed {line} around filled areas: a piece to cut out, or a border to score?")
        if self._is_nested(number):
            return ask(f"An inner closed {line}, one of several in each other: an opening, or a drawing to score?")
        if number in lines.small_odd:
            return ask(
                f"An inner closed {line} of the size of a letter and of no plain form: an opening, or a drawing to "
                "score?"
            )
        if number not in lines.plain and self._odd_forms > MOST_ODD_FORMS:
            return ask(f"One of {self._odd_forms} inner outlines of no plain form, a {line}: openings, or a pattern?")
        return Verdict("cut", f"An inner closed {line} in clear margin, drawn like the outline around it.")

    def _is_nested(self, number: int) -> bool:
        """Whether it is an opening with a line in it, or lies in one; the page's frame and areas do not count."""
        around = self._lines_around(number)
        in_opening = any(self._lines_around(n) for n in around)
        return bool(around) and (number in self._lines.hollow or number in self._holding or in_opening)

    def _lines_around(self, number: int) -> list[int]:
        return [n for n in self._lines.around.get(number, ()) if n != self._page_frame and n not in self._wide_lines]

    def _unlike_outermost(self, number: int, line: str) -> Verdict | None:
        """Where it is drawn in another colour or width than the outermost outline around it."""
        shape = self._shapes[number]
        outer = [self._shapes[n] for n in self._lines.around[number] if not self._lines.around.get(n)]
        if not outer:
            return None
        if all(_colour(shape) != _colour(one) for one in outer):
            if _colour(shape) in self._marking_colours:
                return Verdict(
                    "score",
                    f"An inner closed {line} in another colour than the outline around it, in which open lines are "
                    "drawn, too.",
                )
            return ask(f"An inner closed {line} in another colour than the outline around it: to score, fill or cut?")
        if all(_other_width(shape, one) for one in outer):
            return ask(f"An inner closed {line} of another width than the outline around it: to score or to cut?")
        return None

    def _is_outermost(self, number: int) -> bool:
        lines = self._lines
        return not lines.around.get(number) and number not in lines.in_fill and not lines.region[number].is_empty

    def _colours_of_pieces(self) -> set[str]:
        """The line colours that outermost outlines may be cut in."""
        colours = {_colour(self._shapes[n]) for n in self._outermost}
        if len(colours) > 1:
            colours = {_colour(self._shapes[n]) for n in self._outermost if n in self._lines.holds}
        return colours if len(colours) == 1 else set()

    def _frame_of_page(self, drawing: Drawing) -> int | None:
        """The only outermost outline, where it is as large as the page and has a likely piece inside."""
        if len(self._outermost) != 1:
            return None
        (number,) = self._outermost
        page_mm2 = drawing.width_mm * drawing.height_mm
        inside = [n for n in range(len(self._shapes)) if self._lines.around.get(n) == [number]]
        area = self._area
        pieces = [n for n in inside if n in self._lines.holds and area[n] > 0.3 * area[number]]
        return number if pieces and area[number] >= _PAGE_SHARE * page_mm2 > 0 else None


def _colour(shape: Shape) -> str:
    return shape.stroke.colour if shape.stroke is not None else ""


def _is_open(shape: Shape) -> bool:
    return not bool(shape.path.closed.any()) and len(shape.path) == 1


def _nearly_closed(shape: Shape) -> bool:
    """Whether an open line's ends miss each other by no more than the checkup would join."""
    if shape.stroke is None or shape.fill is not None or len(shape.path.starts) != 1 or len(shape.path) < 3:
        return False
    gap_mm = float(np.hypot(*(shape.path.end_points[-1] - shape.path.start_points[0])))
    return not shape.path.closed[0] and gap_mm <= _JOINED_MM


def _other_width(shape: Shape, other: Shape) -> bool:
    widths = sorted(one.stroke.width_mm for one in (shape, other) if one.stroke is not None)
    return len(widths) == 2 and widths[0] > 0 and widths[1] > OTHER_WIDTH * widths[0]


def nested(drawing: Drawing, closed: list[int]) -> Outlines:
    """The closed lines with who lies within whom. Equal ones count as one outline: both lie in the same others."""
    tolerance_mm = region_tolerance_mm(drawing.width_mm, drawing.height_mm)
    paths = [drawing.shapes[i].path for i in closed]
    lines = flatten(joined(paths), tolerance_mm)
    group = np.repeat(np.arange(len(closed)), [len(path.starts) for path in paths])
    rings = Rings(points=lines.points, starts=lines.starts, group=group)
    region = enclosed(rings, "evenodd", group_count=len(closed))
    outlines = Outlines(index=np.array(closed, np.intp), region=region)
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
    outlines.near_outline = _near_each_other(outlines)
    some = np.flatnonzero(~shapely.is_empty(region))
    outlines.letters = set(some[lettering(region[some])].tolist()) | _with_letters_inside(region)
    outlines.plain = set(some[is_plain(region[some])].tolist())
    parts, whose = shapely.get_parts(region, return_index=True)
    outlines.hollow = set(whose[shapely.get_num_interior_rings(parts) > 0].tolist())
    x0, y0, x1, y1 = shapely.bounds(region[some]).T
    small = np.maximum(x1 - x0, y1 - y0) <= MOST_HEIGHT_MM
    inner = np.array([bool(outlines.around.get(n)) for n in some.tolist()], bool)
    outlines.letters |= set(some[inner][lettering(region[some][inner], alike=True)].tolist())
    outlines.small_odd = set(some[small & ~repeated(region[some])].tolist()) - outlines.plain
    return outlines


def _with_letters_inside(region: NDArray[np.object_]) -> set[int]:
    """Paths of many subpaths, some of which look like letters in a row."""
    rings, owner = shapely.get_rings(region, return_index=True)
    many = np.flatnonzero(np.bincount(owner, minlength=len(region)) >= LEAST_LETTERS)
    return {number for number in many.tolist() if lettering(shapely.polygons(rings[owner == number])).any()}


def _lie_to_fills(outlines: Outlines, fills: NDArray[np.object_]) -> None:
    """Outlines whose line comes near a fill, those whose line lies in one, and those that go round one."""
    if not len(fills):
        return
    outlines.has_fills = True
    tree = shapely.STRtree(fills)
    lines = shapely.boundary(outlines.region)
    outlines.near_fill = set(tree.query(lines, predicate="dwithin", distance=CLEAR_MARGIN_MM)[0].tolist())
    outlines.in_fill = set(tree.query(lines, predicate="within")[0].tolist())
    number, fill = tree.query(outlines.region, predicate="intersects")
    outlines.holds_fill = set(number.tolist())
    near = np.isin(number, np.array(sorted(outlines.near_fill), np.intp))
    number, fill = number[near], fill[near]
    shared = shapely.area(shapely.intersection(outlines.region[number], fills[fill]))
    most = np.zeros(len(outlines.region))
    np.maximum.at(most, number, shared)
    whole = shapely.area(outlines.region)
    outlines.filled = set(np.flatnonzero((most >= _FILLED_SHARE * whole) & (whole > 0)).tolist())


def _lie_to_shapes(outlines: Outlines, drawing: Drawing) -> None:
    """Outlines that have the beginning of some other shape inside them."""
    drawn = [i for i, shape in enumerate(drawing.shapes) if len(shape.path)]
    points = shapely.points([drawing.shapes[i].path.start_points[0] for i in drawn])
    number, which = shapely.STRtree(points).query(outlines.region, predicate="contains")
    other = outlines.index[number] != np.array(drawn, np.intp)[which]
    outlines.holds = set(number[other].tolist())


def _near_each_other(outlines: Outlines) -> set[int]:
    """Inner outlines whose line comes near that of an outline around them."""
    lines = shapely.boundary(outlines.region)
    inner = [a for a, around in outlines.around.items() for _ in around]
    outer = [b for around in outlines.around.values() for b in around]
    if not inner:
        return set()
    near = shapely.dwithin(lines[inner], lines[outer], CLEAR_MARGIN_MM)
    return set(np.array(inner)[near].tolist())
