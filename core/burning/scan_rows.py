"""Scan rows: a fill region cut into the spans along which the beam is on.

Rows lie in the *scan frame*: the bed frame turned about its origin so that x runs along the rows and y across them.
Cost grows with the number of edge crossings, never with the area.
"""

import itertools
import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.burning.row_order import by_row_and_place
from core.errors import JobError
from core.geometry.affine import Affine, apply, inverse, rotation
from core.progress import Progress, silent

Floats = NDArray[np.float64]

MAX_ROWS = 250_000
MAX_CROSSINGS = 40_000_000
CROSSINGS_AT_ONCE = 250_000
NO_INSET_MM = 1e-6
_POLYGONS_AT_ONCE = 2_000
_POINTS_AT_ONCE = 20_000


@dataclass(frozen=True, kw_only=True, eq=False)
class ScanRows:
    """Rows of spans, in the scan frame.

    row_y_mm (r,): evenly spaced by the pitch, rising; rows may be empty. row_index (n,), x0_mm (n,), x1_mm (n,): the
    spans, sorted by row, then by x; within a row they neither touch nor overlap, and x0 < x1. edge, (2, n): at which
    of the region's edges each begins and ends; None where that is not known.
    """

    pitch_mm: float
    scan_angle_deg: float
    row_y_mm: Floats
    row_index: NDArray[np.intp]
    x0_mm: Floats
    x1_mm: Floats
    edge: NDArray[np.int32] | None = None

    def __len__(self) -> int:
        return len(self.row_index)

    @property
    def to_bed(self) -> Affine:
        """Scan frame to bed frame: a turn about the origin."""
        return rotation(self.scan_angle_deg)

    @property
    def from_bed(self) -> Affine:
        """Bed frame to scan frame."""
        return inverse(self.to_bed)

    @cached_property
    def row_starts(self) -> NDArray[np.intp]:
        """(r + 1,): the spans of row i are ``row_starts[i]:row_starts[i + 1]``."""
        return np.searchsorted(self.row_index, np.arange(len(self.row_y_mm) + 1)).astype(np.intp)

    @property
    def length_mm(self) -> float:
        """Sum of all span lengths."""
        return float((self.x1_mm - self.x0_mm).sum())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RegionEdges:
    """Edges of a region's rings, (m,) each, ring after ring.

    x0, y0, x1, y1: the lower-y end first. sign: +1 where a walk towards +x enters the region, -1 where it leaves
    (without meaning for a level edge). part: index of the polygon the edge belongs to.
    """

    x0: Floats
    y0: Floats
    x1: Floats
    y1: Floats
    sign: NDArray[np.int8]
    part: NDArray[np.intp]


def scan_rows(
    region_bed: BaseGeometry,
    *,
    pitch_mm: float,
    angle_deg: float,
    edge_inset_mm: float = 0.0,
    edges: RegionEdges | None = None,
    progress: Progress = silent,
) -> ScanRows:
    """Scan rows of a region of the bed frame; the first row lies half a pitch inside its extent.

    angle_deg turns the rows from +x towards +y. edge_inset_mm draws the region in first (see ``inset_region``).
    edges: ``edges_in_scan_frame`` of the region, where they are known. Raises JobError when the pitch is not above
    zero, or so small that rows or spans would run into tens of millions.
    """
    if not (math.isfinite(pitch_mm) and pitch_mm > 0):
        raise JobError(
            f"A pitch of {pitch_mm:g} mm makes no scan rows.", hint="Give a pitch above zero, like 0.042 mm."
        )
    if not math.isfinite(angle_deg):
        raise JobError("The scan angle is not a number.", hint="Give an angle in degrees, like 0 or 45.")
    if edge_inset_mm:
        region_bed, edges = inset_region(region_bed, edge_inset_mm, progress=progress), None
    if edges is None:
        edges = edges_in_scan_frame(region_bed, angle_deg)
    row_y_mm = _row_heights(edges, pitch_mm)
    rows, x0, x1, edge = _spans(edges, row_y_mm, progress)
    return ScanRows(
        pitch_mm=pitch_mm,
        scan_angle_deg=angle_deg,
        row_y_mm=row_y_mm,
        row_index=rows,
        x0_mm=x0,
        x1_mm=x1,
        edge=edge,
    )


