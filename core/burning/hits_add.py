"""What is bared where hits add (S below 1): see ``bared``."""

import math
from collections.abc import Hashable
from dataclasses import dataclass, replace

import numpy as np
import scipy
from numpy.typing import NDArray

from core.burning.baring import END_SIGMAS, TABLE, Lines, Steps, bits_of, moved_of, reach_mm, tips_of
from core.burning.dose import ClearingLine
from core.burning.strips import TOUCHING_MM, Clusters, Flags, Floats, Ints, Lattice, Patterns, expanded

NODES_PER_SIGMA = 2.0
SURE_NODES_PER_SIGMA = 40.0
ROWS_APART_SIGMAS = 1.2
"""From which pitch on rows show in the edge of what is bared, in σ of their profile to the power q."""
_ROOMS = np.array([4, 6, 8, 10, 12, 14, 16, 20, 24, 32, 40, 48, 64, 96, 128, 192, 256, 512, 1024, 2048])
_NUMBERS_AT_ONCE = 400_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HitsAdd:
    """S below 1; see the module. needed: what the sum of ``(g f)^q`` must reach. table: t, outward there."""

    lattice: Lattice
    line: ClearingLine
    sigma_mm: float
    q: float
    needed: float
    table: tuple[Floats, Floats] = (np.zeros(1), np.zeros(1))

    @property
    def figures(self) -> Hashable:
        """The line, the pitch, and how hits count."""
        return self.line, self.lattice.pitch_mm, self.q, self.needed

    def cuts(self, clusters: Clusters) -> tuple[Ints, Floats]:
        """Where far from span ends the sum reaches what is needed, left of, between and right of the windows.

        Where rows lie far enough apart to show one by one, also where it would if the nearest row on either side, or
        on both, were alone, midway, and where each short span alone would end: what is bared turns fastest near there.
        """
        apart = self.lattice.pitch_mm * math.sqrt(self.q) > ROWS_APART_SIGMAS * self.sigma_mm
        every = np.arange(len(clusters)) if apart else np.zeros(0, np.intp)
        near = [1, 1 << self.lattice.reach, 1 | 1 << self.lattice.reach]
        owner = np.concatenate([np.arange(len(clusters)), clusters.run_owner, np.repeat(every, 3)])
        middle = np.full(len(every), self.lattice.pitch_mm / 2)
        pattern = np.concatenate([clusters.covered, clusters.run_after, np.tile(near, len(every))])
        distinct, which = np.unique(pattern, return_inverse=True)
        levels = self._levels(distinct)[which]
        row, column = np.nonzero(np.isfinite(levels))
        alone = self.line.peak_over_clearing * self.line.passes ** (1 / self.q)
        tip_owner, tips = tips_of(clusters.spans, self.lattice, self.line, alone if apart else 0.0)
        return np.concatenate([every, owner[row], tip_owner]), np.concatenate([middle, levels[row, column], tips])

    def steps(self, clusters: Clusters, lines: Lines) -> Steps:
        """A step wherever the sum passes what is needed."""
        across = self._across(lines.t)
        starts, x = self._nodes(clusters)
        along = self._along(clusters, starts, x)
        before = (across * along[starts[lines.cluster]]).sum(1) >= self.needed
        lines_of = np.searchsorted(lines.cluster, np.arange(len(clusters) + 1))
        found = [_no_crossings()]
        for which, line_room, node_room in _groups(np.diff(lines_of), np.diff(starts)):
            step = max(1, _NUMBERS_AT_ONCE // (line_room * node_room))
            for begin in range(0, len(which), step):
                some = which[begin : begin + step]
                line = np.minimum(lines_of[some][:, None] + np.arange(line_room), lines_of[some + 1][:, None] - 1)
                node = np.minimum(starts[some][:, None] + np.arange(node_room), starts[some + 1][:, None] - 1)
                total = np.matmul(across[line], np.swapaxes(along[node], 1, 2))
                place = x[node] - clusters.lo[some][:, None]
                found.append(self._crossings(total, line, np.diff(lines_of)[some], place))
        line_of_step, places, steps = (np.concatenate(column) for column in zip(*found, strict=True))
        return Steps(line=line_of_step, x=places, step=steps, before=before.astype(np.int32))

    def outward_mm(self, t: Floats, slot: Ints) -> Floats:
        """As it is where all rows in reach end at one x."""
        result: Floats = np.interp(t, *self.table)
        return result

    def sure(self, *, least: Patterns, most: Patterns) -> tuple[Flags, Flags]:
        """By the sum at nodes across the strip, and by what it may differ by between them: an eighth of the squared
        step times the largest second derivative of ``g^q``, ``16 q / spot²``, of each row."""
        slots, pitch = len(self.lattice.slot_t), self.lattice.pitch_mm
        step = self.sigma_mm / SURE_NODES_PER_SIGMA / math.sqrt(self.q)
        t = np.linspace(0.0, pitch, math.ceil(pitch / step) + 1)
        across = self._across(t).T
        between = slots * (t[1] - t[0]) ** 2 / 8 * 16 * self.q / self.line.spot_mm**2
        at_least, at_most = (bits_of(patterns, slots).astype(float) @ across for patterns in (least, most))
        never: Flags = at_most.max(1) + between < self.needed
        always: Flags = at_least.min(1) - between >= self.needed
        return never, always

    def height_mm(self, covered: Patterns) -> Floats:
        """Between the places where the sum passes what is needed."""
        distinct, which = np.unique(covered, return_inverse=True)
        levels = self._levels(distinct)
        pitch = self.lattice.pitch_mm
        borders = np.concatenate([np.zeros((len(levels), 1)), levels, np.full((len(levels), 1), pitch)], axis=1)
        borders = np.sort(np.nan_to_num(borders, nan=pitch), axis=1)
        middle = (borders[:, 1:] + borders[:, :-1]) / 2
        bits = bits_of(distinct, len(self.lattice.slot_t)).astype(float)
        across = self._across(middle.ravel()).reshape(*middle.shape, bits.shape[1])
        bared = np.einsum("pis,ps->pi", across, bits) >= self.needed
        heights: Floats = (np.diff(borders, axis=1) * bared).sum(1)
        result: Floats = heights[which]
        return result

    def _across(self, t: Floats) -> Floats:
        """``g^q`` of each slot's row at t, (m, slots)."""
        result: Floats = np.exp(-8 * self.q * ((t[:, None] - self.lattice.slot_t) / self.line.spot_mm) ** 2)
        return result

    def _nodes(self, clusters: Clusters) -> tuple[Ints, Floats]:
        """x of the nodes of all clusters, one after the other, and where each cluster's begin, (c + 1,).

        Evenly spaced over each run of windows; a cluster without any has one at its left border.
        """
        bare = np.setdiff1d(np.arange(len(clusters)), clusters.run_owner)
        step = self.sigma_mm / NODES_PER_SIGMA / math.sqrt(self.q)
        lo = np.concatenate([clusters.run_lo, clusters.lo[bare]])
        counts = np.concatenate([np.ceil((clusters.run_hi - clusters.run_lo) / step) + 1, np.ones(len(bare))])
        owner = np.concatenate([clusters.run_owner, bare])
        order = np.lexsort((lo, owner))
        lo, counts, owner = lo[order], counts[order].astype(np.intp), owner[order]
        run, number = expanded(np.zeros(len(lo), np.intp), counts)
        starts = np.concatenate([[0], np.cumsum(np.bincount(owner, counts, len(clusters)))]).astype(np.intp)
        return starts, lo[run] + number * step

    def _along(self, clusters: Clusters, starts: Ints, x: Floats) -> Floats:
        """``f^q`` summed over the spans of each slot at the nodes, (n, slots)."""
        slots = len(self.lattice.slot_t)
        spans = clusters.spans
        owner_of_node = np.repeat(np.arange(len(clusters)), np.diff(starts))
        origin = float(x.min(initial=0.0))
        width = float(x.max(initial=0.0)) - origin + 10 * self.sigma_mm * END_SIGMAS + 1.0
        keys = owner_of_node * width + (x - origin)
        # a first node lies just that far from an end: by no rounding is it beyond
        reach = END_SIGMAS * self.sigma_mm + TOUCHING_MM
        ends = (spans.x0 - reach, spans.x1 + reach)
        lo, hi = (np.clip(end - origin, -0.25 * width, 1.25 * width) for end in ends)
        first = np.maximum(np.searchsorted(keys, spans.owner * width + lo), starts[spans.owner])
        last = np.minimum(np.searchsorted(keys, spans.owner * width + hi), starts[spans.owner + 1])
        span, node = expanded(first, np.maximum(last - first, 0))
        begun, to_end = x[node] - spans.x0[span], spans.x1[span] - x[node]
        share = scipy.special.ndtr(np.minimum(begun, to_end) / self.sigma_mm)
        short = np.flatnonzero((spans.x1 - spans.x0 < 2 * reach)[span])  # a long one is at its full dose by one end
        share[short] -= scipy.special.ndtr(-np.maximum(begun, to_end)[short] / self.sigma_mm)
        weights = share if self.q == 1 else np.maximum(share, 0.0) ** self.q
        total = np.bincount(node * slots + spans.slot[span], weights, minlength=len(x) * slots).astype(float)
        result: Floats = total.reshape(len(x), slots) + bits_of(clusters.through, slots)[owner_of_node]
        return result

    def _crossings(
        self, total: Floats, line: Ints, line_counts: Ints, x: Floats
    ) -> tuple[Ints, Floats, NDArray[np.int32]]:
        """Where the sum (c, lines, nodes) passes what is needed: (line, x, +1 or -1)."""
        bared = total >= self.needed
        passed = bared[:, :, 1:] != bared[:, :, :-1]
        passed &= (np.arange(line.shape[1]) < line_counts[:, None])[:, :, None]
        cluster, row, node = np.unravel_index(np.flatnonzero(passed), passed.shape)
        last = x.shape[1] - 1
        places = np.clip(node + np.arange(-1, 3)[:, None], 0, last)
        level = np.log(np.maximum(total[cluster, row, places], 1e-30) / self.needed)
        share = _cubic_root(level)
        left, right = x[cluster, node], x[cluster, node + 1]
        step = np.where(bared[cluster, row, node], -1, 1).astype(np.int32)
        return line[cluster, row], left + share * (right - left), step

    def _levels(self, patterns: Patterns) -> Floats:
        """Where across a strip the sum over the covered slots passes what is needed, (p, k), padded with nan."""
        pitch = self.lattice.pitch_mm
        bits = bits_of(patterns, len(self.lattice.slot_t)).astype(float)
        count = max(9, 2 * math.ceil(pitch / self.sigma_mm * NODES_PER_SIGMA * math.sqrt(self.q)) + 1)
        t = np.linspace(0.0, pitch, count)
        bared = bits @ self._across(t).T >= self.needed
        pattern, at = np.nonzero(bared[:, 1:] != bared[:, :-1])
        low, high = t[at], t[at + 1]
        rises = bared[pattern, at + 1]
        for _ in range(30):
            middle = (low + high) / 2
            above = (self._across(middle) * bits[pattern]).sum(1) >= self.needed
            low, high = np.where(above == rises, low, middle), np.where(above == rises, middle, high)
        number = np.arange(len(pattern)) - np.searchsorted(pattern, pattern)
        levels = np.full((len(patterns), int(number.max(initial=-1)) + 1), np.nan)
        levels[pattern, number] = (low + high) / 2
        return levels


def hits_add(line: ClearingLine, s: float, y0_mm: float, pitch_mm: float, weight: int) -> HitsAdd | None:
    """The rule for an S; None where nothing is ever bared. weight: how many rows each row stands for."""
    q = 1 / (1 - s)
    sigma = line.spot_mm / 4
    needed = (1 / line.peak_over_clearing) ** q / (line.passes * weight)
    lattice = Lattice(
        y0_mm=y0_mm,
        pitch_mm=pitch_mm,
        reach_mm=reach_mm(replace(line, passes=line.passes * weight), s),
        outward_mm=END_SIGMAS * sigma,  # beside rows that go on, a span's last thousandth still tells
        inward_mm=END_SIGMAS * sigma,
    )
    rule = HitsAdd(lattice=lattice, line=line, sigma_mm=sigma, q=q, needed=needed)
    t = np.linspace(0.0, pitch_mm, TABLE)
    most = rule._across(t).sum(1)
    if most.max() < needed:
        return None
    share = needed / np.maximum(most, max(needed, 1e-300))  # between rows far apart nothing is left of the dose
    return replace(rule, table=(t, moved_of(share ** (1 / q), sigma)))


def _groups(line_counts: Ints, node_counts: Ints) -> list[tuple[Ints, int, int]]:
    """Clusters of like size, with room for their lines and nodes."""
    line_room, node_room = (
        np.maximum(_ROOMS[np.minimum(np.searchsorted(_ROOMS, counts), len(_ROOMS) - 1)], counts)
        for counts in (line_counts, node_counts)
    )
    some = np.flatnonzero((line_counts > 0) & (node_counts > 1))
    pairs, which = np.unique(np.column_stack([line_room, node_room])[some], axis=0, return_inverse=True)
    return [(some[which == i], int(pair[0]), int(pair[1])) for i, pair in enumerate(pairs)]


def _no_crossings() -> tuple[Ints, Floats, NDArray[np.int32]]:
    return np.zeros(0, np.intp), np.zeros(0), np.zeros(0, np.int32)


def _cubic_root(level: Floats) -> Floats:
    """Where between the second and third of four evenly spaced levels (4, n) their cubic is zero, 0 to 1; (n,).

    The second and third have different signs. Newton's rule from the straight line's root, kept between them.
    """
    y0, y1, y2, y3 = np.clip(level, -20.0, 20.0)
    c3, c2 = (y3 - y0) / 6 + (y1 - y2) / 2, (y0 + y2) / 2 - y1
    c1 = y2 - y1 - c3 - c2
    straight = y1 / (y1 - y2)
    share = straight
    for _ in range(3):
        value = y1 + share * (c1 + share * (c2 + share * c3))
        slope = c1 + share * (2 * c2 + 3 * share * c3)
        safe = np.abs(slope) > 0.2 * np.abs(y2 - y1)
        share = np.where(safe, share - value / np.where(safe, slope, 1.0), share)
    good = np.isfinite(share) & (share >= 0) & (share <= 1)
    result: Floats = np.where(good, share, straight)
    return result
