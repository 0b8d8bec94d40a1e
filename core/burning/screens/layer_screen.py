"""All pictures of a fill as one screen: spans on one lattice of rows, in the scan frame of artwork not placed yet."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.burning.dose import Floats
from core.burning.scan_rows import ScanRows, region_edges, spans_of_rows
from core.burning.screens.screening import Screened
from core.burning.screens.spans import Spans, bands_of, clipped, merged
from core.geometry.affine import Affine, apply, apply_to_region, compose, inverse
from core.geometry.engine import shared

_MOST_SUMMED = 400_000
_NARROW_GAP_MM = 2.0
_MOST_SWEPT = 20_000


@dataclass(frozen=True, kw_only=True, eq=False)
class ScreenedPart:
    """One picture, or one copy of it: its screen, and the region of the scan frame in which it shows."""

    shape_id: str
    made: Screened
    region: BaseGeometry

    @property
    def is_whole(self) -> bool:
        """Whether nothing of the picture is covered or clipped."""
        return bool(self.region.area > self.made.source.area_mm2 * (1 - 1e-6))

    @cached_property
    def wanted_mm2(self) -> float:
        """The area that its tones want bared."""
        wanted, to_scan = self.made.source.wanted, inverse(self.made.source.to_px)
        px_mm2 = abs(to_scan[0] * to_scan[3] - to_scan[1] * to_scan[2])
        if self.is_whole:
            return float(wanted.sum(dtype=np.float64)) * px_mm2
        step = max(1, int(np.ceil(np.sqrt(wanted.size / _MOST_SUMMED))))
        some = wanted[::step, ::step]
        row, column = (np.arange(count) * step + step / 2 for count in some.shape)
        x, y = np.meshgrid(column, row)
        places = apply(to_scan, np.stack([x, y], axis=-1))
        return float(some[self.holds(places)].sum(dtype=np.float64)) * px_mm2 * step**2

    def holds(self, places: Floats) -> np.ndarray:
        """Whether places (..., 2) of the scan frame lie where it shows."""
        shapely.prepare(self.region)
        result: np.ndarray = shapely.contains_xy(self.region, places[..., 0], places[..., 1])
        return result


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShownTones:
    """A picture as it will be bared: shares (h, w), 0 nothing to 255 all; to_drawing: from its pixels; region: where it
    shows, drawing frame."""

    shares: NDArray[np.uint8]
    to_drawing: Affine
    region: BaseGeometry


@dataclass(frozen=True, kw_only=True, eq=False)
class LayerScreen:
    """parts: the pictures, copies counted one by one. spans: of all of them. to_drawing: from the scan frame."""

    parts: tuple[ScreenedPart, ...]
    spans: Spans
    to_drawing: Affine

    @property
    def screens(self) -> Mapping[str, Screened]:
        """Each picture's screen by its shape's id; of copies the first one's."""
        return {part.shape_id: part.made for part in reversed(self.parts)}

    @cached_property
    def wanted_mm2(self) -> float:
        """The area that all tones want bared."""
        return sum(part.wanted_mm2 for part in self.parts)

    @property
    def clipped_share(self) -> float:
        """How much of the pictures is darker than what is held, by their areas."""
        total = sum(part.region.area for part in self.parts)
        return float(sum(part.region.area * part.made.clipped_share for part in self.parts) / max(total, 1e-9))

    @property
    def lightest(self) -> float:
        """The lightest tone over nothing that all hold."""
        return max(part.made.lightest for part in self.parts)

    @property
    def darkest(self) -> float:
        """The darkest tone that all hold."""
        return min(part.made.curve.darkest for part in self.parts)

    @cached_property
    def shown(self) -> tuple[ShownTones, ...]:
        """The pictures as the rows will bare them, for whoever draws them."""
        return tuple(
            ShownTones(
                shares=np.rint(255 * np.minimum(part.made.source.wanted, part.made.curve.darkest)).astype(np.uint8),
                to_drawing=compose(self.to_drawing, inverse(part.made.source.to_px)),
                region=apply_to_region(self.to_drawing, part.region),
            )
            for part in self.parts
        )

    def bands_mm(self, from_drawing: Affine, *, every: int = 1) -> Floats:
        """Corners (n, 4, 2) of what is handed over for the spans, through ``from_drawing``; of every so-manieth."""
        some = self.spans if every == 1 else self.spans[::every]
        return bands_of(some, compose(from_drawing, self.to_drawing))

    def swept(self) -> BaseGeometry:
        """What the head sweeps over, drawing frame: the spans with the gaps between them that no machine burns apart.

        Much less than the pictures' boxes where wide parts of them are to stay as they are.
        """
        spans = self.spans
        row, x0, x1 = merged(spans.row, spans.x0_mm, spans.x1_mm, least_gap_mm=_NARROW_GAP_MM)
        every = -(-len(row) // _MOST_SWEPT) or 1
        some = row % every == 0
        row, x0, x1 = row[some], x0[some], x1[some]
        top = spans.y0_mm + (row - 0.5) * spans.pitch_mm
        boxes = shapely.box(x0, top, x1, top + every * spans.pitch_mm)
        return apply_to_region(self.to_drawing, shapely.union_all(boxes))

    def within(self, region: BaseGeometry) -> "LayerScreen | None":
        """What of it lies in a region of the drawing; None where nothing does."""
        own = apply_to_region(inverse(self.to_drawing), region)
        parts = []
        for part in self.parts:
            left = shared(part.region, own)
            if not left.is_empty:
                parts.append(replace(part, region=left))
        return replace(self, parts=tuple(parts), spans=clipped(self.spans, own)) if parts else None

    def rows_with(self, solid: BaseGeometry, scan_angle_deg: float) -> tuple[ScanRows, ScanRows]:
        """(all rows, those of the solid region alone), on the screen's lattice; solid: scan frame."""
        spans, pitch = self.spans, self.spans.pitch_mm
        first_y, count = spans.y0_mm, spans.row_count
        if not solid.is_empty:
            _, top, _, bottom = solid.bounds
            above = max(0, int(np.ceil((first_y - top) / pitch - 1e-9)))
            first_y -= above * pitch
            count = max(count + above, int(np.ceil((bottom - first_y) / pitch)))
        above = round((spans.y0_mm - first_y) / pitch)
        row_y_mm = first_y + pitch * np.arange(count, dtype=float)
        row, x0, x1 = spans_of_rows(region_edges(solid), row_y_mm) if not solid.is_empty else _NONE
        of_solid = ScanRows(
            pitch_mm=pitch, scan_angle_deg=scan_angle_deg, row_y_mm=row_y_mm, row_index=row, x0_mm=x0, x1_mm=x1
        )
        if not len(row):
            return replace(of_solid, row_index=spans.row + above, x0_mm=spans.x0_mm, x1_mm=spans.x1_mm), of_solid
        rows = np.concatenate([row, spans.row + above])
        begin, end = np.concatenate([x0, spans.x0_mm]), np.concatenate([x1, spans.x1_mm])
        order = np.lexsort((begin, rows))
        rows, begin, end = merged(rows[order], begin[order], end[order], least_gap_mm=0.0)
        return replace(of_solid, row_index=rows, x0_mm=begin, x1_mm=end), of_solid


_NONE = (np.zeros(0, np.intp), np.zeros(0), np.zeros(0))
