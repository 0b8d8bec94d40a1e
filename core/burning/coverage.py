"""What the scan rows bare, against what the fill region asks for: left-over coat, spill, lost features.

Cleared is where the dose of the spans and passes together reaches the clearing dose, each span with the dose of a line
of its length (``dose``). The verdict is careful: coat is left over where no hit alone clears it (S = 1), and is spilt
where all hits together would (S = 0). See ``strips``, ``bared`` and ``cluster_areas``; cost grows with edge crossings.
"""

import itertools
import math
import os
from collections import deque
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.burning.bared import Baring, baring_for, reach_mm
from core.burning.cluster_areas import cluster_areas, gap_areas
from core.burning.coverage_map import MAX_PLACES, NO_STRETCHES, Bounds, CoverageGrid, Place, Stretches, Tally
from core.burning.dose import CAREFUL_CLEARING_S, CAREFUL_SPILL_S, ClearingLine
from core.burning.lost_features import Geometries, lost_places, polygons_of, thin_stretches, unhit_parts
from core.burning.passages import Outlines, Passing, all_exact, outlines_of, passing
from core.burning.row_starts import share_of_starts_that_hit_all
from core.burning.sampled_strips import DOUBT_SIGMAS, Sample, sample_of
from core.burning.scan_rows import RegionEdges, ScanRows, edges_in_scan_frame
from core.burning.strips import (
    MAX_REACH,
    Lattice,
    pieces_in_band,
    strips_of_edges,
)
from core.errors import JobError
from core.geometry.affine import apply
from core.progress import Progress, part, silent

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

