"""A line screen along the scan rows: each row in cells of one length, in each cell one span as long as its tone asks.

Cells of every second row stand half a cell off. Tones lighter than the shortest span, or darker than the narrowest gap,
are made by leaving spans or gaps out in an even order (``ordered``). In a cell that the picture's edge cuts the span
stands in what is left of the cell, as long as the tone of that asks: cut off at the edge it would bare too little.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from core.burning.dose import Floats
from core.burning.screens.ordered import thresholds
from core.burning.screens.spans import Ints, Spans, merged
from core.burning.screens.tone_source import ToneSource
from core.progress import Progress, silent

_ORDER = 3
_TILE = 2**_ORDER
_CELLS_AT_ONCE = 200_000


@dataclass(frozen=True, slots=True, kw_only=True)
class LineScreen:
    """cell_mm: length of a cell; span_mm, gap_mm: the shortest span and the narrowest gap that are made."""

    pitch_mm: float
    cell_mm: float
    span_mm: float
    gap_mm: float

    def spans(self, source: ToneSource, nominal: Callable[[Floats], Floats], *, progress: Progress = silent) -> Spans:
        """The spans of a picture; ``nominal`` maps wanted shares to shares of the cell."""
        x0, y0, x1, y1 = source.bounds_mm
        rows = max(1, round((y1 - y0) / self.pitch_mm))
        columns = int(np.ceil((x1 - x0) / self.cell_mm)) + 1
        first_y = y0 + self.pitch_mm / 2
        at_once = max(_TILE, _CELLS_AT_ONCE // columns // _TILE * _TILE)
        parts = []
        for begin in range(0, rows, at_once):
            progress(begin / rows, "screening the picture")
            row = np.arange(begin, min(rows, begin + at_once))
            parts.append(self._of_rows(source, nominal, row, columns, first_y))
        row, x0_mm, x1_mm = (np.concatenate(column) for column in zip(*parts, strict=True))
        return Spans(pitch_mm=self.pitch_mm, y0_mm=first_y, row_count=rows, row=row, x0_mm=x0_mm, x1_mm=x1_mm)

    def _of_rows(
        self, source: ToneSource, nominal: Callable[[Floats], Floats], rows: Ints, columns: int, first_y: float
    ) -> tuple[Ints, Floats, Floats]:
        """Spans of these rows, the first of a number that thresholds repeat over: row, begin, end."""
        x0, _, x1, _ = source.bounds_mm
        y = first_y + self.pitch_mm * rows.astype(float)[:, None]
        shift = np.where(rows % 2 == 1, 0.5, 0.0)[:, None]
        middle = x0 + (np.arange(columns, dtype=float)[None, :] + 0.5 - shift) * self.cell_mm
        y, middle = np.broadcast_arrays(y, middle)
        left, right = np.maximum(middle - self.cell_mm / 2, x0), np.minimum(middle + self.cell_mm / 2, x1)
        room = np.maximum(right - left, 0.0)
        wanted = source.cell_means((left + right) / 2, y, width_mm=room, height_mm=self.pitch_mm).astype(np.float64)
        length = self._lengths(nominal(wanted * (room / self.cell_mm)), room)
        row, column = np.nonzero(length > 0)
        own, left, right = length[row, column], left[row, column], right[row, column]
        # in dark cells the gap stands at one end, so that a gap beside a cell without one keeps its width
        dark = right - left - own <= self.gap_mm * 1.001
        begin = np.where(dark, left, (left + right - own) / 2)
        begin, end = np.maximum(np.minimum(begin, x1 - own), x0), np.minimum(np.maximum(begin, x0) + own, x1)
        real = end - begin > self.span_mm / 2
        row, begin, end = merged(row[real], begin[real], end[real], least_gap_mm=self.gap_mm / 4)
        return row + rows[0], begin, end

    def _lengths(self, share: Floats, room: Floats) -> Floats:
        """Each cell's span in mm, (rows, columns), for shares of a whole cell; room: mm of it within the picture."""
        rank = thresholds(*share.shape, order=_ORDER)
        length = share * self.cell_mm
        short = length < self.span_mm
        length = np.where(short, np.where(length / self.span_mm > rank, self.span_mm, 0.0), length)
        gap = room - length
        narrow = (gap < self.gap_mm) & ~short
        gapped = np.where(gap / self.gap_mm > rank, room - self.gap_mm, room)
        result: Floats = np.where(narrow, np.maximum(gapped, 0.0), length)
        return result

    @property
    def patch_mm(self) -> tuple[float, float]:
        """Width and height of a patch that repeats, with a margin."""
        return (_TILE + 4) * self.cell_mm, (_TILE + 6) * self.pitch_mm

    @property
    def seen(self) -> tuple[float, float, tuple[int, int]]:
        """What of a patch is measured: from x, to x, rows."""
        return 2 * self.cell_mm, (2 + _TILE) * self.cell_mm, (3, 3 + _TILE)

    @property
    def knots(self) -> tuple[float, ...]:
        """Shares at which the way a tone is made changes."""
        return self.span_mm / self.cell_mm, 1 - self.gap_mm / self.cell_mm
