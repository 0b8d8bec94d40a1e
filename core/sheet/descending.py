"""Overlaps of many shapes brought down together, by a descent along how deep they lie in each other."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.sheet.raster import Floats

STEPS = 60
LOOK_BACK, HOPEFUL = 10, 0.9
"""After so many steps it has to be less by so much, or a descent without patience ends."""
_FIRST_STEP, _LEAST_STEP, _MOST_STEP = 0.25, 1e-4, 1.0
"""Against the slope of the sum of squared depths: 0.25 moves two shapes apart that overlap no others."""
_NOTHING_MM2 = 1e-14


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contacts:
    """Pairs of convex parts that lie near each other.

    nx, ny, c: (rows, sides) their half-planes (see ``half_planes``). one, other: (rows,) which shapes they belong to;
    the shape after the last stands for the walls, and stays at the origin.
    """

    nx: Floats
    ny: Floats
    c: Floats
    one: NDArray[np.intp]
    other: NDArray[np.intp]

    @classmethod
    def of(cls, found: Sequence[tuple[Floats, int, int]]) -> "Contacts":
        """From half-planes (3, rows, sides) with the two shapes that they are of."""
        counts = [planes.shape[1] for planes, _, _ in found]
        together = np.zeros((3, sum(counts), max((planes.shape[2] for planes, _, _ in found), default=1)))
        together[2] = np.inf
        at = 0
        for (planes, _, _), count in zip(found, counts, strict=True):
            together[:, at : at + count, : planes.shape[2]] = planes
            at += count
        one = np.repeat(np.array([one for _, one, _ in found], np.intp), counts)
        other = np.repeat(np.array([other for _, _, other in found], np.intp), counts)
        return cls(nx=together[0], ny=together[1], c=together[2], one=one, other=other)

    def nearer(self, at: Floats, near_mm: float) -> "Contacts":
        """Those that lie so near each other, or nearer."""
        near = self.depths_mm(at) > -near_mm
        return Contacts(nx=self.nx[near], ny=self.ny[near], c=self.c[near], one=self.one[near], other=self.other[near])

    def depths_mm(self, at: Floats) -> Floats:
        """(rows,) how deep, below 0 where they are clear of each other; at: (n, 2) where the shapes lie."""
        result: Floats = self._slack(at).min(1)
        return result

    def _slack(self, at: Floats) -> Floats:
        every = np.concatenate([at, _WALLS_AT])
        apart = every[self.other]
        apart -= every[self.one]
        result: Floats = self.nx * apart[:, :1]
        result += self.ny * apart[:, 1:]
        np.subtract(self.c, result, out=result)
        return result

    def slope(self, at: Floats, weights: Floats, margin_mm: float) -> tuple[float, Floats]:
        """The weighed sum of squared depths, a margin more than they are, and how it changes with ``at``."""
        slack = self._slack(at)
        side = slack.argmin(1)
        picked = np.arange(0, slack.size, slack.shape[1]) + side
        deep = slack.ravel()[picked] + margin_mm
        deep = np.maximum(deep, 0.0)
        pull = weights * deep
        value = float(pull @ deep)
        pull += pull
        both = np.concatenate([self.one, self.other])
        result = np.empty_like(at)
        for axis, normal in enumerate((self.nx, self.ny)):
            push = pull * normal.ravel()[picked]
            result[:, axis] = np.bincount(both, np.concatenate([push, -push]), len(at) + 1)[:-1]
        return value, result


_WALLS_AT = np.zeros((1, 2))


def descended(
    contacts: Contacts,
    weights: Floats,
    at: Floats,
    low: Floats,
    high: Floats,
    margin_mm: float,
    *,
    patient: bool = True,
) -> Floats:
    """(n, 2) the best places met on a way downhill within low and high, with steps after Barzilai and Borwein.

    patient: whether it goes on where overlaps get little less.

    J. Barzilai, J. M. Borwein, Two-point step size gradient methods, IMA J. Numer. Anal. 8, 141 (1988); projected on
    the bounds as by E. G. Birgin, J. M. Martínez, M. Raydan, SIAM J. Optim. 10, 1196 (2000), without their line search.
    """
    at = np.clip(at, low, high)
    value, slope = contacts.slope(at, weights, margin_mm)
    best, least, before = at, value, np.inf
    step = _FIRST_STEP
    for number in range(STEPS):
        if not value:
            break
        if not patient and number % LOOK_BACK == 0:
            if least > HOPEFUL * before:
                break
            before = least
        there = np.clip(at - step * slope, low, high)
        value, ahead = contacts.slope(there, weights, margin_mm)
        if value < least:
            best, least = there, value
        moved, change = there - at, ahead - slope
        square, curved = float((moved * moved).sum()), float((moved * change).sum())
        if square < _NOTHING_MM2:
            break
        step = min(max(square / curved, _LEAST_STEP), _MOST_STEP) if curved > 0 else _FIRST_STEP
        at, slope = there, ahead
    return best
