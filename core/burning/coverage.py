"""What one pass over the scan rows bares, against what the fill region asks for."""

from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.affine import IDENTITY, Affine, apply
from core.burning.scan_rows import ScanRows
from core.progress import Progress, silent

Floats = NDArray[np.float64]
PlaceKind = Literal["lost", "left over", "spill"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One place worth a look, in the bed frame. bounds_mm: (x0, y0, x1, y1)."""

    kind: PlaceKind
    words: str
    area_mm2: float
    x_mm: float
    y_mm: float
    bounds_mm: tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CoverageGrid:
    """Shares of left-over coat and spill on a coarse grid, for a map seen from afar.

    left_over_share, spill_share: (rows, columns), area over the cell's whole area. to_bed takes (column, row), cells
    counted from their corner at (0, 0), to the bed frame in mm.
    """

    cell_mm: float
    left_over_share: Floats
    spill_share: Floats
    to_bed: Affine


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Coverage:
    """Predicted clearing of one fill.

    left_over_mm2: coat that stays inside the region; spill_mm2: coat removed outside it. lost_features: how many
    parts of the region no row hits, or come out wider than drawn. places: worst first, at most ``MAX_PLACES``.
    """

    cleared_width_mm: float
    region_mm2: float
    cleared_mm2: float
    left_over_mm2: float
    spill_mm2: float
    lost_features: int
    places: tuple[Place, ...]
    grid: CoverageGrid

    @property
    def left_over_pct(self) -> float:
        """Left-over coat as a share of the region, percent; 0 for an empty region."""
        return 100 * self.left_over_mm2 / self.region_mm2 if self.region_mm2 else 0.0


def coverage(
    region_bed: BaseGeometry, rows: ScanRows, *, cleared_width_mm: float, progress: Progress = silent
) -> Coverage:
    """Left-over coat and spill of a region's rows, each swept by a disc of the cleared width."""
    y = rows.row_y_mm[rows.row_index]
    ends = np.stack([np.stack([rows.x0_mm, y], -1), np.stack([rows.x1_mm, y], -1)], 1)
    spans = shapely.transform(shapely.linestrings(ends), lambda points: apply(rows.to_bed, points))
    cleared = shapely.union_all(shapely.buffer(spans, cleared_width_mm / 2))
    empty = np.zeros((1, 1))
    return Coverage(
        cleared_width_mm=cleared_width_mm,
        region_mm2=region_bed.area,
        cleared_mm2=cleared.area,
        left_over_mm2=region_bed.difference(cleared).area,
        spill_mm2=cleared.difference(region_bed).area,
        lost_features=0,
        places=(),
        grid=CoverageGrid(cell_mm=1.0, left_over_share=empty, spill_share=empty, to_bed=IDENTITY),
    )