MEMBERS_AT_ONCE = 150_000
FINE_SPANS = 5_000
"""From so many spans on, areas beside smooth outlines are read off a table."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coverage:
    """Predicted clearing of one fill. Places are in the bed frame.

    doubt_mm2: how far left_over_mm2 or spill_mm2 may be off because dense texture or very fine artwork
    was sampled; 0 for other artwork.

    left_over_mm2: coat that stays inside the region; spill_mm2: coat removed outside it. lost_features: how many
    parts of the region no row hits (unhit_parts), or are too thin to come out as drawn (thin_parts). hairlines: how
    many of either are thinner than the pitch, so that it hangs on where the rows fall whether they are hit.
    hits_all_share: in which share of the places where rows may begin every hairline has a row; where they begin is the
    receiving software's choice unless the rows are handed over. astray_mm2: of left_over_mm2, what stays in the mean
    as rows lie off their places.
    places: worst first, at most ``MAX_PLACES``.
    """

    cleared_width_mm: float
    region_mm2: float
    left_over_mm2: float
    spill_mm2: float
    doubt_mm2: float
    unhit_parts: int
    thin_parts: int
    hairlines: int
    places: tuple[Place, ...]
    grid: CoverageGrid
    hits_all_share: float = 1.0
    astray_mm2: float = 0.0

    @property
    def lost_features(self) -> int:
        """Parts that no row hits or that are too thin."""
        return self.unhit_parts + self.thin_parts

    @property
    def left_over_pct(self) -> float:
        """Left-over coat as a share of the region, percent; 0 for an empty region."""
        return 100 * self.left_over_mm2 / self.region_mm2 if self.region_mm2 else 0.0


def coverage(
    region_bed: BaseGeometry,
    rows: ScanRows,
    line: ClearingLine,
    *,
    clearing_s: float = CAREFUL_CLEARING_S,
    spill_s: float = CAREFUL_SPILL_S,
    tally: Tally | None = None,
    edges: RegionEdges | None = None,
    progress: Progress = silent,
) -> Coverage:
    """Coverage of a region (bed frame) by the rows, burned with that line.

    The rows may come from the region drawn in by an edge inset. clearing_s, spill_s: the coat's S, from 0 to 1, for
    what is left over and for what is spilt. tally: to count it into; None takes one of its own. Raises JobError on a
    line or an S that can't be.
    """
    _check(line, clearing_s, spill_s)
    if edges is None:
        edges = edges_in_scan_frame(region_bed, rows.scan_angle_deg)
    if tally is None:
        tally = Tally(_bounds(edges, max(reach_mm(line, s) for s in (clearing_s, spill_s))), pitch_mm=rows.pitch_mm)
    sums = _Sums()
    fine = outlines_of(edges, rows) if len(rows) >= FINE_SPANS else None
    if clearing_s == spill_s:
        _count(edges, rows, fine, line, clearing_s, _BOTH, tally, sums, part(progress, 0.0, 0.9))
    else:
        _count(edges, rows, fine, line, clearing_s, _CLEARING, tally, sums, part(progress, 0.0, 0.45))
        _count(edges, rows, fine, line, spill_s, _SPILL, tally, sums, part(progress, 0.45, 0.9))
    polygons = polygons_of(region_bed)
    width_mm = line.cleared_width_mm
    missed = unhit_parts(edges, rows.row_y_mm, len(polygons))
    thin = thin_stretches(
        polygons,
        cleared_width_mm=width_mm,
        edges=edges if rows.scan_angle_deg == 0.0 else None,
        some=~missed,
        progress=part(progress, 0.9, 1.0),
    )
    places = [
        *lost_places(polygons[missed], "A part {width} mm wide and {length} mm long that no scan line hits."),
        *lost_places(thin, f"{{width}} mm wide over {{length}} mm, where one scan line bares {width_mm:.3f} mm."),
    ]
    return Coverage(
        cleared_width_mm=width_mm,
        region_mm2=float(region_bed.area),
        left_over_mm2=sums.left_over_mm2,
        spill_mm2=sums.spill_mm2,
        doubt_mm2=sums.doubt_mm2,
        unhit_parts=int(missed.sum()),
        thin_parts=len(thin),
        hairlines=int(missed.sum()) + int((_ribbon_widths(thin) < rows.pitch_mm).sum()),
        hits_all_share=_hits_all_share(np.concatenate([polygons, thin]), rows),
        places=_worst_first(places, tally.places(rows.to_bed)),
        grid=tally.grid(rows.to_bed),
    )


def _hits_all_share(parts: Geometries, rows: ScanRows) -> float:
    """See ``Coverage``. parts: in the bed frame; whole ones and thin stretches of others."""
    if rows.scan_angle_deg != 0.0:
        parts = shapely.transform(parts, lambda points: apply(rows.from_bed, points))
    reach = shapely.bounds(parts)
    return share_of_starts_that_hit_all(reach[:, 1], reach[:, 3], pitch_mm=rows.pitch_mm)


def _ribbon_widths(polygons: Geometries) -> Floats:
    result: Floats = shapely.area(polygons) / np.maximum(shapely.length(polygons) / 2, 1e-12)
    return result


def _check(line: ClearingLine, clearing_s: float, spill_s: float) -> None:
    for s in (clearing_s, spill_s):
        if not 0.0 <= s <= 1.0:
            raise JobError(f"An S of {s:g} can't be.", hint="Give a number from 0 (all hits add) to 1 (none does).")
    for value, what, least in (
        (line.spot_mm, "spot", "mm"),
        (line.clearing_dose_j_mm2, "clearing dose", "J/mm²"),
        (line.passes, "number of passes", ""),
    ):
        if not (math.isfinite(value) and value > 0):
            raise JobError(f"A {what} of {value:g} {least} can't be.", hint="Check the recipe and the stock.")
    if not (math.isfinite(line.peak_j_mm2) and line.peak_j_mm2 >= 0):
        raise JobError(f"A dose of {line.peak_j_mm2:g} J/mm² can't be.", hint="Check the recipe and the machine.")


@dataclass(slots=True)
class _Sums:
    """mm², summed up band by band."""

    left_over_mm2: float = 0.0
    spill_mm2: float = 0.0
    doubt_mm2: float = 0.0


_CLEARING, _SPILL, _BOTH = (True, False), (False, True), (True, True)


def _count(
    edges: RegionEdges,
    rows: ScanRows,
    fine: Outlines | None,
    line: ClearingLine,
    s: float,
    wanted: tuple[bool, bool],
    tally: Tally,
    sums: _Sums,
    progress: Progress,
) -> None:
    """Add left-over coat, spill, or both, as they are with that S. Left-over coat brings the region's own area."""
    for done in _parts(edges, rows, line, s, wanted, fine):
        progress(done.share, "coverage")
        kept = _only(done.stretches, *wanted)
        tally.add(kept)
        sums.left_over_mm2 += float(kept.left_over.sum()) + done.beyond_mm2[0] * wanted[0]
        sums.spill_mm2 += float(kept.spill.sum()) + done.beyond_mm2[1] * wanted[1]
        sums.doubt_mm2 += done.doubt_mm2


