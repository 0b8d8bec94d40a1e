"""Many pieces on one sheet: rows and columns, or nested by their true shapes.

Nesting works on any outline with holes: one after the other, each shape goes to the best place that is free on a grid
of translations. Where it is free follows from the sheet (see ``room``) and, for every pair of shapes, from the region
of translations at which they meet, which is worked out once and only shifted from then on. Several ways to go about it
and several orders are tried and the best is kept. Never mirrored.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.errors import UnreadableError
from core.geometry.affine import apply_to_region, rotation, translation
from core.progress import Progress, silent
from core.sheet.lattices import lattice_places
from core.sheet.placement import placement_matrix
from core.sheet.placing import RIGHT_ANGLES_DEG
from core.sheet.raster import Bools, Grid, inside
from core.sheet.room import feasible, meeting, translation_grid

_MAX_COPIES = 5000
_MAX_CELLS = 12_000_000
"""Of all fields together: the grid is made coarser for many shapes on a large sheet."""
_MANY_CORNERS = 100
_SIMPLER_MM, _COARSEST_MM = 0.05, 3.0
"""How far shapes with many corners are grown to have fewer: as little as does, and at most so much."""


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
    """Copies laid, and how many found no room. density: area of the shapes over that of the box they take up.

    strip_mm2: what one straight cut, down or across the sheet, has to part off so that all copies are in it.
    """

    copies: tuple[Copy, ...]
    left_over: int
    density: float
    width_mm: float
    height_mm: float
    strip_mm2: float

    @property
    def rank(self) -> tuple[int, float, float]:
        """Smaller is better: what found no room, then the strip, then the box that is taken up."""
        return (self.left_over, self.strip_mm2, self.width_mm * self.height_mm)


def laid_shapes(layout: Layout, wanted: Sequence[Wanted]) -> list[BaseGeometry]:
    """The shapes where they lie, front frame."""
    shapes = {one.name: one.shape for one in wanted}
    return [
        apply_to_region(placement_matrix(copy.x_mm, copy.y_mm, copy.rotation_deg), shapes[copy.name])
        for copy in layout.copies
    ]


def rows_and_columns(room: BaseGeometry, wanted: Wanted, *, gap_mm: float = 0.0) -> Layout:
    """As many copies as asked for, at the first of its angles, in rows from the top left of the room on.

    gap_mm: between their boxes; below zero they overlap by so much, as they do to share a cut line. Places where a copy
    would reach over an edge, a hole or a notch are left out; the rows begin where most have room, near the corner.
    Raises UnreadableError for senseless figures.
    """
    _check(0.0, [wanted])
    shape = apply_to_region(rotation(wanted.angles_deg[0]), wanted.shape)
    u0, v0, u1, v1 = shape.bounds
    pitch_x, pitch_y = u1 - u0 + gap_mm, v1 - v0 + gap_mm
    if not (math.isfinite(gap_mm) and min(pitch_x, pitch_y) > 0):
        raise UnreadableError(f"A gap of {gap_mm:g} mm can't be.", hint="Give 0 or more.")
    grid = translation_grid(room, shape, min(_ROWS_CELL_MM, pitch_x / _STARTS, pitch_y / _STARTS))
    if grid is None:
        return _layout([], [wanted], room)
    free = feasible(room, _simpler(shape, math.inf), grid)
    grown = shapely.buffer(room, 1e-6)
    shapely.prepare(grown)
    tried = []
    for start_x, start_y in _starts(free, grid, pitch_x, pitch_y, wanted.count):
        copies: list[Copy] = []
        for y_mm in np.arange(start_y, room.bounds[3] - v1 + 1e-6, pitch_y).tolist():
            for x_mm in np.arange(start_x, room.bounds[2] - u1 + 1e-6, pitch_x).tolist():
                if len(copies) < wanted.count and grown.contains(apply_to_region(translation(x_mm, y_mm), shape)):
                    copies.append(Copy(name=wanted.name, x_mm=x_mm, y_mm=y_mm, rotation_deg=wanted.angles_deg[0]))
        tried.append(_layout(copies, [wanted], room))
    return min(tried, key=lambda layout: layout.rank)


_STARTS = 24
_TRIED = 4
_ROWS_CELL_MM = 1.0


def _starts(free: Bools, grid: Grid, pitch_x: float, pitch_y: float, count: int) -> list[tuple[float, float]]:
    """Where rows may begin: the corner, and where the most copies, but no more than wanted, seem to have room."""
    found = []
    for down in np.arange(_STARTS) * pitch_y / _STARTS:
        rows = np.rint(np.arange(down, grid.rows * grid.cell_mm, pitch_y) / grid.cell_mm).astype(np.intp)
        for across in np.arange(_STARTS) * pitch_x / _STARTS:
            columns = np.rint(np.arange(across, grid.columns * grid.cell_mm, pitch_x) / grid.cell_mm).astype(np.intp)
            room = int(free[np.ix_(rows[rows < grid.rows], columns[columns < grid.columns])].sum())
            found.append((-min(room, count), float(across + down), float(across), float(down)))
    best = [(0.0, 0.0), *((across, down) for _, _, across, down in sorted(found)[:_TRIED])]
    return [(grid.x_mm + across, grid.y_mm + down) for across, down in dict.fromkeys(best)]


def nested(
    room: BaseGeometry,
    wanted: Sequence[Wanted],
    *,
    spacing_mm: float = 1.0,
    cell_mm: float = 0.5,
    orders: int = 8,
    better: Callable[[Layout], None] | None = None,
    progress: Progress = silent,
) -> Layout:
    """The shapes on the room (polygons, holes allowed), nested at least ``spacing_mm`` apart; kerf is part of shapes.

    orders: how many orders of different shapes are tried. ``better`` hears of every layout that beats those before it,
    so that whoever cancels has the best so far. One design never does worse than in rows and columns.
    Raises UnreadableError for senseless figures, Cancelled when the progress callback does.
    """
    _check(spacing_mm, wanted)
    best: Layout | None = None
    for layout in _layouts(room, wanted, spacing_mm, cell_mm, orders, progress):
        if best is None or layout.rank < best.rank:
            best = layout
            if better is not None:
                better(layout)
        if best.left_over == 0 and best.density > _PERFECT:
            break
    assert best is not None
    return best


_PERFECT = 0.9999
_WAYS = ((1.0, 1e-3), (1e-3, 1.0), (1.0, 1.0), (1.0, 0.4), (0.4, 1.0))
"""How much a place costs for each mm that the shape's far side lies from the left edge and the top edge."""


