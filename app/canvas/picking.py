"""Which shapes lie under a point or in a box, front frame. No Qt here."""

import itertools
from collections.abc import Collection, Sequence
from typing import TYPE_CHECKING

import numpy as np
import shapely
from numpy.typing import NDArray

if TYPE_CHECKING:
    from app.canvas.outlines import Box, Floats, Ints, Outlines
    from app.canvas.paints import ShapePaint


class Picker:
    """Finds shapes by place. Outlines are those of the shapes, one unit a shape; fill_rules: 0 odd-even, 1 winding."""

    def __init__(self, outlines: "Outlines", paints: Sequence["ShapePaint"], fill_rules: "Ints") -> None:
        self._outlines, self._paints, self._fill_rules = outlines, paints, fill_rules
        self.boxes = outlines.unit_boxes(len(paints))
        self._known = np.flatnonzero(np.isfinite(self.boxes[:, 0]))
        self._tree = shapely.STRtree(np.array(shapely.box(*self.boxes[self._known].T), object))
        self._polylines = np.searchsorted(outlines.unit, np.arange(len(paints) + 1))

    def at(self, x_mm: float, y_mm: float, *, reach_mm: float, lines: Collection[int] = ()) -> list[int]:
        """Indices of the shapes hit, the one most likely meant first, the uppermost before those under it.

        ``lines`` are shapes that count as lines whatever their paint: they are hit near their outline alone. Lines
        win over areas, as they could not be hit otherwise.
        """
        box = (x_mm - reach_mm, y_mm - reach_mm, x_mm + reach_mm, y_mm + reach_mm)
        near: list[int] = []
        areas: list[int] = []
        for index in sorted(self._candidates(box), reverse=True):
            is_line = index in lines or not self._is_area(index)
            if self._distance_mm(index, x_mm, y_mm) <= max(reach_mm, self._half_stroke_mm(index)):
                (near if is_line else areas).append(index)
            elif not is_line and self._inside(index, x_mm, y_mm):
                areas.append(index)
        return near + areas

    def within(self, box: "Box") -> list[int]:
        """Indices of the shapes that lie wholly in the box."""
        b = self.boxes
        with np.errstate(invalid="ignore"):
            inside = (b[:, 0] >= box[0]) & (b[:, 1] >= box[1]) & (b[:, 2] <= box[2]) & (b[:, 3] <= box[3])
        found: list[int] = np.flatnonzero(inside).tolist()
        return found

    def touching(self, box: "Box") -> list[int]:
        """Indices of the shapes whose outline meets the box, or that are painted all over it."""
        area = shapely.box(*box)
        return [
            index
            for index in sorted(self._candidates(box))
            if shapely.intersects(self._lines(index), area).any()
            or (self._is_area(index) and self._inside(index, box[0], box[1]))
        ]

    def _candidates(self, box: "Box") -> list[int]:
        found: list[int] = self._known[self._tree.query(shapely.box(*box))].tolist()
        return found

    def _is_area(self, index: int) -> bool:
        return self._paints[index].fill is not None

    def _half_stroke_mm(self, index: int) -> float:
        return self._paints[index].stroke_width_mm / 2

    def _lines(self, index: int) -> NDArray[np.object_]:
        """The shape's polylines; a single point stands for itself."""
        bounds = self._outlines.starts[self._polylines[index] : self._polylines[index + 1] + 1].tolist()
        parts = [self._outlines.points[a:b] for a, b in itertools.pairwise(bounds) if b > a]
        return np.array([shapely.linestrings(p) if len(p) > 1 else shapely.points(p[0]) for p in parts], object)

    def _edges(self, index: int) -> tuple["Floats", "Floats"]:
        """Starts and ends of all segments of a shape, (n, 2) each."""
        a, b = self._outlines.starts[self._polylines[index]], self._outlines.starts[self._polylines[index + 1]]
        points = self._outlines.points[a:b]
        joins = self._outlines.starts[self._polylines[index] + 1 : self._polylines[index + 1]] - a
        kept = np.ones(max(len(points) - 1, 0), bool)
        kept[joins - 1] = False  # from the end of one polyline to the start of the next there is no segment
        return points[:-1][kept], points[1:][kept]

    def _distance_mm(self, index: int, x_mm: float, y_mm: float) -> float:
        start, end = self._edges(index)
        if not len(start):
            return np.inf
        step, to = end - start, np.array([x_mm, y_mm]) - start
        length2 = np.maximum((step * step).sum(1), 1e-300)
        share = np.clip((step * to).sum(1) / length2, 0.0, 1.0)
        off = to - share[:, None] * step
        return float(np.sqrt((off * off).sum(1).min()))

    def _inside(self, index: int, x_mm: float, y_mm: float) -> bool:
        """Whether the point is painted: crossings of a ray towards +x, by the shape's fill rule."""
        start, end = self._edges(index)
        spans = (start[:, 1] <= y_mm) != (end[:, 1] <= y_mm)
        (x0, y0), (x1, y1) = start[spans].T, end[spans].T
        right = x0 + (y_mm - y0) / (y1 - y0) * (x1 - x0) > x_mm
        turns = int(np.where(y1[right] > y0[right], 1, -1).sum())
        return turns != 0 if self._fill_rules[index] else turns % 2 != 0
