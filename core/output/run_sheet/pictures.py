"""Pictures on the run sheet: something in mm, fitted into a box on the page. All read in black and white."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import shapely
from PIL import Image
from reportlab.lib.colors import toColor
from reportlab.lib.units import inch
from reportlab.lib.utils import ImageReader
from reportlab.platypus import Flowable
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import Affine, apply, apply_to_region, compose
from core.geometry.flattening import flatten
from core.geometry.path import Path
from core.job.plan import LayerPlan

_PICTURE_TOLERANCE_MM = 0.05
_MOST_DOTS_AN_INCH = 300
"""Of a screened picture, on the page."""
DARK, LIGHT, LINE = 0.2, 0.86, 0.45


class Picture(Flowable):  # type: ignore[misc]  # the library has no types
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
        areas = [part for part in shapely.get_parts(region) if isinstance(part, shapely.Polygon)]
        # ring by ring, as even-odd lets them touch: thousands of rings at once take tens of gigabytes and minutes
        rings = shapely.simplify(shapely.get_rings(areas), _PICTURE_TOLERANCE_MM, preserve_topology=False)
        for ring in rings:
            self._trace(path, shapely.get_coordinates(ring)[:-1], closed=True)
        if isinstance(fill, str):
            self.canv.setFillColor(fill)
        elif fill is not None:
            self.canv.setFillGray(fill)
        if line is not None:
            self.canv.setStrokeGray(line)
            self.canv.setLineWidth(width)
        self.canv.drawPath(path, fill=int(fill is not None), stroke=int(line is not None), fillMode=0)

    def standing_coat(self, layer: LayerPlan, to_picture: Affine, colour: float | str) -> None:
        """Draw what stands of the coat in a layer's screened pictures, front frame through ``to_picture``, over bared.

        ``colour``, a grey or a "#rrggbb", covers as much of each place as its tone leaves standing, so that what was
        drawn before, paint or bared sheet, shows by the share that is bared.
        """
        rgb = np.rint(255 * np.array(toColor(colour).rgb() if isinstance(colour, str) else (colour,) * 3))
        for shown in () if layer.screen is None else layer.screen.shown:
            matrix = compose(to_picture, layer.drawing_to_front)
            to_mm = compose(matrix, shown.to_drawing)
            px_in = max(np.hypot(to_mm[0], to_mm[1]), np.hypot(to_mm[2], to_mm[3])) * self.scale / inch
            step = max(1, int(1 / (_MOST_DOTS_AN_INCH * px_in)))
            shares = np.asarray(Image.fromarray(shown.shares).reduce(step))
            height, width = shares.shape
            pixels = np.empty((height, width, 4), np.uint8)
            pixels[..., :3], pixels[..., 3] = rgb, 255 - shares
            self.canv.saveState()
            path = self.canv.beginPath()
            for ring in shapely.get_rings(shapely.get_parts(apply_to_region(matrix, shown.region))):
                self._trace(path, shapely.get_coordinates(ring)[:-1], closed=True)
            self.canv.clipPath(path, stroke=0, fill=0, fillMode=0)
            origin, right, down = (
                np.array(self.point(*apply(to_mm, np.array(corner, float)).tolist()))
                for corner in ((0, 0), (width * step, 0), (0, height * step))
            )
            # the image's unit square, its first row on top (ISO 32000-1, 8.9.5.1)
            across, up = right - origin, origin - down
            self.canv.transform(across[0], across[1], up[0], up[1], down[0], down[1])
            self.canv.drawImage(ImageReader(Image.fromarray(pixels)), 0, 0, 1, 1, mask="auto")
            self.canv.restoreState()

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
