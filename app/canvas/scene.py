"""What is drawn of a plan, ready for any zoom: outlines of shapes and layers, and a finder of shapes by place."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

from app.canvas.batch import WINDING, Batch
from app.canvas.outlines import Box, Floats, Ints, Outlines, outlines_of_paths, outlines_of_region
from app.canvas.paints import ShapePaint, shape_paint
from app.canvas.picking import Picker
from core.artwork.drawing import Drawing
from core.artwork.painting import painted_region
from core.geometry.affine import apply, compose, inverse
from core.geometry.flattening import DEFAULT_TOLERANCE_MM
from core.job.plan import LayerPlan, Plan
from core.progress import Progress, silent
from core.purposes import UNDECIDED

if TYPE_CHECKING:
    from core.burning.screens.layer_screen import ShownTones


NEAR_MM = 1e-6
ASIDE = 0.5
"""A shape lies that way where it is at least half as far along as aside."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerPicture:
    """One layer's outlines: areas for fills, lines for the rest; ``edges`` are the areas' rims, ``solid`` what of the
    areas is no screened picture."""

    planned: LayerPlan
    areas: Batch | None
    edges: Batch | None
    lines: Batch | None
    solid: Batch | None = None

    @property
    def batches(self) -> tuple[Batch, ...]:
        """Those there are."""
        return tuple(one for one in (self.areas, self.edges, self.lines, self.solid) if one is not None)

    @property
    def tones(self) -> tuple["ShownTones", ...]:
        """The pictures that are screened."""
        return () if self.planned.screen is None else self.planned.screen.shown


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawingOutlines:
    """A drawing's shapes as they show, flattened, one unit a shape, in the drawing's frame."""

    drawing: Drawing
    outlines: Outlines
    paints: tuple[ShapePaint, ...]
    fill_rules: Ints


class Scene:
    """Everything drawn of one plan. Built off the GUI thread; batches are then used by the drawing thread only."""

    def __init__(self, plan: Plan, before: "Scene | None" = None, *, progress: Progress = silent) -> None:
        """``before`` gives what it shares with this plan: most new plans change little."""
        self.plan = plan
        same_drawing = before is not None and before.plan.drawing is plan.drawing
        known = before.source if same_drawing and before is not None else None
        self.source: DrawingOutlines = known or drawing_outlines(plan.drawing, progress)
        progress(0.5, "Drawing")
        self.index_of = {shape.id: i for i, shape in enumerate(plan.drawing.shapes)}
        if same_drawing and before and before.plan.drawing_to_front == plan.drawing_to_front:
            self.shape_areas: Batch = before.shape_areas
            self.shape_lines: Batch = before.shape_lines
            self.picker: Picker = before.picker
        else:
            outlines = self.source.outlines.transformed(plan.drawing_to_front)
            self.shape_areas = Batch(outlines, areas=True, fill_rules=self.source.fill_rules)
            self.shape_lines = Batch(outlines, areas=False)
            self.picker = Picker(outlines, self.source.paints, self.source.fill_rules)
        progress(0.75, "Drawing")
        old = {} if before is None else {(id(p.planned.region), id(p.planned.paths)): p for p in before.layers}
        self.layers: tuple[LayerPicture, ...] = tuple(_layer_picture(planned, old) for planned in plan.layers)

    @cached_property
    def bounds_mm(self) -> Box | None:
        """Box of all that is drawn of the artwork, front frame; None when nothing is."""
        return _around(self.picker.boxes)

    @cached_property
    def burned_bounds_mm(self) -> Box | None:
        """Box of what is burned, front frame: what placing goes by. None when nothing is."""
        boxes = [
            batch.outlines.boxes
            for layer in self.layers
            if layer.planned.layer.purpose != "guide"
            for batch in (layer.edges, layer.lines)
            if batch is not None and len(batch.outlines)
        ]
        return _around(np.vstack(boxes)) if boxes else None

    @cached_property
    def burned_hull_mm(self) -> Floats:
        """Corners of the convex hull of what is burned, front frame, (n, 2); empty when nothing is."""
        points = [
            batch.outlines.points
            for layer in self.layers
            if layer.planned.layer.purpose != "guide"
            for batch in (layer.edges, layer.lines)
            if batch is not None and len(batch.outlines)
        ]
        if not points:
            return np.zeros((0, 2))
        hull: Floats = shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(np.vstack(points))))
        return hull

    def copy_boxes(self) -> list[Box]:
        """The artwork's box on each of its copies, front frame."""
        if self.bounds_mm is None:
            return []
        x0, y0, x1, y1 = self.bounds_mm
        corners = np.array([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], float)
        boxes = []
        for copy_to_front in self.plan.copies_to_front:
            moved = apply(compose(copy_to_front, inverse(self.plan.drawing_to_front)), corners)
            (left, top), (right, bottom) = moved.min(0).tolist(), moved.max(0).tolist()
            boxes.append((left, top, right, bottom))
        return boxes

    def shapes_at(self, x_mm: float, y_mm: float, *, reach_mm: float, lines: frozenset[int]) -> list[str]:
        """Ids of the shapes at a front point, on any copy, the one most likely meant first; ``lines``: see Picker."""
        pointed = np.array([x_mm, y_mm])
        for copy_to_front in self.plan.copies_to_front:
            to_first_copy = compose(self.plan.drawing_to_front, inverse(copy_to_front))
            first_x_mm, first_y_mm = apply(to_first_copy, pointed).tolist()
            found = self.picker.at(first_x_mm, first_y_mm, reach_mm=reach_mm, lines=lines)
            if found:
                return [self.plan.drawing.shapes[i].id for i in found]
        return []

    def shape_towards(self, shape_id: str, dx: float, dy: float) -> str | None:
        """The shape that lies nearest to this one that way (a unit step, front frame), by their middles; None: none."""
        boxes, here = self.picker.boxes, self.index_of[shape_id]
        away = (boxes[:, :2] + boxes[:, 2:]) / 2
        away = away - away[here]
        along, across = away[:, 0] * dx + away[:, 1] * dy, np.abs(away[:, 0] * dy) + np.abs(away[:, 1] * dx)
        that_way = (along > NEAR_MM) & (along >= ASIDE * across)
        if not that_way.any():
            return None
        found = int(np.argmin(np.where(that_way, along + 2 * across, np.inf)))
        return self.plan.drawing.shapes[found].id

    def make_ready(self, px_per_mm: float, progress: Progress) -> None:
        """Build what the next zoom steps either way will need. Raises Cancelled when the progress callback does."""
        batches = [batch for layer in self.layers for batch in layer.batches]
        for batch in (*batches, self.shape_lines):
            for factor in (0.5, 2.0):
                progress(0.0, "Drawing")
                batch.make_ready(px_per_mm * factor)

    def units_on(self, layer_id: str) -> Ints:
        """Units (indices of shapes) on a layer, or "undecided", or "leave out"; sorted."""
        return self._units_by_layer.get(layer_id, np.zeros(0, np.intp))

    @cached_property
    def _units_by_layer(self) -> dict[str, Ints]:
        units: dict[str, list[int]] = {}
        for i, shape in enumerate(self.plan.drawing.shapes):
            units.setdefault(self.plan.layer_of.get(shape.id, UNDECIDED), []).append(i)
        return {layer_id: np.array(some, np.intp) for layer_id, some in units.items()}

    def units_of(self, shape_ids: "frozenset[str]") -> Ints:
        """Units of these shapes; sorted. Unknown ids are left out."""
        return np.array(sorted(self.index_of[i] for i in shape_ids if i in self.index_of), np.intp)

    @cached_property
    def line_shapes(self) -> frozenset[int]:
        """Indices of shapes that are drawn as lines in views by purpose."""
        purposes = {planned.layer.id: planned.layer.purpose for planned in self.plan.layers}
        lines = (units for layer_id, units in self._units_by_layer.items() if purposes.get(layer_id, "fill") != "fill")
        return frozenset(int(unit) for units in lines for unit in units)


