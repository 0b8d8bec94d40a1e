"""clipPath (CSS Masking 1, SVG 1.1 chapter 14): regions in mm."""

from typing import Literal, cast

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.painting import filled_region
from core.artwork.svg.colours import url_target
from core.artwork.svg.conditions import condition_holds
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import NOTHING, Bounds, intersected
from core.artwork.svg.limits import MAX_USE_DEPTH
from core.artwork.svg.outlines import BASIC_SHAPES
from core.artwork.svg.transforms import transform_of
from core.artwork.svg.using import used
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import Affine, apply_to_region, compose, determinant
from core.geometry.engine import united


def property_clip(bench: Workbench, node: Node, here: Context) -> BaseGeometry | None:
    """What ``clip-path`` on a node says, mm; None where it does not clip. ``here`` is the context inside the node."""
    value = here.style.own.get("clip-path", "none")
    if value == "none":
        return None
    target = url_target(value)
    clip = bench.document.by_id.get(target) if target else None
    if clip is not None and clip.tag != "clipPath":
        bench.findings.add(
            "bad-clip", f"{node.name_for_people()} is clipped by “{value[:60]}”, which is no clip; it was left out."
        )
        return NOTHING
    if clip is None:
        bench.findings.add(
            "bad-clip",
            f"{node.name_for_people()} is clipped by “{value[:60]}”, which is not in the file; it was drawn whole.",
        )
        return None
    if clip in here.uses or here.depth >= MAX_USE_DEPTH:
        bench.findings.add("clip-loop", f"{clip.name_for_people()} clips itself; that was left out of account.")
        return None
    by_box = clip.attributes.get("clipPathUnits") == "objectBoundingBox"
    bounds = bench.bounds_of(node, here) if by_box else None
    key = ("clip", clip, here.matrix, here.viewport, bounds)
    if key not in bench.cache:
        bench.cache[key] = clip_region(bench, clip, here, bounds)
    return cast(BaseGeometry, bench.cache[key])


def clip_region(bench: Workbench, clip: Node, here: Context, bounds: Bounds | None) -> BaseGeometry:
    """The region of a clipPath on something in ``here`` (its user space)."""
    style = bench.styles.standing(clip)
    matrix = here.matrix
    by_box = clip.attributes.get("clipPathUnits") == "objectBoundingBox"
    x0, y0, x1, y1 = bounds or (0.0, 0.0, 0.0, 0.0)
    box = (x0, y0, x1 - x0, y1 - y0) if by_box else (0.0, 0.0, *here.viewport)
    own = transform_of(bench, clip, bench.styles.transform_text(clip), style, box)
    matrix = compose(matrix, own) if own is not None else matrix
    inside = bench.fresh_context(clip, here)._replace(matrix=matrix, measuring=True)
    if by_box:
        if bounds is None:
            return NOTHING
        inside = inside._replace(
            matrix=compose(matrix, (x1 - x0, 0.0, 0.0, y1 - y0, x0, y0)),
        )
    if determinant(inside.matrix) == 0.0:
        return NOTHING
    regions = [region for child in clip.children if (region := _child_region(bench, child, inside)) is not None]
    region = united(regions) if regions else NOTHING
    own_clip = property_clip(bench, clip, inside._replace(style=style, matrix=here.matrix, measuring=False))
    result = intersected(region, own_clip)
    return NOTHING if result is None else result


def _child_region(bench: Workbench, child: Node, here: Context) -> BaseGeometry | None:
    """What one child of a clipPath adds."""
    if child.tag not in BASIC_SHAPES and child.tag not in ("use", "text"):
        return None
    if not condition_holds(child):
        return None
    bench.budget.visit()
    bench.budget.spend(0)
    entered = bench.walker.entered(child, here)
    if entered is None:
        return None
    region: BaseGeometry | None
    if child.tag == "use":
        shown = bench.referenced(child)
        below = used(bench, child, entered) if shown is not None and shown.tag != "symbol" else []
        regions = [
            region
            for target, inner in below
            if target.tag in BASIC_SHAPES or target.tag == "text"
            if (region := _child_region(bench, target, inner)) is not None
        ]
        region = united(regions) if regions else None
    elif child.tag == "text":
        paths = bench.measured(child, entered)
        region = united([filled_region(path, "nonzero", tolerance_mm=bench.options.tolerance_mm) for path in paths])
    else:
        if not entered.style.visible:
            return None
        path = bench.outlines.path(child, entered.style, entered.viewport, lambda code, what: None)
        if not len(path):
            return None
        bench.budget.spend(len(path))
        rule: Literal["nonzero", "evenodd"] = "evenodd" if entered.style.values["clip-rule"] == "evenodd" else "nonzero"
        region = filled_region(path.transformed(entered.matrix), rule, tolerance_mm=bench.options.tolerance_mm)
    if region is None:
        return None
    return intersected(region, property_clip(bench, child, entered))


def box_region(matrix: Affine, bounds: Bounds) -> BaseGeometry:
    """A rectangle (x0, y0, x1, y1) in user units as a region in mm."""
    return apply_to_region(matrix, shapely.box(*bounds))
