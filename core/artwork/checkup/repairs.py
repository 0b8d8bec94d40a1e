"""Mends a drawing: each repair is a pure function from Drawing to Drawing, named by the findings of ``checkup``.

A code may carry a number after a colon (the width that was looked for), so that a repair does what was shown.
Done twice, a repair changes nothing more.
"""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from core.artwork.burned_lines import outline_of
from core.artwork.checkup.area_checks import specks
from core.artwork.checkup.line_checks import (
    crosses_itself,
    doubled,
    open_lines,
    small_outlines,
    thin_lines,
    wholly_covered,
)
from core.artwork.checkup.page_checks import off_page
from core.artwork.checkup.scales import SCALES
from core.artwork.drawing import Drawing, Shape
from core.artwork.painting import filled_region, region_tolerance_mm
from core.artwork.transforming import transformed_drawing
from core.errors import UnreadableError
from core.geometry.affine import scaling
from core.geometry.ends import closed_subpaths
from core.geometry.path import Path, joined
from core.geometry.path_pieces import taken_out


def repair(drawing: Drawing, code: str) -> Drawing:
    """The drawing after the repair of that code; shapes that are left keep their ids. Unknown codes change nothing."""
    name, _, number = code.partition(":")
    if name in SCALES:
        return _scaled(drawing, SCALES[name])
    if name in _PLAIN:
        return _PLAIN[name](drawing)
    if name in _WITH_WIDTH:
        try:
            width_mm = float(number)
        except ValueError:
            return drawing
        return _WITH_WIDTH[name](drawing, width_mm)
    return drawing


def _scaled(drawing: Drawing, factor: float) -> Drawing:
    scaled = transformed_drawing(drawing, scaling(factor, factor), factor)
    units_from = f"{drawing.units_from}, then scaled by {factor:.6g}"
    return replace(scaled, units_from=units_from, marked_units_an_inch=None)


def _without(drawing: Drawing, indices: list[int]) -> Drawing:
    gone = set(indices)
    if not gone:
        return drawing
    return replace(drawing, shapes=tuple(shape for i, shape in enumerate(drawing.shapes) if i not in gone))


def _with_shapes(drawing: Drawing, changed: dict[int, Shape | None]) -> Drawing:
    """Shapes replaced by index; None drops one."""
    if not changed:
        return drawing
    shapes = [changed.get(i, shape) for i, shape in enumerate(drawing.shapes)]
    return replace(drawing, shapes=tuple(shape for shape in shapes if shape is not None))


def _join_ends(drawing: Drawing) -> Drawing:
    """Chains open lines; the first shape of a chain takes all of it."""
    lines = open_lines(drawing)
    chains = lines.chains
    new: dict[int, list[Path]] = {int(i): [] for i in lines.shape}
    touched: set[int] = set()
    for number in range(len(chains.path.starts)):
        members = chains.members[chains.member_starts[number] : chains.member_starts[number + 1]]
        owners = lines.shape[members]
        new[int(owners.min())].append(chains.path.subpath(number))
        if len(members) > 1 or chains.path.closed[number]:
            touched |= set(owners.tolist())
    return _with_shapes(
        drawing,
        {i: replace(drawing.shapes[i], path=joined(new[i])) if new[i] else None for i in touched},
    )


def _drop_doubled_lines(drawing: Drawing) -> Drawing:
    lines, covered = doubled(drawing)
    return _without(drawing, wholly_covered(drawing, lines, covered))


def _trim_overlapping_lines(drawing: Drawing) -> Drawing:
    """Takes out of open lines what runs along an earlier line of another shape."""
    lines, covered = doubled(drawing)
    whole = set(wholly_covered(drawing, lines, covered))
    changed: dict[int, Shape | None] = {}
    for path in np.unique(covered.path).tolist():
        index = lines[path]
        shape = drawing.shapes[index]
        if index in whole or closed_subpaths(shape.path).any():
            continue
        own = (covered.path == path) & (covered.by != path)
        if own.any():
            left = taken_out(shape.path, covered.segment[own], covered.t0[own], covered.t1[own])
            changed[index] = replace(shape, path=left) if len(left) else None
    return _with_shapes(drawing, changed)


def _untangle_outlines(drawing: Drawing) -> Drawing:
    """Closed outlines that cross themselves become the outline of all that they go round."""
    tolerance_mm = region_tolerance_mm(drawing.width_mm, drawing.height_mm)
    changed: dict[int, Shape | None] = {}
    for i in thin_lines(drawing):
        shape = drawing.shapes[i]
        if not closed_subpaths(shape.path).all() or not crosses_itself(shape):
            continue
        try:
            region = filled_region(shape.path, "nonzero", tolerance_mm=tolerance_mm)
        except UnreadableError:
            continue
        if not region.is_empty:
            changed[i] = replace(shape, path=outline_of(region))
    return _with_shapes(drawing, changed)


def _drop_small_holes(drawing: Drawing, kerf_mm: float) -> Drawing:
    return _without(drawing, [i for i, _ in small_outlines(drawing, kerf_mm)])


def _drop_specks(drawing: Drawing, cleared_width_mm: float) -> Drawing:
    return _without(drawing, specks(drawing, cleared_width_mm))


def _drop_off_page(drawing: Drawing) -> Drawing:
    return _without(drawing, off_page(drawing))


_PLAIN: dict[str, Callable[[Drawing], Drawing]] = {
    "join-ends": _join_ends,
    "drop-doubled-lines": _drop_doubled_lines,
    "trim-overlapping-lines": _trim_overlapping_lines,
    "untangle-outlines": _untangle_outlines,
    "drop-off-page": _drop_off_page,
}
_WITH_WIDTH: dict[str, Callable[[Drawing, float], Drawing]] = {
    "drop-small-holes": _drop_small_holes,
    "drop-specks": _drop_specks,
}
