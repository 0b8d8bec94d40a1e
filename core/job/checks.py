"""What must hold before a job is worked out, and what is wrong with it once it is."""

import math
from collections.abc import Iterable, Mapping

import numpy as np

from core.artwork.drawing import Drawing, Finding
from core.artwork.sorting import Sorted
from core.errors import UnreadableError
from core.geometry.affine import apply
from core.geometry.flattening import path_bounds_mm
from core.job.burned import sheet_findings
from core.job.job import Job
from core.job.plan import LayerPlan
from core.purposes import UNDECIDED
from core.sheet.faces import turn_matrix
from core.sheet.recipes import Recipe

OFF_SHEET_TOLERANCE_MM = 0.01


def check_job(job: Job) -> None:
    """Raises UnreadableError where a number in the job makes no sense, saying which and what would."""
    sheet = job.sheet
    _above_zero(sheet.width_mm, "The sheet's width", "mm")
    _above_zero(sheet.height_mm, "The sheet's height", "mm")
    _above_zero(sheet.thickness_mm, "The sheet's thickness", "mm")
    for value, what in (
        (job.placement.x_mm, "The place across"),
        (job.placement.y_mm, "The place down"),
        (job.placement.rotation_deg, "The rotation"),
    ):
        if not math.isfinite(value):
            raise UnreadableError(f"{what} is {value:g}, which is no number.", hint="Give a finite number.")
    if not all(math.isfinite(figure) for one in job.repeats for figure in (one.x_mm, one.y_mm, one.rotation_deg)):
        raise UnreadableError("A copy lies at a place that is no number.", hint="Place the copies again.")
    if not (math.isfinite(job.stock.kerf_mm) and job.stock.kerf_mm >= 0):
        raise UnreadableError(f"The kerf of {job.stock.name} is {job.stock.kerf_mm:g} mm.", hint="Give 0 or more.")
    _above_zero(job.machine.rated_power_w, f"The rated power of {job.machine.name}", "W")
    _above_zero(job.machine.spot_mm, f"The spot of {job.machine.name}", "mm")
    _above_zero(job.stock.clearing_dose_j_mm2, f"The clearing dose of {job.stock.name}", "J/mm²")
    _above_zero(job.stock.frosting_dose_j_mm2, f"The frosting dose of {job.stock.name}", "J/mm²")
    for layer in job.layers:
        check_recipe(layer.recipe, layer.name)


def check_recipe(recipe: Recipe, name: str) -> None:
    """Raises UnreadableError where a setting of the layer of that name makes no sense."""
    _above_zero(recipe.speed_mm_s, f"The speed of {name}", "mm/s")
    _above_zero(recipe.pitch_mm, f"The pitch of {name}", "mm")
    if not 0 <= recipe.power_pct <= 100:
        raise UnreadableError(
            f"The power of {name} is {recipe.power_pct:g} %.", hint="Give a percentage from 0 to 100."
        )
    if recipe.passes < 1:
        raise UnreadableError(f"{name} has {recipe.passes} passes.", hint="Give at least 1.")
    if not (math.isfinite(recipe.edge_inset_mm) and recipe.edge_inset_mm >= 0):
        raise UnreadableError(f"The edge inset of {name} is {recipe.edge_inset_mm:g} mm.", hint="Give 0 or more.")
    if not (math.isfinite(recipe.scan_angle_deg) and math.isfinite(recipe.focus_mm)):
        raise UnreadableError(f"The scan angle or focus of {name} is no finite number.", hint="Give a finite number.")


def _above_zero(value: float, what: str, unit: str) -> None:
    if not (math.isfinite(value) and value > 0):
        raise UnreadableError(f"{what} is {value:g} {unit}.", hint="Give a number above zero.")


def undecided_finding(drawing: Drawing, shapes: Iterable[Sorted], layer_of: Mapping[str, str]) -> list[Finding]:
    """One finding (drawing frame) for all shapes that nobody has put to a purpose, at the first of them."""
    undecided = [item.shape_id for item in shapes if layer_of[item.shape_id] == UNDECIDED]
    if not undecided:
        return []
    first = next(shape for shape in drawing.shapes if shape.id == undecided[0])
    x0, y0, x1, y1 = path_bounds_mm(first.path)
    what = "1 shape is" if len(undecided) == 1 else f"{len(undecided)} shapes are"
    return [
        Finding(
            code="undecided",
            message=f"{what} left out until somebody says whether to fill, cut or score.",
            x_mm=(x0 + x1) / 2,
            y_mm=(y0 + y1) / 2,
            shape_ids=tuple(undecided),
        )
    ]


