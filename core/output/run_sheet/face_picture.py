"""The faces of the sheet on the run sheet."""

import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region
from core.job.on_bed import stop_of, zones_on_front
from core.job.plan import Plan
from core.output.run_sheet.pictures import DARK, Picture
from core.sheet.faces import Corner, turn_matrix, turned_corner
from core.sheet.flaws import flaw_region
from core.sheet.offcuts import sheet_region


class FacePicture(Picture):
    """One face of the sheet as it lies: its outline and flaws, what is burned, and what meets the stop."""

    def __init__(self, plan: Plan, *, bed: bool, width: float, height: float) -> None:
        sheet = plan.job.sheet
        super().__init__((0.0, 0.0, sheet.width_mm, sheet.height_mm), width, height)
        self._plan = plan
        self._to_face = turn_matrix(plan.job.turn, sheet) if bed else (1.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        corner: Corner = plan.job.stop_corner
        self._stop, self._bed = stop_of(plan.job), bed
        self._corner = corner if bed else turned_corner(corner, plan.job.turn)

    def draw(self) -> None:
        """Draw on the page."""
        sheet = self._plan.job.sheet
        whole = sheet_region(sheet)
        self.region(apply_to_region(self._to_face, whole), fill=1.0, line=0.0, width=1.0)
        for layer in (*self._plan.datum_layers, *self._plan.layers):
            if not layer.region.is_empty:
                self.region(apply_to_region(self._to_face, layer.region), fill=DARK)
                self.standing_coat(layer, self._to_face, 1.0)
            elif layer.layer.purpose == "cut":
                self.lines(layer.paths, self._to_face, width=1.4)
            elif layer.layer.purpose == "score":
                self.lines(layer.paths, self._to_face, width=0.7, dashes=(4, 2))
        self._flaws(whole)
        self._zones(whole)
        if self._stop.corner_there:
            self._corner_mark()
        if self._bed:
            self._fences()

    def _flaws(self, whole: BaseGeometry) -> None:
        """Flaws of the sheet: grey with a dotted rim, over what is burned."""
        sheet = self._plan.job.sheet
        self.canv.setDash([1, 1.5])
        for flaw in sheet.flaws:
            region = shapely.intersection(flaw_region(flaw, sheet), whole)
            self.region(apply_to_region(self._to_face, region), fill=0.6, line=0.0, width=0.9)
        self.canv.setDash([])

    def _zones(self, whole: BaseGeometry) -> None:
        """Clamps and guides of the bed that reach over the sheet."""
        self.canv.setDash([5, 3])
        for _, region in zones_on_front(self._plan.job):
            self.region(
                apply_to_region(self._to_face, shapely.intersection(region, whole.envelope)), line=0.0, width=1.0
            )
        self.canv.setDash([])

    def _fences(self) -> None:
        """The stop beside the sheet, thick where the sheet touches it."""
        sheet = self._plan.job.sheet
        down, across = self._stop.corner.split()
        for touch in self._stop.touches:
            upright = touch.side in ("left", "right")
            length_mm = sheet.height_mm if upright else sheet.width_mm
            for (low, high), width in (((0.0, length_mm), 0.6), *((one, 3.0) for one in touch.stretches)):
                high = max(high, low + 2.0 / self.scale)
                from_start = down == "top" if upright else across == "left"
                ends = (low, high) if from_start else (length_mm - low, length_mm - high)
                at = 0.0 if touch.side in ("left", "top") else (sheet.width_mm if upright else sheet.height_mm)
                off = -3.0 if touch.side in ("left", "bottom") else 3.0
                points = [self.point(at, end) if upright else self.point(end, at) for end in ends]
                (x0, y0), (x1, y1) = [(x + off, y) if upright else (x, y + off) for x, y in points]
                self.canv.setStrokeGray(0.0)
                self.canv.setLineWidth(width)
                self.canv.line(x0, y0, x1, y1)

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
