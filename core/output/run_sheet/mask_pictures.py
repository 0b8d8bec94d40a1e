"""The finished front and the masks on the run sheet."""

from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.finishing.steps import PaintPlan, PaintStep, front_view
from core.geometry.affine import IDENTITY, Affine, apply, apply_to_region
from core.job.plan import Plan
from core.output.mask_film import film_frame
from core.output.run_sheet.pictures import DARK, LIGHT, LINE, Picture
from core.sheet.laid_datum import MARK_ARM_MM, MARK_RADIUS_MM


class FinishedPicture(Picture):
    """The front of the finished piece, each paint numbered by its place in the order."""

    def __init__(self, plan: Plan, painting: PaintPlan, width: float, height: float) -> None:
        super().__init__(painting.colouring.outline.bounds, width, height)
        self._plan, self._painting = plan, painting

    def draw(self) -> None:
        """Draw on the page."""
        numbers = {step.area.paint.name: str(step.number) for step in self._painting.steps}
        for look in front_view(self._painting.colouring):
            fill: Any = look.colour if look.kind == "paint" else LIGHT if look.kind == "coat" else 1.0
            self.region(look.region, fill=fill, line=LINE, width=0.3)
        for layer in self._plan.layers:
            self.standing_coat(layer, IDENTITY, LIGHT)
        self.region(self._painting.colouring.outline, line=0.0, width=1.0)
        for area in self._painting.colouring.areas:
            x_mm, y_mm = roomiest_place_mm(area.region)
            self.label(x_mm, y_mm, numbers[area.paint.name])


class MaskPicture(Picture):
    """One step's film as seen from the back: openings white in grey film, own areas dark, what waits outlined."""

    def __init__(self, plan: Plan, painting: PaintPlan, step: PaintStep, width: float, height: float) -> None:
        x0, y0, x1, y1 = painting.ground.film.bounds
        super().__init__((0.0, 0.0, x1 - x0, y1 - y0), width, height)
        self._plan, self._painting, self._step = plan, painting, step

    def draw(self) -> None:
        """Draw on the page."""
        to_film = film_frame(self._plan, self._painting.ground)
        film = apply_to_region(to_film, self._painting.ground.film)
        opening = film if self._step.opening is None else apply_to_region(to_film, self._step.opening)
        self.region(film, fill=LIGHT, line=0.0, width=0.5)
        self.region(opening, fill=1.0, line=0.0, width=0.9)
        self.region(apply_to_region(to_film, self._step.area.region), fill=DARK)
        for area in self._painting.colouring.areas:
            if area.paint.name in self._step.kept_off:
                self.region(apply_to_region(to_film, area.region), fill=0.7)
        if not self._step.patches.is_empty:
            self.region(apply_to_region(to_film, self._step.patches), line=0.0, width=0.9)
        self.canv.setDash([3, 2])
        self.region(apply_to_region(to_film, self._painting.colouring.outline), line=0.0, width=0.5)
        self.canv.setDash([])
        self._marks(to_film)

    def _marks(self, to_film: Affine) -> None:
        if self._plan.datum is None or not self._plan.datum.places:
            return
        marks = apply(to_film, np.array(self._plan.datum.places))
        self.canv.setStrokeGray(0.0)
        self.canv.setLineWidth(0.5)
        for x_mm, y_mm in marks.tolist():
            x, y = self.point(x_mm, y_mm)
            arm = max(MARK_ARM_MM * self.scale, 3.0)
            self.canv.line(x - arm, y, x + arm, y)
            self.canv.line(x, y - arm, x, y + arm)
            self.canv.circle(x, y, arm * MARK_RADIUS_MM / MARK_ARM_MM, fill=0, stroke=1)


def roomiest_place_mm(region: BaseGeometry) -> tuple[float, float]:
    """The middle of the largest circle that fits into the largest part of a region."""
    part = max(shapely.get_parts(region), key=lambda one: one.area)
    line = shapely.maximum_inscribed_circle(part, tolerance=max(part.length / 500, 0.05))
    x, y = shapely.get_coordinates(line)[0].tolist()
    return float(x), float(y)
