"""What each shape is for, with the reason in plain words.

Names come first, then paint, then how lines lie to each other. Where what is known of a shape leaves two readings, or
contradicts itself, it stays undecided, and the reason is the question.
"""

from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import Drawing, Shape, SortOptions
from core.artwork.line_ids import whole_id
from core.artwork.paint_order import WhitePaint, dark, near_white, white_paint
from core.artwork.painting import drawing_regions
from core.artwork.separating import is_line_of_fill
from core.artwork.sorting.by_paint import by_paint
from core.artwork.sorting.by_words import by_words
from core.artwork.sorting.loose import loose_outlines
from core.artwork.sorting.outlines import sort_outlines
from core.artwork.sorting.verdict import Verdict, ask, is_wide_line, line_text
from core.geometry.ends import closed_subpaths
from core.geometry.flattening import flatten
from core.progress import Progress, silent
from core.purposes import Suggestion


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorted:
    """The purpose of one shape and why."""

    shape_id: str
    purpose: Suggestion
    why: str


def sort_shapes(drawing: Drawing, options: SortOptions, *, progress: Progress = silent) -> tuple[Sorted, ...]:
    """A purpose for every shape, in the drawing's order. Areas and lines are told apart before (``separated``)."""
    regions = drawing_regions(drawing, line_width_mm=options.line_width_mm, progress=progress)
    white = white_paint(drawing)
    grounds = _white_grounds(drawing, white)
    verdicts: list[Verdict | None] = [
        by_paint(i, shape, not region.is_empty, white, options, on_ground=shape.id in grounds)
        for i, (shape, region) in enumerate(zip(drawing.shapes, regions, strict=True))
    ]
    progress(0.6, "sorting lines")
    by_ends = {i for i, one in enumerate(verdicts) if one is None}
    for i in by_ends:
        shape = drawing.shapes[i]
        verdicts[i] = _from_ends(shape, is_edge=is_line_of_fill(shape) and whole_id(shape.id) not in grounds)
    closed, to_ask = _outlines(drawing, verdicts, options)
    for i, verdict in loose_outlines(drawing, closed).items():
        verdicts[i] = verdict if i in by_ends else verdicts[i]
    if closed:
        progress(0.8, "sorting outlines")
        fills = [regions[i] for i, one in enumerate(verdicts) if one and one.purpose == "fill" and i not in to_ask]
        parts = shapely.get_parts(np.array(fills, object))
        named = {i: one for i in closed if i not in to_ask and (one := verdicts[i]) is not None}
        for i, verdict in sort_outlines(drawing, closed, to_ask, parts, options.line_width_mm, named).items():
            verdicts[i] = verdict
    return tuple(
        Sorted(shape_id=shape.id, purpose=verdict.purpose, why=verdict.why)
        for shape, verdict in zip(drawing.shapes, verdicts, strict=True)
        if verdict is not None
    )


def _white_grounds(drawing: Drawing, white: WhitePaint) -> set[str]:
    """Ids of white fills that only are the inside of a darker line, not over darker paint."""
    inside_of_lines = {
        whole_id(shape.id)
        for shape in drawing.shapes
        if is_line_of_fill(shape) and shape.stroke is not None and dark(shape.stroke.colour)
    }
    special = white.paper | white.over_dark | white.unseen
    return {
        shape.id
        for i, shape in enumerate(drawing.shapes)
        if shape.id in inside_of_lines and near_white(shape.fill) and i not in special - white.unseen
    }


def _outlines(drawing: Drawing, verdicts: list[Verdict | None], options: SortOptions) -> tuple[list[int], set[int]]:
    """Indices of all closed lines that may lie around each other, and of those among them that are still open."""
    closed: list[int] = []
    to_ask: set[int] = set()
    for i, (shape, verdict) in enumerate(zip(drawing.shapes, verdicts, strict=True)):
        if shape.fill is not None or shape.area is not None or shape.stroke is None or not len(shape.path):
            continue
        is_wide = is_wide_line(shape, options.line_width_mm)
        if verdict is None:
            closed.append(i)
            to_ask.add(i)
        elif verdict.purpose == "guide" or is_line_of_fill(shape) or not _goes_round(shape):
            continue
        elif not is_wide:
            closed.append(i)
        elif by_words(shape, is_area=False, is_wide=True) is None:
            closed.append(i)
            to_ask.add(i)
        elif verdict.purpose == "cut":
            closed.append(i)
    return closed, to_ask


def _goes_round(shape: Shape) -> bool:
    """Whether it is a whole closed line."""
    whole = shape.stroke is not None and not shape.is_dashed and shape.clip is None and not shape.is_text
    return whole and bool(closed_subpaths(shape.path).all())


def _from_ends(shape: Shape, *, is_edge: bool) -> Verdict | None:
    """Score for open lines, a question for the edges of areas; None for closed outlines, whose surroundings decide."""
    line = line_text(shape)
    closed = closed_subpaths(shape.path)
    if is_edge:
        return ask(f"A {line} round a filled area of another colour: to cut, to score, or to leave out?")
    if not closed.any():
        return Verdict("score", f"An open {line}.")
    if shape.is_text:
        return ask(f"Lettering drawn as a {line}: to score, to fill the letters, or to cut them out?")
    if not closed.all():
        return ask("It has closed and open parts: to cut or to score?")
    if shape.is_dashed:
        return Verdict("score", f"A dashed {line}: it does not come free.")
    if shape.clip is not None and not shapely.covers(shape.clip, _around(shape)):
        return Verdict("score", f"A {line}, cut open by its clip.")
    return None


def _around(shape: Shape) -> BaseGeometry:
    result: BaseGeometry = shapely.MultiPoint(flatten(shape.path, 0.05).points)
    return result