def _layouts(
    room: BaseGeometry, wanted: Sequence[Wanted], spacing_mm: float, cell_mm: float, orders: int, progress: Progress
) -> Iterator[Layout]:
    if len(wanted) == 1:
        for angle_deg in wanted[0].angles_deg:
            yield rows_and_columns(room, replace(wanted[0], angles_deg=(angle_deg,)), gap_mm=spacing_mm)
        yield from _in_lattices(room, wanted[0], spacing_mm)
    fields = _fields(room, wanted, cell_mm, progress)
    by_size = [number for number, one in sorted(enumerate(wanted), key=lambda pair: -pair[1].shape.area)
               for _ in range(one.count)]  # fmt: skip
    trials = [(by_size, way) for way in _WAYS]
    if len(wanted) > 1:
        random = np.random.default_rng(len(by_size))
        trials += [(_shuffled(by_size, random), _WAYS[number % len(_WAYS)]) for number in range(orders)]
    meetings: dict[tuple[int, int], _Meeting] = {}
    for number, (order, way) in enumerate(trials):

        def share(done: float, doing: str, start: float = number / len(trials)) -> None:
            progress(0.1 + 0.9 * (start + done / len(trials)), doing)

        yield _layout(list(_laid_out(fields, meetings, wanted, order, way, spacing_mm, share)), wanted, room)


def _in_lattices(room: BaseGeometry, wanted: Wanted, spacing_mm: float) -> Iterator[Layout]:
    outline = _simpler(wanted.shape, wanted.shape.area)
    ways = lattice_places(
        room, wanted.shape, outline, angles_deg=wanted.angles_deg, count=wanted.count, spacing_mm=spacing_mm
    )
    for places in ways:
        copies = [Copy(name=wanted.name, x_mm=x, y_mm=y, rotation_deg=angle) for x, y, angle in places]
        yield _layout(copies, [wanted], room)


