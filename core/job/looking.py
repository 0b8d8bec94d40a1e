"""The loupes of a plan's fills, ready for any place of the sheet."""

from core.burning.loupe import FillLoupe, fill_loupe
from core.burning.row_offsets import held_recipe
from core.geometry.affine import apply_to_region
from core.geometry.engine import united
from core.geometry.region import BaseGeometry
from core.job.plan import LayerPlan, Plan
from core.sheet.faces import turn_matrix


def plan_loupes(plan: Plan) -> tuple[FillLoupe, ...]:
    """One for each fill layer with rows, in the bed frame; empty while the plan is not complete. Made once a plan."""
    job = plan.job
    turn = turn_matrix(job.turn, job.sheet)
    return tuple(
        fill_loupe(
            apply_to_region(turn, layer.region if layer.screen is None else layer.outlines),
            layer.rows,
            held_recipe(layer.layer.recipe, job.machine),
            job.machine,
            job.stock,
            tones_bed=None if layer.screen is None else apply_to_region(turn, _pictures(layer)),
        )
        for layer in plan.layers
        if layer.rows is not None
    )


def _pictures(layer: LayerPlan) -> BaseGeometry:
    """Where a layer's screened pictures show, front frame."""
    shown = () if layer.screen is None else layer.screen.shown
    return united(apply_to_region(layer.drawing_to_front, one.region) for one in shown)
