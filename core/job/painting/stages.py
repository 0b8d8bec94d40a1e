"""The work of a paint plan in its order, burns and paints by turns, and the front of the piece after each of them."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from core.finishing.paints import BARE
from core.finishing.steps import FrontArea, PaintPlan, PaintStep
from core.geometry.engine import shared, subtracted, united
from core.geometry.region import BaseGeometry
from core.geometry.rings import NOTHING
from core.job.datum import guide_of
from core.job.painting.burning import Burn, BurnPlan
from core.job.painting.planning import painted_region
from core.job.plan import LayerPlan, Plan


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stage:
    """One thing that is done: a burn or the painting of one colour. wait_h: how long before it nothing must be done.

    bares: what a burn bares, front frame; nothing where a colour is painted.
    """

    kind: Literal["burn", "paint"]
    words: str
    wait_h: float
    burn: Burn | None = None
    step: PaintStep | None = None
    bares: BaseGeometry = NOTHING


def stages_of(painting: PaintPlan, burning: BurnPlan | None) -> tuple[Stage, ...]:
    """Burn, paint, cure, burn the next: all that is done to the piece before it is cut (or after, by its edge).

    Without a plan of burns all is bared in one.
    """
    if burning is None:
        whole = Stage(kind="burn", words="burn all of it", wait_h=0.0, bares=painting.colouring.filled)
        return (whole, *(_painted(step) for step in painting.steps))
    stages: list[Stage] = []
    for burn in burning.burns:
        stages.append(Stage(kind="burn", words=burn.words, wait_h=burn.wait_h, burn=burn, bares=burn.region))
        stages += [_painted(step) for step in painting.steps if step.burn == burn.number]
    return tuple(stages)


def _painted(step: PaintStep) -> Stage:
    how = "over the whole back" if step.floods else "behind its mask" if step.opening is not None else "no mask"
    words = f"paint {step.area.paint.name}, {step.area.paint.coats} coats, {how}"
    return Stage(kind="paint", words=words, wait_h=0.0, step=step)


def looks_after(plan: Plan, painting: PaintPlan, stages: Sequence[Stage]) -> tuple[FrontArea, ...]:
    """The front once these stages are done: standing coat, bare sheet, paints by name; no overlaps.

    A burn bares its areas through whatever lies there; paint shows only where sheet is bare when it comes.
    """
    outline = painting.colouring.outline
    bared: BaseGeometry = NOTHING
    bare: BaseGeometry = NOTHING
    shown: dict[str, BaseGeometry] = {}
    colours = {step.area.paint.name: step.area.paint.colour for step in painting.steps}
    for stage in stages:
        if stage.kind == "burn":
            region = shared(stage.bares, outline)
            bared, bare = united([bared, region]), united([bare, region])
            shown = {name: subtracted(there, region) for name, there in shown.items()}
        elif stage.step is not None:
            lands = painted_region(stage.step, plan.job.finishing.masks, outline)
            name = stage.step.area.paint.name
            shown[name] = united([shown.get(name, NOTHING), shared(bare, lands)])
            bare = subtracted(bare, lands)
    coat = plan.job.stock.coat or "clear sheet"
    looks = [
        FrontArea(kind="coat", name=coat, colour=None, region=subtracted(outline, bared)),
        FrontArea(kind="bare", name=BARE, colour=None, region=bare),
        *(FrontArea(kind="paint", name=name, colour=colours[name], region=there) for name, there in shown.items()),
    ]
    return tuple(look for look in looks if not look.region.is_empty)


def burn_file_plans(plan: Plan, painting: PaintPlan, burning: BurnPlan) -> tuple[tuple[str, Plan], ...]:
    """(name without ending, what that bed file holds): one for each burn, and the cut where it comes last.

    By its edge the part is cut with the first burn and lies in its own opening for the others; with marks or pins it is
    cut last, with the scores, so that no paint goes into them.
    """
    cuts = [layer for layer in plan.layers if layer.layer.purpose == "cut" and layer.paths]
    scores = [layer for layer in plan.layers if layer.layer.purpose == "score" and layer.paths]
    by_edge = plan.datum is None or plan.datum.kind == "part edge"
    guides = tuple(guide_of(layer) for layer in (cuts if by_edge else plan.datum_layers))
    made = []
    count = len(burning.burns)
    for burn in burning.burns:
        first = burn.number == 1
        others = [*scores, *cuts] if by_edge and first else []
        stage = burn.words if count == 1 else f"burn {burn.number} of {count}: {burn.words.partition(': ')[2]}"
        made.append(
            (
                f"burn-{burn.number}",
                _of_stage(plan, stage, [*burn.layers, *others], plan.datum_layers if first else guides),
            )
        )
    if not by_edge and (cuts or scores):
        made.append(("cut-last", _of_stage(plan, "cut, after all painting", [*scores, *cuts], guides)))
    return tuple(made)


def _of_stage(plan: Plan, stage: str, layers: Sequence[LayerPlan], datum: Sequence[LayerPlan]) -> Plan:
    ids = {layer.layer.id for layer in layers}
    empty = [
        replace(layer, region=NOTHING, paths=(), shape_ids=(), verdict=None, rows=None, coverage=None, screen=None)
        for layer in plan.layers
        if layer.layer.id not in ids
    ]
    return replace(plan, layers=(*layers, *empty), datum_layers=tuple(datum), stage=stage)
