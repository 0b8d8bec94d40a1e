"""One outline with its paints, handed on: the end of the walk for shapes, texts and markers' lines."""

from dataclasses import replace

import numpy as np

from core.artwork.paint_order import near_white
from core.artwork.separating import goes_round_nothing
from core.artwork.svg.blurring import blurred
from core.artwork.svg.colours import hex_colour
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Blur, Bounds, Drawn
from core.artwork.svg.inks import ink_for, pen_for
from core.artwork.svg.limits import MAX_COORDINATE_MM
from core.artwork.svg.outlines import rectangle
from core.artwork.svg.pens import too_many_dashes
from core.artwork.svg.workbench import Sink, Workbench
from core.geometry.path import Path
from core.geometry.stroke import Stroke


def draw_path(
    bench: Workbench,
    node: Node,
    path: Path,
    here: Context,
    sink: Sink,
    *,
    bounds: Bounds | None = None,
    is_text: bool = False,
) -> None:
    """Hand one outline in user units to the sink, with its paints. ``bounds`` are those of the whole element
    where the outline is only a part of it."""
    style = here.style
    bench.budget.draw(len(path))
    if here.measuring:
        cell = rectangle(*bounds[:2], bounds[2] - bounds[0], bounds[3] - bounds[1]) if bounds is not None else None
        sink(
            Drawn(
                kind=node.tag,
                label="",
                source_layer="",
                path=path.transformed(here.matrix),
                cell=cell.transformed(here.matrix) if cell is not None else None,
            )
        )
        return
    fill = ink_for(bench, style.fill, style.fill_opacity, here, path, bounds)
    stroke = ink_for(bench, style.stroke, style.stroke_opacity, here, path, bounds)
    pen = pen_for(bench, here, hex_colour(stroke.colour)) if stroke is not None else None
    if pen is not None and too_many_dashes(path, pen.dashes):
        bench.findings.add(
            "too-many-dashes", f"{node.name_for_people()} has too many dashes; it was drawn with a solid line."
        )
        pen = replace(pen, dashes=())
    # without a fill (or around white, or nothing, alone) such a line may be all that the file has to say
    unseen = stroke is not None and pen is None
    zero_width = unseen and (fill is None or near_white(hex_colour(fill.colour)) or goes_round_nothing(path))
    if stroke is not None and fill is not None and unseen and not zero_width:
        bench.unseen_strokes += hex_colour(fill.colour) != hex_colour(stroke.colour)
    if stroke is not None and zero_width:
        pen = Stroke(colour=hex_colour(stroke.colour), width=0.0, width_mm=0.0)
    if fill is None and pen is None:
        return
    in_mm = path.transformed(here.matrix)
    if not _within_reach(in_mm):
        bench.unread.append(node)
        bench.findings.add(
            "out-of-range",
            f"{node.name_for_people()} reaches farther than any sheet (or is not finite) and was left out.",
        )
        return
    drawn = Drawn(
        kind=node.tag,
        label=here.label or node.label,
        source_layer=here.source_layer,
        path=in_mm,
        fill_rule="evenodd" if style.values["fill-rule"] == "evenodd" and not is_text else "nonzero",
        fill=fill,
        stroke=stroke if pen is not None else None,
        pen=pen,
        opacity=here.opacity,
        layers=here.layers,
        clip=here.clip,
        masks=here.masks,
        names=(*here.names, *node.names),
        source_id=(here.origin or node).id,
        is_text=is_text,
        zero_width=zero_width,
        origin=here.origin or node,
    )
    for one in _blurred(bench, drawn, here.blur):
        sink(one)


def _blurred(bench: Workbench, drawn: Drawn, blur: Blur | None) -> list[Drawn]:
    if blur is None or drawn.zero_width:
        return [drawn]
    if not bench.budget.allows_blur(len(drawn.path)):
        bench.findings.add("too-much-blur", "The artwork has very many blurred parts; the last were drawn sharp.")
        return [drawn]
    return blurred(drawn, blur, bench.options.tolerance_mm)


def _within_reach(path: Path) -> bool:
    """Whether all numbers of a path are finite and no larger than ``MAX_COORDINATE_MM``."""
    segments = path.segments
    if np.vdot(segments, segments) <= MAX_COORDINATE_MM**2:  # quicker, and true for all but strange artwork
        return True
    return bool(np.abs(segments).max() <= MAX_COORDINATE_MM)
