"""What the maker decides, one function a decision: a job in, a job out.

A tick under a caution stands for something that was looked at. A decision that makes the look out of date takes the
tick back, so that it has to be looked at again.
"""

import math
from dataclasses import replace
from typing import Literal

import numpy as np

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import own_export
from core.burning.machines import Machine
from core.errors import JobError, UnreadableError
from core.geometry.affine import apply, inverse
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import joined
from core.job.cautions import RUN_SHEET_GOES_ALONG
from core.job.job import LAYER_COLOURS, Job, Layer, standard_layers, with_layer, with_overrides
from core.job.plan import Plan
from core.purposes import Purpose
from core.sheet.faces import Corner
from core.sheet.placement import Placement, Sheet, Turn, placement_matrix
from core.sheet.recipes import Origin, Recipe
from core.sheet.stock import Stock

Bounds = tuple[float, float, float, float]
SET_BY_HAND = Origin(kind="set by hand")


def with_stock(job: Job, stock: Stock) -> Job:
    """On another stock: its thickness and its starting recipes, since a recipe holds for one stock only."""
    starting = {layer.purpose: layer.recipe for layer in standard_layers(stock)}
    return replace(
        job,
        stock=stock,
        sheet=replace(job.sheet, thickness_mm=stock.thickness_mm),
        layers=tuple(replace(layer, recipe=starting[layer.purpose]) for layer in job.layers),
        cautions_ticked=frozenset(),
    )


def with_machine(job: Job, machine: Machine) -> Job:
    """On another machine; the recipes stay, to be proven anew."""
    return _unticked(replace(job, machine=machine), "scrap", "focus", "air-and-extraction", "enclosure", "extinguisher")


def with_turn(job: Job, turn: Turn) -> Job:
    """Turned over the other way."""
    return _unticked(replace(job, turn=turn), "right-face", "back-up")


def with_stop_corner(job: Job, corner: Corner) -> Job:
    """The machine's stop is at another corner of the bed."""
    return _unticked(replace(job, stop_corner=corner), "right-face")


def with_sheet(job: Job, sheet: Sheet) -> Job:
    """On a sheet of another size. Raises UnreadableError when a side is not above zero or not finite."""
    sides_mm = (sheet.width_mm, sheet.height_mm, sheet.thickness_mm)
    if not all(math.isfinite(side_mm) and side_mm > 0 for side_mm in sides_mm):
        raise UnreadableError("A sheet needs a width, a height and a thickness above zero.", hint="Write them in mm.")
    return _unticked(replace(job, sheet=sheet), "film")


def with_recipe(job: Job, layer_id: str, recipe: Recipe, *, origin: Origin = SET_BY_HAND) -> Job:
    """One layer with another recipe, by hand unless ``origin`` says more; it has to be proven on a scrap."""
    layer = layer_of_id(job, layer_id)
    stale = ["scrap", "air-and-extraction"] if recipe.air != layer.recipe.air else ["scrap"]
    return _unticked(with_layer(job, replace(layer, recipe=replace(recipe, origin=origin))), *stale)


def with_keep_size(job: Job, layer_id: str, keep_size: bool) -> Job:
    """The cut lines of one layer moved for the kerf, so that parts keep their drawn size, or cut as drawn.

    Raises JobError where the artwork is an export whose lines were moved already.
    """
    layer = layer_of_id(job, layer_id)
    if keep_size and job.source is not None and _moved_in(job.source, layer_id):
        raise JobError(
            f"The lines of {layer.name} were moved for the kerf when {job.source.name} was exported.",
            hint="Leave them as they are, or begin with the artwork it was made from.",
        )
    return with_layer(job, replace(layer, keep_size=keep_size))


def _moved_in(source: ArtworkSource, layer_id: str) -> bool:
    """Whether the artwork is an export that holds the layer's lines as moved for the kerf."""
    own = own_export(source)
    return own is not None and layer_id in own.moved_for_kerf


