"""What the scan rows bare, against what the fill region asks for: left-over coat, spill, lost features.

Cleared is the union of all spans, each swept by a disc of the cleared width. Areas are exact: see ``strips`` and
``cluster_areas``. Cost grows with edge crossings.
"""

import itertools
import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.burning.cluster_areas import cluster_areas
from core.burning.coverage_map import MAX_PLACES, Bounds, CoverageGrid, Place, Stretches, Tally
from core.burning.lost_features import lost_places, polygons_of, thin_stretches, unhit_parts
from core.burning.scan_rows import RegionEdges, ScanRows, region_edges, region_in_scan_frame
from core.burning.strips import (
    MAX_REACH,
    Lattice,
    clusters_of,
    covered_height_mm,
    ends_in_band,
    hidden_spans,
    pieces_in_band,
    strips_of_edges,
)
from core.errors import JobError
from core.progress import Progress, part, silent

Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

MEMBERS_AT_ONCE = 150_000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coverage:
    """Predicted clearing of one fill. Places are in the bed frame.

    left_over_mm2: coat that stays inside the region; spill_mm2: coat removed outside it. lost_features: how many
    parts of the region no row hits (unhit_parts), or are too thin to come out as drawn (thin_parts).
    places: worst first, at most ``MAX_PLACES``.
    """

    cleared_width_mm: float
    region_mm2: float
    left_over_mm2: float
    spill_mm2: float
    unhit_parts: int
    thin_parts: int
    places: tuple[Place, ...]
    grid: CoverageGrid

    @property
    def cleared_mm2(self) -> float:
        """All coat that goes, inside the region and outside."""
        return self.region_mm2 - self.left_over_mm2 + self.spill_mm2

    @property
    def lost_features(self) -> int:
        """Parts that no row hits or that are too thin."""
        return self.unhit_parts + self.thin_parts

    @property
    def left_over_pct(self) -> float:
        """Left-over coat as a share of the region, percent; 0 for an empty region."""
        return 100 * self.left_over_mm2 / self.region_mm2 if self.region_mm2 else 0.0


