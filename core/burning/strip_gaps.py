"""Gaps of strips: what lies between neighbouring clusters and passages, where nothing changes along x."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]
Patterns = NDArray[np.int64]

_NOTHING, _FALSE = np.zeros(0), np.zeros(0, bool)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Passages:
    """Strips passed by an outline so straight and alone that a table tells its areas (``passages``), (n,) each.

    Sorted by strip and x. x: of the outline midway across the strip. sign: +1 where the region lies beyond it.
    left_over, spill: mm², beyond those of the gaps up to x.
    """

    strip: Ints
    x: Floats
    sign: Floats
    left_over: Floats
    spill: Floats


NO_PASSAGES = Passages(
    strip=np.zeros(0, np.intp), x=np.zeros(0), sign=np.zeros(0), left_over=np.zeros(0), spill=np.zeros(0)
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gaps:
    """Gaps between neighbouring clusters and passages of a strip in which there is anything, (g,) each.

    inside: whether the region is there. covered: bit k is set when the row of slot k has a span over it.
    """

    strip: Ints
    lo: Floats
    hi: Floats
    inside: Flags
    covered: Patterns


NO_GAPS = Gaps(strip=np.zeros(0, np.intp), lo=_NOTHING, hi=_NOTHING, inside=_FALSE, covered=np.zeros(0, np.int64))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Neighbours:
    """Clusters as gaps see them, (c,) each. before: how many passages of all strips lie before each; what is there
    beyond its right border."""

    strip: Ints
    lo: Floats
    hi: Floats
    before: Ints
    inside_after: Flags
    covered_after: Patterns


NO_NEIGHBOURS = Neighbours(
    strip=np.zeros(0, np.intp),
    lo=_NOTHING,
    hi=_NOTHING,
    before=np.zeros(0, np.intp),
    inside_after=_FALSE,
    covered_after=np.zeros(0, np.int64),
)


def passages_before(passages: Passages, strip: Ints, x: Floats) -> Ints:
    """How many passages lie before places in strips, those of lower strips included."""
    origin = min(float(passages.x.min(initial=0.0)), float(x.min(initial=0.0)))
    width = max(float(passages.x.max(initial=0.0)), float(x.max(initial=0.0))) - origin + 1.0
    result: Ints = np.searchsorted(passages.strip * width + (passages.x - origin), strip * width + (x - origin))
    return result


def gaps_between(clusters: Neighbours, passages: Passages, every: int) -> Gaps:
    """Beyond clusters in which anything goes on, and beyond passages that begin the region: past others is nothing.

    every: the pattern of all slots.
    """
    count = len(clusters.strip)
    # up to where: the strip's next passage, or the cluster that lies before it
    to_passage = np.append(passages.x, math.nan)
    passage_strip = np.append(passages.strip, -1 << 60)
    hi = np.where(passage_strip[clusters.before] == clusters.strip, to_passage[clusters.before], math.nan)
    follows = (clusters.strip[1:] == clusters.strip[:-1]) & (clusters.before[1:] == clusters.before[:-1])
    beside = np.flatnonzero(follows)
    hi[beside] = clusters.lo[beside + 1]
    some = np.flatnonzero(~np.isnan(hi) & (clusters.inside_after | (clusters.covered_after != 0)))
    past = np.where(passage_strip[1:] == passage_strip[:-1], to_passage[1:], math.nan)
    leading = np.flatnonzero(np.concatenate([[True], ~follows])[:count] & (clusters.before > 0))
    leading = leading[passage_strip[clusters.before[leading] - 1] == clusters.strip[leading]]
    past[clusters.before[leading] - 1] = clusters.lo[leading]
    begun = np.flatnonzero((passages.sign > 0) & ~np.isnan(past))
    return Gaps(
        strip=np.concatenate([clusters.strip[some], passages.strip[begun]]),
        lo=np.concatenate([clusters.hi[some], passages.x[begun]]),
        hi=np.concatenate([hi[some], past[begun]]),
        inside=np.concatenate([clusters.inside_after[some], np.ones(len(begun), bool)]),
        covered=np.concatenate([clusters.covered_after[some], np.full(len(begun), every, np.int64)]),
    )
