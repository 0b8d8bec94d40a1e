"""What the maker has to be asked: one question for all undecided shapes that look alike."""

from collections.abc import Iterable
from dataclasses import dataclass

from core.artwork.drawing import Drawing, Shape
from core.artwork.sorting.deciding import Sorted
from core.artwork.sorting.rules import offered_rules

_MOST_REASONS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Shapes of one look that nobody has put to a purpose, and what speaks for which.

    written: how the group can be named on the command line.
    """

    shape_ids: tuple[str, ...]
    text: str
    written: str


def questions(drawing: Drawing, sorted_shapes: Iterable[Sorted], undecided: set[str]) -> tuple[Question, ...]:
    """One question for each look among the undecided shapes, in the drawing's order."""
    groups: dict[object, list[tuple[Shape, str]]] = {}
    for shape, item in zip(drawing.shapes, sorted_shapes, strict=True):
        if shape.id in undecided:
            groups.setdefault(shape.look, []).append((shape, item.why))
    return tuple(_question(group) for group in groups.values())


def _question(group: list[tuple[Shape, str]]) -> Question:
    reasons = list(dict.fromkeys(why for _, why in group))
    text = " ".join(reasons[:_MOST_REASONS])
    if len(reasons) > _MOST_REASONS:
        text += f" (And {len(reasons) - _MOST_REASONS} more reasons.)"
    shapes = [shape for shape, _ in group]
    offered = offered_rules(shapes, "cut")
    written = offered[0].written.rpartition("=")[0] if offered else f"id:{shapes[0].source_id or shapes[0].id}"
    return Question(shape_ids=tuple(shape.id for shape in shapes), text=text, written=written)
