"""Exact tests of counts and grades, each with its direction fixed before.

Fisher's exact test (R. A. Fisher, The Design of Experiments, 1935, ch. 2): margins given, the count that comes out bad
at the worse level is hypergeometric. Several strata: the sum of such counts, each stratum's margins given (the exact
form of N. Mantel, W. Haenszel, J. Natl. Cancer Inst. 22 (1959) 719). Ordered levels: the statistic of A. R. Jonckheere,
Biometrika 41 (1954) 133 (T. J. Terpstra 1952), its distribution by permuting grades over patches within strata, which
the lot makes right whatever the grades (Fisher 1935, ch. 3).
"""

import itertools
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

Side = Literal["greater", "less", "two-sided"]
MOST_ARRANGEMENTS = 20_000
"""Up to so many arrangements all are counted; beyond, so many are drawn by lot."""
_SLACK = 1e-9
Grades = NDArray[np.int64]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """Two levels of one stratum: so many bad of so many."""

    bad_first: int
    first: int
    bad_second: int
    second: int


def fisher_p(table: Table, side: Side) -> float:
    """Chance, were the levels alike, of a split at least so uneven; "greater": more bad at the first level."""
    return stratified_p([table], side)


def stratified_p(tables: Sequence[Table], side: Side) -> float:
    """The same over strata. Two-sided: all sums that are no likelier than the one seen (of one stratum: Fisher's)."""
    pmf, seen, offset = np.array([1.0]), 0, 0
    for table in tables:
        low, part = _hypergeometric(table)
        pmf, offset, seen = np.convolve(pmf, part), offset + low, seen + table.bad_first
    place = seen - offset
    if side == "greater":
        return _chance(pmf[place:].sum())
    if side == "less":
        return _chance(pmf[: place + 1].sum())
    return _chance(pmf[pmf <= pmf[place] * (1 + 1e-7)].sum())


def trend_p(groups: Sequence[Sequence[Grades]], side: Side, *, seed: int) -> float:
    """Chance of a trend at least so strong, were the levels alike.

    groups: for each stratum the grades at each level, in the levels' order. "greater": grades rise with the level.
    """
    seen, drawn, exact = _permuted(groups, _jonckheere, seed)
    if side == "two-sided":
        middle = sum(_pairs(stratum) for stratum in groups) / 2
        return _share(np.abs(drawn - middle) >= abs(seen - middle) - _SLACK, exact=exact)
    return _share(drawn >= seen - _SLACK if side == "greater" else drawn <= seen + _SLACK, exact=exact)


def difference_p(groups: Sequence[Sequence[Grades]], *, seed: int) -> float:
    """Chance of means that differ at least so much between levels without an order (sum of squares, permuted)."""
    seen, drawn, exact = _permuted(groups, _between, seed)
    return _share(drawn >= seen - _SLACK, exact=exact)


def _hypergeometric(table: Table) -> tuple[int, NDArray[np.float64]]:
    """(least count, chances of each count from there) at the first level, margins given."""
    bad, whole = table.bad_first + table.bad_second, table.first + table.second
    low, high = max(0, bad - table.second), min(bad, table.first)
    ways = [math.comb(table.first, k) * math.comb(table.second, bad - k) for k in range(low, high + 1)]
    total = math.comb(whole, bad)
    return low, np.array([way / total for way in ways])


def _jonckheere(counts: Floats) -> Floats:
    """Pairs of different levels in which the later one is graded worse; ties count half. counts: (arrangements, levels,
    grades)."""
    worse = np.cumsum(counts[:, :, ::-1], axis=2)[:, :, ::-1] - 0.5 * counts
    total = np.zeros(len(counts))
    for before, after in itertools.combinations(range(counts.shape[1]), 2):
        total += (counts[:, before] * worse[:, after]).sum(1)
    return total


def _pairs(levels: Sequence[Grades]) -> int:
    return sum(len(one) * len(other) for one, other in itertools.combinations(levels, 2))


def _between(counts: Floats) -> Floats:
    """Sum over levels of count times squared distance of its mean grade from the mean of all; shapes as above."""
    sizes = counts.sum(2)
    sums = counts @ np.arange(counts.shape[2], dtype=float)
    whole = (sums.sum(1) / sizes.sum(1))[:, None]
    parts: Floats = sizes * (sums / np.maximum(sizes, 1) - whole) ** 2
    return np.asarray(parts.sum(1))


def _permuted(
    groups: Sequence[Sequence[Grades]], statistic: Callable[[Floats], Floats], seed: int
) -> tuple[float, Floats, bool]:
    """(the statistic as seen, summed over strata; of every arrangement, or of many drawn by lot; whether of all)."""
    strata = [stratum for stratum in groups if sum(map(len, stratum))]
    exact = math.prod(_ways(tuple(map(len, stratum))) for stratum in strata) <= MOST_ARRANGEMENTS
    rng = np.random.default_rng(seed)
    seen, sums = 0.0, np.zeros(1 if exact else MOST_ARRANGEMENTS)
    for stratum in strata:
        grades, sizes = np.concatenate(list(stratum)), tuple(map(len, stratum))
        own = np.repeat(np.arange(len(sizes)), sizes)
        seen += float(statistic(_counted(own[None, :], grades, len(sizes)))[0])
        levels = _every(sizes) if exact else rng.permuted(np.tile(own, (MOST_ARRANGEMENTS, 1)), axis=1)
        parts = statistic(_counted(levels, grades, len(sizes)))
        sums = (sums[:, None] + parts[None, :]).ravel() if exact else sums + parts
    return seen, sums, exact


def _counted(levels: NDArray[np.int64], grades: Grades, count: int) -> Floats:
    """(arrangements, levels, grades): how many patches of each; levels: (arrangements, patches)."""
    of_grade = (grades[:, None] == np.arange(int(grades.max()) + 1)[None, :]).astype(float)
    return np.stack([(levels == level).astype(float) @ of_grade for level in range(count)], axis=1)


def _ways(sizes: tuple[int, ...]) -> int:
    ways, left = 1, sum(sizes)
    for size in sizes:
        ways *= math.comb(left, size)
        left -= size
    return ways


@lru_cache(maxsize=32)
def _every(sizes: tuple[int, ...]) -> NDArray[np.int64]:
    """(arrangements, patches): every way to share the levels out over the patches."""
    rows = np.full((1, sum(sizes)), len(sizes) - 1, dtype=np.int64)
    for level, size in enumerate(sizes[:-1]):
        grown = []
        for row in rows:
            free = np.flatnonzero(row == len(sizes) - 1)
            for chosen in itertools.combinations(free, size):
                new = row.copy()
                new[list(chosen)] = level
                grown.append(new)
        rows = np.array(grown)
    return rows


def _share(hits: NDArray[np.bool_], *, exact: bool) -> float:
    """Of all arrangements, or of those drawn with the one seen among them, which never tells too small a chance."""
    return _chance(hits.mean() if exact else (hits.sum() + 1) / (len(hits) + 1))


def _chance(value: float) -> float:
    return float(min(1.0, max(0.0, value)))
