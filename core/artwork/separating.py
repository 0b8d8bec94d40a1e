"""What one drawn thing means twice: a filled area and a line of another colour round it.

A shape with both becomes two: the area under the shape's own id, the line under ``line_id`` of it. A fill that goes
round nothing (a straight line's, which the file need not even name) is dropped, so that the line stays a line.
"""

from dataclasses import replace

import numpy as np

from core.artwork.drawing import Drawing, Shape
from core.artwork.line_ids import LINE, line_id
from core.artwork.paint_order import near_white
from core.geometry.path import ARC, CUBIC, Floats, Path

_FLAT = 1e-9


def separated(drawing: Drawing, *, line_width_mm: float) -> Drawing:
    """The drawing with areas and lines told apart; the drawing itself where there is nothing to tell apart."""
    shapes: list[Shape] = []
    for shape in drawing.shapes:
        shapes.extend(_parts(shape, line_width_mm))
    if len(shapes) == len(drawing.shapes) and all(a is b for a, b in zip(shapes, drawing.shapes, strict=True)):
        return drawing
    return replace(drawing, shapes=tuple(shapes))


def is_line_of_fill(shape: Shape) -> bool:
    """Whether the shape is a line that was told apart from the area it goes round."""
    return shape.id.endswith(LINE)


def _parts(shape: Shape, line_width_mm: float) -> tuple[Shape, ...]:
    stroke = shape.stroke
    if stroke is None or shape.fill is None or shape.area is not None:
        return (shape,)
    if goes_round_nothing(shape.path):
        return (replace(shape, fill=None),)
    thin = stroke.width_mm <= line_width_mm
    if stroke.colour == shape.fill or not (thin or near_white(stroke.colour) != near_white(shape.fill)):
        return (shape,)
    return replace(shape, stroke=None), replace(shape, id=line_id(shape.id), fill=None)


def goes_round_nothing(path: Path) -> bool:
    """Whether every subpath lies on a straight line."""
    if (path.kinds == ARC).any():
        return False
    corners = path.segments.reshape(-1, 4, 2)
    used = np.where((path.kinds == CUBIC)[:, None], 4, 2)
    away = corners - np.repeat(path.start_points[path.starts], path.stops - path.starts, axis=0)[:, None]
    away[np.arange(4)[None] >= used] = 0.0
    if not len(path):
        return True
    flat = away.reshape(len(path), 8)
    first, second = np.minimum.reduceat(flat, path.starts), np.maximum.reduceat(flat, path.starts)
    reach = np.maximum(np.abs(first), np.abs(second)).max(axis=1)
    return all(
        _on_a_line(away[start:stop].reshape(-1, 2), size)
        for start, stop, size in zip(path.starts.tolist(), path.stops.tolist(), reach.tolist(), strict=True)
    )


def _on_a_line(away: Floats, size_mm: float) -> bool:
    """Whether points, seen from the first of them, lie on one line through it."""
    farthest = away[int(np.argmax((away * away).sum(axis=1)))]
    across = np.abs(away[:, 0] * farthest[1] - away[:, 1] * farthest[0])
    return bool(across.max() <= _FLAT * size_mm * max(size_mm, 1.0))
