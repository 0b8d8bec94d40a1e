"""The best place for a job on a piece: nothing of a flaw showing, then the largest useful rest.

A fast search over a grid finds candidates: feasible translations exactly (see ``room``), what shows of the flaws by one
correlation an angle (convolution theorem), the rest by look-up (see ``rest``). The best of them are measured with
exact regions and pushed on, step by step, for as long as that makes them better. Never mirrored.
"""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.progress import Progress, part, silent
from core.sheet.ground import (
    REST_STEP_MM2,
    RIGHT_ANGLES_DEG,
    Footprint,
    Ground,
    NoRoomError,
    Placed,
    PlacingOptions,
    Turned,
    ground_of,
    measured,
)
from core.sheet.placement import Sheet
from core.sheet.raster import Bools, Grid, cell_areas_mm2, inside, pixel_grid
from core.sheet.room import feasible, free_places, translation_grid

_MAX_CELLS = 6_000_000
_COARSE_MM = 1.0
_EXAMINED = 24
_TIGHT_STEP_MM = 2.0
_PUSHED = 3
_WORKERS = min(len(RIGHT_ANGLES_DEG), os.cpu_count() or 1)
_STEPS_MM = (16.0, 8.0, 4.0, 2.0, 1.0, 0.5, 0.25, 0.1, 0.02)


def place(
    footprint: Footprint,
    sheet: Sheet,
    options: PlacingOptions | None = None,
    *,
    has_coat: bool = True,
    progress: Progress = silent,
) -> Placed:
    """The best place found. Raises NoRoomError when there is none, UnreadableError for a sheet that is no polygon."""
    options = options or PlacingOptions()
    ground = ground_of(sheet, options, has_coat=has_coat)
    angles = options.angles_deg
    if len(angles) > len(RIGHT_ANGLES_DEG):
        angles = _promising(ground, footprint, angles, progress=part(progress, 0.0, 0.5))
    rooms = _rooms(ground, options.cell_mm)
    trials: list[_Trial] = []
    with ThreadPoolExecutor(_WORKERS) as pool:  # the transforms do not hold the interpreter
        searches = [
            pool.submit(lambda angle: _candidates(ground, rooms, Turned(footprint, angle), options), a) for a in angles
        ]
        for number, search in enumerate(searches):
            progress(0.5 + 0.4 * number / len(angles), "looking for places")
            trials += search.result()
    progress(0.9, "measuring the best places")
    found = _best_of(ground, trials, options) or _best_of(
        ground, _tight_trials(ground, footprint, options.angles_deg), options
    )
    if found is None:
        raise NoRoomError("The job does not fit on this piece.", hint="Take a larger piece, or turn it freely.")
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Trial:
    turned: Turned
    x_mm: float
    y_mm: float
    shown_mm2: float
    rest_mm2: float


# --- the grid --------------------------------------------------------------------------------------------------------


_Spectrum = NDArray[np.complexfloating[Any, Any]]
"""Single precision is kept by the transforms, though their type annotations do not say so."""


@dataclass(frozen=True, kw_only=True, eq=False)
class _Room:
    """One part of the ground, sampled: where its flaws lie, as spectra."""

    region: BaseGeometry
    cell_mm: float
    pixels: Grid
    shape: tuple[int, int]
    coat: _Spectrum | None
    face: _Spectrum | None


@dataclass(frozen=True, kw_only=True, eq=False)
class _Field:
    """All translations of one angle in one room: which are feasible, what shows there, what rest is left."""

    grid: Grid
    feasible: Bools
    shown_mm2: NDArray[np.float32]
    rest_mm2: NDArray[np.float32]


def _rooms(ground: Ground, cell_mm: float) -> list[_Room]:
    return [_room(ground, region, cell_mm) for region in ground.rooms]


def _room(ground: Ground, region: BaseGeometry, cell_mm: float) -> _Room:
    x0, y0, x1, y1 = region.bounds
    cell_mm = max(cell_mm, float(np.sqrt((x1 - x0) * (y1 - y0) / _MAX_CELLS)))
    pixels = pixel_grid(region.bounds, cell_mm)
    shape = (_fast_length(pixels.rows), _fast_length(pixels.columns))
    spectra = []
    for flaws in (ground.coat_flaws, ground.face_flaws):
        here = [flaw for flaw in flaws if flaw.intersects(region)]
        spectra.append(np.fft.rfft2(cell_areas_mm2(here, pixels), shape) if here else None)
    return _Room(region=region, cell_mm=cell_mm, pixels=pixels, shape=shape, coat=spectra[0], face=spectra[1])


