"""Many pieces on one sheet: rows and columns, or nested by their true shapes.

Nesting works on any outline with holes: one after the other, each shape goes to the best place that is free on a grid
of translations. Where it is free follows from the sheet (see ``room``) and, for every pair of shapes, from the region
of translations at which they meet, which is worked out once and only shifted from then on. Several ways to go about it
and several orders are tried and the best is kept. Never mirrored.
"""

import math
import time
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import UnreadableError
from core.geometry.affine import apply_to_region, rotation, translation
from core.progress import Progress, part, silent
from core.sheet.building_up import built_up
from core.sheet.ground import RIGHT_ANGLES_DEG
from core.sheet.lattices import lattice_places
from core.sheet.meetings import Field, Meetings, fields_of, grid_cell_mm, simpler
from core.sheet.placement import placement_matrix
from core.sheet.raster import Bools, Grid
from core.sheet.rectangles import only_rectangles, rectangles_laid
from core.sheet.room import feasible, translation_grid
from core.sheet.separating import Separating
from core.sheet.settling import Settling, Spot
from core.sheet.tightening import Tightening

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
        return layout_of([], [wanted], room)
    free = feasible(room, simpler(shape, math.inf), grid)
    grown = shapely.buffer(room, 1e-6)
    shapely.prepare(grown)
    tried = []
    for start_x, start_y in _starts(free, grid, pitch_x, pitch_y, wanted.count):
        copies: list[Copy] = []
        for y_mm in np.arange(start_y, room.bounds[3] - v1 + 1e-6, pitch_y).tolist():
            for x_mm in np.arange(start_x, room.bounds[2] - u1 + 1e-6, pitch_x).tolist():
                if len(copies) < wanted.count and grown.contains(apply_to_region(translation(x_mm, y_mm), shape)):
                    copies.append(Copy(name=wanted.name, x_mm=x_mm, y_mm=y_mm, rotation_deg=wanted.angles_deg[0]))
        tried.append(layout_of(copies, [wanted], room))
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
    time_s: float | None = None,
    better: Callable[[Layout], None] | None = None,
    progress: Progress = silent,
) -> Layout:
    """The shapes on the room (polygons, holes allowed), nested at least ``spacing_mm`` apart; kerf is part of shapes.

    orders: how many orders of different shapes are tried. time_s: processor time to spend; after a first layout the
    search ends when it is over (``ONE_DESIGN_S``, ``SEVERAL_S`` unless said). ``better`` hears of every layout that
    beats those before it, so that whoever cancels has the best so far. One design never does worse than in rows and
    columns. Raises UnreadableError for senseless figures, Cancelled when the progress callback does.
    """
    _check(spacing_mm, wanted)
    if time_s is None:
        time_s = ONE_DESIGN_S if len(wanted) == 1 else SEVERAL_S
    best: Layout | None = None
    clock = _Clock(time_s)
    for layout in _layouts(room, wanted, spacing_mm, cell_mm, orders, clock, progress):
        if best is None or layout.rank < best.rank:
            best = layout
            clock.may_stop, clock.short = True, layout.left_over > 0
            if better is not None:
                better(layout)
        if best.left_over == 0 and best.density > _PERFECT:
            break
    assert best is not None
    return best


ONE_DESIGN_S, SEVERAL_S = 1.0, 3.0
_SKYLINES_SHARE = 0.6
"""Where all are rectangles: of the time, before they are laid like any other shapes."""
_TOLD_EVERY = 50
_PATIENCE = 4.0
_MOST_TIGHTENED = 150
_PERFECT = 0.9999


class _Clock:
    """Processor time of this thread: a busy machine gets the same layouts, later.

    short: the best so far leaves shapes over, and none was built up yet; then building may take ``_PATIENCE`` times
    as long, so that a slow machine does not end with fewer shapes than have room.
    """

    def __init__(self, time_s: float) -> None:
        self._begun_s, self._time_s = time.thread_time(), time_s
        self.may_stop = self.short = self.built = False

    def going(self, share: float = 1.0) -> bool:
        patience = _PATIENCE if self.short and not self.built else share
        return not self.may_stop or time.thread_time() - self._begun_s < patience * self._time_s


