"""What is bared where nothing adds (S = 1): see ``bared``."""

import math
from collections.abc import Hashable
from dataclasses import dataclass

import numpy as np
import scipy

from core.burning.baring import END_SIGMAS, TABLE, Lines, Steps, bisected, bits_of, moved_of, tips_of
from core.burning.dose import ClearingLine
from core.burning.strips import Clusters, Flags, Floats, Ints, Lattice, Patterns, Spans, expanded

_NEWTON_STEPS = 10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NothingAdds:
    """S = 1; see the module. sigma_mm: half the spot's 1/e² radius. table: distance from the row, outward there."""

    lattice: Lattice
    line: ClearingLine
    sigma_mm: float
    table: tuple[Floats, Floats]

    @property
    def figures(self) -> Hashable:
        """The line and the pitch."""
        return self.line, self.lattice.pitch_mm

    def cuts(self, clusters: Clusters) -> tuple[Ints, Floats]:
        """The edges of the swaths far from span ends, and the tips of short spans."""
        pitch = self.lattice.pitch_mm
        rows, reach = self.lattice.slot_t, self.lattice.reach_mm
        levels = np.concatenate([rows - reach, rows + reach])
        levels = np.unique(np.append(levels[(levels > 0) & (levels < pitch)], pitch / 2))
        tip_owner, tips = tips_of(clusters.spans, self.lattice, self.line, self.line.peak_over_clearing)
        corner_owner, corners = self._corners(clusters.spans)
        owner = np.concatenate([np.repeat(np.arange(len(clusters)), len(levels)), tip_owner, corner_owner])
        return owner, np.concatenate([np.tile(levels, len(clusters)), tips, corners])

    def _corners(self, spans: Spans) -> tuple[Ints, Floats]:
        """Where what neighbouring rows bare by themselves meets beyond their ends: (owner, t)."""
        row_t = self.lattice.slot_t[spans.slot]
        order = np.lexsort((row_t, spans.owner))
        below, above = order[:-1], order[1:]
        near = np.abs(row_t[above] - row_t[below] - self.lattice.pitch_mm) < 0.5 * self.lattice.pitch_mm
        near &= spans.owner[above] == spans.owner[below]
        below, above = below[near], above[near]
        owners, places = [], []
        for end, side in ((spans.x0, -1.0), (spans.x1, 1.0)):
            apart = side * (end[above] - end[below])

            def ahead(t: Floats, apart: Floats = apart) -> Floats:
                upper, lower = (self.outward_mm(t, spans.slot[which]) for which in (above, below))
                return apart + upper - lower

            t, met = bisected(ahead, np.zeros(len(below)), np.full(len(below), self.lattice.pitch_mm))
            owners.append(spans.owner[below][met])
            places.append(t[met])
        return np.concatenate(owners), np.concatenate(places)

    def steps(self, clusters: Clusters, lines: Lines) -> Steps:
        """Two for each span that bares something on the line."""
        needed = self._needed(lines.t)
        before = (needed < 1) & bits_of(clusters.through, len(self.lattice.slot_t))[lines.cluster]
        spans = clusters.spans
        starts = np.searchsorted(spans.owner, np.arange(len(clusters) + 1))
        line, span = expanded(starts[lines.cluster], np.diff(starts)[lines.cluster])
        share = needed[line, spans.slot[span]]
        some = share < 1
        line, span, share = line[some], span[some], share[some]
        x0, x1 = spans.x0[span], spans.x1[span]
        outward = self._outward(share, x1 - x0)
        lo, width = clusters.lo[lines.cluster[line]], clusters.width[lines.cluster[line]]
        left, right = x0 - outward - lo, x1 + outward - lo
        real = (left < right) & (right > 0) & (left < width)
        line, left, right = line[real], np.maximum(left[real], 0.0), np.minimum(right[real], width[real])
        ones = np.ones(len(line), np.int32)
        return Steps(
            line=np.concatenate([line, line]),
            x=np.concatenate([left, right]),
            step=np.concatenate([ones, -ones]),
            before=before.sum(1).astype(np.int32),
        )

    def outward_mm(self, t: Floats, slot: Ints) -> Floats:
        """Exactly, but for the table's steps."""
        result: Floats = np.interp(np.abs(t - self.lattice.slot_t[slot]), *self.table)
        return result

    def sure(self, *, least: Patterns, most: Patterns) -> tuple[Flags, Flags]:
        """By the swaths of long spans; a row that has no span bares nothing."""
        return most == 0, self.height_mm(least) >= self.lattice.pitch_mm

    def height_mm(self, covered: Patterns) -> Floats:
        """Of the union of the swaths."""
        pitch, side = self.lattice.pitch_mm, self.lattice.reach
        bits, rows = bits_of(covered, 2 * side), self.lattice.slot_t
        away = np.where(np.arange(2 * side) < side, -rows, rows - pitch)
        height = np.where(bits, np.clip(self.lattice.reach_mm - away, 0.0, pitch), 0.0)
        both = height[:, :side].max(1, initial=0.0) + height[:, side:].max(1, initial=0.0)
        result: Floats = np.minimum(both, pitch)
        return result

    def _needed(self, t: Floats) -> Floats:
        """Share of its full dose that each slot's row must give at t to bare, (m, slots)."""
        away = t[:, None] - self.lattice.slot_t
        result: Floats = np.exp(np.minimum(8 * (away / self.line.spot_mm) ** 2, 700.0)) / self.line.peak_over_clearing
        return result

    def _outward(self, share: Floats, length: Floats) -> Floats:
        """How far beyond its ends a span of this length gives that share; far inside where it never does."""
        outward = self.sigma_mm * np.maximum(-scipy.special.ndtri(share), -END_SIGMAS)
        short = np.flatnonzero(length < 2 * END_SIGMAS * self.sigma_mm)
        if len(short):
            half = length[short] / 2 / self.sigma_mm
            outward[short] = self.sigma_mm * (_half_extent(share[short], half) - half)
        return outward


