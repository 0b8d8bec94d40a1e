"""What must hold before a job is worked out, and what is wrong with it once it is."""

import re
from collections.abc import Iterable, Mapping

import numpy as np
import shapely

from core.artwork.drawing import Drawing, Finding
from core.artwork.sorting.questions import Question
from core.burning.batches import learned_of_batch
from core.burning.chance import in_hundred
from core.burning.row_offsets import held_recipe
from core.figures import check_figures
from core.geometry.affine import apply
from core.geometry.flattening import path_bounds_mm
from core.job.bed_checks import bed_findings
from core.job.burned import sheet_findings
from core.job.job import Job
from core.job.plan import LayerPlan
from core.purposes import LEAVE_OUT, UNDECIDED
from core.sheet.faces import turn_matrix
from core.sheet.offcuts import sheet_region

OFF_SHEET_TOLERANCE_MM = 0.01
_NOT_BURNED = (None, LEAVE_OUT, UNDECIDED)
_FIELD = re.compile(r"\{\s*[^\W\d][^{}\\]{0,58}\}")


def check_job(job: Job) -> None:
    """Raises UnreadableError where a figure in the job makes no sense, saying which and what would."""
    check_figures(job)
    if job.sheet.outline:
        sheet_region(job.sheet)


def undecided_findings(drawing: Drawing, asked: Iterable[Question]) -> list[Finding]:
    """One finding (drawing frame) for each group of shapes that nobody has put to a purpose, at the first of them."""
    by_id = {shape.id: shape for shape in drawing.shapes}
    findings = []
    for question in asked:
        x0, y0, x1, y1 = path_bounds_mm(by_id[question.shape_ids[0]].path)
        count = len(question.shape_ids)
        what = "1 shape is" if count == 1 else f"{count} shapes are"
        findings.append(
            Finding(
                code="undecided",
                message=f"{what} left out until somebody says what for. {question.text}",
                x_mm=(x0 + x1) / 2,
                y_mm=(y0 + y1) / 2,
                shape_ids=question.shape_ids,
            )
        )
    return findings


def field_findings(drawing: Drawing, layer_of: Mapping[str, str]) -> list[Finding]:
    """One finding (drawing frame) where texts in braces would be burned as they stand instead of what a list says."""
    holding = [
        shape for shape in drawing.shapes if shape.is_text and layer_of.get(shape.id) not in _NOT_BURNED
        and _FIELD.search(shape.label)
    ]  # fmt: skip
    if not holding:
        return []
    names = ", ".join(dict.fromkeys(found for shape in holding for found in _FIELD.findall(shape.label)))
    x0, y0, x1, y1 = path_bounds_mm(holding[0].path)
    return [
        Finding(
            code="fields-as-they-stand",
            message=f"{names}: a list fills this in, on Sheet. Handed over as it is, the braces are burned.",
            severity="warning",
            x_mm=(x0 + x1) / 2,
            y_mm=(y0 + y1) / 2,
            shape_ids=tuple(shape.id for shape in holding),
        )
    ]


def _unburned(job: Job, layers: Iterable[LayerPlan]) -> list[Finding]:
    """That nothing is cut, or no coat cleared where the stock has one, in this job."""
    purposes = {layer.layer.purpose for layer in layers}
    findings = []
    if "cut" not in purposes:
        message = "Nothing is cut in this job: the piece stays in the sheet."
        findings.append(Finding(code="nothing-cut", message=message, severity="note"))
    if "fill" not in purposes and job.stock.coat:
        message = "Nothing is filled in this job: no coat is cleared over an area."
        findings.append(Finding(code="nothing-filled", message=message, severity="note"))
    return findings


def plan_findings(job: Job, layers: Iterable[LayerPlan]) -> list[Finding]:
    """What is wrong with the job as laid on its sheet and set up, in the sheet's front frame."""
    layers = [layer for layer in layers if layer.shape_ids and layer.layer.purpose != "guide"]
    findings = [] if job.sheet.outline else [finding for layer in layers for finding in _off_sheet(job, layer)]
    findings += sheet_findings(job, layers)
    findings += bed_findings(job, layers)
    findings += _unburned(job, [layer for layer in layers if not layer.region.is_empty or layer.paths])
    if job.stock.batch.named and not learned_of_batch(job.stock, job.stock.batch):
        message = (
            f"No scrap of this batch ({job.stock.batch.words}) was read yet: doses differ from batch to batch. Burn a "
            "coupon of it first."
        )
        findings.append(Finding(code="batch-not-tried", message=message))
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
    held = held_recipe(layer.recipe, machine)
    if planned.verdict is not None and abs(held.pitch_mm - layer.recipe.pitch_mm) > 1e-6:
        message = (
            f"{layer.name}: lines {layer.recipe.pitch_mm:.4f} mm ({layer.recipe.lines_per_inch:.0f} LPI) apart are "
            f"burned {held.pitch_mm:.4f} mm ({held.lines_per_inch:.0f} LPI) apart, as {machine.name} moves in steps of "
            f"{machine.least_row_step_mm:g} mm."
        )
        findings.append(Finding(code="row-step", message=message, shape_ids=planned.shape_ids))
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
        if figures is None:
            continue
        findings += _edge_findings(planned)
        if not figures.hairlines:
            continue
        lost = next((place for place in figures.places if place.kind == "lost"), None)
        at = apply(to_front, np.array([lost.x_mm, lost.y_mm])).tolist() if lost is not None else (None, None)
        if figures.unhit_parts:
            parts = "1 part lies" if figures.unhit_parts == 1 else f"{figures.unhit_parts} parts lie"
            code, told = "missed-parts", f"{parts} between the scan lines and would not be cleared at all."
        else:
            parts = "1 hairline is" if figures.hairlines == 1 else f"{figures.hairlines} hairlines are"
            code, told = "hairlines", f"{parts} thinner than the distance of the scan lines."
        if planned.layer.recipe.hands_over == "rows":
            starts = "These very rows are handed over."
        else:
            starts = (
                "Where the machine's own software begins its lines is not known here: of 100 places "
                f"{in_hundred(figures.hits_all_share)} hit all that is so thin."
            )
        message = f"{planned.layer.name}: {told} {starts} A finer pitch or another scan angle reaches more."
        findings.append(Finding(code=code, message=message, x_mm=at[0], y_mm=at[1], shape_ids=planned.shape_ids))
    return findings


def _edge_findings(planned: LayerPlan) -> list[Finding]:
    """What of a compensated fill stays as drawn."""
    if not planned.kept_edges:
        return []
    largest = max(planned.kept_edges, key=lambda one: float(one.area))
    x, y = shapely.get_coordinates(shapely.point_on_surface(largest))[0].tolist()
    count = len(planned.kept_edges)
    parts = "1 thin stretch stays" if count == 1 else f"{count} thin stretches stay"
    message = f"{planned.layer.name}: {parts} as drawn, since moved edges would meet there; they may come out wider."
    return [Finding(code="edges-kept", message=message, x_mm=x, y_mm=y, shape_ids=planned.shape_ids)]
