"""Coverage of screened pictures: what is wanted bared is the tone, not the outline of the spans that make it.

Over blocks of eight cells, in which tones are made, the share that the rows bare is held against the share that the
picture asks for. Left over counts where no span alone clears (S = 1), spill where all together would (S = 0), as for
every fill. Blocks lie in strips of rows; where there are many, some are drawn by lot in even steps.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from core.burning.baring import reach_mm
from core.burning.coverage_map import Stretches, Tally
from core.burning.dose import CAREFUL_SPILL_S, ClearingLine, Floats, across_share
from core.burning.sampled_strips import DOUBT_SIGMAS
from core.burning.scan_rows import ScanRows
from core.burning.screens.bared_rows import band_covered_mm
from core.burning.screens.layer_screen import LayerScreen, ScreenedPart
from core.progress import Progress, silent

CELLS = 8
"""Cells of a block each way: thresholds repeat over so many."""
MOST_ROWS = 640
_HEIGHTS = 8
_SAMPLES_PER_RADIUS = 4
_WANTED_SAMPLES = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneAreas:
    """mm². wanted: what the tones ask for; left_over: of that what keeps its coat; spill: bared beyond what is wanted,
    if all hits add; doubt: how far either may be off as strips were drawn by lot."""

    wanted_mm2: float
    left_over_mm2: float
    spill_mm2: float
    doubt_mm2: float


def tone_coverage(
    screen: LayerScreen, burned: ScanRows, line: ClearingLine, tally: Tally, *, progress: Progress = silent
) -> ToneAreas:
    """What the rows do to the screen's tones; counted into ``tally`` too. burned: the whole layer's rows, as laid."""
    pitch = screen.spans.pitch_mm
    cells_mm = [part.made.cell_mm for part in screen.parts]
    wide, high = CELLS * max(cell[0] for cell in cells_mm), CELLS * max(cell[1] for cell in cells_mm)
    boxes = np.array([part.region.bounds for part in screen.parts])
    (left, top), (right, bottom) = boxes[:, :2].min(0), boxes[:, 2:].max(0)
    first = math.floor((top - burned.row_y_mm[0]) / pitch + 0.5)
    count = max(1, round((bottom - top) / pitch))
    rows_high = max(1, min(count, round(high / pitch)))
    groups = max(1, count // rows_high)
    strata = _strata(groups, max(1, MOST_ROWS // rows_high))
    blocks = max(1, math.ceil((right - left) / wide - 0.5))
    grid = _Grid(left=float(left), wide=wide, blocks=blocks, rows_high=rows_high, pitch_mm=pitch)
    x = grid.samples(line.spot_mm / 2 / _SAMPLES_PER_RADIUS)
    sums = np.zeros((len(strata), 2))
    for number, (begin, end, chosen) in enumerate(strata):
        progress(number / len(strata), "coverage")
        row = first + min(chosen * rows_high, count - rows_high)
        y = float(burned.row_y_mm[0]) + (row - 0.5) * pitch
        wanted = grid.wanted_mm2(screen.parts, y)
        alone, together = grid.bared_mm2(burned, line, row, x, screen.parts)
        left_over = np.minimum(np.maximum(wanted - alone, 0.0), wanted)
        spill = np.maximum(together - wanted, 0.0)
        share = (end - begin) * count / (groups * rows_high)
        sums[number] = left_over.sum() * share, spill.sum() * share
        _tell(tally, grid, burned, first, range(begin, end), (wanted, left_over, spill))
    by_lot = len(strata) < groups
    variance = (np.diff(sums, axis=0) ** 2).sum(0) / 2 if by_lot else np.zeros(2)
    left_mm2, spill_mm2 = sums.sum(0).tolist()
    return ToneAreas(
        wanted_mm2=screen.wanted_mm2,
        left_over_mm2=min(left_mm2, screen.wanted_mm2),
        spill_mm2=spill_mm2,
        doubt_mm2=float(DOUBT_SIGMAS * np.sqrt(variance).sum()),
    )


def _strata(groups: int, most: int) -> list[tuple[int, int, int]]:
    """(first, end, the one that is looked at) of stretches of groups."""
    wanted = min(groups, most)
    edges = np.round(np.linspace(0, groups, wanted + 1)).astype(int)
    lot = np.random.default_rng(17).random(wanted)
    return [(int(a), int(b), int(a + share * (b - a))) for a, b, share in zip(edges[:-1], edges[1:], lot, strict=True)]


def _tell(tally: Tally, grid: "_Grid", burned: ScanRows, first: int, groups: range, areas: Sequence[Floats]) -> None:
    """Count the blocks into the map, once for each strip that they stand for."""
    wanted, left_over, spill = areas
    high = grid.rows_high
    middle = [float(burned.row_y_mm[0]) + (first + (group + 0.5) * high - 0.5) * grid.pitch_mm for group in groups]
    lo = grid.left + grid.wide * np.arange(grid.blocks)
    times = len(middle)
    tally.add(
        Stretches(
            y=np.repeat(middle, grid.blocks),
            lo=np.tile(lo, times),
            hi=np.tile(lo + grid.wide, times),
            region=np.tile(wanted, times),
            left_over=np.tile(left_over, times),
            spill=np.tile(spill, times),
        )
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Grid:
    """Blocks beside each other, so many rows high."""

    left: float
    wide: float
    blocks: int
    rows_high: int
    pitch_mm: float

    def samples(self, step_mm: float) -> Floats:
        """(n,): places along the rows, as many in each block."""
        each = max(4, math.ceil(self.wide / step_mm))
        return self.left + (np.arange(self.blocks * each) + 0.5) * self.wide / each

    def wanted_mm2(self, parts: Sequence[ScreenedPart], top: float) -> Floats:
        """(blocks,): area that tones want bared in the blocks that begin at that height."""
        each = _WANTED_SAMPLES
        x = self.left + (np.arange(self.blocks * each) + 0.5) * self.wide / each
        y = top + (np.arange(self.rows_high) + 0.5) * self.pitch_mm
        xx, yy = np.meshgrid(x, y)
        total = np.zeros(xx.shape)
        for part in parts:
            _, begins, _, ends = part.region.bounds
            if ends < y[0] or begins > y[-1]:
                continue
            own = part.made.source.at(xx, yy) * part.holds(np.stack([xx, yy], axis=-1))
            total = np.maximum(total, own)
        return self._summed(total) * self.wide * self.rows_high * self.pitch_mm

    def bared_mm2(
        self, rows: ScanRows, line: ClearingLine, row: int, x: Floats, parts: Sequence[ScreenedPart]
    ) -> tuple[Floats, Floats]:
        """(blocks,): area of the pictures that a span alone bares, and that all together would, about ``rows_high``
        rows from one on."""
        pitch, ratio = self.pitch_mm, line.peak_over_clearing
        reach = max(1, math.ceil(reach_mm(line, CAREFUL_SPILL_S) / pitch))
        numbers = range(row - reach, row + self.rows_high + reach)
        along = [_along(rows, number, line, x) for number in numbers]
        largest, whole = (np.stack([one[k] for one in along]) for k in (0, 1))
        over = np.maximum(ratio * largest, 1.0)
        covered = band_covered_mm(line.spot_mm / 2 * np.sqrt(np.log(over) / 2), pitch)
        t = (np.arange(_HEIGHTS + 1) / _HEIGHTS - 0.5) * pitch
        alone_all, together_all = np.zeros(self.blocks), np.zeros(self.blocks)
        for own in range(reach, reach + self.rows_high):
            dose = np.zeros((len(t), len(x)))
            for number in range(own - reach, own + reach + 1):
                across = across_share(t - (number - own) * pitch, spot_mm=line.spot_mm)[:, None]
                dose += across * whole[number]
            places = np.column_stack([x, np.full(len(x), rows.row_y_mm[0] + (row + own - reach) * pitch)])
            inside = np.any([part.holds(places) for part in parts], axis=0)
            alone_all += self._summed(covered[own] / pitch * inside)
            together_all += self._summed(_share_above(dose, 1 / (ratio * line.passes)) * inside)
        return alone_all * self.wide * pitch, together_all * self.wide * pitch

    def _summed(self, values: np.ndarray) -> Floats:
        """Mean of each block, (blocks,), of values (..., samples)."""
        result: Floats = values.reshape(-1, self.blocks, values.shape[-1] // self.blocks).mean(axis=(0, 2))
        return result


def _share_above(values: Floats, level: float) -> Floats:
    """How much of the height lies above the level, (samples,); values (heights + 1, samples), linear between."""
    low, high = values[:-1], values[1:]
    top, bottom = np.maximum(low, high), np.minimum(low, high)
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.where(top > bottom, (top - level) / (top - bottom), top >= level)
    result: Floats = np.clip(share, 0.0, 1.0).mean(axis=0)
    return result


def _along(rows: ScanRows, row: int, line: ClearingLine, x: Floats) -> tuple[Floats, Floats]:
    """Share of the full dose along a row: of the strongest span at each x, and of all together."""
    largest, whole = np.zeros(len(x)), np.zeros(len(x))
    if not 0 <= row < len(rows.row_y_mm):
        return largest, whole
    part = slice(rows.row_starts[row], rows.row_starts[row + 1])
    x0, x1 = rows.x0_mm[part], rows.x1_mm[part]
    if not len(x0):
        return largest, whole
    scale = 2 * math.sqrt(2) / line.spot_mm
    reach = 1.5 * line.spot_mm
    first, last = np.searchsorted(x, x0 - reach), np.searchsorted(x, x1 + reach)
    counts = last - first
    span = np.repeat(np.arange(len(x0)), counts)
    at = np.arange(len(span)) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(first, counts)
    share = (scipy.special.erf(scale * (x[at] - x0[span])) - scipy.special.erf(scale * (x[at] - x1[span]))) / 2
    np.maximum.at(largest, at, share)
    whole += np.bincount(at, share, minlength=len(x))
    return largest, whole
