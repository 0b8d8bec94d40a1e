"""What a rule of baring tells of a fill's strips, and what both rules share: see ``bared``."""

import math
from collections.abc import Callable, Hashable
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import scipy
from numpy.typing import NDArray

from core.burning.dose import ClearingLine
from core.burning.strips import Clusters, Flags, Floats, Ints, Lattice, Patterns, Spans

END_SIGMAS = 3.2
"""From how far inside its end a span counts as endless, in σ = w/2: there it gives 99.93 % of its dose."""
LARGEST_ADDING_S = 0.98
"""From here on nothing adds: two equal hits count 1.4 % more than one."""
TABLE = 257
_NEGLIGIBLE = 1e-4
_NO_DOSE = 1e-30
"""Share of the clearing dose below which a line has no power to speak of."""
_BISECTIONS = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lines:
    """Sampling lines along x, (m,) each, sorted by cluster, then by t: which cluster, where in its strip, how much of
    the strip's height (mm) each stands for."""

    cluster: Ints
    t: Floats
    height: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Steps:
    """Where along sampling lines coverings begin (+1) and end (-1), (n,) each; x from the cluster's left border.

    before (m,): coverings over each line's left border. What is bared is where at least one covers.
    """

    line: Ints
    x: Floats
    step: NDArray[np.int32]
    before: NDArray[np.int32]


class Baring(Protocol):
    """One way in which hits count; made for the rows of a fill."""

    @property
    def lattice(self) -> Lattice:
        """The strips between the rows."""
        ...

    @property
    def sigma_mm(self) -> float:
        """Of the dose along a span past its end: a quarter of the spot."""
        ...

    @property
    def figures(self) -> Hashable:
        """Equal for rules by which all areas are equal, wherever their rows begin."""
        ...

    def cuts(self, clusters: Clusters) -> tuple[Ints, Floats]:
        """Places across strips at which level edges of what is bared lie: (cluster, t)."""
        ...

    def steps(self, clusters: Clusters, lines: Lines) -> Steps:
        """What is bared along the lines."""
        ...

    def outward_mm(self, t: Floats, slot: Ints) -> Floats:
        """About how far beyond a long span's end is bared at t; same shape. Only places of cuts hang on it."""
        ...

    def sure(self, *, least: Patterns, most: Patterns) -> tuple[Flags, Flags]:
        """Whether nothing and whether all of a strip is bared for certain, where the slots of ``least`` have spans all
        along and no others than those of ``most`` have any; same shape."""
        ...

    def height_mm(self, covered: Patterns) -> Floats:
        """How much of a strip's height is bared where the spans of these slots lie over it; same shape."""
        ...


def has_dose(line: ClearingLine) -> bool:
    """Whether the line has power to speak of."""
    return line.peak_over_clearing >= _NO_DOSE


def reach_mm(line: ClearingLine, s: float) -> float:
    """How far from its axis a line counts."""
    if not has_dose(line):
        return 0.0
    if s > LARGEST_ADDING_S:
        return line.cleared_width_mm / 2
    q = 1 / (1 - s)
    radius = line.spot_mm / 2
    needed = (1 / line.peak_over_clearing) ** q / line.passes
    return radius * math.sqrt(max(-math.log(_NEGLIGIBLE * min(needed, 1.0)), 0.0) / (2 * q))


def bisected(
    value: Callable[[Floats], Floats], low: Floats, high: Floats, *, steps: int = _BISECTIONS
) -> tuple[Floats, Flags]:
    """Where between low and high the values change their sign, and whether they do; same shape.

    After some halves the straight line between the last two values is followed.
    """
    at_low, at_high = value(low), value(high)
    negative = at_low < 0
    met = negative != (at_high < 0)
    for _ in range(steps):
        middle = (low + high) / 2
        here = value(middle)
        same = (here < 0) == negative
        low, high = np.where(same, middle, low), np.where(same, high, middle)
        at_low, at_high = np.where(same, here, at_low), np.where(same, at_high, here)
    rise = at_high - at_low
    share = np.clip(-at_low / np.where(rise == 0, 1.0, rise), 0.0, 1.0)
    result: Floats = low + share * (high - low)
    return result, met


def tips_of(spans: Spans, lattice: Lattice, line: ClearingLine, peak_over_clearing: float) -> tuple[Ints, Floats]:
    """How far across short spans reach by themselves: (owner, t), where that lies within the strip."""
    short = np.flatnonzero(spans.x1 - spans.x0 < 4 * lattice.inward_mm)
    half = (spans.x1[short] - spans.x0[short]) / (line.spot_mm / 2)
    most = np.maximum(peak_over_clearing * (2 * scipy.special.ndtr(half) - 1), 1.0)
    away = line.spot_mm / 2 * np.sqrt(np.log(most) / 2)
    row = lattice.slot_t[spans.slot[short]]
    t = np.where(row <= 0, row + away, row - away)
    inside = (t > 0) & (t < lattice.pitch_mm) & (most > 1)
    return spans.owner[short][inside], t[inside]


def bits_of(patterns: Patterns, slots: int) -> Flags:
    """Which slots each pattern covers, (n, slots)."""
    result: Flags = (patterns[:, None] >> np.arange(slots)) & 1 == 1
    return result


def moved_of(share: Floats, sigma_mm: float) -> Floats:
    """How far beyond an end in the open that share of the full dose is given."""
    result: Floats = sigma_mm * np.clip(-scipy.special.ndtri(share), -END_SIGMAS, END_SIGMAS)
    return result