def drawing_outlines(drawing: Drawing, progress: Progress = silent) -> DrawingOutlines:
    """Flatten a drawing's shapes; of masked or clipped ones that which shows of them."""
    outlines = outlines_of_paths([shape.path for shape in drawing.shapes])
    progress(0.25, "Drawing")
    partly_seen = [i for i, shape in enumerate(drawing.shapes) if shape.area is not None or shape.clip is not None]
    if partly_seen:
        regions = {i: painted_region(drawing.shapes[i], tolerance_mm=DEFAULT_TOLERANCE_MM) for i in partly_seen}
        outlines = _with_regions(outlines, {i: outlines_of_region(region) for i, region in regions.items()})
    fill_rules = np.array([WINDING if shape.fill_rule == "nonzero" else 0 for shape in drawing.shapes], np.intp)
    fill_rules[partly_seen] = 0
    return DrawingOutlines(
        drawing=drawing,
        outlines=outlines,
        paints=tuple(shape_paint(shape) for shape in drawing.shapes),
        fill_rules=fill_rules,
    )


def _with_regions(outlines: Outlines, regions: Mapping[int, Outlines]) -> Outlines:
    """The outlines with those of some units replaced."""
    kept = np.flatnonzero(~np.isin(outlines.unit, np.array(list(regions), np.intp))).astype(np.intp)
    parts = [outlines.chosen(kept)]
    for unit, rings in regions.items():
        parts.append(Outlines(points=rings.points, starts=rings.starts, unit=np.full(len(rings), unit, np.intp)))
    offsets = np.cumsum([0] + [len(part.points) for part in parts[:-1]])
    starts = np.concatenate([part.starts[:-1] + offset for part, offset in zip(parts, offsets, strict=True)])
    points = np.vstack([part.points for part in parts])
    together = Outlines(
        points=points,
        starts=np.append(starts, len(points)).astype(np.intp),
        unit=np.concatenate([part.unit for part in parts]).astype(np.intp),
    )
    return together.chosen(np.argsort(together.unit, kind="stable").astype(np.intp))


def _layer_picture(planned: LayerPlan, old: Mapping[tuple[int, int], LayerPicture]) -> LayerPicture:
    known = old.get((id(planned.region), id(planned.paths)))
    if known is not None:
        return replace(known, planned=planned)
    areas = edges = lines = solid = None
    if not shapely.is_empty(planned.region):
        outlines = outlines_of_region(planned.region)
        areas = Batch(outlines, areas=True, mixed=True)
        edges = Batch(outlines, areas=False, mixed=True)
        solid = areas
        if planned.screen is not None:
            empty = planned.outlines.is_empty
            solid = None if empty else Batch(outlines_of_region(planned.outlines), areas=True, mixed=True)
    if planned.paths:
        lines = Batch(outlines_of_paths(planned.paths), areas=False, mixed=True)
    return LayerPicture(planned=planned, areas=areas, edges=edges, lines=lines, solid=solid)


def _around(boxes: "np.ndarray[tuple[int, int], np.dtype[np.float64]]") -> Box | None:
    known = boxes[np.isfinite(boxes[:, 0])]
    if not len(known):
        return None
    (x0, y0), (x1, y1) = known[:, :2].min(0), known[:, 2:].max(0)
    return (float(x0), float(y0), float(x1), float(y1))