def with_starting_recipe(job: Job, layer_id: str) -> Job:
    """One layer back at the stock's starting recipe."""
    layer = layer_of_id(job, layer_id)
    starting = {one.purpose: one.recipe for one in standard_layers(job.stock)}[layer.purpose]
    return _unticked(with_layer(job, replace(layer, recipe=starting)), "scrap", "air-and-extraction")


def is_starting_recipe(job: Job, layer: Layer) -> bool:
    """Whether the layer's recipe is its stock's starting one."""
    return any(one.purpose == layer.purpose and one.recipe == layer.recipe for one in standard_layers(job.stock))


def with_tick(job: Job, code: str, ticked: bool) -> Job:
    """One caution ticked or not."""
    ticks = job.cautions_ticked | {code} if ticked else job.cautions_ticked - {code}
    return replace(job, cautions_ticked=ticks)


def with_repair(job: Job, code: str, accepted: bool) -> Job:
    """A repair accepted (after those accepted before) or taken back."""
    others = tuple(one for one in job.repairs if one != code)
    return replace(job, repairs=(*others, code) if accepted else others)


def with_new_layer(job: Job, purpose: Purpose, shape_ids: list[str]) -> Job:
    """One more layer of that purpose at its end of the burn order, with these shapes on it."""
    like = [layer for layer in job.layers if layer.purpose == purpose]
    taken_ids = {layer.id for layer in job.layers}
    number = next(n for n in range(2, len(job.layers) + 3) if f"{purpose}-{n}" not in taken_ids)
    starting = {one.purpose: one.recipe for one in standard_layers(job.stock)}
    layer = Layer(
        id=f"{purpose}-{number}",
        name=f"{purpose.capitalize()} {number}",
        purpose=purpose,
        recipe=like[0].recipe if like else starting[purpose],
        colour=_free_colour(job, purpose),
    )
    at = max((i for i, one in enumerate(job.layers) if one.purpose == purpose), default=len(job.layers) - 1) + 1
    job = replace(job, layers=(*job.layers[:at], layer, *job.layers[at:]))
    return with_overrides(job, shape_ids, layer.id)


def without_layer(job: Job, layer_id: str) -> Job:
    """The job without a layer; its shapes go back to what was suggested. Raises JobError for a purpose's last layer."""
    layer = layer_of_id(job, layer_id)
    if sum(one.purpose == layer.purpose for one in job.layers) == 1:
        raise JobError(f"“{layer.name}” is the last {layer.purpose} layer and stays.")
    shape_ids = [shape for shape, on in job.overrides if on == layer_id]
    return replace(with_overrides(job, shape_ids, None), layers=tuple(one for one in job.layers if one.id != layer_id))


def layer_of_id(job: Job, layer_id: str) -> Layer:
    """The job's layer of that id. Raises KeyError."""
    for layer in job.layers:
        if layer.id == layer_id:
            return layer
    raise KeyError(layer_id)


# --- placing, all in the sheet's front frame -------------------------------------------------------------------------


def placed_bounds_mm(plan: Plan) -> Bounds | None:
    """(x0, y0, x1, y1) of what is burned, in the front frame; None when nothing is."""
    boxes = []
    for planned in plan.layers:
        if planned.layer.purpose == "guide":
            continue
        if not planned.region.is_empty:
            boxes.append(planned.region.bounds)
        if planned.paths:
            boxes.append(path_bounds_mm(joined(planned.paths)))
    if not boxes:
        return None
    stacked = np.array(boxes)
    (x0, y0), (x1, y1) = stacked[:, :2].min(0), stacked[:, 2:].max(0)
    return float(x0), float(y0), float(x1), float(y1)


def moved(plan: Plan, dx_mm: float, dy_mm: float) -> Job:
    """The plan's job with the artwork moved on the sheet."""
    x_mm, y_mm = plan.drawing_to_front[4:]
    return _placed(plan.job, x_mm + dx_mm, y_mm + dy_mm, plan.job.placement.rotation_deg)


