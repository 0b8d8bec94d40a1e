"""Coverage band by band: strips between rows, cut into clusters, passages and gaps, what stays and is spilt there."""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from core.burning.bared import baring_for
from core.burning.baring import Baring, reach_mm
from core.burning.cluster_areas import cluster_areas, gap_areas
from core.burning.coverage_map import NO_STRETCHES, Stretches
from core.burning.dose import ClearingLine
from core.burning.outlines import Outlines, outlines_of
from core.burning.passages import Passing, all_exact, passing
from core.burning.sampled_strips import DOUBT_SIGMAS, Sample, sample_of
from core.burning.scan_rows import RegionEdges, ScanRows
from core.burning.strips import MAX_REACH, Lattice, pieces_in_band, strips_of_edges

Floats = NDArray[np.float64]

MEMBERS_AT_ONCE = 60_000
_PASSAGE = 0.1
"""What a passage takes beside other members: it has its areas from a table."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Part:
    """A band of strips: share of all strips done before it, its stretches, left-over coat and spill beyond what they
    stand for, how far its areas may be off by sampling."""

    share: float
    stretches: Stretches
    beyond_mm2: tuple[float, float] = (0.0, 0.0)
    doubt_mm2: float = 0.0


def parts(
    edges: RegionEdges, rows: ScanRows, line: ClearingLine, s: float, kinds: tuple[bool, bool], fine: Outlines | None
) -> Iterator[Part]:
    """All bands from the first strip on, and last what is beyond those strips that were drawn."""
    if not len(edges.x0):
        return
    # rows closer than a thirtieth of how far a line acts are counted by groups: more add nothing to see
    every = _rows_in_a_group(line, s, rows.pitch_mm)
    if every > 1:
        rows = _thinned(rows, every)
        fine = None if fine is None else outlines_of(edges, rows)
    y0_mm = float(rows.row_y_mm[0]) if len(rows.row_y_mm) else float(edges.y0.min())
    baring = baring_for(line, s, y0_mm=y0_mm, pitch_mm=rows.pitch_mm, weight=every)
    if baring is None:
        yield Part(share=0.0, stretches=_all_left(edges, rows, y0_mm))
        return
    lattice = baring.lattice
    strips = strips_of_edges(edges, lattice)
    if fine is None:
        passed = all_exact(edges, strips, rows, lattice)
    else:
        passed = passing(edges, strips, rows, fine, baring, kinds=kinds)
    first_strip = min(int(strips[0].min()), -lattice.reach)
    end_strip = max(int(strips[1].max()) + 1, len(rows.row_y_mm) + lattice.reach)
    sample = sample_of(passed, first_strip, end_strip, spill_alone=not kinds[0])
    passed = passed.kept_apart(sample.weight > 0, first_strip)
    in_strips, variance = np.zeros((2, end_strip - first_strip)), np.zeros(2)
    for a, band in _bands(passed, baring, sample, kinds, end_strip):
        in_strips[:, a - first_strip : a - first_strip + band.in_strips.shape[1]] = band.in_strips
        variance += band.variance_mm4
        share = (a - first_strip) / (end_strip - first_strip)
        yield Part(share=share, stretches=band.stretches, doubt_mm2=band.doubt_mm2)
    expected = sample.expected_mm2(in_strips)
    by_lot = DOUBT_SIGMAS * np.sqrt(variance + sample.variance(in_strips, expected))
    left_over, spill = sample.beyond(expected).tolist()
    yield Part(
        share=1.0,
        stretches=NO_STRETCHES,
        beyond_mm2=(left_over, spill),
        doubt_mm2=float(by_lot[np.array(kinds)].sum()),
    )


def _all_left(edges: RegionEdges, rows: ScanRows, y0_mm: float) -> Stretches:
    """The whole region strip by strip, where nothing is bared anywhere."""
    lattice = Lattice(y0_mm=y0_mm, pitch_mm=rows.pitch_mm, reach_mm=0.0, outward_mm=0.0, inward_mm=0.0)
    strips = strips_of_edges(edges, lattice)
    pieces = pieces_in_band(
        edges, strips, lattice, first_strip=int(strips[0].min()), end_strip=int(strips[1].max()) + 1
    )
    # the area left of an edge, entered with a minus: summed over a strip that is the region's
    area: Floats = -pieces.sign * (pieces.tb - pieces.ta) * (pieces.xa + pieces.xb) / 2
    strip, which = np.unique(pieces.owner, return_inverse=True)
    left = np.full(len(strip), np.inf)
    right = np.full(len(strip), -np.inf)
    for x in (pieces.xa, pieces.xb):
        np.minimum.at(left, which, x)
        np.maximum.at(right, which, x)
    region: Floats = np.bincount(which, area, len(strip)).astype(float)
    return Stretches(
        y=np.asarray(lattice.y0_mm + (strip + 0.5) * lattice.pitch_mm, float),
        lo=left,
        hi=right,
        region=region,
        left_over=region,
        spill=np.zeros(len(strip)),
    )


def _band_borders(passed: Passing, sample: Sample, end_strip: int) -> list[int]:
    """Borders of bands of strips that hold about ``MEMBERS_AT_ONCE`` pieces and spans each that are looked at."""
    first_strip = sample.first_strip
    count, strips, rows, lattice = end_strip - first_strip, passed.strips, passed.rows, passed.lattice
    change = np.bincount(strips[0] - first_strip, minlength=count + 1)
    change = change - np.bincount(strips[1] + 1 - first_strip, minlength=count + 1)
    members = np.cumsum(change)[:count]
    spans = np.bincount(rows.row_index[passed.busy], minlength=len(rows.row_y_mm))
    for slot in range(2 * lattice.reach):
        first = lattice.strip_minus_row(slot) - first_strip
        members[first : first + len(spans)] += 2 * spans
    _, passages = passed.crossings(first_strip, end_strip)
    total = np.cumsum((members - (1 - _PASSAGE) * passages) * (sample.weight > 0))
    wanted = int(total[-1]) // MEMBERS_AT_ONCE + 1
    cuts = np.searchsorted(total, total[-1] * np.arange(1, wanted) / wanted)
    borders: list[int] = (np.unique(np.concatenate([[0], cuts, [count]])) + first_strip).tolist()
    return borders


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Band:
    """A band of strips, each counted for all it stands for: its stretches, their doubt, mm², the clusters' variances.

    in_strips, (2, strips of the band): left-over coat and spill of each strip alone, as far as they are wanted.
    """

    stretches: Stretches
    in_strips: Floats
    doubt_mm2: float
    variance_mm4: Floats


def _bands(
    passed: Passing, baring: Baring, sample: Sample, kinds: tuple[bool, bool], end_strip: int
) -> Iterator[tuple[int, _Band]]:
    """The bands from the first on, each with its first strip.

    One after the other: two threads came to 0 to 10 % less time by the clock for 23 % more of the processors, as most
    calls here are too short to let go of the interpreter.
    """
    for a, b in itertools.pairwise(_band_borders(passed, sample, end_strip)):
        yield a, _band(passed, baring, sample, kinds, a, b)


def _band(
    passed: Passing, baring: Baring, sample: Sample, kinds: tuple[bool, bool], first_strip: int, end_strip: int
) -> _Band:
    lattice = baring.lattice
    weight = sample.weight[first_strip - sample.first_strip : end_strip - sample.first_strip]
    clusters, some = passed.clusters(weight > 0, first_strip)
    areas = cluster_areas(clusters, baring, most=sample.most_clusters(first_strip, end_strip))
    gaps = gap_areas(clusters, baring)
    parts = [
        (clusters.strip, clusters.lo, clusters.hi, areas.region, areas.left_over, areas.spill),
        (clusters.gaps.strip, clusters.gaps.lo, clusters.gaps.hi, gaps.region, gaps.left_over, gaps.spill),
    ]
    none = np.zeros(len(some.x))
    # a passage has no extent: what stays is told beside the outline inside the region, what is spilt outside
    sides = ((some.sign, some.left_over, none), (-some.sign, none, some.spill))
    for side, left_over, spill in itertools.compress(sides, kinds):
        beside = some.x + side * baring.sigma_mm
        parts.append((some.strip, np.minimum(some.x, beside), np.maximum(some.x, beside), none, left_over, spill))
    strip, lo, hi, *areas_of = (np.concatenate(column) for column in zip(*parts, strict=True))
    in_strips = [np.bincount(strip - first_strip, values, end_strip - first_strip) for values in areas_of[1:]]
    times = weight[strip - first_strip]
    region, left_over, spill = (values * times for values in areas_of)
    y = lattice.y0_mm + (strip + 0.5) * lattice.pitch_mm
    stretches = Stretches(y=y, lo=lo, hi=hi, region=region, left_over=left_over, spill=spill)
    return _Band(
        stretches=stretches,
        in_strips=np.array(in_strips),
        doubt_mm2=float((areas.doubt * weight[clusters.strip - first_strip]).sum()),
        variance_mm4=np.array(areas.variance),
    )


def _rows_in_a_group(line: ClearingLine, s: float, pitch_mm: float) -> int:
    """So many that no more than ``MAX_REACH`` groups act on a place; together they reach further than one row does."""
    every = 1
    while (reach := reach_mm(replace(line, passes=line.passes * every), s)) > MAX_REACH * every * pitch_mm:
        every = max(every + 1, math.ceil(reach / pitch_mm / MAX_REACH))
    return every


def _thinned(rows: ScanRows, every: int) -> ScanRows:
    """Only every so-manieth row."""
    if every <= 1:
        return rows
    first = (len(rows.row_y_mm) - 1) % every // 2
    kept = (rows.row_index >= first) & ((rows.row_index - first) % every == 0)
    return ScanRows(
        pitch_mm=rows.pitch_mm * every,
        scan_angle_deg=rows.scan_angle_deg,
        row_y_mm=rows.row_y_mm[first::every],
        row_index=(rows.row_index[kept] - first) // every,
        x0_mm=rows.x0_mm[kept],
        x1_mm=rows.x1_mm[kept],
        edge=None if rows.edge is None else rows.edge[:, kept],
    )
