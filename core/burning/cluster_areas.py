"""Areas within clusters: region, coat left over in it, coat removed outside it.

Each cluster's strip is cut across at every end of an edge in it and at every level edge of what is bared. Between two
cuts the integral over the height is a Gauss-Legendre rule on a few sampling lines; along such a line both the region's
edges and what is bared are known exactly (see ``bared``). A cluster of very many edges (dense texture) is sampled on
evenly spaced lines instead; how far that can be off is told with it.
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from core.burning.baring import Baring, Lines, Steps, bisected
from core.burning.drawing_lots import expected_by
from core.burning.strips import Clusters, Flags, Floats, Ints, Lattice, alike, chosen, expanded

Counts = NDArray[np.int32]
LinesByHeight = tuple[tuple[float, int], ...]

MAX_CUTS = 400
EVEN_LINES = 256
LINES_BY_HEIGHT = ((0.08, 3), (0.2, 4), (0.5, 6), (1.0, 8))
"""How many sampling lines a slice gets up to which height in spot radii; higher ones are cut."""
FEWER_LINES_BY_HEIGHT = ((0.08, 2), (0.2, 3), (0.5, 4), (1.0, 6))
"""The same where clusters are drawn: what that puts the sums off by is a hundredth of what the lot does."""
_THINNEST = 1e-9
_ROUNDS = 3
_FEW_MORE = 1.5
"""So many times as many clusters as were to be worked out are all worked out."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClusterAreas:
    """mm², (c,) each: of the region, of coat left over in it, of coat removed outside it.

    doubt: how far either of the last two may be off where the cluster was sampled evenly; 0 elsewhere. variance, mm⁴:
    of the sums of the last two, where clusters were drawn.
    """

    region: Floats
    left_over: Floats
    spill: Floats
    doubt: Floats
    variance: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GapAreas:
    """Areas of ``Clusters.gaps``, (g,) each, mm²."""

    region: Floats
    left_over: Floats
    spill: Floats


def gap_areas(clusters: Clusters, baring: Baring) -> GapAreas:
    """Areas of all gaps: over the height of a strip nothing changes along them."""
    gaps = clusters.gaps
    pattern, which = np.unique(gaps.covered, return_inverse=True)
    width = gaps.hi - gaps.lo
    cleared, whole = width * baring.height_mm(pattern)[which], width * baring.lattice.pitch_mm
    return GapAreas(region=whole * gaps.inside, left_over=(whole - cleared) * gaps.inside, spill=cleared * ~gaps.inside)


def cluster_areas(clusters: Clusters, baring: Baring, *, most: int | None = None) -> ClusterAreas:
    """Areas of all clusters. Those of one shape are worked out once.

    Where far more than ``most`` shapes are left, about so many are drawn and stand for all.
    """
    plain = _plain(clusters, baring)
    members = np.flatnonzero(~plain)
    some = clusters if len(members) == len(clusters) else chosen(clusters, members)
    distinct, which = np.unique(alike(some, baring.lattice), return_inverse=True)
    few = most is None or len(distinct) <= _FEW_MORE * most
    if not few:  # those that are drawn from lie beside others like them, so that one tells much of all
        looks = np.lexsort([values[distinct] for values in (some.width, some.through, some.covered, some.inside)])
        place = np.empty(len(looks), np.intp)
        place[looks] = np.arange(len(looks))
        distinct, which = distinct[looks], place[which]
    count = np.bincount(which, minlength=len(distinct)).astype(float)
    weight, drawn = _drawn(some.width[distinct] * count, len(distinct) if few or most is None else most)
    looked_at = np.flatnonzero(weight)
    looked_at = looked_at[np.argsort(distinct[looked_at])]
    goes_with = None if weight.all() else _goes_with(some)[:, distinct] * count
    some = chosen(some, distinct[looked_at])
    by_height = LINES_BY_HEIGHT if few else FEWER_LINES_BY_HEIGHT
    lines, doubt = _lines(some, baring, 2 * baring.sigma_mm, by_height)
    figures = np.zeros((4, len(distinct)))
    figures[:, looked_at] = [*_measured(some, lines, baring.steps(some, lines)), doubt]
    expected = np.zeros((4, len(distinct)))
    if goes_with is not None:
        expected[:3] = expected_by(goes_with, figures[:3] * count, weight, drawn) / count
    by_lot = np.flatnonzero(drawn & (weight > 0))
    spread = (count * np.sqrt(weight * np.maximum(weight - 1, 0.0)) * (figures - expected)[1:3])[:, by_lot]
    left_over, spill = (np.diff(spread, axis=1) ** 2).sum(1) / 2
    figures = expected + weight * (figures - expected)
    result = np.zeros((4, len(clusters)))
    result[0] = clusters.width * baring.lattice.pitch_mm * (plain & clusters.inside)
    result[:, members] = figures[:, which]
    return ClusterAreas(
        region=result[0],
        left_over=result[1],
        spill=result[2],
        doubt=result[3],
        variance=(float(left_over), float(spill)),
    )


