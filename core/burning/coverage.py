"""What the scan rows bare, against what the fill region asks for: left-over coat, spill, lost features.

Cleared is where the dose of the spans and passes together reaches the clearing dose, each span with the dose of a line
of its length (``dose``). The verdict is careful: coat is left over where no hit alone clears it (S = 1), and is spilt
where all hits together would (S = 0). See ``strips``, ``bared`` and ``cluster_areas``; cost grows with edge crossings.
"""

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.burning.baring import reach_mm
from core.burning.coverage_bands import parts
from core.burning.coverage_map import MAX_PLACES, Bounds, CoverageGrid, Place, Stretches, Tally
from core.burning.dose import CAREFUL_CLEARING_S, CAREFUL_SPILL_S, ClearingLine
from core.burning.lost_features import Geometries, lost_places, polygons_of, thin_stretches, unhit_parts
from core.burning.outlines import Outlines, outlines_of
from core.burning.row_starts import share_of_starts_that_hit_all
from core.burning.scan_rows import RegionEdges, ScanRows, edges_in_scan_frame
from core.errors import JobError
from core.geometry.affine import apply
from core.progress import Progress, part, silent

Floats = NDArray[np.float64]

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
    del fine  # a million crossings take as much memory as looking for thin parts
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
    for done in parts(edges, rows, line, s, wanted, fine):
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
