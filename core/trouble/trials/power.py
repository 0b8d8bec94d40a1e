"""What a trial can find, told before anything is painted; exact, by all outcomes of two binomial counts.

Power of Fisher's exact test without conditioning: sum over both counts of their chances where the test says so
(tables: J. K. Haseman, Biometrics 34 (1978) 106).
"""

from functools import lru_cache

import numpy as np

from core.trouble.trials.exact import Side, Table, fisher_p

LEVEL = 0.05
"""A find is told as such from here down: one trial in twenty without any difference says so, too."""
WANTED_POWER = 0.8
CLEAR = (0.9, 0.1)
"""Shares of bad patches that a trial should be able to tell apart: 9 in 10 against 1 in 10."""
MOST_EACH = 40


def power(
    first: int, second: int, share_first: float, share_second: float, *, side: Side, level: float = LEVEL
) -> float:
    """Chance that Fisher's test finds a difference between so many patches whose true shares are these."""
    rejects = _rejects(first, second, side, level)
    return float(_binomial(first, share_first) @ rejects @ _binomial(second, share_second))


def least_p(first: int, second: int, side: Side) -> float:
    """The smallest chance that so many patches can come to: all bad at the first level, none at the second."""
    return fisher_p(Table(bad_first=first, first=first, bad_second=0, second=second), side)


def patches_wanted(*, side: Side, shares: tuple[float, float] = CLEAR, level: float = LEVEL) -> int | None:
    """Fewest patches at each of two levels that find such shares ``WANTED_POWER`` of the time, up to MOST_EACH."""
    for each in range(2, MOST_EACH + 1):
        if power(each, each, *shares, side=side, level=level) >= WANTED_POWER:
            return each
    return None


@lru_cache(maxsize=256)
def _rejects(first: int, second: int, side: Side, level: float):  # type: ignore[no-untyped-def]
    """(first + 1, second + 1) zeros and ones: which outcomes count as a find."""
    table = np.zeros((first + 1, second + 1))
    for bad_first in range(first + 1):
        for bad_second in range(second + 1):
            seen = Table(bad_first=bad_first, first=first, bad_second=bad_second, second=second)
            table[bad_first, bad_second] = fisher_p(seen, side) <= level + 1e-12
    return table


def _binomial(count: int, share: float):  # type: ignore[no-untyped-def]
    """Chances of 0 to ``count`` bad patches."""
    from scipy.special import comb

    k = np.arange(count + 1)
    return comb(count, k) * share**k * (1.0 - share) ** (count - k)
