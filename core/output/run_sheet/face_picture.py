"""The faces of the sheet on the run sheet."""

import shapely

from core.geometry.affine import apply_to_region
from core.job.plan import Plan
from core.output.run_sheet.pictures import DARK, Picture
from core.sheet.faces import Corner, turn_matrix, turned_corner


class FacePicture(Picture):
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
        for layer in (*self._plan.datum_layers, *self._plan.layers):
            if not layer.region.is_empty:
                self.region(apply_to_region(self._to_face, layer.region), fill=DARK)
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
