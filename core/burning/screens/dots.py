"""Dots at a ruling and an angle to the scan rows: round ones in light tones, a chequer at half, holes in dark ones.

The threshold follows the sum of two cosines across the dots' lattice, ranked so that it asks for each share of the cell
alike; rows are cut where the tone passes it, to parts of a sample.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

import numpy as np

from core.burning.dose import Floats
from core.burning.screens.spans import Spans, merged
from core.burning.screens.tone_source import ToneSource
from core.progress import Progress, silent

_SAMPLES_AT_ONCE = 500_000
_DOTS_OF_PATCH = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class DotScreen:
    """dot_mm: distance of neighbouring dots; span_mm, gap_mm as for ``LineScreen``; step_mm: of samples along a row."""

    pitch_mm: float
    dot_mm: float
    angle_deg: float
    span_mm: float
    gap_mm: float
    step_mm: float

    def spans(self, source: ToneSource, nominal: Callable[[Floats], Floats], *, progress: Progress = silent) -> Spans:
        """The spans of a picture; ``nominal`` maps wanted shares to shares of the dots' cell."""
        x0, y0, x1, y1 = source.bounds_mm
        rows = max(1, round((y1 - y0) / self.pitch_mm))
        first_y = y0 + self.pitch_mm / 2
        count = max(2, math.ceil((x1 - x0) / self.step_mm) + 1)
        x = np.linspace(x0, x1, count)
        at_once = max(1, _SAMPLES_AT_ONCE // count)
        parts = []
        for row_a in range(0, rows, at_once):
            progress(row_a / rows, "screening the picture")
            y = first_y + self.pitch_mm * np.arange(row_a, min(rows, row_a + at_once), dtype=float)
            over = self._over(source, nominal, x, y)
            row, begin, end = _crossings(over, x)
            parts.append((row + row_a, begin, end))
        row, begin, end = (np.concatenate(column) for column in zip(*parts, strict=True))
        row, begin, end = merged(row.astype(np.intp), begin, end, least_gap_mm=self.gap_mm)
        real = end - begin >= self.span_mm
        return Spans(
            pitch_mm=self.pitch_mm, y0_mm=first_y, row_count=rows, row=row[real], x0_mm=begin[real], x1_mm=end[real]
        )

    def _over(self, source: ToneSource, nominal: Callable[[Floats], Floats], x: Floats, y: Floats) -> Floats:
        """By how much the tone passes the threshold, (rows, samples)."""
        xx, yy = np.broadcast_arrays(x[None, :], y[:, None])
        wanted = source.cell_means(xx, yy, width_mm=self.step_mm, height_mm=self.pitch_mm)
        turn = 2 * math.pi / self.dot_mm
        cos, sin = math.cos(math.radians(self.angle_deg)), math.sin(math.radians(self.angle_deg))
        u, v = turn * (xx * cos + yy * sin), turn * (yy * cos - xx * sin)
        level, rank = _ranks()
        threshold = np.interp((np.cos(u) + np.cos(v)) / 2, level, rank)
        result: Floats = nominal(wanted.astype(np.float64)) - threshold
        return result

    @property
    def patch_mm(self) -> tuple[float, float]:
        """Width and height of a patch of many dots."""
        return (_DOTS_OF_PATCH + 2) * self.dot_mm, (_DOTS_OF_PATCH + 2) * self.dot_mm

    @property
    def seen(self) -> tuple[float, float, tuple[int, int]]:
        """What of a patch is measured: from x, to x, rows."""
        first, count = math.ceil(self.dot_mm / self.pitch_mm), math.floor(_DOTS_OF_PATCH * self.dot_mm / self.pitch_mm)
        return self.dot_mm, (1 + _DOTS_OF_PATCH) * self.dot_mm, (first, first + count)

    @property
    def knots(self) -> tuple[float, ...]:
        """None: dots grow smoothly."""
        return ()


@cache
def _ranks() -> tuple[Floats, Floats]:
    """The spot function's values, rising, and the share of a cell in which it is greater."""
    x = (np.arange(512) + 0.5) / 512 * 2 * math.pi
    values = np.sort(((np.cos(x)[:, None] + np.cos(x)[None, :]) / 2).ravel())
    level = np.concatenate([[-1.0], values[::97], [1.0]])
    rank = 1 - np.searchsorted(values, level) / len(values)
    return level, rank


def _crossings(over: Floats, x: Floats) -> tuple[np.ndarray, Floats, Floats]:
    """Stretches where ``over`` (rows, samples) is above zero: row, begin, end, between samples by a straight line."""
    above = over > 0
    padded = np.zeros((above.shape[0], above.shape[1] + 2), bool)
    padded[:, 1:-1] = above
    row, start = np.nonzero(padded[:, 1:] & ~padded[:, :-1])
    stop = np.nonzero(padded[:, :-1] & ~padded[:, 1:])[1]  # one after the last sample that is above
    step = x[1] - x[0]
    before = np.maximum(start - 1, 0)
    a, b = over[row, before], over[row, start]
    begin = np.where(start > 0, x[start] - step * b / np.where(start > 0, b - a, 1.0), x[0])
    after = np.minimum(stop, len(x) - 1)
    c, d = over[row, stop - 1], over[row, after]
    inside = stop < len(x)
    end = np.where(inside, x[stop - 1] + step * c / np.where(inside, c - d, 1.0), x[-1])
    return row, begin, end
