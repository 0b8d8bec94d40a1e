"""Spans of a screen, in the scan frame, and the region that they make for a receiving software."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.burning.dose import Floats
from core.burning.scan_rows import region_edges, spans_of_rows
from core.geometry.affine import Affine, apply
from core.geometry.rings import NOTHING

Ints = NDArray[np.intp]

_APART_MM = 1e-6
"""Bands of neighbouring rows must not share an edge; exports round this away, so that a row of any phase meets one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spans:
    """Spans of rows ``y0_mm + row · pitch_mm``, sorted by row, then x: row (n,), x0_mm, x1_mm (n,), none touching."""

    pitch_mm: float
    y0_mm: float
    row_count: int
    row: Ints
    x0_mm: Floats
    x1_mm: Floats

    def __len__(self) -> int:
        return len(self.row)

    def __getitem__(self, some: slice) -> "Spans":
        return replace(self, row=self.row[some], x0_mm=self.x0_mm[some], x1_mm=self.x1_mm[some])


def bands_of(spans: Spans, to_drawing: Affine) -> Floats:
    """Corners (n, 4, 2) of each span as a band one pitch high about its row, through ``to_drawing``.

    However the rows of a receiving software lie, one of them runs through each band.
    """
    middle = spans.y0_mm + spans.row * spans.pitch_mm
    half = (spans.pitch_mm - _APART_MM) / 2
    x0, x1, top, bottom = spans.x0_mm, spans.x1_mm, middle - half, middle + half
    corners = np.stack([x0, top, x1, top, x1, bottom, x0, bottom], axis=1).reshape(-1, 2)
    result: Floats = apply(to_drawing, corners).reshape(-1, 4, 2)
    return result


def region_of(spans: Spans, to_drawing: Affine) -> BaseGeometry:
    """The bands as a region."""
    if not len(spans):
        return NOTHING
    bands: Any = shapely.polygons(bands_of(spans, to_drawing))
    region: BaseGeometry = shapely.multipolygons(bands)
    return region


def clipped(spans: Spans, clip: BaseGeometry) -> Spans:
    """What of the spans lies within a region of the scan frame."""
    rows = spans_of_rows(region_edges(clip), spans.y0_mm + spans.pitch_mm * np.arange(spans.row_count, dtype=float))
    row, x0, x1 = _shared((spans.row, spans.x0_mm, spans.x1_mm), rows)
    return replace(spans, row=row, x0_mm=x0, x1_mm=x1)


Stretches = tuple[Ints, Floats, Floats]


def _shared(one: Stretches, other: Stretches) -> Stretches:
    """Where both have a span, of stretches (row, x0, x1) sorted by row, then x: a sweep over all their ends."""
    row = np.concatenate([one[0], one[0], other[0], other[0]])
    x = np.concatenate([one[1], one[2], other[1], other[2]])
    step = np.repeat([1, -1, 1, -1], [len(one[0])] * 2 + [len(other[0])] * 2)
    order = np.lexsort((step, x, row))
    row, x, depth = row[order], x[order], np.cumsum(step[order])
    both = np.flatnonzero(depth[:-1] == 2)
    real = x[both + 1] > x[both]
    both = both[real]
    return row[both], x[both], x[both + 1]


def put_together(parts: Sequence[Spans]) -> Spans:
    """Spans of several pictures on rows of one lattice, as spans of one; what overlaps or touches is made one."""
    pitch_mm = parts[0].pitch_mm
    first_y = min(part.y0_mm for part in parts)
    offsets = [round((part.y0_mm - first_y) / pitch_mm) for part in parts]
    row = np.concatenate([part.row + offset for part, offset in zip(parts, offsets, strict=True)])
    x0, x1 = (np.concatenate([getattr(part, name) for part in parts]) for name in ("x0_mm", "x1_mm"))
    if len(parts) > 1:
        order = np.lexsort((x0, row))
        row, x0, x1 = row[order], x0[order], x1[order]
        row, x0, x1 = merged(row, x0, x1, least_gap_mm=0.0)
    return Spans(
        pitch_mm=pitch_mm,
        y0_mm=first_y,
        row_count=max(part.row_count + offset for part, offset in zip(parts, offsets, strict=True)),
        row=row,
        x0_mm=x0,
        x1_mm=x1,
    )


def merged(row: Ints, x0: Floats, x1: Floats, *, least_gap_mm: float) -> tuple[Ints, Floats, Floats]:
    """Sorted spans, those of a row that lie closer than ``least_gap_mm`` made one."""
    if not len(row):
        return row, x0, x1
    opens = np.ones(len(row), bool)
    opens[1:] = (row[1:] != row[:-1]) | (x0[1:] - x1[:-1] > least_gap_mm)
    first = np.flatnonzero(opens)
    last = np.append(first[1:], len(row)) - 1
    return row[first], x0[first], x1[last]