def _shuffled(order: list[int], random: np.random.Generator) -> list[int]:
    """Nearly by size: each shape a few places up or down."""
    shift = random.uniform(0.0, max(3.0, len(order) / 3), len(order))
    return [order[at] for at in np.argsort(np.arange(len(order)) + shift, kind="stable").tolist()]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Field:
    """One shape at one angle: the translations that are looked at, and which of them keep it on the sheet."""

    number: int
    wanted: int
    angle_deg: float
    shape: BaseGeometry
    grid: Grid
    free: Bools


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Meeting:
    """At which translations of one field its shape meets that of another field, which lies at its own first one.

    Counted in cells from (column, row) of the first field's grid.
    """

    column: int
    row: int
    meets: Bools


def _fields(room: BaseGeometry, wanted: Sequence[Wanted], cell_mm: float, progress: Progress) -> list[_Field]:
    x0, y0, x1, y1 = room.bounds
    turned = [(number, angle_deg) for number, one in enumerate(wanted) for angle_deg in one.angles_deg]
    cell_mm = max(cell_mm, math.sqrt((x1 - x0) * (y1 - y0) * len(turned) / _MAX_CELLS))
    smallest_mm2 = min(one.shape.area for one in wanted)
    outlines = [_simpler(one.shape, smallest_mm2) for one in wanted]
    fields: list[_Field] = []
    for number, (of, angle_deg) in enumerate(turned):
        progress(0.1 * number / len(turned), "looking where shapes can lie")
        shape = apply_to_region(rotation(angle_deg), outlines[of])
        grid = translation_grid(room, shape, cell_mm)
        if grid is not None and (free := feasible(room, shape, grid)).any():
            fields.append(_Field(number=len(fields), wanted=of, angle_deg=angle_deg, shape=shape, grid=grid, free=free))
    return fields


def _simpler(shape: BaseGeometry, smallest_mm2: float) -> BaseGeometry:
    """The shape, or one around it with few corners; holes that are too small for any shape are filled."""
    solid = [
        shapely.Polygon(part.exterior, [ring for ring in part.interiors if shapely.Polygon(ring).area > smallest_mm2])
        for part in shapely.get_parts(shape)
    ]
    simple = shapely.union_all(solid)
    grown_mm = _SIMPLER_MM
    while shapely.get_num_coordinates(simple) > _MANY_CORNERS and grown_mm < _COARSEST_MM:
        grown = shapely.buffer(shapely.union_all(solid), grown_mm, join_style="mitre", mitre_limit=2.0)
        simple = shapely.simplify(grown, grown_mm)
        grown_mm *= 2
    return simple if shapely.get_num_coordinates(simple) <= _MANY_CORNERS else shape.convex_hull


def _laid_out(
    fields: Sequence[_Field],
    meetings: dict[tuple[int, int], _Meeting],
    wanted: Sequence[Wanted],
    order: Sequence[int],
    way: tuple[float, float],
    spacing_mm: float,
    progress: Progress,
) -> Iterator[Copy]:
    """The shapes laid one after the other, each at its cheapest place."""
    costs = [_costs(field, *way) for field in fields]
    lost: set[int] = set()
    for done, of in enumerate(order):
        progress(done / len(order), "nesting")
        if of in lost:
            continue
        cheapest = [(field.number, int(costs[field.number].argmin())) for field in fields if field.wanted == of]
        places = [(float(costs[number].flat[at]), number, at) for number, at in cheapest]
        cost, number, at = min(places, default=(math.inf, 0, 0))
        if not math.isfinite(cost):
            lost.add(of)
            continue
        laid = fields[number]
        row, column = divmod(at, laid.grid.columns)
        yield Copy(
            name=wanted[of].name,
            x_mm=float(laid.grid.x_mm + column * laid.grid.cell_mm),
            y_mm=float(laid.grid.y_mm + row * laid.grid.cell_mm),
            rotation_deg=laid.angle_deg,
        )
        for field in fields:
            key = (number, field.number)
            if key not in meetings:
                progress(done / len(order), "nesting")
                meetings[key] = _meeting(laid, field, spacing_mm)
            _take_out(costs[field.number], meetings[key], column, row)


def _costs(field: _Field, across: float, down: float) -> NDArray[np.float32]:
    """What each place costs; infinite where the shape can't lie."""
    _, _, u1, v1 = field.shape.bounds
    cost = down * (field.grid.ys_mm + v1)[:, None] + across * (field.grid.xs_mm + u1)[None, :]
    return np.where(field.free, cost, np.inf).astype(np.float32)


