"""The report of a prepared job: the figures of a Plan as plain data."""

from typing import Any

from core.artwork.account import account_data
from core.artwork.drawing import Finding
from core.burning.chance import Chance
from core.burning.run_time import TimeRange
from core.figures import figures_of
from core.job.as_data import to_data
from core.job.cautions import LAST_WORD
from core.job.plan import LayerPlan, Plan
from core.sheet.recipes import Recipe


def report_data(plan: Plan) -> dict[str, Any]:
    """The whole report, ready for JSON."""
    job = plan.job
    return {
        "artwork": job.source.name if job.source else None,
        "units_from": plan.drawing.units_from,
        "sheet": to_data(job.sheet) | {"stock": job.stock.name},
        "machine": job.machine.name,
        "turn": job.turn,
        "copies": 1 + len(job.repeats),
        "layers": [layer_data(layer) for layer in plan.layers if layer.shape_ids],
        **time_data(plan.time_range),
        "cautions": [{"code": caution.code, "message": caution.message} for caution in plan.cautions],
        "last_word": LAST_WORD,
        "account": account_data(plan.account),
        "findings": [finding_data(finding) for finding in plan.findings],
    }


def layer_data(planned: LayerPlan) -> dict[str, Any]:
    """One layer of the report; ``coverage`` only for fills."""
    data = {
        "name": planned.layer.name,
        "purpose": planned.layer.purpose,
        "shapes": len(planned.shape_ids),
        "area_mm2": planned.area_mm2,
        "length_mm": planned.length_mm,
        "keep_size": planned.layer.keep_size,
        "recipe": recipe_data(planned.layer.recipe),
        **time_data(planned.time_range),
    }
    if planned.chance is not None:
        data |= chance_data(planned.chance)
    coverage = coverage_data(planned)
    return data | {"coverage": coverage} if coverage is not None else data


def time_data(time: TimeRange) -> dict[str, Any]:
    """``time_s``, the best figure, and ``time_range_s``: [least, most] by what is not known of the machine."""
    return {"time_s": time.best_s, "time_range_s": [time.least_s, time.most_s]}


def recipe_data(recipe: Recipe) -> dict[str, Any]:
    """All of a recipe's figures, the pitch in both its forms; without its origin."""
    data: dict[str, Any] = {}
    for figure in figures_of(type(recipe)):
        data[figure.name] = value = getattr(recipe, figure.name)
        if figure.other_form is not None:
            data[figure.other_form.name] = figure.other_form.from_figure(value)
    return data


def chance_data(chance: Chance) -> dict[str, Any]:
    """How many of the draws come out how, and what the doubt comes from."""
    names = ("clean", "leaves_lines", "frosts", "not_reached")
    return {"chance": {name: getattr(chance, name) for name in names}, "matters_most": chance.matters_most}


def coverage_data(planned: LayerPlan) -> dict[str, Any] | None:
    """Coverage figures of a fill, or None for other layers and while they are being worked out."""
    coverage, verdict = planned.coverage, planned.verdict
    if coverage is None or verdict is None:
        return None
    area_mm2 = planned.area_mm2
    return {
        "cleared_width_mm": verdict.cleared_width_mm,
        "left_over_mm2": coverage.left_over_mm2,
        "left_over_pct": 100 * coverage.left_over_mm2 / area_mm2 if area_mm2 else 0.0,
        "spill_mm2": coverage.spill_mm2,
        "astray_mm2": coverage.astray_mm2,
        "lost_features": coverage.lost_features,
        "hits_all_share": coverage.hits_all_share,
        "mean_dose_j_mm2": verdict.mean_dose_j_mm2,
        "peak_dose_j_mm2": verdict.peak_dose_j_mm2,
        "verdict": verdict.verdict,
    }


def finding_data(finding: Finding) -> dict[str, Any]:
    """A finding as plain data."""
    data: dict[str, Any] = to_data(finding)
    return data
