"""Grain: rows in cells of the shortest length that surely bares, each on or off by error diffusion."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.burning.dose import Floats
from core.burning.screens.diffusion import diffused
from core.burning.screens.spans import Spans, merged
from core.burning.screens.tone_source import ToneSource
from core.progress import Progress, silent

_CELLS_OF_PATCH = 72
_MARGIN = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class GrainScreen:
    """cell_mm: length of a grain along its row; its height is the pitch."""

    pitch_mm: float
    cell_mm: float

    def spans(self, source: ToneSource, nominal: Callable[[Floats], Floats], *, progress: Progress = silent) -> Spans:
        """The spans of a picture; ``nominal`` maps wanted shares to shares of grains that are on."""
        x0, y0, x1, y1 = source.bounds_mm
        rows, columns = max(1, round((y1 - y0) / self.pitch_mm)), max(1, round((x1 - x0) / self.cell_mm))
        cell_mm = (x1 - x0) / columns
        first_y = y0 + self.pitch_mm / 2
        middle, y = np.broadcast_arrays(
            x0 + (np.arange(columns, dtype=float)[None, :] + 0.5) * cell_mm,
            first_y + self.pitch_mm * np.arange(rows, dtype=float)[:, None],
        )
        wanted = source.cell_means(middle, y, width_mm=cell_mm, height_mm=self.pitch_mm)
        on = diffused(nominal(wanted.astype(np.float64)), progress=progress)
        return self._spans_of(on, x0, first_y, cell_mm)

    def _spans_of(self, on: NDArray[np.bool_], x0: float, first_y: float, cell_mm: float) -> Spans:
        row, column = np.nonzero(on)
        begin = x0 + column.astype(float) * cell_mm
        row, begin, end = merged(row, begin, begin + cell_mm, least_gap_mm=cell_mm / 2)
        return Spans(pitch_mm=self.pitch_mm, y0_mm=first_y, row_count=len(on), row=row, x0_mm=begin, x1_mm=end)

    @property
    def patch_mm(self) -> tuple[float, float]:
        """Width and height of a patch."""
        return _CELLS_OF_PATCH * self.cell_mm, _CELLS_OF_PATCH * self.pitch_mm

    @property
    def seen(self) -> tuple[float, float, tuple[int, int]]:
        """What of a patch is measured: from x, to x, rows."""
        last = _CELLS_OF_PATCH - 3
        return _MARGIN * self.cell_mm, last * self.cell_mm, (_MARGIN, last)

    @property
    def knots(self) -> tuple[float, ...]:
        """None: grains are on or off."""
        return ()
