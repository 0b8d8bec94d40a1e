"""The order of places on rows: by row, then along it."""

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

_STEPS = 1 << 16
_FEW = 2_000


def by_row_and_place(row: Ints, x: Floats) -> Ints:
    """What sorts places by row and by x, stable.

    Whole numbers of 16 bits are sorted in time in proportion to their number: first by x in so many steps, then by row;
    what lies in one step is put right last, which takes little where most is in order.
    """
    if not len(row):
        return np.zeros(0, np.intp)
    first, low = int(row.min()), float(x.min())
    extent = float(x.max()) - low
    key = (row - first) * (extent + 1.0) + (x - low)
    if len(row) < _FEW or int(row.max()) - first >= _STEPS or not extent > 0:
        return np.argsort(key, kind="stable")
    order: Ints = np.argsort(((x - low) * ((_STEPS - 1) / extent)).astype(np.uint16), kind="stable")
    order = order[np.argsort((row - first).astype(np.uint16)[order], kind="stable")]
    key = key[order]
    if (key[1:] < key[:-1]).any():
        order = order[np.argsort(key, kind="stable")]
    return order
