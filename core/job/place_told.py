"""Where a place puts the artwork, in words that can be measured: its box on the sheet, and its page's own corner."""

from dataclasses import dataclass

import numpy as np
import shapely

from core.geometry.affine import Affine, apply, apply_to_region
from core.job.decisions import placed_bounds_mm
from core.job.plan import Plan
from core.sheet.faces import Corner, turn_matrix
from core.sheet.ground import Footprint, Placed
from core.sheet.placement import placement_matrix

Bounds = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceTold:
    """box_mm: of all that is burned, from the sheet's top left corner, front. page_mm: where the top left corner of the
    artwork's page comes to. page_corner: which corner of the page, as it then lies, that is; "" where it lies askew."""

    box_mm: Bounds
    page_mm: tuple[float, float]
    page_corner: Corner | str
    rotation_deg: float

    @property
    def words(self) -> str:
        """``"burned from 12.00, 8.00 to 52.00, 68.00 mm; turned 90°, …"``."""
        x0, y0, x1, y1 = self.box_mm
        box = f"burned from {x0:.2f}, {y0:.2f} to {x1:.2f}, {y1:.2f} mm"
        page = f"the top left corner of the artwork's page comes to {self.page_mm[0]:.2f}, {self.page_mm[1]:.2f}"
        if not self.rotation_deg % 360:
            return f"{box}; {page}"
        lies = f", now its {self.page_corner}" if self.page_corner else ""
        return f"{box}; turned {self.rotation_deg % 360:g}°, {page}{lies}"


_CORNERS: dict[int, Corner] = {0: "top left", 90: "top right", 180: "bottom right", 270: "bottom left"}


def told_of_plan(plan: Plan) -> PlaceTold | None:
    """Where the plan's artwork lies; None where nothing is burned."""
    bounds = placed_bounds_mm(plan)
    return None if bounds is None else _told(plan.drawing_to_front, bounds, plan.job.placement.rotation_deg)


def told_of_place(footprint: Footprint, placed: Placed) -> PlaceTold:
    """Where a place that was found would put it, what burning takes away counted."""
    matrix = placement_matrix(placed.x_mm, placed.y_mm, placed.rotation_deg)
    return _told(matrix, apply_to_region(matrix, footprint.burned).bounds, placed.rotation_deg)


def _told(to_front: Affine, bounds: Bounds, rotation_deg: float) -> PlaceTold:
    x_mm, y_mm = apply(to_front, np.zeros((1, 2)))[0].tolist()
    return PlaceTold(
        box_mm=bounds,
        page_mm=(_zero(x_mm), _zero(y_mm)),
        page_corner=_CORNERS.get(round(rotation_deg % 360, 6), ""),  # type: ignore[call-overload]
        rotation_deg=rotation_deg,
    )


def _zero(value: float) -> float:
    """No minus before a zero."""
    return 0.0 if abs(value) < 5e-3 else value


def box_on_bed(plan: Plan) -> Bounds | None:
    """The box of what is burned as it lies on the bed, from the top left corner of the sheet's box there."""
    bounds = placed_bounds_mm(plan)
    if bounds is None:
        return None
    return apply_to_region(turn_matrix(plan.job.turn, plan.job.sheet), shapely.box(*bounds)).bounds
