"""Which strips are worked out where there are too many to work out all, and how far the sum may then be off.

Strips that hold much of the artwork's level edges count for certain: what is spilt along a level edge lies in a few
strips. Of every k others that follow each other one is drawn, and stands for all of them (one unit a stratum; the
spread is judged by successive differences: K. M. Wolter, Introduction to Variance Estimation, 2nd ed. 2007, ch. 8).
"""

import math
from dataclasses import dataclass

import numpy as np

from core.burning.passages import STEEPEST, Passing
from core.burning.strips import Flags, Floats, Ints

MOST_CROSSINGS = 160_000
"""In the strips that are looked at, rows cross outlines about so often otherwise than in passages."""
MOST_CLUSTERS = 20_000
"""So many clusters are worked out about (``cluster_areas``)."""
_LEAST_CLUSTERS = 50
_LEVEL_TIMES_MEAN = 4.0
DOUBT_SIGMAS = 3.0
"""How many standard errors of drawn strips and clusters are told as doubt."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sample:
    """Strips from ``first_strip`` on, (n,) each: how many each stands for, 0 where it is left out; drawn: by lot.

    share: of all that is looked at, how much lies in each strip.
    """

    first_strip: int
    weight: Floats
    drawn: Flags
    share: Floats

    def most_clusters(self, first_strip: int, end_strip: int) -> int | None:
        """How many clusters of these strips are to be worked out at most; None where there is no need to know."""
        if not self.share.any():
            return None
        share = self.share[first_strip - self.first_strip : end_strip - self.first_strip]
        return _LEAST_CLUSTERS + math.ceil(MOST_CLUSTERS * float(share.sum()))

    def variance(self, in_strips: Floats) -> Floats:
        """Of the weighted sums of figures of the strips, (..., n); (...,)."""
        some = np.flatnonzero(self.drawn & (self.weight > 0))
        values = in_strips[..., some] * np.sqrt(self.weight[some] * (self.weight[some] - 1))
        result: Floats = (np.diff(values) ** 2).sum(-1) / 2
        return result


def sample_of(passed: Passing, first_strip: int, end_strip: int) -> Sample:
    """All strips where that is affordable."""
    count = end_strip - first_strip
    crossings = passed.exact_crossings(first_strip, end_strip)
    weight, drawn = np.ones(count), np.zeros(count, bool)
    if crossings.sum() > MOST_CROSSINGS:
        level = _level_mm(passed, first_strip, count)
        others = np.flatnonzero(level <= _LEVEL_TIMES_MEAN * level.mean())
        room = max(MOST_CROSSINGS - int(crossings.sum() - crossings[others].sum()), MOST_CROSSINGS // 4)
        starts = np.arange(0, len(others), max(1, math.ceil(int(crossings[others].sum()) / room)))
        sizes = np.diff(np.append(starts, len(others)))
        chosen = others[starts + (np.random.default_rng(1).random(len(starts)) * sizes).astype(np.intp)]
        drawn[others], weight[others] = True, 0.0
        weight[chosen] = sizes
    looked_at = np.where(weight > 0, crossings, 0)
    return Sample(first_strip=first_strip, weight=weight, drawn=drawn, share=looked_at / max(1, int(looked_at.sum())))


def _level_mm(passed: Passing, first_strip: int, count: int) -> Floats:
    """Length along the rows of all that is nearly level, in reach of each strip, (count,)."""
    edges, reach = passed.edges, passed.lattice.reach
    across, along = edges.y1 - edges.y0, np.abs(edges.x1 - edges.x0)
    level = np.flatnonzero(along > STEEPEST * across)
    borders: list[Ints] = []
    for border in passed.strips:
        borders.append(np.clip(border[level] - first_strip, 0, count - 1))
    parts = borders[1] - borders[0] + 1
    change = np.bincount(borders[0], along[level] / parts, count + 1)
    change -= np.bincount(borders[1] + 1, along[level] / parts, count + 1)
    total = np.cumsum(np.cumsum(change)[:count])
    padded = np.concatenate([np.zeros(reach + 1), total, np.full(reach, total[-1])])
    result: Floats = padded[2 * reach + 1 :] - padded[:count]
    return result
