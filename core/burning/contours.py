"""Lines of equal height through a grid of values, by marching squares."""

import numpy as np
from numpy.typing import NDArray

from core.burning.beam import Floats

Segments = NDArray[np.float64]

_EDGES = {
    1: ((3, 0),), 2: ((0, 1),), 3: ((3, 1),), 4: ((1, 2),), 5: ((3, 0), (1, 2)), 6: ((0, 2),), 7: ((3, 2),),
    8: ((2, 3),), 9: ((2, 0),), 10: ((0, 1), (2, 3)), 11: ((2, 1),), 12: ((1, 3),), 13: ((1, 0),), 14: ((0, 3),),
}  # fmt: skip
"""For each pattern of corners at or above the level, which edges of a cell a line joins; corners and edges go round
from the first: (row, column), (row, column + 1), (row + 1, column + 1), (row + 1, column)."""
_CORNERS = ((0, 0), (0, 1), (1, 1), (1, 0))


def contour(values: Floats, level: float) -> Segments:
    """Segments (k, 2, 2) along which a grid (m, n) has the level, ends as (row, column) with fractions.

    Straight within cells, after W. E. Lorensen, H. E. Cline, Computer Graphics 21 (1987) 163, in two dimensions.
    """
    above = np.asarray(values) >= level
    rows_less, columns_less = above.shape[0] - 1, above.shape[1] - 1
    code = np.zeros((rows_less, columns_less), int)
    for bit, (r, c) in enumerate(_CORNERS):
        code += above[r : rows_less + r, c : columns_less + c] * (1 << bit)
    found = []
    for pattern, pairs in _EDGES.items():
        rows, columns = np.nonzero(code == pattern)
        for pair in pairs if len(rows) else ():
            ends = [_on_edge(values, level, rows, columns, edge) for edge in pair]
            found.append(np.stack(ends, axis=1))
    return np.concatenate(found) if found else np.zeros((0, 2, 2))


def _on_edge(values: Floats, level: float, rows: NDArray[np.intp], columns: NDArray[np.intp], edge: int) -> Floats:
    """Where an edge of these cells has the level (k, 2)."""
    (r0, c0), (r1, c1) = _CORNERS[edge], _CORNERS[(edge + 1) % 4]
    start, end = values[rows + r0, columns + c0], values[rows + r1, columns + c1]
    share = np.clip((level - start) / np.where(end == start, 1.0, end - start), 0.0, 1.0)
    return np.column_stack([rows + r0 + share * (r1 - r0), columns + c0 + share * (c1 - c0)])