def coverage(
    region_bed: BaseGeometry, rows: ScanRows, *, cleared_width_mm: float, progress: Progress = silent
) -> Coverage:
    """Coverage of a region (bed frame) by the rows, each span swept by a disc of the cleared width.

    The rows may come from the region drawn in by an edge inset. Raises JobError when the cleared width is negative
    or not a number.
    """
    if not (math.isfinite(cleared_width_mm) and cleared_width_mm >= 0):
        raise JobError(f"A cleared width of {cleared_width_mm:g} mm can't be.", hint="Check the recipe and the stock.")
    rows = _thinned(rows, cleared_width_mm)
    edges = region_edges(region_in_scan_frame(region_bed, rows.scan_angle_deg))
    lattice = Lattice(
        y0_mm=float(rows.row_y_mm[0]) if len(rows.row_y_mm) else 0.0,
        pitch_mm=rows.pitch_mm,
        half_width_mm=cleared_width_mm / 2,
    )
    tally = Tally(_bounds(edges, lattice), pitch_mm=rows.pitch_mm)
    left_over_mm2 = spill_mm2 = 0.0
    for share, stretches in _stretches(edges, rows, lattice):
        progress(0.9 * share, "coverage")
        tally.add(stretches)
        left_over_mm2 += float(stretches.left_over.sum())
        spill_mm2 += float(stretches.spill.sum())
    polygons = polygons_of(region_bed)
    missed = unhit_parts(edges, rows.row_y_mm, len(polygons))
    thin = thin_stretches(polygons[~missed], cleared_width_mm=cleared_width_mm, progress=part(progress, 0.9, 1.0))
    places = [
        *lost_places(polygons[missed], "A part {width} mm wide and {length} mm long that no scan line hits."),
        *lost_places(
            thin, f"{{width}} mm wide over {{length}} mm, where one scan line bares {cleared_width_mm:.3f} mm."
        ),
    ]
    return Coverage(
        cleared_width_mm=cleared_width_mm,
        region_mm2=float(region_bed.area),
        left_over_mm2=left_over_mm2,
        spill_mm2=spill_mm2,
        unhit_parts=int(missed.sum()),
        thin_parts=len(thin),
        places=_worst_first(places, tally.places(rows.to_bed)),
        grid=tally.grid(rows.to_bed),
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


def _thinned(rows: ScanRows, cleared_width_mm: float) -> ScanRows:
    """Only every so-manieth row where rows lie closer than a sixtieth of the cleared width: more add nothing to see."""
    every = math.ceil(cleared_width_mm / 2 / rows.pitch_mm / MAX_REACH)
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


def _bounds(edges: RegionEdges, lattice: Lattice) -> Bounds:
    if not len(edges.x0):
        return (0.0, 0.0, 0.0, 0.0)
    x = np.concatenate([edges.x0, edges.x1])
    margin = lattice.half_width_mm
    return (
        float(x.min()) - margin,
        float(edges.y0.min()) - margin,
        float(x.max()) + margin,
        float(edges.y1.max()) + margin,
    )


def _stretches(edges: RegionEdges, rows: ScanRows, lattice: Lattice) -> Iterator[tuple[float, Stretches]]:
    """Share done so far, and the next band's stretches."""
    if not len(edges.x0):
        return
    strips = strips_of_edges(edges, lattice)
    first_strip = min(int(strips[0].min()), -lattice.reach)
    end_strip = max(int(strips[1].max()) + 1, len(rows.row_y_mm) + lattice.reach)
    hidden = hidden_spans(rows, lattice)
    borders = _band_borders(strips, rows, lattice, first_strip, end_strip)
    for a, b in itertools.pairwise(borders):
        yield (a - first_strip) / (end_strip - first_strip), _band(edges, strips, rows, hidden, lattice, a, b)


def _band_borders(
    strips: tuple[Ints, Ints], rows: ScanRows, lattice: Lattice, first_strip: int, end_strip: int
) -> list[int]:
    """Borders of bands of strips that hold about ``MEMBERS_AT_ONCE`` pieces and ends each."""
    count = end_strip - first_strip
    change = np.bincount(strips[0] - first_strip, minlength=count + 1)
    change = change - np.bincount(strips[1] + 1 - first_strip, minlength=count + 1)
    members = np.cumsum(change)[:count]
    spans = np.diff(rows.row_starts)
    for slot in range(2 * lattice.reach):
        first = lattice.strip_minus_row(slot) - first_strip
        members[first : first + len(spans)] += 2 * spans
    total = np.cumsum(members)
    wanted = int(total[-1]) // MEMBERS_AT_ONCE + 1
    cuts = np.searchsorted(total, total[-1] * np.arange(1, wanted) / wanted)
    borders: list[int] = (np.unique(np.concatenate([[0], cuts, [count]])) + first_strip).tolist()
    return borders


def _band(
    edges: RegionEdges,
    strips: tuple[Ints, Ints],
    rows: ScanRows,
    hidden: tuple[Flags, Flags] | None,
    lattice: Lattice,
    first_strip: int,
    end_strip: int,
) -> Stretches:
    pieces = pieces_in_band(edges, strips, lattice, first_strip=first_strip, end_strip=end_strip)
    ends = ends_in_band(rows, hidden, lattice, first_strip=first_strip, end_strip=end_strip)
    clusters = clusters_of(pieces, ends, lattice)
    areas = cluster_areas(clusters, pieces, ends, lattice)
    # in the gaps between neighbouring clusters of a strip nothing changes over its height
    same_strip = clusters.strip[1:] == clusters.strip[:-1]
    before = np.flatnonzero(same_strip & (clusters.inside[1:] | (clusters.covered[1:] != 0)))
    lo, hi = clusters.hi[before], clusters.lo[before + 1]
    inside = clusters.inside[before + 1]
    cleared_height = covered_height_mm(clusters.covered[before + 1], lattice)
    cleared, whole = (hi - lo) * cleared_height, (hi - lo) * lattice.pitch_mm
    return Stretches(
        y=lattice.y0_mm + (np.concatenate([clusters.strip, clusters.strip[before]]) + 0.5) * lattice.pitch_mm,
        lo=np.concatenate([clusters.lo, lo]),
        hi=np.concatenate([clusters.hi, hi]),
        region=np.concatenate([areas.region, whole * inside]),
        left_over=np.concatenate([areas.left_over, (whole - cleared) * inside]),
        spill=np.concatenate([areas.spill, cleared * ~inside]),
    )
