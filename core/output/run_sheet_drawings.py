"""Pictures on the run sheet: faces, the finished front, masks, timetable bars. All read in black and white."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

import numpy as np
import shapely
from reportlab.platypus import Flowable
from shapely.geometry.base import BaseGeometry

from core.finishing.steps import PaintPlan, PaintStep, front_view
from core.finishing.timetable import Timetable, time_text
from core.geometry.affine import Affine, apply, apply_to_region
from core.geometry.flattening import flatten
from core.geometry.path import Path
from core.job.plan import Plan
from core.output.mask_files import MARK_ARM_MM, MARK_RADIUS_MM, film_frame, register_marks_mm
from core.sheet.faces import Corner, turn_matrix, turned_corner

_PICTURE_TOLERANCE_MM = 0.05
_DARK, _LIGHT, _LINE = 0.2, 0.86, 0.45
MOST_BARS = 8


class _Picture(Flowable):  # type: ignore[misc]  # the library has no types
    """Something drawn in mm, y down, fitted into a box of points."""

    def __init__(self, bounds_mm: tuple[float, float, float, float], width: float, height: float) -> None:
        super().__init__()
        x0, y0, x1, y1 = bounds_mm
        self.scale = min(width / max(x1 - x0, 1e-6), height / max(y1 - y0, 1e-6))
        self.width, self.height = (x1 - x0) * self.scale, (y1 - y0) * self.scale
        self._left_mm, self._bottom_mm = x0, y1

    def wrap(self, *_: float) -> tuple[float, float]:
        """The size on the page, points."""
        return self.width, self.height

    def point(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """A place of the picture on the page, points."""
        return (x_mm - self._left_mm) * self.scale, (self._bottom_mm - y_mm) * self.scale

    def region(self, region: BaseGeometry, *, fill: Any = None, line: float | None = None, width: float = 0.4) -> None:
        """Draw a region, even-odd; ``fill`` is a grey or a "#rrggbb", ``line`` a grey, ``width`` in points."""
        path = self.canv.beginPath()
        for part in shapely.get_parts(shapely.simplify(region, _PICTURE_TOLERANCE_MM)):
            if not isinstance(part, shapely.Polygon):
                continue
            for ring in (part.exterior, *part.interiors):
                self._trace(path, shapely.get_coordinates(ring)[:-1], closed=True)
        if isinstance(fill, str):
            self.canv.setFillColor(fill)
        elif fill is not None:
            self.canv.setFillGray(fill)
        if line is not None:
            self.canv.setStrokeGray(line)
            self.canv.setLineWidth(width)
        self.canv.drawPath(path, fill=int(fill is not None), stroke=int(line is not None), fillMode=0)

    def lines(self, paths: Sequence[Path], to_picture: Affine, *, width: float, dashes: Sequence[float] = ()) -> None:
        """Draw paths as black lines, widths and dashes in points."""
        self.canv.setStrokeGray(0.0)
        self.canv.setLineWidth(width)
        self.canv.setDash(list(dashes))
        drawn = self.canv.beginPath()
        for path in paths:
            flat = flatten(path.transformed(to_picture), _PICTURE_TOLERANCE_MM)
            for index in range(len(flat.starts) - 1):
                points = flat.points[flat.starts[index] : flat.starts[index + 1]]
                self._trace(drawn, points, closed=bool(path.closed[index]))
        self.canv.drawPath(drawn, fill=0, stroke=1)
        self.canv.setDash([])

    def label(self, x_mm: float, y_mm: float, text: str, size: float = 8.0) -> None:
        """A number in a white disc."""
        x, y = self.point(x_mm, y_mm)
        self.canv.setFillGray(1.0)
        self.canv.setStrokeGray(0.0)
        self.canv.setLineWidth(0.6)
        self.canv.circle(x, y, size * 0.72, fill=1, stroke=1)
        self.canv.setFillGray(0.0)
        self.canv.setFont("Helvetica-Bold", size)
        self.canv.drawCentredString(x, y - size * 0.36, text)

    def _trace(self, path: Any, points: np.ndarray, *, closed: bool) -> None:
        if len(points) < 2:
            return
        path.moveTo(*self.point(*points[0]))
        for x, y in points[1:].tolist():
            path.lineTo(*self.point(x, y))
        if closed:
            path.close()


class FacePicture(_Picture):
    """One face of the sheet as it lies: what is burned, and the corner that meets the stop."""

    def __init__(self, plan: Plan, *, bed: bool, width: float, height: float) -> None:
        sheet = plan.job.sheet
        super().__init__((0.0, 0.0, sheet.width_mm, sheet.height_mm), width, height)
        self._plan = plan
        self._to_face = turn_matrix(plan.job.turn, sheet) if bed else (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        corner: Corner = plan.job.stop_corner
        self._corner = corner if bed else turned_corner(corner, plan.job.turn)

    def draw(self) -> None:
        """Draw on the page."""
        sheet = self._plan.job.sheet
        self.region(shapely.box(0.0, 0.0, sheet.width_mm, sheet.height_mm), fill=1.0, line=0.0, width=1.0)
        for layer in self._plan.layers:
            if not layer.region.is_empty:
                self.region(apply_to_region(self._to_face, layer.region), fill=_DARK)
            elif layer.layer.purpose == "cut":
                self.lines(layer.paths, self._to_face, width=1.4)
            elif layer.layer.purpose == "score":
                self.lines(layer.paths, self._to_face, width=0.7, dashes=(4, 2))
        self._corner_mark()

    def _corner_mark(self) -> None:
        """A black triangle in the corner that meets the machine's stop."""
        vertical, horizontal = self._corner.split()
        x, y = (self.width if horizontal == "right" else 0.0), (self.height if vertical == "top" else 0.0)
        inward_x, inward_y = (-1 if horizontal == "right" else 1), (-1 if vertical == "top" else 1)
        path = self.canv.beginPath()
        path.moveTo(x, y)
        path.lineTo(x + inward_x * 16, y)
        path.lineTo(x, y + inward_y * 16)
        path.close()
        self.canv.setFillGray(0.0)
        self.canv.drawPath(path, fill=1, stroke=0)