def _meeting(laid: _Field, other: _Field, spacing_mm: float) -> _Meeting:
    there = apply_to_region(translation(laid.grid.x_mm, laid.grid.y_mm), laid.shape)
    if spacing_mm:  # corners that are not rounded: a little further away, but no more of them
        there = shapely.buffer(there, spacing_mm, join_style="mitre", mitre_limit=2.0)
    regions = np.concatenate([meeting(part, other.shape) for part in shapely.get_parts(there)])
    x0, y0, x1, y1 = shapely.total_bounds(regions)
    cell_mm, grid = other.grid.cell_mm, other.grid
    column, row = math.floor((x0 - grid.x_mm) / cell_mm), math.floor((y0 - grid.y_mm) / cell_mm)
    own = Grid(
        x_mm=grid.x_mm + column * cell_mm,
        y_mm=grid.y_mm + row * cell_mm,
        cell_mm=cell_mm,
        columns=math.ceil((x1 - grid.x_mm) / cell_mm) - column + 1,
        rows=math.ceil((y1 - grid.y_mm) / cell_mm) - row + 1,
    )
    return _Meeting(column=column, row=row, meets=inside(regions, own))


def _take_out(costs: NDArray[np.float32], pair: _Meeting, column: int, row: int) -> None:
    """Make all places infinite at which a shape would meet the one laid at (column, row)."""
    left, top = pair.column + column, pair.row + row
    x0, y0 = max(left, 0), max(top, 0)
    x1, y1 = min(left + pair.meets.shape[1], costs.shape[1]), min(top + pair.meets.shape[0], costs.shape[0])
    if x1 > x0 and y1 > y0:
        costs[y0:y1, x0:x1][pair.meets[y0 - top : y1 - top, x0 - left : x1 - left]] = np.inf


def _bounds(copies: Sequence[Copy], wanted: Sequence[Wanted]) -> tuple[float, float, float, float]:
    """Of all copies where they lie; each shape is turned once for each of its angles."""
    shapes = {one.name: one.shape for one in wanted}
    kinds = {(copy.name, copy.rotation_deg) for copy in copies}
    boxes = {(name, angle): apply_to_region(rotation(angle), shapes[name]).bounds for name, angle in kinds}
    own = np.array([boxes[copy.name, copy.rotation_deg] for copy in copies])
    own += np.array([(copy.x_mm, copy.y_mm, copy.x_mm, copy.y_mm) for copy in copies])
    x0, y0, x1, y1 = (*own[:, :2].min(0).tolist(), *own[:, 2:].max(0).tolist())
    return x0, y0, x1, y1


def _layout(copies: Sequence[Copy], wanted: Sequence[Wanted], room: BaseGeometry) -> Layout:
    whole = sum(one.count for one in wanted)
    draft = Layout(
        copies=tuple(copies), left_over=whole - len(copies), density=0.0, width_mm=0.0, height_mm=0.0, strip_mm2=0.0
    )
    if not copies:
        return draft
    x0, y0, x1, y1 = _bounds(copies, wanted)
    areas_mm2 = {one.name: float(one.shape.area) for one in wanted}
    area_mm2 = sum(areas_mm2[copy.name] for copy in copies)
    left, top, right, bottom = room.bounds
    across, down = min(x1 - left, right - x0), min(y1 - top, bottom - y0)
    return replace(
        draft,
        density=area_mm2 / ((x1 - x0) * (y1 - y0)),
        width_mm=x1 - x0,
        height_mm=y1 - y0,
        strip_mm2=float(min(across * (bottom - top), down * (right - left))),
    )


def _check(spacing_mm: float, wanted: Sequence[Wanted]) -> None:
    if not (math.isfinite(spacing_mm) and spacing_mm >= 0):
        raise UnreadableError(f"A spacing of {spacing_mm:g} mm can't be.", hint="Give 0 or more.")
    if not wanted or min(one.count for one in wanted) < 1 or sum(one.count for one in wanted) > _MAX_COPIES:
        raise UnreadableError(f"Copies are counted from 1 to {_MAX_COPIES}.", hint="Ask for fewer, or at least one.")
    if any(one.shape.is_empty or not one.angles_deg for one in wanted):
        raise UnreadableError("A shape to copy is empty.", hint="Give it something that is burned.")