def spans_of_rows(
    edges: RegionEdges, row_y_mm: Floats, *, progress: Progress = silent
) -> tuple[NDArray[np.intp], Floats, Floats]:
    """Where rows at rising heights run through a region, (row_index, x0, x1), sorted. Raises JobError as above."""
    return _spans(edges, row_y_mm, progress)[:3]


_Spans = tuple[NDArray[np.intp], Floats, Floats, NDArray[np.int32]]


def _spans(edges: RegionEdges, row_y_mm: Floats, progress: Progress) -> _Spans:
    """(row_index, x0, x1, edge), see ``ScanRows``."""
    first, last = rows_crossed(edges, row_y_mm)
    _check_crossings(int((last - first).sum()), row_y_mm)
    parts = []
    for row_a, row_b in row_bands(first, last, len(row_y_mm)):
        progress(row_a / len(row_y_mm), "scan rows")
        parts.append(_spans_of_band(edges, first, last, row_y_mm, row_a, row_b))
    if not parts:
        return _NO_SPANS
    rows, x0, x1, edge = (np.concatenate(column, axis=-1) for column in zip(*parts, strict=True))
    return rows, x0, x1, edge


_NO_SPANS: _Spans = (np.zeros(0, np.intp), np.zeros(0), np.zeros(0), np.zeros((2, 0), np.int32))


def inset_region(region: BaseGeometry, inset_mm: float, *, progress: Progress = silent) -> BaseGeometry:
    """The region drawn in by ``inset_mm``; parts too thin to survive that are kept as drawn.

    Kept parts reach one inset into the drawn-in body, so that what was joined stays joined.
    """
    if not (math.isfinite(inset_mm) and inset_mm >= 0):
        raise JobError(
            f"An edge inset of {inset_mm:g} mm can't be had.", hint="Give 0 or a small length, like 0.03 mm."
        )
    if inset_mm < NO_INSET_MM or region.is_empty:
        return region
    progress(0.0, "drawing edges in")
    if shapely.get_num_coordinates(region) <= _POINTS_AT_ONCE:
        return _drawn_in(region, inset_mm)
    polygons = shapely.get_parts(region)
    ends = np.cumsum(shapely.get_num_coordinates(polygons)) // _POINTS_AT_ONCE
    found: list[shapely.Polygon] = []  # parts that do not overlap stay apart, so that some at a time come to the same
    for some in np.split(polygons, np.flatnonzero(np.diff(ends)) + 1):
        progress(0.0, "drawing edges in")
        parts = shapely.get_parts(_drawn_in(shapely.MultiPolygon(some.tolist()), inset_mm))
        found += parts[shapely.get_type_id(parts) == 3].tolist()
    return shapely.MultiPolygon(found)


def _drawn_in(region: BaseGeometry, inset_mm: float) -> BaseGeometry:
    drawn_in = region.buffer(-inset_mm)
    restored = shapely.make_valid(drawn_in.buffer(inset_mm * 1.001, join_style="mitre", mitre_limit=5.0))
    lost = shapely.get_parts(region.difference(restored))
    lost = lost[shapely.area(lost) > inset_mm**2]  # what a mitre limit takes off sharp corners is no feature
    if not len(lost):
        return drawn_in
    kept = shapely.union_all(lost).buffer(1.01 * inset_mm).intersection(region)
    return drawn_in.union(kept)


def region_in_scan_frame(region_bed: BaseGeometry, angle_deg: float) -> BaseGeometry:
    """The region turned from the bed frame into the scan frame."""
    if angle_deg == 0.0:
        return region_bed
    matrix = inverse(rotation(angle_deg))
    return shapely.transform(region_bed, lambda points: apply(matrix, points))