def _plain(clusters: Clusters, baring: Baring) -> Flags:
    """Clusters without edges that surely lose all of their coat within the region, or none of it outside, (c,)."""
    bare = np.ones(len(clusters), bool)
    bare[clusters.pieces.owner] = False
    some = np.flatnonzero(bare)
    if not len(some):
        return bare
    through, most = clusters.through[some], clusters.covered.copy()
    owner = clusters.spans.owner
    if len(owner):
        starts = np.flatnonzero(np.diff(owner, prepend=-1))
        most[owner[starts]] |= np.bitwise_or.reduceat(np.int64(1) << clusters.spans.slot, starts)
    # two patterns of up to 60 slots do not fit one number, their places among all do
    (least, of_least), (greatest, of_greatest) = (np.unique(one, return_inverse=True) for one in (through, most[some]))
    pairs, which = np.unique(of_least * len(greatest) + of_greatest, return_inverse=True)
    never, always = baring.sure(least=least[pairs // len(greatest)], most=greatest[pairs % len(greatest)])
    bare[some] = np.where(clusters.inside[some], always[which], never[which])
    return bare


def _goes_with(clusters: Clusters) -> Floats:
    """What areas of clusters go with, as it is known of all of them, (k, c): how wide they are, how many edges and ends
    of spans lie in them and how far those edges run along the rows, each by whether they begin within the region."""
    pieces, spans, count = clusters.pieces, clusters.spans, len(clusters)
    along = np.bincount(pieces.owner, np.abs(pieces.xb - pieces.xa), count)
    edges, ends = (np.bincount(owner, minlength=count) for owner in (pieces.owner, spans.owner))
    known = np.array([np.ones(count), clusters.width, along, edges, ends, clusters.width * (clusters.through != 0)])
    return np.concatenate([known * clusters.inside, known * ~clusters.inside])


def _drawn(size: Floats, most: int) -> tuple[Floats, Flags]:
    """How many each cluster stands for, 0 where it is left out, and which were up for the draw: not the large.

    One is drawn for each of as many equal steps of the running sum of sizes, so the chance of each is in proportion to
    its size (unequal probabilities: D. G. Horvitz, D. J. Thompson, J. Am. Stat. Assoc. 47 (1952) 663).
    """
    weight, drawn = np.ones(len(size)), np.zeros(len(size), bool)
    if most >= len(size) or not size.sum() > 0:
        return weight, drawn
    drawn[:] = size > 0
    for _ in range(_ROUNDS):  # whatever is larger than a step is taken for certain; the rest makes smaller steps
        small = np.flatnonzero(drawn)
        step = size[small].sum() / max(1, most - (len(size) - len(small)))
        drawn[small[size[small] >= step]] = False
    small = np.flatnonzero(drawn)
    if not len(small):
        return weight, drawn
    total = np.cumsum(size[small])
    count = max(1, math.ceil(total[-1] / step))
    step = total[-1] / count
    at = (np.arange(count) + np.random.default_rng(2).random(count)) * step
    hit = np.minimum(np.searchsorted(total, at, side="right"), len(small) - 1)
    weight[small] = np.bincount(hit, minlength=len(small)) * step / size[small]
    return weight, drawn


def _lines(clusters: Clusters, baring: Baring, radius_mm: float, by_height: LinesByHeight) -> tuple[Lines, Floats]:
    """The sampling lines, and the doubt of each cluster."""
    lattice, pieces, count = baring.lattice, clusters.pieces, len(clusters)
    cut_owner, cut_t = baring.cuts(clusters)
    edge_owner, edge_t = _cuts_of_edges(clusters, baring)
    owner = np.concatenate([np.tile(np.arange(count), 2), pieces.owner, pieces.owner, cut_owner, edge_owner])
    t = np.concatenate([np.zeros(count), np.full(count, lattice.pitch_mm), pieces.ta, pieces.tb, cut_t, edge_t])
    dense = np.bincount(owner, minlength=count) > MAX_CUTS
    if dense.any():
        kept = ~dense[owner]
        even = np.linspace(0.0, lattice.pitch_mm, EVEN_LINES + 1)
        some = np.flatnonzero(dense)
        owner = np.concatenate([owner[kept], np.repeat(some, len(even))])
        t = np.concatenate([t[kept], np.tile(even, len(some))])
    order = np.argsort(owner * (2 * lattice.pitch_mm) + t)
    owner, t = owner[order], t[order]
    height = np.diff(t)
    real = np.flatnonzero((owner[1:] == owner[:-1]) & (height > _THINNEST * lattice.pitch_mm))
    owner, low, height = owner[real], t[real], height[real]
    parts = np.ceil(height / radius_mm).astype(np.intp)
    which, number = expanded(np.zeros(len(parts), np.intp), parts)
    owner, height = owner[which], (height / parts)[which]
    low = low[which] + number * height
    return _lines_in(owner, low, height, dense[owner], radius_mm, by_height), _doubt(clusters, lattice, dense)


def _cuts_of_edges(clusters: Clusters, baring: Baring) -> tuple[Ints, Floats]:
    """About where edges cross the outline of what is bared beyond each span's end: (cluster, t)."""
    pieces, spans = clusters.pieces, clusters.spans
    tall = np.flatnonzero(pieces.tb > pieces.ta)
    starts = np.searchsorted(spans.owner, np.arange(len(clusters) + 1))
    which, span = expanded(starts[pieces.owner[tall]], np.diff(starts)[pieces.owner[tall]])
    piece = tall[which]
    xa, ta, tb = pieces.xa[piece], pieces.ta[piece], pieces.tb[piece]
    slope = (pieces.xb[piece] - xa) / (tb - ta)
    owners, places = [], []
    for end, side in ((spans.x0, -1.0), (spans.x1, 1.0)):
        outline, slot = end[span], spans.slot[span]

        def beyond(t: Floats, outline: Floats = outline, slot: Ints = slot, side: float = side) -> Floats:
            result: Floats = xa + slope * (t - ta) - outline - side * baring.outward_mm(t, slot)
            return result

        t, met = bisected(beyond, ta, tb)
        owners.append(pieces.owner[piece][met])
        places.append(t[met])
    return np.concatenate(owners), np.concatenate(places)


def _lines_in(
    owner: Ints, low: Floats, height: Floats, single: Flags, radius_mm: float, by_height: LinesByHeight
) -> Lines:
    """The sampling lines of slices, one each for single ones: Gauss-Legendre, drawn towards the slice's ends.

    There what is bared ends in level edges, next to which its outline turns ever faster. With ``t = 3u² - 2u³`` the
    rule stays exact for straight edges.
    """
    sizes = np.array([height_ for height_, _ in by_height]) * radius_mm
    size = np.where(single, 0, 1 + np.minimum(np.searchsorted(sizes, height), len(sizes) - 1))
    counts, shares, weights = _rules(tuple(count for _, count in by_height))
    which, number = expanded(np.zeros(len(size), np.intp), counts[size])
    of = size[which]
    height = height[which]
    return Lines(cluster=owner[which], t=low[which] + height * shares[of, number], height=height * weights[of, number])


@lru_cache(maxsize=8)
def _rules(counts: tuple[int, ...]) -> tuple[Ints, Floats, Floats]:
    """How many lines each kind of slice gets, single ones first; where they lie and what they stand for, as shares of
    its height, (kinds, most lines)."""
    every = (1, *counts)
    shares, weights = np.zeros((2, len(every), max(every)))
    for kind, count in enumerate(every):
        u, weight = np.polynomial.legendre.leggauss(count)
        u = (u + 1) / 2
        shares[kind, :count], weights[kind, :count] = (
            (u * u * (3 - 2 * u), 3 * u * (1 - u) * weight) if count > 1 else (u, weight / 2)
        )
    return np.array(every, np.intp), shares, weights


def _doubt(clusters: Clusters, lattice: Lattice, dense: Flags) -> Floats:
    """Half a sampling step times the extent in x of all that changes across the strip.

    A positive rule of m lines that is right for constants is off by no more than the largest share of one line times
    the integrand's variation; that varies by the edges' own extents and by those of what is bared.
    """
    pieces, spans, count = clusters.pieces, clusters.spans, len(clusters)
    varies = np.bincount(pieces.owner, np.abs(pieces.xb - pieces.xa), count)
    window = lattice.outward_mm + lattice.inward_mm
    varies += np.bincount(spans.owner, np.minimum(2 * window, spans.x1 - spans.x0 + 2 * lattice.outward_mm), count) * 2
    varies += 2 * clusters.width * (clusters.through != 0)
    step = lattice.pitch_mm / EVEN_LINES
    result: Floats = np.where(dense, varies * step, 0.0)
    return result


def _measured(clusters: Clusters, lines: Lines, bared: Steps) -> tuple[Floats, Floats, Floats]:
    """Region, left-over and spill of each cluster, summed over its lines."""
    edge_line, edge_x, edge_step = _edges_on(clusters, lines)
    m = len(lines.t)
    width = clusters.width[lines.cluster]
    line = np.concatenate([np.arange(m), edge_line, bared.line])
    x = np.concatenate([np.zeros(m), np.clip(edge_x, 0.0, width[edge_line]), np.clip(bared.x, 0.0, width[bared.line])])
    inside = np.concatenate([clusters.inside[lines.cluster], edge_step, np.zeros(len(bared.line), np.int32)])
    cover = np.concatenate([bared.before, np.zeros(len(edge_line), np.int32), bared.step])
    order = np.argsort(line * (float(width.max(initial=0.0)) + 1.0) + x, kind="stable")
    line, x = line[order], x[order]
    first = np.searchsorted(line, np.arange(m))
    inside, cover = (_since_start(values[order].astype(np.int32), line, first) for values in (inside, cover))
    last_of_line = np.append(first[1:], len(line)) - 1
    after = np.append(x[1:], 0.0)
    after[last_of_line] = width
    area = (after - x) * lines.height[line]
    owner = lines.cluster[line]
    in_region, is_bared = inside > 0, cover > 0
    region, left_over, spill = (
        np.bincount(owner[where], area[where], len(clusters)).astype(float)
        for where in (in_region, in_region & ~is_bared, is_bared & ~in_region)
    )
    return region, left_over, spill


def _since_start(steps: Counts, line: Ints, first: Ints) -> Counts:
    """Running sum of the steps along each line."""
    total = np.cumsum(steps, dtype=np.int32)
    result: Counts = total - (total[first] - steps[first])[line]
    return result


def _edges_on(clusters: Clusters, lines: Lines) -> tuple[Ints, Floats, Counts]:
    """Where edges cross the lines: (line, x from the cluster's left border, sign)."""
    pieces = clusters.pieces
    stride = 4 * float(lines.t.max(initial=0.0)) + 1.0
    keys = lines.cluster * stride + lines.t
    first = np.searchsorted(keys, pieces.owner * stride + pieces.ta)
    last = np.searchsorted(keys, pieces.owner * stride + pieces.tb)
    piece, line = expanded(first, np.maximum(last - first, 0))
    share = (lines.t[line] - pieces.ta[piece]) / np.maximum(pieces.tb[piece] - pieces.ta[piece], 1e-300)
    x = pieces.xa[piece] + share * (pieces.xb[piece] - pieces.xa[piece]) - clusters.lo[lines.cluster[line]]
    return line, x, pieces.sign[piece].astype(np.int32)
