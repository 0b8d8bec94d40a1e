"""A paint plan's figures as plain data."""

from collections.abc import Sequence
from typing import Any

from core.finishing.bonding import bond_advice
from core.finishing.inspection import checks_for
from core.finishing.steps import PaintPlan, PaintStep, front_view
from core.finishing.timetable import Timetable
from core.job.as_data import to_data
from core.job.job_code import job_code
from core.job.painting.burning import Burn, BurnPlan
from core.job.painting.offers import WayOffer
from core.job.painting.stages import stages_of
from core.job.plan import Plan
from core.job.report import layer_data


def paint_report(
    plan: Plan,
    painting: PaintPlan,
    table: Timetable,
    *,
    burning: BurnPlan | None = None,
    offers: Sequence[WayOffer] = (),
) -> dict[str, Any]:
    """The whole report, ready for JSON. burning, offers: where several burns are planned or ways compared."""
    job = plan.job
    finishing = job.finishing
    bonded = finishing.joint and finishing.adhesive
    return {
        "artwork": job.source.name if job.source else None,
        "code": job_code(job),
        "stock": job.stock.name,
        "front_view": [
            {"kind": look.kind, "name": look.name, "colour": look.colour, "area_mm2": look.region.area}
            for look in front_view(painting.colouring, coat_name=job.stock.coat or "clear sheet")
        ],
        "paint_of": dict(painting.colouring.paint_of),
        "order": list(painting.order),
        "masking_min": painting.effort_min,
        "best_order": list(painting.best_order),
        "best_masking_min": painting.best_effort_min,
        "worst_masking_min": painting.worst_effort_min,
        "order_is_exact": painting.exact,
        "reasons": list(painting.reasons),
        "steps": [step_data(step) for step in painting.steps],
        "datum": None if plan.datum is None else {"kind": plan.datum.kind, "places": to_data(plan.datum.places)},
        "burns": [burn_data(burn) for burn in burning.burns] if burning is not None else [],
        "stages": [stage.words for stage in stages_of(painting, burning)] if burning is not None else [],
        "ways": to_data(tuple(offers)),
        "timetable": timetable_data(table),
        "amounts": to_data(painting.amounts),
        "bonding": to_data(bond_advice(finishing.joint, finishing.adhesive)) if bonded else None,
        "inspection": to_data(checks_for(job.stock)),
        "findings": to_data((*painting.findings, *(burning.findings if burning is not None else ()))),
    }


def burn_data(burn: Burn) -> dict[str, Any]:
    """One burn: what it clears and how."""
    return {
        "number": burn.number,
        "colours": list(burn.colours),
        "under": list(burn.under),
        "area_mm2": burn.region.area,
        "overlap_mm2": burn.overlap.area,
        "clearing_dose_j_mm2": burn.stack.clearing_dose_j_mm2,
        "frosting_dose_j_mm2": burn.stack.frosting_dose_j_mm2,
        "learned": burn.learned,
        "wait_h": burn.wait_h,
        "time_s": burn.time_range.best_s,
        "layers": [layer_data(layer) for layer in burn.layers],
        "overlap_dose": None if burn.strip is None else to_data(burn.strip) | {"verdict": burn.strip.verdict},
    }


def step_data(step: PaintStep) -> dict[str, Any]:
    """One colour and its mask."""
    return {
        "number": step.number,
        "paint": to_data(step.area.paint),
        "area_mm2": step.area.region.area,
        "mask": None if step.made_by == "none" else to_data(step.figures) | {"made_by": step.made_by},
        "opening_mm2": step.opening.area if step.opening is not None else None,
        "kept_off": list(step.kept_off),
        "masking_min": step.effort_min,
        "burn": step.burn,
        "specks": to_data(step.specks),
        "tight_places": to_data(step.tight_places),
    }


def timetable_data(table: Timetable) -> dict[str, Any]:
    """Times as ISO texts without a zone."""
    return {
        "dated": table.dated,
        "tasks": [
            {
                **({"job": task.job} if task.job else {}),
                "piece": task.piece,
                "step": task.link.step,
                "what": task.label,
                "kind": task.link.kind,
                "start": task.start.isoformat(),
                "end": task.end.isoformat(),
                "late": task.late,
            }
            for task in table.tasks
        ],
        "done": [moment.isoformat() for moment in table.done],
        "notes": list(table.notes),
    }