def _field(ground: Ground, room: _Room, turned: Turned) -> _Field | None:
    grid = translation_grid(room.region, turned.burned, room.cell_mm)
    if grid is None:
        return None
    free = feasible(room.region, turned.burned, grid)
    if not free.any():
        return None
    u0, v0, u1, v1 = turned.bounds
    across = ground.rest.across(u0 + grid.xs_mm, u1 + grid.xs_mm)
    down = ground.rest.down(v0 + grid.ys_mm, v1 + grid.ys_mm)
    return _Field(
        grid=grid,
        feasible=free,
        shown_mm2=_shown(room, turned, grid),
        rest_mm2=np.maximum(across[None, :].astype(np.float32), down[:, None].astype(np.float32)),
    )


def _shown(room: _Room, turned: Turned, grid: Grid) -> NDArray[np.float32]:
    """What shows of the flaws at every translation of the grid, mm², by correlation of sampled regions."""
    if room.coat is None and room.face is None:
        return np.zeros((grid.rows, grid.columns), np.float32)
    own = pixel_grid(turned.bounds, grid.cell_mm)
    finished = inside(turned.finished, own)[: room.pixels.rows, : room.pixels.columns]
    spectrum: _Spectrum | None = None
    if room.face is not None:
        spectrum = room.face * np.conj(np.fft.rfft2(finished.astype(np.float32), room.shape))
    if room.coat is not None:
        coat = finished & ~inside(turned.cleared, own)[: room.pixels.rows, : room.pixels.columns]
        product = room.coat * np.conj(np.fft.rfft2(coat.astype(np.float32), room.shape))
        spectrum = product if spectrum is None else spectrum + product
    assert spectrum is not None
    columns = np.fft.ifft(spectrum, axis=0)[: grid.rows]
    return np.fft.irfft(columns, room.shape[1], axis=1)[:, : grid.columns].astype(np.float32, copy=False)


def _fast_length(count: int) -> int:
    """The next length at or above that has no prime factor over 5."""
    while True:
        rest = count
        for factor in (2, 3, 5):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return count
        count += 1


def _promising(
    ground: Ground, footprint: Footprint, angles_deg: Sequence[float], *, progress: Progress
) -> tuple[float, ...]:
    """The angles that a coarse grid finds best."""
    found: list[tuple[float, float, float]] = []
    rooms = _rooms(ground, _COARSE_MM)
    for number, angle_deg in enumerate(angles_deg):
        progress(number / len(angles_deg), "trying angles")
        turned = Turned(footprint, angle_deg)
        for room in rooms:
            whole = _field(ground, room, turned)
            if whole is None:
                continue
            steps = np.where(whole.feasible, np.round(np.maximum(whole.shown_mm2, 0.0) / 0.25), np.inf)
            least = float(steps.min())
            found.append((least, -float(whole.rest_mm2[steps == least].max()), angle_deg))
    best = dict.fromkeys(angle_deg for _, _, angle_deg in sorted(found))
    return tuple(best)[: len(RIGHT_ANGLES_DEG)]


# --- candidates ------------------------------------------------------------------------------------------------------


def _candidates(ground: Ground, rooms: Sequence[_Room], turned: Turned, options: PlacingOptions) -> list[_Trial]:
    """The most promising translations at one angle."""
    result: list[_Trial] = []
    for room in rooms:
        whole = _field(ground, room, turned)
        if whole is None:
            continue
        for row, column in _roomiest(whole) if options.least_sheet else _picked(whole):
            result.append(
                _Trial(
                    turned=turned,
                    x_mm=float(whole.grid.x_mm + column * whole.grid.cell_mm),
                    y_mm=float(whole.grid.y_mm + row * whole.grid.cell_mm),
                    shown_mm2=float(whole.shown_mm2[row, column]),
                    rest_mm2=float(whole.rest_mm2[row, column]),
                )
            )
    return result


def _picked(whole: _Field) -> Iterator[tuple[int, int]]:
    """Places that show least and leave most, and such that still do so with their neighbours."""
    steps = np.minimum(np.rint(np.maximum(whole.shown_mm2, 0.0) / 0.05), _OUT - 1).astype(np.uint16)
    steps[~whole.feasible] = _OUT
    yield from _leaders(steps, whole.rest_mm2)
    near = np.where(whole.feasible, steps, 0)
    for here, beside in ((np.s_[1:], np.s_[:-1]), (np.s_[:-1], np.s_[1:])):
        np.maximum(steps[here], near[beside], out=steps[here])
        np.maximum(steps[:, here], near[:, beside], out=steps[:, here])
    yield from _leaders(steps, whole.rest_mm2)


def _roomiest(whole: _Field) -> Iterator[tuple[int, int]]:
    """Places that leave most, and of those the ones that show least."""
    rest = np.where(whole.feasible, np.floor(whole.rest_mm2 / REST_STEP_MM2), -1.0)
    best = np.flatnonzero(rest >= rest.max() - 1)
    shown = np.maximum(whole.shown_mm2.ravel()[best], 0.0).round(2)
    for index in np.lexsort((best, shown, -rest.ravel()[best]))[: 2 * _EXAMINED].tolist():
        row, column = divmod(int(best[index]), rest.shape[1])
        yield row, column


