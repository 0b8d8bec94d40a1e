"""What each shape is for, with the reason in plain words."""

from dataclasses import dataclass
from typing import Literal

from core.artwork.drawing import Drawing
from core.job.job import SortOptions
from core.progress import Progress, silent


@dataclass(frozen=True, slots=True, kw_only=True)
class Sorted:
    """The purpose of one shape and why."""

    shape_id: str
    purpose: Literal["fill", "cut", "score", "guide", "undecided"]
    why: str


def sort_shapes(drawing: Drawing, options: SortOptions, *, progress: Progress = silent) -> tuple[Sorted, ...]:
    """A purpose for every shape, in the drawing's order."""
    result = []
    for shape in drawing.shapes:
        if shape.fill is not None or shape.area is not None:
            result.append(Sorted(shape_id=shape.id, purpose="fill", why="a filled area"))
        elif shape.stroke and shape.stroke.width_mm > options.line_width_mm:
            result.append(Sorted(shape_id=shape.id, purpose="fill", why=f"a stroke wider than {options.line_width_mm:g} mm: an area"))
        elif shape.path.closed.all():
            result.append(Sorted(shape_id=shape.id, purpose="cut", why="a closed outline"))
        else:
            result.append(Sorted(shape_id=shape.id, purpose="score", why="an open line"))
    return tuple(result)