def nothing_adds(line: ClearingLine, y0_mm: float, pitch_mm: float) -> NothingAdds | None:
    """The rule; None where nothing is ever bared."""
    if line.peak_over_clearing <= 1:
        return None
    sigma = line.spot_mm / 4
    outward = max(0.0, -float(scipy.special.ndtri(1 / line.peak_over_clearing))) * sigma
    lattice = Lattice(
        y0_mm=y0_mm,
        pitch_mm=pitch_mm,
        reach_mm=line.cleared_width_mm / 2,
        outward_mm=outward,
        inward_mm=END_SIGMAS * sigma,
    )
    away = np.linspace(0.0, lattice.reach_mm, TABLE)
    share = np.minimum(np.exp(8 * (away / line.spot_mm) ** 2) / line.peak_over_clearing, 1.0)
    return NothingAdds(lattice=lattice, line=line, sigma_mm=sigma, table=(away, moved_of(share, sigma)))


def _half_extent(share: Floats, half: Floats) -> Floats:
    """How far from its middle a span of that half length gives the share, both in σ; -inf where it never does.

    Newton's rule on ``Φ(m + h) - Φ(m - h) = share``, by halves where it would leave the bracket.
    """
    reached = 2 * scipy.special.ndtr(half) - 1 >= share
    low, high = np.zeros_like(half), np.maximum(half - scipy.special.ndtri(share), 0.0)
    extent = high.copy()
    for _ in range(_NEWTON_STEPS):
        value = scipy.special.ndtr(extent + half) - scipy.special.ndtr(extent - half) - share
        low, high = np.where(value >= 0, extent, low), np.where(value >= 0, high, extent)
        slope = (np.exp(-((extent + half) ** 2) / 2) - np.exp(-((extent - half) ** 2) / 2)) / math.sqrt(2 * math.pi)
        step = extent - value / np.minimum(slope, -1e-12)
        extent = np.where((step > low) & (step < high), step, (low + high) / 2)
    result: Floats = np.where(reached, extent, -np.inf)
    return result