def edges_in_scan_frame(region_bed: BaseGeometry, angle_deg: float) -> RegionEdges:
    """``region_edges`` of a region of the bed frame, turned into the scan frame."""
    return region_edges(region_in_scan_frame(region_bed, angle_deg))


def region_edges(region: BaseGeometry) -> RegionEdges:
    """All edges of a valid (Multi)Polygon. Raises JobError when coordinates are not finite."""
    points, ring_of_point, part_of_ring = _ring_points(region)
    if not np.isfinite(points).all():
        raise JobError("A fill has coordinates that are not numbers.", hint="Mend the artwork or leave the shape out.")
    inner = ring_of_point[1:] == ring_of_point[:-1]
    ring = ring_of_point[:-1][inner]
    (ax, ay), (bx, by) = (some[inner].T.copy() for some in (points[:-1], points[1:]))
    rises = by > ay
    # anticlockwise shells and clockwise holes have the inside to their left: at -x of a rising edge
    is_hole = np.zeros(len(part_of_ring), bool)
    is_hole[1:] = part_of_ring[1:] == part_of_ring[:-1]
    first = np.searchsorted(ring, np.arange(len(part_of_ring)))
    ox, oy = (values[first][ring] if len(values) else values for values in (ax, ay))
    doubled = np.bincount(ring, (ax - ox) * (by - oy) - (ay - oy) * (bx - ox), minlength=len(part_of_ring))
    inside_is_left = (doubled > 0) != is_hole
    return RegionEdges(
        x0=np.where(rises, ax, bx),
        y0=np.where(rises, ay, by),
        x1=np.where(rises, bx, ax),
        y1=np.where(rises, by, ay),
        sign=np.where(rises == inside_is_left[ring], -1, 1).astype(np.int8),
        part=part_of_ring[ring].astype(np.intp),
    )


def _ring_points(region: BaseGeometry) -> tuple[Floats, NDArray[np.intp], NDArray[np.intp]]:
    """Points (n, 2) of all rings, the ring of each, and the polygon of each ring."""
    points, rings, parts = [np.zeros((0, 2))], [np.zeros(0, np.intp)], [np.zeros(0, np.intp)]
    ring_count = part_count = 0
    every = np.arange(shapely.get_num_geometries(region))
    for begin in range(0, len(every), _POLYGONS_AT_ONCE):  # what is asked for is copied
        polygons: NDArray[np.object_] = np.asarray(
            shapely.get_geometry(region, every[begin : begin + _POLYGONS_AT_ONCE])
        )
        polygons = polygons[(shapely.get_type_id(polygons) == 3) & ~shapely.is_empty(polygons)]
        own, part = shapely.get_rings(polygons, return_index=True)
        places, ring = shapely.get_coordinates(own, return_index=True)
        points.append(places)
        rings.append(ring + ring_count)
        parts.append(part + part_count)
        ring_count, part_count = ring_count + len(own), part_count + len(polygons)
    return np.concatenate(points), np.concatenate(rings), np.concatenate(parts)


def rows_crossed(edges: RegionEdges, row_y_mm: Floats) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """First row and row after the last that each edge crosses, (m,) each.

    An edge owns its lower end and not its upper one, so a row through a vertex counts each side once and a peak
    twice or never.
    """
    return _rows_before(row_y_mm, edges.y0), _rows_before(row_y_mm, edges.y1)


def _rows_before(row_y_mm: Floats, y: Floats) -> NDArray[np.intp]:
    """How many rows lie below each height, (m,): reckoned, and looked up where that is not so."""
    if len(row_y_mm) > 1:
        per_row = (len(row_y_mm) - 1) / (row_y_mm[-1] - row_y_mm[0])
        count: NDArray[np.intp] = np.clip(np.ceil((y - row_y_mm[0]) * per_row), 0, len(row_y_mm)).astype(np.intp)
        framed = np.concatenate([[-math.inf], row_y_mm, [math.inf]])
        count += framed[count + 1] < y  # by rounding it may be one off
        count -= framed[count] >= y
        if ((framed[count] < y) & (framed[count + 1] >= y)).all():
            return count
    return np.searchsorted(row_y_mm, y, side="left").astype(np.intp)