def _layouts(
    room: BaseGeometry,
    wanted: Sequence[Wanted],
    spacing_mm: float,
    cell_mm: float,
    orders: int,
    clock: _Clock,
    progress: Progress,
) -> Iterator[Layout]:
    best: Layout | None = None
    if len(wanted) == 1:
        for layout in _in_rows_and_lattices(room, wanted[0], spacing_mm):
            best = layout if best is None or layout.rank < best.rank else best
            yield layout
        if not clock.going():
            return
    if only_rectangles(room, [one.shape for one in wanted]):
        for layout in _in_skylines(room, wanted, spacing_mm, clock, part(progress, 0.0, 0.1)):
            best = layout if best is None or layout.rank < best.rank else best
            yield layout
    smallest_mm2 = min(one.shape.area for one in wanted)
    outlines = [simpler(one.shape, smallest_mm2) for one in wanted]
    turned = [(of, outlines[of], angle) for of, one in enumerate(wanted) for angle in different(outlines[of], one)]
    cell_mm = grid_cell_mm([(one.shape, one.count) for one in wanted], cell_mm, fields=len(turned))
    meetings = Meetings(fields_of(room, turned, cell_mm, part(progress, 0.0, 0.1)), spacing_mm)
    if not meetings.fields:
        yield layout_of([], wanted, room)
        return

    def going() -> bool:
        progress(0.7, "making it tighter")
        return clock.going()

    separating = Separating(room, meetings, going=going)
    tightening = Tightening(room.bounds, meetings, Settling(room, meetings), separating, going=going)
    by_size = [number for number, one in sorted(enumerate(wanted), key=lambda pair: -pair[1].shape.area)
               for _ in range(one.count)]  # fmt: skip
    for spots in built_up(meetings, by_size, orders, clock.going, progress):
        clock.built = True
        if spots and len(spots) <= _MOST_TIGHTENED:
            spots = tightening.settled(spots)
        layout = layout_of(_copies(spots, meetings, wanted), wanted, room)
        best = layout if best is None or layout.rank < best.rank else best
        yield layout
    if best is None or not best.copies or len(best.copies) > _MOST_TIGHTENED:
        return
    for spots in tightening.tighter(_spots(best, meetings, outlines, wanted), _lost(best, wanted)):
        yield layout_of(_copies(spots, meetings, wanted), wanted, room)


def _lost(layout: Layout, wanted: Sequence[Wanted]) -> list[int]:
    """Which of those wanted found no room, the smallest first, each as often as it is missing."""
    laid = Counter(copy.name for copy in layout.copies)
    lost = [of for of, one in enumerate(wanted) for _ in range(one.count - laid[one.name])]
    return sorted(lost, key=lambda of: wanted[of].shape.area)


def _copies(spots: Sequence[Spot], meetings: Meetings, wanted: Sequence[Wanted]) -> list[Copy]:
    fields = meetings.fields
    return [
        Copy(name=wanted[fields[field].wanted].name, x_mm=x, y_mm=y, rotation_deg=fields[field].angle_deg)
        for field, x, y in spots
    ]


def _spots(
    layout: Layout, meetings: Meetings, outlines: Sequence[BaseGeometry], wanted: Sequence[Wanted]
) -> list[Spot]:
    """A layout's copies as fields; those at an angle that has none lie as one that looks the same."""
    numbers = {one.name: of for of, one in enumerate(wanted)}
    known: dict[tuple[int, float], tuple[int, float, float]] = {}
    spots: list[Spot] = []
    for copy in layout.copies:
        key = (numbers[copy.name], copy.rotation_deg)
        if key not in known:
            known[key] = _alike(apply_to_region(rotation(copy.rotation_deg), outlines[key[0]]), key, meetings.fields)
        field, x_mm, y_mm = known[key]
        spots.append((field, copy.x_mm + x_mm, copy.y_mm + y_mm))
    return spots


