"""Lines and words of the dose plot, worked out: round run times, ticks, edges of a chance, room for a word."""

import math

import numpy as np

from core.burning.chance import OUTCOMES
from core.burning.dose_window import DoseWindow

NICE_TIMES_S = tuple(
    float(minutes * 60) for minutes in (0.1, 0.25, 0.5, 1, 2, 3, 5, 10, 15, 20, 30, 45, 60, 90, 120, 180, 300, 480, 900)
)
MOST_CONTOURS = 4
NOT_REACHED = OUTCOMES.index("not reached")


def contour_times(window: DoseWindow) -> list[float]:
    """A few round run times that lie within the plot."""
    if window.time_s is None:
        return []
    low, high = float(window.time_s.min()), float(window.time_s[-1].max())
    inside = [time_s for time_s in NICE_TIMES_S if low < time_s < high]
    return inside[:: max(1, math.ceil(len(inside) / MOST_CONTOURS))]


def nice_ticks(most: float) -> list[float]:
    """Four to eight round numbers from 0 up to ``most``."""
    rough = most / 5
    step = 10.0 ** math.floor(math.log10(rough))
    step *= next(factor for factor in (1, 2, 5, 10) if factor * step >= rough)
    return [step * count for count in range(int(most / step + 1e-9) + 1)]


def roomiest(inside: np.ndarray) -> tuple[int, int] | None:
    """Row and column in the middle of the longest run along a row; None without any. Rows at the rim count less."""
    best: tuple[float, int, int] | None = None
    count = len(inside)
    for row, cells in enumerate(inside):
        edges = np.flatnonzero(np.diff(np.concatenate(([0], cells.astype(np.int8), [0]))))
        for start, end in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
            rim = min(row, count - 1 - row) < 0.06 * count
            room = (end - start) * (0.2 if rim else 1.0)
            if best is None or room > best[0]:
                best = (room, row, (start + end - 1) // 2)
    return None if best is None else (best[1], best[2])


def frost_edge_mm(window: DoseWindow, level: float) -> np.ndarray:
    """For each value the pitch at and below which it frosts with that chance; 0 where at none, inf where at all."""
    assert window.chances is not None
    frosts = window.chances[:, :, OUTCOMES.index("frosts")]
    return np.array([_crossing(window.pitch_mm[::-1], np.maximum.accumulate(row[::-1]), level) for row in frosts])


def unclear_edge_mm(window: DoseWindow, level: float) -> np.ndarray:
    """For each value the pitch at and above which coat stays with that chance; inf where at none."""
    assert window.chances is not None
    stays = window.chances[:, :, OUTCOMES.index("leaves lines")] + window.chances[:, :, NOT_REACHED]
    return np.array([_crossing(window.pitch_mm, np.maximum.accumulate(row), level) for row in stays])


def _crossing(pitch_mm: np.ndarray, rising: np.ndarray, level: float) -> float:
    """Where a rising share along pitches reaches the level; beyond the far end where it never does."""
    past = int(np.searchsorted(rising, level))
    if past == len(rising):
        return 0.0 if pitch_mm[-1] < pitch_mm[0] else math.inf
    if past == 0:
        return math.inf if pitch_mm[-1] < pitch_mm[0] else 0.0
    share = (level - rising[past - 1]) / max(rising[past] - rising[past - 1], 1e-12)
    return float(np.exp(np.log(pitch_mm[past - 1]) + share * np.log(pitch_mm[past] / pitch_mm[past - 1])))