def _row_heights(edges: RegionEdges, pitch_mm: float) -> Floats:
    if not len(edges.y0):
        return np.zeros(0)
    y0, y1 = float(edges.y0.min()), float(edges.y1.max())
    wanted = (y1 - y0) / pitch_mm
    if wanted > MAX_ROWS:
        raise JobError(
            f"A pitch of {pitch_mm:g} mm makes {wanted:,.0f} scan rows over a fill {y1 - y0:.4g} mm high.",
            hint=f"Give a pitch of at least {(y1 - y0) / MAX_ROWS:.2g} mm.",
        )
    heights: Floats = y0 + pitch_mm * (np.arange(math.ceil(wanted) + 1, dtype=np.float64) + 0.5)
    return heights[heights < y1]


def _check_crossings(crossings: int, row_y_mm: Floats) -> None:
    if crossings > MAX_CROSSINGS:
        pitch_mm = float(row_y_mm[1] - row_y_mm[0]) if len(row_y_mm) > 1 else 0.0
        factor = crossings / MAX_CROSSINGS
        raise JobError(
            f"A pitch of {pitch_mm:g} mm cuts this fill into {crossings // 2:,} spans.",
            hint=f"Give a pitch of at least {pitch_mm * factor:.2g} mm, or simplify the fill.",
        )


def row_bands(first: NDArray[np.intp], last: NDArray[np.intp], row_count: int) -> list[tuple[int, int]]:
    """Bands of rows that hold about ``CROSSINGS_AT_ONCE`` crossings each."""
    change = np.bincount(first, minlength=row_count + 1) - np.bincount(last, minlength=row_count + 1)
    crossings = np.cumsum(np.cumsum(change[:row_count]))
    if not row_count or not crossings[-1]:
        return []
    count = int(crossings[-1] // CROSSINGS_AT_ONCE) + 1
    cuts = np.searchsorted(crossings, crossings[-1] * np.arange(1, count) / count)
    borders = np.unique(np.concatenate([[0], cuts, [row_count]])).tolist()
    return list(itertools.pairwise(borders))


def _spans_of_band(
    edges: RegionEdges,
    first: NDArray[np.intp],
    last: NDArray[np.intp],
    row_y_mm: Floats,
    row_a: int,
    row_b: int,
) -> _Spans:
    """Spans of rows ``row_a <= row < row_b``: (row_index, x0, x1, edge), sorted."""
    low, high = np.maximum(first, row_a), np.minimum(last, row_b)
    some = np.flatnonzero(high > low)
    counts = high[some] - low[some]
    edge = np.repeat(some, counts)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(low[some], counts)
    share = (row_y_mm[row] - edges.y0[edge]) / (edges.y1[edge] - edges.y0[edge])
    x = edges.x0[edge] + share * (edges.x1[edge] - edges.x0[edge])
    order = by_row_and_place(row, x)
    row, x = row[order], x[order]
    row_index, x0, x1 = row[::2], x[::2], x[1::2]
    touching = np.zeros(len(x0), bool)  # two rings that meet at a point of the row make one span
    touching[1:] = (row_index[1:] == row_index[:-1]) & (x0[1:] <= x1[:-1])
    starts = np.flatnonzero(~touching)
    ends = np.append(starts[1:], len(x0)) - 1 if len(starts) else starts
    row_index, x0, x1 = row_index[starts], x0[starts], x1[ends]
    real = x1 > x0
    ends_at = np.stack([edge[order[2 * starts]], edge[order[2 * ends + 1]]]).astype(np.int32)
    return row_index[real], x0[real], x1[real], ends_at[:, real]
