"""What hangs together by pairs."""

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.intp]


def connected(count: int, one: Ints, other: Ints) -> Ints:
    """Number of the group of each of ``count`` things, (count,), from 0 on in the order of their first ones.

    one, other, (n,): things that belong together. Trees are hung on each other and flattened until no pair is parted
    (Y. Shiloach, U. Vishkin, An O(log n) parallel connectivity algorithm, 1982).
    """
    root = np.arange(count)
    while True:
        here, there = root[one], root[other]
        parted = here != there
        if not parted.any():
            return np.unique(root, return_inverse=True)[1].astype(np.intp)
        one, other, here, there = one[parted], other[parted], here[parted], there[parted]
        np.minimum.at(root, np.maximum(here, there), np.minimum(here, there))
        while not np.array_equal(above := root[root], root):
            root = above
