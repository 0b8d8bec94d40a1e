"""Many pieces on one sheet: rows and columns, or nested by their true shapes.

Nesting works on any outline with holes: one after the other, large ones first, each shape goes to the best place that
is free, by the regions of feasible translations (see ``room``), which shrink with every shape that is laid. Several
ways to go about it are tried and the best is kept. Never mirrored.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.affine import apply_to_region, rotation, translation
from core.errors import UnreadableError
from core.progress import Progress, silent
from core.sheet.placement import placement_matrix
from core.sheet.raster import Bools, Grid, inside
from core.sheet.room import feasible, meeting, translation_grid

RIGHT_ANGLES_DEG = (0.0, 90.0, 180.0, 270.0)
_MAX_COPIES = 5000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wanted:
    """A shape (all that it burns), how often, and what it may be turned by."""

    name: str
    shape: BaseGeometry
    count: int = 1
    angles_deg: tuple[float, ...] = RIGHT_ANGLES_DEG


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """One shape laid: its own frame turned by rotation_deg, then put at (x, y) of the sheet's front frame."""

    name: str
    x_mm: float
    y_mm: float
    rotation_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """Copies laid, and how many found no room. density: area of the shapes over that of the box they take up."""

    copies: tuple[Copy, ...]
    left_over: int
    density: float
    width_mm: float
    height_mm: float


def laid_shapes(layout: Layout, wanted: Sequence[Wanted]) -> list[BaseGeometry]:
    """The shapes where they lie, front frame."""
    shapes = {one.name: one.shape for one in wanted}
    return [
        apply_to_region(placement_matrix(copy.x_mm, copy.y_mm, copy.rotation_deg), shapes[copy.name])
        for copy in layout.copies
    ]


def rows_and_columns(
    room: BaseGeometry, wanted: Wanted, *, spacing_mm: float = 0.0, share_cuts: bool = False, kerf_mm: float = 0.0
) -> Layout:
    """As many copies as asked for, at the first of its angles, in rows from the top left corner of the room's box.

    Places where a copy would reach over an edge, a hole or a notch are left out. share_cuts: neighbours stand one kerf
    apart and share a cut line, for outlines with straight sides. Raises UnreadableError for senseless figures.
    """
    _check(spacing_mm, [wanted])
    shape = apply_to_region(rotation(wanted.angles_deg[0]), wanted.shape)
    u0, v0, u1, v1 = shape.bounds
    gap_mm = kerf_mm if share_cuts else spacing_mm
    x0, y0, x1, y1 = room.bounds
    grown = shapely.buffer(room, 1e-6)
    shapely.prepare(grown)
    copies: list[Copy] = []
    for row in range(math.floor((y1 - y0 + gap_mm) / (v1 - v0 + gap_mm) + 1e-9)):
        for column in range(math.floor((x1 - x0 + gap_mm) / (u1 - u0 + gap_mm) + 1e-9)):
            x_mm, y_mm = x0 - u0 + column * (u1 - u0 + gap_mm), y0 - v0 + row * (v1 - v0 + gap_mm)
            if len(copies) < wanted.count and grown.contains(apply_to_region(translation(x_mm, y_mm), shape)):
                copies.append(Copy(name=wanted.name, x_mm=x_mm, y_mm=y_mm, rotation_deg=wanted.angles_deg[0]))
    return _layout(copies, [wanted])


def nested(
    room: BaseGeometry,
    wanted: Sequence[Wanted],
    *,
    spacing_mm: float = 1.0,
    cell_mm: float = 0.5,
    better: Callable[[Layout], None] | None = None,
    progress: Progress = silent,
) -> Layout:
    """The shapes on the room (a polygon, holes allowed), nested at least ``spacing_mm`` apart; kerf is part of shapes.

    ``better`` hears of every layout that beats those before it, so that whoever cancels has the best so far.
    Raises UnreadableError for senseless figures, Cancelled when the progress callback does.
    """
    _check(spacing_mm, wanted)
    best: Layout | None = None
    ways = _WAYS if sum(one.count for one in wanted) > 1 else _WAYS[:1]
    for number, (across, down) in enumerate(ways):

        def share(done: float, doing: str, start: float = number / len(ways)) -> None:
            progress(start + done / len(ways), doing)

        layout = _laid_out(room, wanted, spacing_mm, cell_mm, across, down, share)
        if best is None or _merit(layout) < _merit(best):
            best = layout
            if better is not None:
                better(layout)
    assert best is not None
    return best


_WAYS = ((1.0, 1e-3), (1e-3, 1.0), (1.0, 1.0))
"""How much a place costs for each mm that the shape's far side lies from the left edge and the top edge."""


