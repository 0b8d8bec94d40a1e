"""Rows as a machine crosses them: each swept from its first span to its last, or far parts burned apart in blocks."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.burning.scan_rows import ScanRows

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MOST_BLOCKS_ORDERED = 3000
"""Beyond this many, blocks are taken from the top down instead of nearest first."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RowBlocks:
    """Stretches that are crossed without a stop, (n,) each, block after block, in each from the first row on.

    left_mm, right_mm: their ends in the scan frame; y_mm: of their rows; block: rising by 1 where a new block begins.
    """

    left_mm: Floats
    right_mm: Floats
    y_mm: Floats
    block: Ints

    @property
    def ahead(self) -> NDArray[np.bool_]:
        """(n,) whether the stretch is walked towards +x, both ways: every second of a block, the first too."""
        first = np.flatnonzero(np.diff(self.block, prepend=-1))
        result: NDArray[np.bool_] = (np.arange(len(self.block)) - first[self.block]) % 2 == 0
        return result


def swept_rows(rows: ScanRows) -> RowBlocks:
    """Every row that holds spans as one stretch, all in one block."""
    starts, stops = rows.row_starts[:-1], rows.row_starts[1:]
    used = np.flatnonzero(stops > starts)
    return RowBlocks(
        left_mm=rows.x0_mm[starts[used]],
        right_mm=rows.x1_mm[stops[used] - 1],
        y_mm=rows.row_y_mm[used],
        block=np.zeros(len(used), np.intp),
    )


def blocks_apart(rows: ScanRows, *, wide_mm: float, both_ways: bool) -> RowBlocks:
    """Rows parted at gaps wider than this, the stretches put together in blocks, the blocks nearest first.

    A block goes on into the next row that is burned as long as one stretch there lies by this one alone, and this one
    by that: the cells of a boustrophedon decomposition (H. Choset, P. Pignon, Coverage path planning, Field and
    Service Robotics 1998).
    """
    if not len(rows):
        return swept_rows(rows)
    parted = np.ones(len(rows), bool)
    parted[1:] = (np.diff(rows.row_index) > 0) | (rows.x0_mm[1:] - rows.x1_mm[:-1] > wide_mm)
    first = np.flatnonzero(parted)
    left, right = rows.x0_mm[first], rows.x1_mm[np.append(first[1:], len(rows)) - 1]
    _, rank = np.unique(rows.row_index[first], return_inverse=True)
    head = _heads(left, right, rank.reshape(-1).astype(np.intp), wide_mm)
    _, block = np.unique(head, return_inverse=True)
    by_block = np.argsort(block.reshape(-1), kind="stable")
    blocks = RowBlocks(
        left_mm=left[by_block],
        right_mm=right[by_block],
        y_mm=rows.row_y_mm[rows.row_index[first]][by_block],
        block=block.reshape(-1)[by_block].astype(np.intp),
    )
    return _nearest_first(blocks, both_ways)


def exits_mm(blocks: RowBlocks, *, both_ways: bool) -> Floats:
    """(n,) x at which each stretch is left."""
    return np.where(blocks.ahead, blocks.right_mm, blocks.left_mm) if both_ways else blocks.right_mm


def _heads(left: Floats, right: Floats, rank: Ints, wide_mm: float) -> Ints:
    """For each stretch the first one of its block."""
    origin = left.min() - 2 * wide_mm
    stride = right.max() - origin + 4 * wide_mm + 1.0
    begin, stop = rank * stride + left - origin, rank * stride + right - origin
    first = np.searchsorted(stop, begin + stride - wide_mm)
    last = np.searchsorted(begin, stop + stride + wide_mm, side="right")
    beside = np.maximum(last - first, 0)  # stretches of the next row that lie by this one
    marks = np.zeros(len(left) + 1, np.intp)
    some = beside > 0
    np.add.at(marks, first[some], 1)
    np.add.at(marks, last[some], -1)
    before = np.cumsum(marks)[:-1]  # stretches of the row before that lie by this one
    one = np.flatnonzero(beside == 1)
    one = one[before[first[one]] == 1]
    head = np.arange(len(left))
    head[first[one]] = one
    while True:
        further = head[head]
        if (further == head).all():
            return head
        head = further


def _nearest_first(blocks: RowBlocks, both_ways: bool) -> RowBlocks:
    firsts = np.flatnonzero(np.diff(blocks.block, prepend=-1))
    count = len(firsts)
    if count < 3 or count > MOST_BLOCKS_ORDERED:
        return blocks
    stops = np.append(firsts[1:], len(blocks.block))
    entry_x, entry_y = blocks.left_mm[firsts], blocks.y_mm[firsts].copy()
    exit_x, exit_y = exits_mm(blocks, both_ways=both_ways)[stops - 1], blocks.y_mm[stops - 1]
    order = [0]
    while len(order) < count:
        here = order[-1]
        entry_y[here] = np.inf
        order.append(int(np.argmin(np.hypot(entry_x - exit_x[here], entry_y - exit_y[here]))))
    sizes = (stops - firsts)[order]
    index = np.repeat(firsts[order], sizes) + np.arange(sizes.sum()) - np.repeat(np.cumsum(sizes) - sizes, sizes)
    return RowBlocks(
        left_mm=blocks.left_mm[index],
        right_mm=blocks.right_mm[index],
        y_mm=blocks.y_mm[index],
        block=np.repeat(np.arange(count), sizes),
    )