_OUT = 65535
"""Stands among the steps of what shows for a place where the job does not fit."""
_MOST_ALIKE = 4000


def _leaders(steps: NDArray[np.uint16], rest_mm2: NDArray[np.float32]) -> Iterator[tuple[int, int]]:
    """Up to ``_EXAMINED`` places of the lowest steps with the largest rests, spread out."""
    budget = _EXAMINED
    value = int(steps.min())
    for _ in range(3):
        if value == _OUT:
            return
        rows, columns = _largest(rest_mm2, steps == value)
        rests = rest_mm2[rows, columns]
        limit = budget if value == 0 else min(budget, _EXAMINED // 2)
        taken: set[tuple[int, int]] = set()
        for index in np.lexsort((columns, rows, -np.round(rests))).tolist():
            spot = (int(rows[index]) // 4, int(columns[index]) // 4)
            if len(taken) == limit:
                break
            if spot not in taken:
                taken.add(spot)
                yield int(rows[index]), int(columns[index])
        budget -= len(taken)
        if value == 0 or not budget:
            return  # where nothing shows, no place where something does is better
        value = int(steps.min(initial=_OUT, where=steps > value))


def _largest(rest_mm2: NDArray[np.float32], alike: Bools) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Rows and columns of about ``_MOST_ALIKE`` places among those alike with the largest rests."""
    rests = np.where(alike, rest_mm2, np.float32(-1.0))
    sample = rests[::4, ::4].ravel()
    few = max(1, _MOST_ALIKE // 16)
    least = np.partition(sample, -few)[-few] if len(sample) > few else -1.0
    index = np.flatnonzero(rests >= max(float(least), 0.0))
    if len(index) > 2 * _MOST_ALIKE:  # many rests are the same: any of them, from all over
        index = index[:: len(index) // _MOST_ALIKE]
    rows, columns = np.divmod(index, rest_mm2.shape[1])
    return rows, columns


def _tight_trials(ground: Ground, footprint: Footprint, angles_deg: Sequence[float]) -> list[_Trial]:
    """Places where the job only just fits, between the points of any grid."""
    found = []
    for angle_deg in angles_deg:
        turned = Turned(footprint, angle_deg)
        for room in ground.rooms:
            free = free_places(room, turned.burned)
            if free.is_empty:
                continue
            rims = shapely.segmentize(shapely.boundary(free), _TIGHT_STEP_MM)
            places = [shapely.get_coordinates(shapely.point_on_surface(shapely.get_parts(free)))]
            places.append(shapely.get_coordinates(rims)[:: max(1, shapely.get_num_coordinates(rims) // _EXAMINED)])
            for x_mm, y_mm in np.concatenate(places).tolist():
                found.append(_Trial(turned=turned, x_mm=x_mm, y_mm=y_mm, shown_mm2=0.0, rest_mm2=0.0))
    return found


# --- measuring and pushing -------------------------------------------------------------------------------------------


def _best_of(ground: Ground, trials: list[_Trial], options: PlacingOptions) -> Placed | None:
    """The best place that measuring the trials, and pushing the best of those, comes to."""
    rank = _sheet_rank if options.least_sheet else _rank

    def promise(trial: _Trial) -> tuple[float, float]:
        shown = round(max(0.0, trial.shown_mm2) / 0.05)
        return (-trial.rest_mm2, shown) if options.least_sheet else (shown, -trial.rest_mm2)

    trials = sorted(trials, key=promise)
    exact: list[tuple[Placed, Turned]] = []
    for trial in trials[: 4 * _EXAMINED]:
        placed = measured(ground, trial.turned, trial.x_mm, trial.y_mm)
        if placed is not None:
            exact.append((placed, trial.turned))
    exact.sort(key=lambda pair: rank(pair[0]))
    pushed = [_pushed(ground, turned, placed, rank) for placed, turned in exact[:_PUSHED]]
    return min(pushed, key=rank, default=None)


_Rank = Callable[[Placed], tuple[float, float]]


def _rank(placed: Placed) -> tuple[float, float]:
    return placed.rank


def _sheet_rank(placed: Placed) -> tuple[float, float]:
    return placed.sheet_rank


def _pushed(ground: Ground, turned: Turned, placed: Placed, rank: _Rank) -> Placed:
    """Moved along the axes for as long as it gets better, in ever smaller steps."""
    for step_mm in _STEPS_MM:
        for dx, dy in ((-1, 0), (1, 0), (0, -1), (0, 1)):
            for _ in range(3):
                there = measured(ground, turned, placed.x_mm + dx * step_mm, placed.y_mm + dy * step_mm)
                if there is None or rank(there) >= rank(placed):
                    break
                placed = there
    return placed
