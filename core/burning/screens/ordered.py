"""Ordered thresholds: which of many cells are on for a share of them, spread evenly."""

import numpy as np

from core.burning.dose import Floats


def bayer_matrix(order: int) -> Floats:
    """The 2^order square matrix of ranks of B. E. Bayer, An optimum method for two-level rendition of continuous-tone
    pictures, IEEE Int. Conf. on Communications 1973, by its recursion: from [[0, 2], [3, 1]]."""
    ranks = np.zeros((1, 1))
    for _ in range(order):
        ranks = np.block([[4 * ranks, 4 * ranks + 2], [4 * ranks + 3, 4 * ranks + 1]])
    return ranks


def thresholds(rows: int, columns: int, *, order: int = 3) -> Floats:
    """(rows, columns): thresholds between 0 and 1, tiled from the matrix."""
    matrix = (bayer_matrix(order) + 0.5) / 4**order
    side = len(matrix)
    return np.tile(matrix, (-(-rows // side), -(-columns // side)))[:rows, :columns]