def _laid_out(
    room: BaseGeometry,
    wanted: Sequence[Wanted],
    spacing_mm: float,
    cell_mm: float,
    across: float,
    down: float,
    progress: Progress,
) -> Layout:
    fields = [_Field(room, one, angle_deg, cell_mm) for one in wanted for angle_deg in one.angles_deg]
    order = sorted(wanted, key=lambda one: -one.shape.area)
    whole = sum(one.count for one in wanted)
    copies: list[Copy] = []
    done = 0
    for one in order:
        own = [field for field in fields if field.wanted is one]
        for _ in range(one.count):
            progress(done / whole, "nesting")
            done += 1
            found = min((place for field in own if (place := field.best(across, down))), default=None)
            if found is None:
                done += one.count - 1
                break
            _, x_mm, y_mm, angle_deg = found
            copies.append(Copy(name=one.name, x_mm=x_mm, y_mm=y_mm, rotation_deg=angle_deg))
            laid = apply_to_region(placement_matrix(x_mm, y_mm, angle_deg), one.shape)
            kept_off = shapely.buffer(laid, spacing_mm, quad_segs=2) if spacing_mm else laid
            for field in fields:
                field.without(kept_off)
    return _layout(copies, wanted)


class _Field:
    """Where one shape at one angle can still lie."""

    def __init__(self, room: BaseGeometry, wanted: Wanted, angle_deg: float, cell_mm: float) -> None:
        self.wanted, self.angle_deg = wanted, angle_deg
        self._shape = apply_to_region(rotation(angle_deg), wanted.shape)
        self._grid = translation_grid(room, self._shape, cell_mm)
        self._free: Bools = np.zeros((0, 0), bool)
        if self._grid is not None:
            self._free = feasible(room, self._shape, self._grid)

    def best(self, across: float, down: float) -> tuple[float, float, float, float] | None:
        """(cost, x, y, angle) of the cheapest free place."""
        if self._grid is None or not self._free.any():
            return None
        _, _, u1, v1 = self._shape.bounds
        cost = down * (self._grid.ys_mm + v1)[:, None] + across * (self._grid.xs_mm + u1)[None, :]
        row, column = np.unravel_index(int(np.where(self._free, cost, np.inf).argmin()), cost.shape)
        x_mm, y_mm = float(self._grid.xs_mm[column]), float(self._grid.ys_mm[row])
        return float(cost[row, column]), x_mm, y_mm, self.angle_deg

    def without(self, laid: BaseGeometry) -> None:
        """Take out all places at which the shape would overlap one that was laid."""
        if self._grid is None:
            return
        part = _part_of(self._grid, laid.bounds, self._shape.bounds)
        if part is None:
            return
        rows, columns, grid = part
        for polygon in shapely.get_parts(laid):
            self._free[rows, columns] &= ~inside(meeting(polygon, self._shape), grid)


def _part_of(grid: Grid, laid: tuple[float, ...], shape: tuple[float, ...]) -> tuple[slice, slice, Grid] | None:
    """The part of the grid where the shape's box meets the box of what was laid."""
    spans = []
    for low, high, start, count in (
        (laid[0] - shape[2], laid[2] - shape[0], grid.x_mm, grid.columns),
        (laid[1] - shape[3], laid[3] - shape[1], grid.y_mm, grid.rows),
    ):
        first = max(0, math.floor((low - start) / grid.cell_mm))
        last = min(count, math.ceil((high - start) / grid.cell_mm) + 1)
        if last <= first:
            return None
        spans.append(slice(first, last))
    columns, rows = spans
    cut = Grid(
        x_mm=grid.x_mm + columns.start * grid.cell_mm,
        y_mm=grid.y_mm + rows.start * grid.cell_mm,
        cell_mm=grid.cell_mm,
        columns=columns.stop - columns.start,
        rows=rows.stop - rows.start,
    )
    return rows, columns, cut


def _layout(copies: Sequence[Copy], wanted: Sequence[Wanted]) -> Layout:
    whole = sum(one.count for one in wanted)
    draft = Layout(copies=tuple(copies), left_over=whole - len(copies), density=0.0, width_mm=0.0, height_mm=0.0)
    if not copies:
        return draft
    shapes = laid_shapes(draft, wanted)
    x0, y0, x1, y1 = (float(side) for side in shapely.total_bounds(shapes))
    return Layout(
        copies=draft.copies,
        left_over=draft.left_over,
        density=float(sum(shape.area for shape in shapes)) / ((x1 - x0) * (y1 - y0)),
        width_mm=x1 - x0,
        height_mm=y1 - y0,
    )


def _merit(layout: Layout) -> tuple[int, float]:
    return (layout.left_over, layout.width_mm * layout.height_mm)


def _check(spacing_mm: float, wanted: Sequence[Wanted]) -> None:
    if not (math.isfinite(spacing_mm) and spacing_mm >= 0):
        raise UnreadableError(f"A spacing of {spacing_mm:g} mm can't be.", hint="Give 0 or more.")
    if not wanted or min(one.count for one in wanted) < 1 or sum(one.count for one in wanted) > _MAX_COPIES:
        raise UnreadableError(f"Copies are counted from 1 to {_MAX_COPIES}.", hint="Ask for fewer, or at least one.")
    if any(one.shape.is_empty for one in wanted):
        raise UnreadableError("A shape to copy is empty.", hint="Give it something that is burned.")
