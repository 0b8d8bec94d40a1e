"""What the view shows, in words: for screen readers and tooltips."""

from collections.abc import Collection
from typing import TYPE_CHECKING

from core.purposes import UNDECIDED
from core.units import length_text

if TYPE_CHECKING:
    from app.canvas.scene import Scene
    from core.job.plan import Plan


def plan_words(plan: "Plan", selection: Collection[str], *, inches: bool) -> str:
    """The sheet, how it is turned, how many shapes there are and how many are selected."""
    width, height = (length_text(side, inches=inches) for side in (plan.job.sheet.width_mm, plan.job.sheet.height_mm))
    return (
        f"Sheet {width} by {height}, turned {plan.job.turn}. "
        f"{len(plan.drawing.shapes)} shapes, {len(selection)} selected."
    )


def shape_words(scene: "Scene", shape_id: str, selection: Collection[str]) -> str:
    """What a shape is, where it belongs, and why; empty for one that is not there."""
    if shape_id not in scene.index_of:
        return ""
    plan, index = scene.plan, scene.index_of[shape_id]
    shape = plan.drawing.shapes[index]
    layer_id = plan.layer_of.get(shape_id, UNDECIDED)
    layer = next((planned.layer.name for planned in plan.layers if planned.layer.id == layer_id), layer_id)
    why = f" ({plan.sorted[index].why})" if index < len(plan.sorted) else ""
    selected = ", selected" if shape_id in selection else ""
    return f"{shape.label or shape.kind}, {index + 1} of {len(plan.drawing.shapes)}{selected}: {layer}{why}"
