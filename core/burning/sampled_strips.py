"""Which strips are worked out where there are too many to work out all, and how far the sum may then be off.

Strips that hold much of the artwork's level edges count for certain: what is spilt along a level edge lies in a few
strips. Of every k others that follow each other one is drawn, and stands for all of them (one unit a stratum; the
spread is judged by successive differences: K. M. Wolter, Introduction to Variance Estimation, 2nd ed. 2007, ch. 8).
What all strips hold of artwork that a table tells of, of crossings and of edges along the rows is known, and what is
bared goes with that: only what strips differ from it by is judged by the lot (``drawing_lots``).
"""

import math
from dataclasses import dataclass

import numpy as np

from core.burning.drawing_lots import expected_by
from core.burning.passage_table import STEEPEST
from core.burning.passages import Passing
from core.burning.strips import Flags, Floats

MOST_CROSSINGS = 160_000
"""In the strips that are looked at, rows cross outlines about so often otherwise than in passages."""
MOST_FOR_SPILL = 40_000
"""So often, passages counted by what they cost, where spill alone is asked for: the map's shares hang on the region."""
_PASSAGE = 0.1
"""What a passage costs beside other crossings."""
MOST_CLUSTERS = 4_000
"""So many clusters are worked out about (``cluster_areas``)."""
_LEAST_CLUSTERS = 50
_LEVEL_TIMES_MEAN = 4.0
DOUBT_SIGMAS = 3.0
"""How many standard errors of drawn strips and clusters are told as doubt."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sample:
    """Strips from ``first_strip`` on, (n,) each: how many each stands for, 0 where it is left out; drawn: by lot.

    share: of all that is looked at, how much lies in each strip. by_table, (2, n): left-over coat and spill of what a
    table tells of, mm²; goes_with, (k, n): what the rest goes with. Both are known of all strips.
    """

    first_strip: int
    weight: Floats
    drawn: Flags
    share: Floats
    by_table: Floats
    goes_with: Floats

    def expected_mm2(self, in_strips: Floats) -> Floats:
        """Left-over coat and spill of all strips by what those that are drawn hold, (2, n); in_strips: likewise."""
        return expected_by(self.goes_with, in_strips, self.weight, self.drawn, self.by_table)

    def beyond(self, expected: Floats) -> Floats:
        """What all strips are expected to hold beyond what those that are drawn stand for, (2,), mm²."""
        result: Floats = (expected * (1 - self.weight)).sum(1)
        return result

    def most_clusters(self, first_strip: int, end_strip: int) -> int | None:
        """How many clusters of these strips are to be worked out at most; None where there is no need to know."""
        if not self.share.any():
            return None
        share = self.share[first_strip - self.first_strip : end_strip - self.first_strip]
        return _LEAST_CLUSTERS + math.ceil(MOST_CLUSTERS * float(share.sum()))

    def variance(self, in_strips: Floats, expected: Floats) -> Floats:
        """Of the weighted sums of left-over coat and spill of the strips, (2, n), and what is beyond them; (2,)."""
        some = np.flatnonzero(self.drawn & (self.weight > 0))
        values = (in_strips - expected)[:, some] * np.sqrt(self.weight[some] * (self.weight[some] - 1))
        result: Floats = (np.diff(values) ** 2).sum(-1) / 2
        return result


def sample_of(passed: Passing, first_strip: int, end_strip: int, *, spill_alone: bool) -> Sample:
    """All strips where that is affordable."""
    count = end_strip - first_strip
    crossings, passages = passed.crossings(first_strip, end_strip)
    weight, drawn = np.ones(count), np.zeros(count, bool)
    by_table, goes_with = np.zeros((2, count)), np.zeros((0, count))
    cost, most = (crossings + _PASSAGE * passages, MOST_FOR_SPILL) if spill_alone else (crossings, MOST_CROSSINGS)
    if cost.sum() > most:
        along_mm = np.abs(passed.edges.x1 - passed.edges.x0)
        steep = along_mm > STEEPEST * (passed.edges.y1 - passed.edges.y0)
        level = _in_reach(passed, _in_strips(passed, along_mm * steep, first_strip, count))
        along = _in_strips(passed, along_mm, first_strip, count)
        others = np.flatnonzero(level <= _LEVEL_TIMES_MEAN * level.mean())
        to_draw = float(cost[others].sum())
        room = max(most - (float(cost.sum()) - to_draw), most // 4)
        starts = np.arange(0, len(others), max(1, math.ceil(to_draw / room)))
        sizes = np.diff(np.append(starts, len(others)))
        chosen = others[starts + (np.random.default_rng(1).random(len(starts)) * sizes).astype(np.intp)]
        drawn[others], weight[others] = True, 0.0
        weight[chosen] = sizes
        by_table = passed.by_table_mm2(first_strip, count)
        goes_with = np.array([np.ones(count), crossings, level, along, _in_reach(passed, along)])
    looked_at = np.where(weight > 0, crossings, 0)
    return Sample(
        first_strip=first_strip,
        weight=weight,
        drawn=drawn,
        share=looked_at / max(1, int(looked_at.sum())),
        by_table=by_table,
        goes_with=goes_with,
    )


def _in_strips(passed: Passing, values: Floats, first_strip: int, count: int) -> Floats:
    """What edges have, evenly shared out to the strips that they lie in, (count,)."""
    first, last = (np.clip(border - first_strip, 0, count - 1) for border in passed.strips)
    share = values / (last - first + 1)
    change = np.bincount(first, share, count + 1) - np.bincount(last + 1, share, count + 1)
    result: Floats = np.cumsum(change)[:count]
    return result


def _in_reach(passed: Passing, in_strips: Floats) -> Floats:
    """Sum over the strips from so many before each to so many after it as a row reaches; same shape."""
    reach, total = passed.lattice.reach, np.cumsum(in_strips)
    padded = np.concatenate([np.zeros(reach + 1), total, np.full(reach, total[-1])])
    result: Floats = padded[2 * reach + 1 :] - padded[: len(in_strips)]
    return result