def plan_findings(job: Job, layers: Iterable[LayerPlan]) -> list[Finding]:
    """What is wrong with the job as laid on its sheet and set up, in the sheet's front frame."""
    layers = [layer for layer in layers if layer.shape_ids and layer.layer.purpose != "guide"]
    findings = [] if job.sheet.outline else [finding for layer in layers for finding in _off_sheet(job, layer)]
    findings += sheet_findings(job, layers)
    if job.stock.refused:
        findings.append(Finding(code="stock-refused", message=job.stock.refused, severity="problem"))
    if job.stock.cut is None:
        for layer in layers:
            if layer.layer.purpose == "cut":
                message = f"{job.stock.name} must not be cut by the laser; {layer.layer.name} would."
                findings.append(
                    Finding(code="stock-not-cut", message=message, severity="problem", shape_ids=layer.shape_ids)
                )
    for layer in layers:
        findings += _settings_findings(job, layer)
    machine, sheet = job.machine, job.sheet
    if sheet.width_mm > machine.bed_width_mm or sheet.height_mm > machine.bed_height_mm:
        message = (
            f"The sheet ({sheet.width_mm:g} x {sheet.height_mm:g} mm) is larger than the bed of {machine.name} "
            f"({machine.bed_width_mm:g} x {machine.bed_height_mm:g} mm)."
        )
        findings.append(Finding(code="sheet-over-bed", message=message))
    if abs(sheet.thickness_mm - job.stock.thickness_mm) > 0.05 * job.stock.thickness_mm:
        message = (
            f"The sheet is {sheet.thickness_mm:g} mm thick, the recipes are for {job.stock.thickness_mm:g} mm: "
            "prove the cut on a scrap."
        )
        findings.append(Finding(code="thickness-differs", message=message))
    return findings


def _off_sheet(job: Job, layer: LayerPlan) -> list[Finding]:
    sheet = job.sheet
    bounds = [layer.region.bounds] if not layer.region.is_empty else []
    bounds += [path_bounds_mm(path) for path in layer.paths]
    over = [max(-x0, -y0, x1 - sheet.width_mm, y1 - sheet.height_mm) for x0, y0, x1, y1 in bounds]
    worst = max(range(len(over)), key=over.__getitem__, default=None)
    if worst is None or over[worst] <= OFF_SHEET_TOLERANCE_MM:
        return []
    x0, y0, x1, y1 = bounds[worst]
    size = f"{sheet.width_mm:g} x {sheet.height_mm:g} mm"
    message = f"{layer.layer.name} reaches {over[worst]:.2f} mm over the sheet's edge ({size})."
    return [
        Finding(
            code="off-sheet",
            message=f"{message} Move it, or take a larger sheet.",
            severity="problem",
            x_mm=float((x0 + x1) / 2),
            y_mm=float((y0 + y1) / 2),
            shape_ids=layer.shape_ids,
        )
    ]


def _settings_findings(job: Job, planned: LayerPlan) -> list[Finding]:
    layer, machine = planned.layer, job.machine
    findings = []
    if layer.recipe.speed_mm_s > machine.max_speed_mm_s:
        asked = f"{layer.name} asks for {layer.recipe.speed_mm_s:g} mm/s"
        message = f"{asked}; {machine.name} reaches {machine.max_speed_mm_s:g}."
        findings.append(Finding(code="speed-over-machine", message=message, shape_ids=planned.shape_ids))
    if planned.verdict is not None and planned.verdict.verdict != "clean":
        code = planned.verdict.verdict.replace(" ", "-")
        message = f"{layer.name}: {planned.verdict.words}"
        findings.append(Finding(code=code, message=message, shape_ids=planned.shape_ids))
    return findings


def coverage_findings(job: Job, layers: Iterable[LayerPlan]) -> list[Finding]:
    """What the scan lines of the fills miss altogether, in the sheet's front frame."""
    to_front = turn_matrix(job.turn, job.sheet)  # a turn is its own inverse
    findings = []
    for planned in layers:
        figures = planned.coverage
        if figures is None or not figures.unhit_parts:
            continue
        lost = next((place for place in figures.places if place.kind == "lost"), None)
        at = apply(to_front, np.array([lost.x_mm, lost.y_mm])).tolist() if lost is not None else (None, None)
        parts = "1 part lies" if figures.unhit_parts == 1 else f"{figures.unhit_parts} parts lie"
        message = (
            f"{planned.layer.name}: {parts} between the scan lines and would not be cleared at all. A finer pitch or "
            "another scan angle reaches more."
        )
        findings.append(
            Finding(code="missed-parts", message=message, x_mm=at[0], y_mm=at[1], shape_ids=planned.shape_ids)
        )
    return findings
