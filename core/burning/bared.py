"""Where along a sampling line across the scan rows' strips the coat goes, for both ways in which hits may count.

*Nothing adds* (S = 1): a place is bared where one span alone reaches the clearing dose. At a distance u from its row a
long span bares from where its error-function end passes ``e^(2u²/w²) clearing/peak``, so its ends move by a signed
length, outwards on a strong line's axis and inwards near the strip's edge; a short span may bare nothing.

*Hits add* (S below 1): a place is bared where ``N Σ (peak·g·f)^q`` over all spans in reach reaches ``clearing^q``, g
across the row and f along it, q = 1/(1-S), N passes. Along a line across one strip that is worked out at nodes a
fraction of the beam's radius apart, in the stretches where span ends are near, and between nodes from a cubic.
"""

import math
from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
import scipy
from numpy.typing import NDArray

from core.burning.dose import ClearingLine
from core.burning.strips import Clusters, Flags, Floats, Ints, Lattice, Patterns, Spans, expanded

END_SIGMAS = 3.2
"""From how far inside its end a span counts as endless, in σ = w/2: there it gives 99.93 % of its dose."""
LARGEST_ADDING_S = 0.98
"""From here on nothing adds: two equal hits count 1.4 % more than one."""
NODES_PER_SIGMA = 2.0
ROWS_APART_SIGMAS = 1.2
"""From which pitch on rows show in the edge of what is bared, in σ of their profile to the power q."""
_NEGLIGIBLE = 1e-4
_NEWTON_STEPS = 10
_TABLE = 257
_BISECTIONS = 4
_ROOMS = np.array([4, 6, 8, 10, 12, 14, 16, 20, 24, 32, 40, 48, 64, 96, 128, 192, 256, 512, 1024, 2048])
_NUMBERS_AT_ONCE = 400_000


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

    def height_mm(self, covered: Patterns) -> Floats:
        """How much of a strip's height is bared where the spans of these slots lie over it; same shape."""
        ...


def baring_for(line: ClearingLine, s: float, *, y0_mm: float, pitch_mm: float, weight: int = 1) -> Baring | None:
    """The rule for an S of the coat; None where nothing is ever bared. weight: how many rows each row stands for."""
    if line.peak_over_clearing < _NO_DOSE:
        return None
    if s > LARGEST_ADDING_S:
        return _nothing_adds(line, y0_mm, pitch_mm)
    return _hits_add(line, s, y0_mm, pitch_mm, weight)


def reach_mm(line: ClearingLine, s: float) -> float:
    """How far from its axis a line counts."""
    if line.peak_over_clearing < _NO_DOSE:
        return 0.0
    if s > LARGEST_ADDING_S:
        return line.cleared_width_mm / 2
    q = 1 / (1 - s)
    radius = line.spot_mm / 2
    needed = (1 / line.peak_over_clearing) ** q / line.passes
    return radius * math.sqrt(max(-math.log(_NEGLIGIBLE * min(needed, 1.0)), 0.0) / (2 * q))


# --- nothing adds ----------------------------------------------------------------------------------------------------


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
        tip_owner, tips = _tips(clusters.spans, self.lattice, self.line, self.line.peak_over_clearing)
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
        before = (needed < 1) & _bits(clusters.through, len(self.lattice.slot_t))[lines.cluster]
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

    def height_mm(self, covered: Patterns) -> Floats:
        """Of the union of the swaths."""
        pitch, side = self.lattice.pitch_mm, self.lattice.reach
        bits, rows = _bits(covered, 2 * side), self.lattice.slot_t
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


def _nothing_adds(line: ClearingLine, y0_mm: float, pitch_mm: float) -> NothingAdds | None:
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
    away = np.linspace(0.0, lattice.reach_mm, _TABLE)
    share = np.minimum(np.exp(8 * (away / line.spot_mm) ** 2) / line.peak_over_clearing, 1.0)
    return NothingAdds(lattice=lattice, line=line, sigma_mm=sigma, table=(away, _moved(share, sigma)))


def _moved(share: Floats, sigma_mm: float) -> Floats:
    """How far beyond an end in the open that share of the full dose is given."""
    result: Floats = sigma_mm * np.clip(-scipy.special.ndtri(share), -END_SIGMAS, END_SIGMAS)
    return result


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


# --- hits add --------------------------------------------------------------------------------------------------------


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
        tip_owner, tips = _tips(clusters.spans, self.lattice, self.line, alone if apart else 0.0)
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

    def height_mm(self, covered: Patterns) -> Floats:
        """Between the places where the sum passes what is needed."""
        distinct, which = np.unique(covered, return_inverse=True)
        levels = self._levels(distinct)
        pitch = self.lattice.pitch_mm
        borders = np.concatenate([np.zeros((len(levels), 1)), levels, np.full((len(levels), 1), pitch)], axis=1)
        borders = np.sort(np.nan_to_num(borders, nan=pitch), axis=1)
        middle = (borders[:, 1:] + borders[:, :-1]) / 2
        bits = _bits(distinct, len(self.lattice.slot_t)).astype(float)
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
        reach = END_SIGMAS * self.sigma_mm
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
        result: Floats = total.reshape(len(x), slots) + _bits(clusters.through, slots)[owner_of_node]
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
        bits = _bits(patterns, len(self.lattice.slot_t)).astype(float)
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


def _hits_add(line: ClearingLine, s: float, y0_mm: float, pitch_mm: float, weight: int) -> HitsAdd | None:
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
    t = np.linspace(0.0, pitch_mm, _TABLE)
    most = rule._across(t).sum(1)
    if most.max() < needed:
        return None
    share = needed / np.maximum(most, max(needed, 1e-300))  # between rows far apart nothing is left of the dose
    return replace(rule, table=(t, _moved(share ** (1 / q), sigma)))


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


def _tips(spans: Spans, lattice: Lattice, line: ClearingLine, peak_over_clearing: float) -> tuple[Ints, Floats]:
    """How far across short spans reach by themselves: (owner, t), where that lies within the strip."""
    short = np.flatnonzero(spans.x1 - spans.x0 < 4 * lattice.inward_mm)
    half = (spans.x1[short] - spans.x0[short]) / (line.spot_mm / 2)
    most = np.maximum(peak_over_clearing * (2 * scipy.special.ndtr(half) - 1), 1.0)
    away = line.spot_mm / 2 * np.sqrt(np.log(most) / 2)
    row = lattice.slot_t[spans.slot[short]]
    t = np.where(row <= 0, row + away, row - away)
    inside = (t > 0) & (t < lattice.pitch_mm) & (most > 1)
    return spans.owner[short][inside], t[inside]


def _bits(patterns: Patterns, slots: int) -> Flags:
    """Which slots each pattern covers, (n, slots)."""
    result: Flags = (patterns[:, None] >> np.arange(slots)) & 1 == 1
    return result


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


_NO_DOSE = 1e-30
"""Share of the clearing dose below which a line has no power to speak of."""
