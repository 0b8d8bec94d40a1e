"""Where left-over coat and spill lie: a coarse grid over the sheet, and the places most worth a look."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.burning.strips import expanded
from core.geometry.affine import Affine, apply, compose, scaling, translation

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
PlaceKind = Literal["lost", "left over", "spill"]
Bounds = tuple[float, float, float, float]

MAX_CELLS = 256
MIN_CELL_PITCHES = 8
BORDER_CELLS = 2
"""Around the fill, so that the coat beside its outermost edges is seen."""
MAX_PLACES = 200
MIN_PLACE_MM2 = 0.0076
"""A speck 0.087 mm across, one arc minute at 300 mm: what an eye can just tell apart (textbook figure for 20/20)."""
_BADNESS_DIGITS = 7
MIN_SPILL_SHARE = 0.25
"""Every edge spills a little; a place is listed when this much of the coat that should stay around it is gone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place worth a look, in the bed frame.

    area_mm2: of coat left over, coat removed, or of the feature that is lost. (x_mm, y_mm) lies in the thick of it;
    bounds_mm is (x0, y0, x1, y1).
    """

    kind: PlaceKind
    words: str
    area_mm2: float
    x_mm: float
    y_mm: float
    bounds_mm: Bounds


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoverageGrid:
    """Shares on a coarse grid, for a map seen from afar; (rows, columns), at most ``MAX_CELLS`` each way.

    left_over_share: of the fill in the cell, how much keeps its coat. spill_share: of the rest of the cell, how much
    loses it. to_bed takes (column, row), cells counted from their corner at (0, 0), to the bed frame in mm.
    """

    cell_mm: float
    left_over_share: Floats
    spill_share: Floats
    to_bed: Affine


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretches:
    """Stretches along scan rows, (n,) each: middle across the rows, extent along them, areas in them (mm²)."""

    y: Floats
    lo: Floats
    hi: Floats
    region: Floats
    left_over: Floats
    spill: Floats


_NOTHING = np.zeros(0)
NO_STRETCHES = Stretches(y=_NOTHING, lo=_NOTHING, hi=_NOTHING, region=_NOTHING, left_over=_NOTHING, spill=_NOTHING)


class Tally:
    """Sums stretches up on the grid, and remembers the worst one of each cell."""

    def __init__(self, bounds: Bounds, *, pitch_mm: float) -> None:
        x0, y0, x1, y1 = bounds
        most = MAX_CELLS - 2 * BORDER_CELLS - 1
        self.cell_mm = max((x1 - x0) / most, (y1 - y0) / most, MIN_CELL_PITCHES * pitch_mm)
        border_mm = BORDER_CELLS * self.cell_mm
        self.origin = (x0 - border_mm, y0 - border_mm)
        columns, rows = (math.ceil((size + 2 * border_mm) / self.cell_mm) for size in (x1 - x0, y1 - y0))
        self.shape = (rows, columns)
        self.region, self.left_over, self.spill = (np.zeros(self.shape) for _ in range(3))
        self.worst_left_over, self.worst_spill = _Worst(rows * columns), _Worst(rows * columns)

    def add(self, stretches: Stretches) -> None:
        """Count the stretches in; long ones are spread evenly over the cells they cross."""
        cell, counts = self._first_cells(stretches)
        short = counts == 1
        short_ones = np.flatnonzero(short)
        here, middle = cell[short_ones], (stretches.lo[short_ones] + stretches.hi[short_ones]) / 2
        y = stretches.y[short_ones]
        for total, areas, worst in self._kinds(stretches):
            self._count(total, worst, here, areas[short_ones], middle, y)
        for total, areas, worst in self._kinds(stretches):
            long_ones = np.flatnonzero(~short & (areas != 0))
            if not len(long_ones):
                continue
            if worst is None:
                self._spread(total, stretches, cell, counts, areas, long_ones)
                continue
            which, part, share, middle = self._cut(stretches, cell, counts, long_ones)
            self._count(total, worst, part, areas[which] * share, middle, stretches.y[which])

    def _kinds(self, stretches: Stretches) -> list[tuple[Floats, Floats, "_Worst | None"]]:
        """Totals, areas to be counted in, the worst ones; what there is nothing of is left out."""
        kinds = (
            (self.region, stretches.region, None),
            (self.left_over, stretches.left_over, self.worst_left_over),
            (self.spill, stretches.spill, self.worst_spill),
        )
        return [kind for kind in kinds if kind[1].any()]

    def _first_cells(self, stretches: Stretches) -> tuple[Ints, Ints]:
        """The cell in which each stretch begins, and how many it lies in."""
        rows, columns = self.shape
        x0, y0 = self.origin
        first, last = (
            np.clip((x - x0) / self.cell_mm, 0, columns - 1).astype(np.intp) for x in (stretches.lo, stretches.hi)
        )
        row = np.clip((stretches.y - y0) / self.cell_mm, 0, rows - 1).astype(np.intp)
        return row * columns + first, last - first + 1

    def _count(
        self, total: Floats, worst: "_Worst | None", cell: Ints, area: Floats, middle: Floats, y: Floats
    ) -> None:
        total += np.bincount(cell, area, minlength=total.size).reshape(self.shape)
        if worst:
            worst.see(cell, area, middle, y)

    def _spread(
        self, total: Floats, stretches: Stretches, cell: Ints, counts: Ints, areas: Floats, which: Ints
    ) -> None:
        """Count long stretches in by the steps of what they add along a row of cells, of which none needs to be seen
        by itself."""
        columns = self.shape[1]
        first, count = cell[which], counts[which]
        lo, hi = stretches.lo[which], stretches.hi[which]
        per_mm = areas[which] / (hi - lo)
        inner_mm = (self.cell_mm * (first % columns + 1)) + self.origin[0]
        whole = per_mm * self.cell_mm
        head, tail = per_mm * (inner_mm - lo), per_mm * (hi - inner_mm) - whole * (count - 2)
        steps = np.bincount(first + 1, whole, minlength=total.size + 1)
        steps -= np.bincount(first + count - 1, whole, minlength=total.size + 1)
        between = np.cumsum(steps[:-1].reshape(self.shape), axis=1)
        ends = np.bincount(first, head, minlength=total.size) + np.bincount(first + count - 1, tail, total.size)
        total += between + ends.reshape(self.shape)

    def _cut(self, stretches: Stretches, cell: Ints, counts: Ints, which: Ints) -> tuple[Ints, Ints, Floats, Floats]:
        """Long stretches cut at the borders of cells: which, its cell, the part's share of it, the part's middle."""
        of, number = expanded(np.zeros(len(which), np.intp), counts[which])
        which = which[of]
        part = cell[which] + number
        lo, hi = stretches.lo[which], stretches.hi[which]
        left = self.origin[0] + (part % self.shape[1]) * self.cell_mm
        cell_lo, cell_hi = np.maximum(lo, left), np.minimum(hi, left + self.cell_mm)
        return which, part, (cell_hi - cell_lo) / (hi - lo), (cell_lo + cell_hi) / 2

    def grid(self, to_bed: Affine) -> CoverageGrid:
        """Shares of what was counted; ``to_bed`` takes the scan frame to the bed frame."""
        left_over_share = self.left_over / np.maximum(self.region, 1e-300)
        coat = self.cell_mm**2 - self.region
        spill_share = np.where(coat > 1e-9 * self.cell_mm**2, self.spill / np.maximum(coat, 1e-300), 0.0)
        matrix = compose(to_bed, compose(translation(*self.origin), scaling(self.cell_mm, self.cell_mm)))
        return CoverageGrid(
            cell_mm=self.cell_mm,
            left_over_share=np.clip(left_over_share, 0.0, 1.0),
            spill_share=np.clip(spill_share, 0.0, 1.0),
            to_bed=matrix,
        )

    def places(self, to_bed: Affine) -> list[tuple[float, Place]]:
        """Places of left-over coat and of spill with how bad they are: the area by its share of what lies around."""
        coat = np.maximum(self.cell_mm**2 - self.region, 0.0)
        left_over = self._seen("left over", self.left_over, self.region, least_share=0.0, most=2 * MAX_PLACES)
        more = 2 * MAX_PLACES - len(left_over)
        spilt = self._seen("spill", self.spill, coat, least_share=MIN_SPILL_SHARE, most=more)
        return [*self._placed(left_over, self.worst_left_over, to_bed), *self._placed(spilt, self.worst_spill, to_bed)]

    def _seen(self, kind: PlaceKind, areas: Floats, of: Floats, *, least_share: float, most: int) -> list["_Seen"]:
        """Cells worth a look, worst first, none a neighbour of another."""
        around = _with_neighbours(areas)
        share = np.clip(around / np.maximum(_with_neighbours(of), 1e-300), 0.0, 1.0)
        badness = np.where(share >= least_share, areas * share, 0.0).ravel()
        some = np.flatnonzero(badness > 0.0)
        # what is as bad as its like elsewhere comes in the order of its cells, whatever the last bits say
        some = some[np.argsort(-badness[some].round(_BADNESS_DIGITS), kind="stable")][: 20 * MAX_PLACES]
        columns = self.shape[1] + 2  # with an empty border, so that every cell has its eight neighbours
        alone = np.pad(areas, 1).ravel()
        steps = [row * columns + column for row in (-1, 0, 1) for column in (-1, 0, 1)]
        middles = some // self.shape[1] * columns + some % self.shape[1] + columns + 1
        taken: set[int] = set()
        found: list[_Seen] = []
        for cell, middle, its_share, area in zip(
            *(values.tolist() for values in (some, middles, share.ravel()[some], around.ravel()[some])), strict=True
        ):
            if len(found) >= most:
                break
            if middle in taken:
                continue
            here = [middle + step for step in steps]
            if not taken.isdisjoint(here):
                area = float(alone[[one for one in here if one not in taken]].sum())
            taken.update(here)
            if area >= MIN_PLACE_MM2:
                found.append(_Seen(kind=kind, cell=cell, area_mm2=area, badness=area * its_share))
        return found

    def _placed(self, seen: list["_Seen"], worst: "_Worst", to_bed: Affine) -> list[tuple[float, Place]]:
        """The places of these cells, each with its eight neighbours around it."""
        cell = np.array([one.cell for one in seen], np.intp)
        row, column = np.divmod(cell, self.shape[1])
        x0, y0 = self.origin
        left, right = (x0 + np.clip(column + step, 0, self.shape[1]) * self.cell_mm for step in (-1, 2))
        top, bottom = (y0 + np.clip(row + step, 0, self.shape[0]) * self.cell_mm for step in (-1, 2))
        thick = apply(to_bed, np.column_stack([worst.x[cell], worst.y[cell]])).tolist()
        corners = apply(
            to_bed, np.stack([[left, top], [right, top], [right, bottom], [left, bottom]]).transpose(2, 0, 1)
        )
        bounds = np.concatenate([corners.min(1), corners.max(1)], axis=1).tolist()
        return [
            (
                one.badness,
                Place(
                    kind=one.kind,
                    words=f"{one.area_mm2:.3f} mm² {_WORDS[one.kind]}.",
                    area_mm2=one.area_mm2,
                    x_mm=x,
                    y_mm=y,
                    bounds_mm=(low_x, low_y, high_x, high_y),
                ),
            )
            for one, (x, y), (low_x, low_y, high_x, high_y) in zip(seen, thick, bounds, strict=True)
        ]


_WORDS: dict[PlaceKind, str] = {
    "left over": "of coat stays",
    "spill": "of coat goes that should stay",
    "lost": "is lost",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """A cell worth a look: its number, area with its neighbours', and how bad that is."""

    kind: PlaceKind
    cell: int
    area_mm2: float
    badness: float


class _Worst:
    """The largest stretch seen in each cell."""

    def __init__(self, cells: int) -> None:
        self.area, self.x, self.y = (np.zeros(cells) for _ in range(3))

    def see(self, cell: Ints, area: Floats, x: Floats, y: Floats) -> None:
        np.maximum.at(self.area, cell, area)
        worst = np.flatnonzero((area == self.area[cell]) & (area > 0))
        self.x[cell[worst]], self.y[cell[worst]] = x[worst], y[worst]


def _with_neighbours(values: Floats) -> Floats:
    """Sum over each cell and its eight neighbours."""
    padded = np.pad(values, 1)
    tall = padded[:-2] + padded[1:-1] + padded[2:]
    result: Floats = tall[:, :-2] + tall[:, 1:-1] + tall[:, 2:]
    return result
