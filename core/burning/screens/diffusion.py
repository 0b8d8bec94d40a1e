"""Error diffusion: each cell on or off, what that misses handed on to its neighbours.

R. W. Floyd, L. Steinberg, An adaptive algorithm for spatial greyscale, Proc. Society for Information Display 17, 75
(1976): 7/16 to the next, 3/16, 5/16 and 1/16 to those below, left to right. A cell only hangs on those above it and
before it, so all cells of a slanted front are worked out at once.
"""

import numpy as np
from numpy.typing import NDArray

from core.burning.dose import Floats
from core.progress import Progress, silent


def diffused(wanted: Floats, *, progress: Progress = silent) -> NDArray[np.bool_]:
    """Which cells are on, (..., rows, columns), for wanted shares 0 to 1 of the same shape."""
    *front, rows, columns = wanted.shape
    values = np.zeros((*front, rows + 1, columns + 2))
    values[..., :rows, 1:-1] = wanted
    on = np.zeros((*front, rows, columns), bool)
    fronts = columns + 2 * (rows - 1)
    for number in range(fronts):
        if not number % 256:
            progress(number / fronts, "screening the picture")
        first = max(0, -(-(number - columns + 1) // 2))
        last = min(rows - 1, number // 2)
        if first > last:
            continue
        i = np.arange(first, last + 1)
        j = number - 2 * i
        own = values[..., i, j + 1]
        lit = own >= 0.5
        on[..., i, j] = lit
        error = own - lit
        values[..., i, j + 2] += error * (7 / 16)
        values[..., i + 1, j] += error * (3 / 16)
        values[..., i + 1, j + 1] += error * (5 / 16)
        values[..., i + 1, j + 2] += error * (1 / 16)
    return on