def _alike(turned: BaseGeometry, of_and_angle: tuple[int, float], fields: Sequence[Field]) -> tuple[int, float, float]:
    """The field of a shape that looks as it does turned, and how its outline has to be moved to lie there."""
    of, angle_deg = of_and_angle
    best: tuple[float, int, float, float] | None = None
    for field in fields:
        if field.wanted != of:
            continue
        (x0, y0, *_), (u0, v0, *_) = turned.bounds, field.outline.bounds
        differs = 0.0
        if not math.isclose(field.angle_deg, angle_deg):
            there = apply_to_region(translation(x0 - u0, y0 - v0), field.outline)
            differs = float(shapely.symmetric_difference(turned, there).area)
        if best is None or differs < best[0]:
            best = (differs, field.number, x0 - u0, y0 - v0)
    assert best is not None
    return best[1:]


def different(outline: BaseGeometry, wanted: Wanted) -> tuple[float, ...]:
    """The angles at which the shape does not look as at one before."""
    kept: list[tuple[float, BaseGeometry]] = []
    for angle_deg in wanted.angles_deg:
        turned = apply_to_region(rotation(angle_deg), outline)
        x0, y0, *_ = turned.bounds
        turned = apply_to_region(translation(-x0, -y0), turned)
        if not any(shapely.symmetric_difference(turned, other).area < _ALIKE * turned.area for _, other in kept):
            kept.append((angle_deg, turned))
    return tuple(angle_deg for angle_deg, _ in kept)


_ALIKE = 1e-6


def _in_rows_and_lattices(room: BaseGeometry, wanted: Wanted, spacing_mm: float) -> Iterator[Layout]:
    for angle_deg in wanted.angles_deg:
        yield rows_and_columns(room, replace(wanted, angles_deg=(angle_deg,)), gap_mm=spacing_mm)
    outline = simpler(wanted.shape, wanted.shape.area)
    ways = lattice_places(
        room, wanted.shape, outline, angles_deg=wanted.angles_deg, count=wanted.count, spacing_mm=spacing_mm
    )
    for places in ways:
        copies = [Copy(name=wanted.name, x_mm=x, y_mm=y, rotation_deg=angle) for x, y, angle in places]
        yield layout_of(copies, [wanted], room)


def _in_skylines(
    room: BaseGeometry, wanted: Sequence[Wanted], spacing_mm: float, clock: _Clock, progress: Progress
) -> Iterator[Layout]:
    ways = [(one.shape, one.count, one.angles_deg) for one in wanted]
    for trial, found in enumerate(rectangles_laid(room, ways, spacing_mm=spacing_mm)):
        if found is not None:
            copies = [Copy(name=wanted[of].name, x_mm=x, y_mm=y, rotation_deg=angle) for of, (x, y, angle) in found]
            yield layout_of(copies, wanted, room)
        if not clock.going(_SKYLINES_SHARE):
            return
        if trial % _TOLD_EVERY == 0:
            progress(0.0, "laying rectangles")


def _bounds(copies: Sequence[Copy], wanted: Sequence[Wanted]) -> tuple[float, float, float, float]:
    """Of all copies where they lie; each shape is turned once for each of its angles."""
    shapes = {one.name: one.shape for one in wanted}
    kinds = {(copy.name, copy.rotation_deg) for copy in copies}
    boxes = {(name, angle): apply_to_region(rotation(angle), shapes[name]).bounds for name, angle in kinds}
    own = np.array([boxes[copy.name, copy.rotation_deg] for copy in copies])
    own += np.array([(copy.x_mm, copy.y_mm, copy.x_mm, copy.y_mm) for copy in copies])
    (x0, y0), (x1, y1) = own[:, :2].min(0), own[:, 2:].max(0)
    return float(x0), float(y0), float(x1), float(y1)


def layout_of(copies: Sequence[Copy], wanted: Sequence[Wanted], room: BaseGeometry) -> Layout:
    """The layout of copies that lie somewhere in the room."""
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