def moved_to(plan: Plan, left_mm: float | None, top_mm: float | None) -> Job:
    """The job with what is burned beginning at this left edge and top edge; None keeps that one."""
    bounds = placed_bounds_mm(plan)
    if bounds is None:
        return plan.job
    dx_mm = 0.0 if left_mm is None else left_mm - bounds[0]
    dy_mm = 0.0 if top_mm is None else top_mm - bounds[1]
    return moved(plan, dx_mm, dy_mm)


def aligned(
    plan: Plan,
    across: Literal["left", "middle", "right"],
    down: Literal["top", "middle", "bottom"],
    *,
    margin_mm: float = 0.0,
) -> Job:
    """The job with what is burned put to a side, a corner or the middle of the sheet, ``margin_mm`` off its edges."""
    bounds, sheet = placed_bounds_mm(plan), plan.job.sheet
    if bounds is None:
        return plan.job
    if across == down == "middle":
        return replace(plan.job, placement=replace(plan.job.placement, centred=True))
    share_across = {"left": 0.0, "middle": 0.5, "right": 1.0}[across]
    share_down = {"top": 0.0, "middle": 0.5, "bottom": 1.0}[down]
    room_mm = sheet.width_mm - (bounds[2] - bounds[0]), sheet.height_mm - (bounds[3] - bounds[1])
    left_mm = share_across * room_mm[0] + (1 - 2 * share_across) * margin_mm
    top_mm = share_down * room_mm[1] + (1 - 2 * share_down) * margin_mm
    return moved_to(plan, left_mm, top_mm)


def rotated(plan: Plan, rotation_deg: float) -> Job:
    """The job with the artwork turned in the sheet's plane, the middle of what is burned staying where it is."""
    job, bounds = plan.job, placed_bounds_mm(plan)
    rotation_deg %= 360.0
    if job.placement.centred or bounds is None:
        return replace(job, placement=replace(job.placement, rotation_deg=rotation_deg))
    middle = np.array([(bounds[0] + bounds[2]) / 2, (bounds[1] + bounds[3]) / 2])
    in_drawing = apply(inverse(plan.drawing_to_front), middle)
    landed = apply(placement_matrix(0.0, 0.0, rotation_deg), in_drawing)
    x_mm, y_mm = middle - landed
    return _placed(job, float(x_mm), float(y_mm), rotation_deg)


def sheet_to_fit(plan: Plan, *, margin_mm: float = 10.0) -> Job:
    """The job on a sheet just large enough for what is burned, a margin all round, in whole millimetres."""
    bounds = placed_bounds_mm(plan)
    if bounds is None:
        return plan.job
    sheet = replace(
        plan.job.sheet,
        width_mm=float(math.ceil(bounds[2] - bounds[0] + 2 * margin_mm)),
        height_mm=float(math.ceil(bounds[3] - bounds[1] + 2 * margin_mm)),
    )
    job = with_sheet(plan.job, sheet)
    return replace(job, placement=replace(job.placement, centred=True))


def alike(plan: Plan, shape_ids: frozenset[str]) -> frozenset[str]:
    """All shapes that look like any of these: same source layer, fill, stroke and stroke width."""
    looks = {shape.look for shape in plan.drawing.shapes if shape.id in shape_ids}
    return frozenset(shape.id for shape in plan.drawing.shapes if shape.look in looks)


def _placed(job: Job, x_mm: float, y_mm: float, rotation_deg: float) -> Job:
    return replace(job, placement=Placement(x_mm=x_mm, y_mm=y_mm, rotation_deg=rotation_deg, centred=False))


def _unticked(job: Job, *codes: str) -> Job:
    """A run sheet that was printed before is out of date then, too."""
    return replace(job, cautions_ticked=job.cautions_ticked - {*codes, RUN_SHEET_GOES_ALONG})


def _free_colour(job: Job, purpose: Purpose) -> str:
    """A colour no layer has yet, from the Okabe and Ito palette, then the purpose's own."""
    used = {layer.colour.lower() for layer in job.layers}
    palette = ("#cc79a7", "#e69f00", "#56b4e9", "#f0e442", "#000000")
    return next((colour for colour in palette if colour not in used), LAYER_COLOURS[purpose])