def _only(stretches: Stretches, clearing: bool, spill: bool) -> Stretches:
    """Those in which there is anything of the kinds that are wanted, without the other."""
    nothing = np.zeros(len(stretches.y))
    region, left_over = (stretches.region, stretches.left_over) if clearing else (nothing, nothing)
    spilt = stretches.spill if spill else nothing
    some = np.flatnonzero((region != 0) | (left_over != 0) | (spilt != 0))
    return Stretches(
        y=stretches.y[some],
        lo=stretches.lo[some],
        hi=stretches.hi[some],
        region=region[some],
        left_over=left_over[some],
        spill=spilt[some],
    )


def _worst_first(lost: list[Place], others: list[tuple[float, Place]]) -> tuple[Place, ...]:
    """Lost features count with all their area; what lies inside one is not told twice."""
    lost = sorted(lost, key=lambda place: -place.area_mm2)[:MAX_PLACES]
    ranked = [(place.area_mm2, place) for place in lost]
    ranked += [(badness, place) for badness, place in others if not any(_holds(known, place) for known in lost)]
    ranked.sort(key=lambda pair: -pair[0])
    return tuple(place for _, place in ranked[:MAX_PLACES])


def _holds(known: Place, place: Place) -> bool:
    x0, y0, x1, y1 = known.bounds_mm
    return place.kind == "left over" and x0 <= place.x_mm <= x1 and y0 <= place.y_mm <= y1


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
    )


def _bounds(edges: RegionEdges, margin_mm: float) -> Bounds:
    if not len(edges.x0):
        return (0.0, 0.0, 0.0, 0.0)
    x = np.concatenate([edges.x0, edges.x1])
    return (
        float(x.min()) - margin_mm,
        float(edges.y0.min()) - margin_mm,
        float(x.max()) + margin_mm,
        float(edges.y1.max()) + margin_mm,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Part:
    """A band of strips: share of all strips done before it, its stretches, left-over coat and spill beyond what they
    stand for, how far its areas may be off by sampling."""

    share: float
    stretches: Stretches
    beyond_mm2: tuple[float, float] = (0.0, 0.0)
    doubt_mm2: float = 0.0


def _parts(
    edges: RegionEdges, rows: ScanRows, line: ClearingLine, s: float, kinds: tuple[bool, bool], fine: Outlines | None
) -> Iterator[_Part]:
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
        yield _Part(share=0.0, stretches=_all_left(edges, rows, y0_mm))
        return
    lattice = baring.lattice
    strips = strips_of_edges(edges, lattice)
    passed = all_exact(edges, strips, rows, lattice) if fine is None else passing(edges, strips, rows, fine, baring)
    first_strip = min(int(strips[0].min()), -lattice.reach)
    end_strip = max(int(strips[1].max()) + 1, len(rows.row_y_mm) + lattice.reach)
    sample = sample_of(passed, first_strip, end_strip, spill_alone=not kinds[0])
    passed = passed.kept_apart(sample.weight > 0, first_strip)
    in_strips, variance = np.zeros((2, end_strip - first_strip)), np.zeros(2)
    for a, band in _bands(passed, baring, sample, kinds, end_strip):
        in_strips[:, a - first_strip : a - first_strip + band.in_strips.shape[1]] = band.in_strips
        variance += band.variance_mm4
        share = (a - first_strip) / (end_strip - first_strip)
        yield _Part(share=share, stretches=band.stretches, doubt_mm2=band.doubt_mm2)
    expected = sample.expected_mm2(in_strips)
    by_lot = DOUBT_SIGMAS * np.sqrt(variance + sample.variance(in_strips, expected))
    left_over, spill = sample.beyond(expected).tolist()
    yield _Part(
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
    total = np.cumsum(members * (sample.weight > 0))
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
    """The bands from the first on, each with its first strip; worked out on all cores, a few ahead."""
    borders = list(itertools.pairwise(_band_borders(passed, sample, end_strip)))
    if len(borders) == 1:
        yield borders[0][0], _band(passed, baring, sample, kinds, *borders[0])
        return
    ahead = os.cpu_count() or 1
    with ThreadPoolExecutor(ahead) as pool:  # numpy lets go of the interpreter lock over large arrays
        jobs: deque[tuple[int, Future[_Band]]] = deque()
        try:
            for a, b in borders:
                jobs.append((a, pool.submit(_band, passed, baring, sample, kinds, a, b)))
                if len(jobs) > ahead:
                    first, job = jobs.popleft()
                    yield first, job.result()
            for first, job in jobs:
                yield first, job.result()
        finally:
            pool.shutdown(cancel_futures=True)


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
        (clusters.strip[gaps.before], gaps.lo, gaps.hi, gaps.region, gaps.left_over, gaps.spill),
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