class FinishedPicture(_Picture):
    """The front of the finished piece, each paint numbered by its place in the order."""

    def __init__(self, painting: PaintPlan, width: float, height: float) -> None:
        super().__init__(painting.colouring.outline.bounds, width, height)
        self._painting = painting

    def draw(self) -> None:
        """Draw on the page."""
        numbers = {step.area.paint.name: str(step.number) for step in self._painting.steps}
        for look in front_view(self._painting.colouring):
            fill: Any = look.colour if look.kind == "paint" else _LIGHT if look.kind == "coat" else 1.0
            self.region(look.region, fill=fill, line=_LINE, width=0.3)
        self.region(self._painting.colouring.outline, line=0.0, width=1.0)
        for area in self._painting.colouring.areas:
            x_mm, y_mm = roomiest_place_mm(area.region)
            self.label(x_mm, y_mm, numbers[area.paint.name])


class MaskPicture(_Picture):
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
        self.region(film, fill=_LIGHT, line=0.0, width=0.5)
        self.region(opening, fill=1.0, line=0.0, width=0.9)
        self.region(apply_to_region(to_film, self._step.area.region), fill=_DARK)
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
        masks = self._plan.job.finishing.masks
        outline = self._painting.colouring.outline
        marks = apply(to_film, register_marks_mm(self._painting.ground, masks.marks_mm, outline))
        self.canv.setStrokeGray(0.0)
        self.canv.setLineWidth(0.5)
        for x_mm, y_mm in marks.tolist():
            x, y = self.point(x_mm, y_mm)
            arm = max(MARK_ARM_MM * self.scale, 3.0)
            self.canv.line(x - arm, y, x + arm, y)
            self.canv.line(x, y - arm, x, y + arm)
            self.canv.circle(x, y, arm * MARK_RADIUS_MM / MARK_ARM_MM, fill=0, stroke=1)


class TimetableBars(Flowable):  # type: ignore[misc]  # the library has no types
    """One row a piece: coats black, masking and peeling hollow, waits a thin line."""

    def __init__(self, table: Timetable, width: float, *, font: str, row_height: float = 13.0) -> None:
        super().__init__()
        self._table, self._font, self._row = table, font, row_height
        self._pieces = min(len(table.done), MOST_BARS)
        self.width, self.height = width, self._pieces * row_height + 16.0

    def wrap(self, *_: float) -> tuple[float, float]:
        """The size on the page, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw on the page."""
        tasks = self._table.tasks
        start, end = tasks[0].start, max(task.end for task in tasks)
        span_s = max((end - start).total_seconds(), 60.0)
        left = 46.0

        def across(moment: Any) -> float:
            return float(left + (moment - start).total_seconds() / span_s * (self.width - left))

        self._hours(across, span_s)
        for piece in range(1, self._pieces + 1):
            y = self.height - piece * self._row
            own = [task for task in tasks if task.piece == piece]
            self.canv.setFont(self._font, 8.5)
            self.canv.setFillGray(0.0)
            self.canv.drawString(0.0, y + 2.5, f"piece {piece}")
            self.canv.setStrokeGray(0.0)
            self.canv.setLineWidth(0.5)
            self.canv.line(across(own[0].start), y + 5.0, across(own[-1].end), y + 5.0)
            for task in own:
                coat = task.link.kind in ("coat", "backing")
                wide = max(across(task.end) - across(task.start), 1.2)
                self.canv.setFillGray(0.0 if coat else 1.0)
                self.canv.rect(across(task.start), y + 1.0, wide, 8.0, fill=1, stroke=1)

    def _hours(self, across: Any, span_s: float) -> None:
        start = self._table.tasks[0].start
        step_h = next((h for h in (1, 2, 3, 6, 12, 24) if span_s / 3600 / h <= 12), 48)
        moment = start.replace(minute=0, second=0, microsecond=0)
        self.canv.setFont(self._font, 7.5)
        self.canv.setStrokeGray(0.7)
        self.canv.setLineWidth(0.3)
        while (moment - start).total_seconds() <= span_s:
            if moment >= start and moment.hour % min(step_h, 24) == 0:
                self.canv.line(across(moment), 12.0, across(moment), self.height)
                self.canv.setFillGray(0.0)
                label = time_text(moment, dated=self._table.dated, with_day=step_h >= 24)
                self.canv.drawCentredString(min(max(across(moment), 50.0), self.width - 12.0), 3.0, label)
            moment += timedelta(hours=1)


def roomiest_place_mm(region: BaseGeometry) -> tuple[float, float]:
    """The middle of the largest circle that fits into the largest part of a region."""
    part = max(shapely.get_parts(region), key=lambda one: one.area)
    line = shapely.maximum_inscribed_circle(part, tolerance=max(part.length / 500, 0.05))
    x, y = shapely.get_coordinates(line)[0].tolist()
    return float(x), float(y)
