"""What a ``use`` element shows (SVG 2, 5.6)."""

from core.artwork.svg.conditions import condition_holds
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Ink
from core.artwork.svg.inks import ink_for
from core.artwork.svg.limits import MAX_USE_DEPTH
from core.artwork.svg.references import fits_bounds
from core.artwork.svg.workbench import Workbench
from core.geometry.path import EMPTY


def used(bench: Workbench, node: Node, here: Context) -> list[tuple[Node, Context]]:
    """What a ``use`` shows. ``here`` is the context inside it."""
    target = bench.referenced(node)
    if target is None:
        return []
    if target in here.uses or _is_ancestor(target, node) or here.depth >= MAX_USE_DEPTH:
        bench.findings.add("use-loop", f"{node.name_for_people()} shows itself again and again; it was left out.")
        return []
    inner = here._replace(
        uses=(*here.uses, target),
        depth=here.depth + 1,
        label=here.label or node.label,
        names=(*here.names, *node.names),
        origin=here.origin or node,
    )
    if target not in here.uses:
        inner = inner._replace(outer=_paints_of_use(bench, node, here))
    if target.tag in ("symbol", "svg"):
        if not condition_holds(target):
            return []
        entered = bench.walker.entered(target, inner, use=node)
        if entered is not None and entered.filter is not inner.filter:
            bench.findings.add("filter", f"{target.name_for_people()} has a filter effect; it was drawn without it.")
            entered = entered._replace(filter=inner.filter)
        return [(child, entered) for child in target.children] if entered is not None else []
    return [(target, inner)]


def _paints_of_use(bench: Workbench, node: Node, here: Context) -> tuple[Ink | None, Ink | None]:
    """What context-fill and context-stroke mean in what a ``use`` shows (SVG 2, 13.2)."""
    if here.measuring or not bench.document.mentions("context-"):
        return here.outer
    style = here.style
    servers = [
        server
        for paint in (style.fill, style.stroke)
        if paint.server is not None and (server := bench.document.by_id.get(paint.server[1:])) is not None
    ]
    bounds = bench.bounds_of(node, here) if any(fits_bounds(bench, server) for server in servers) else None
    return (
        ink_for(bench, style.fill, style.fill_opacity, here, EMPTY, bounds),
        ink_for(bench, style.stroke, style.stroke_opacity, here, EMPTY, bounds),
    )


def _is_ancestor(one: Node, node: Node) -> bool:
    step: Node | None = node
    for _ in range(2000):
        if step is None:
            return False
        if step is one:
            return True
        step = step.parent
    return False
