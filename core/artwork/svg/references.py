"""Paint servers that take what they lack from another one (SVG 2, 14.1.1)."""

from core.artwork.svg.document import Node
from core.artwork.svg.transforms import Box, transform_of
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import IDENTITY, Affine

_MAX_LINKS = 32
_GRADIENTS = ("linearGradient", "radialGradient")


def chain_of(bench: Workbench, node: Node) -> list[Node]:
    """The paint server and those that its href leads to, nearest first."""
    kinds = _GRADIENTS if node.tag in _GRADIENTS else (node.tag,)
    chain = [node]
    while len(chain) < _MAX_LINKS:
        href = chain[-1].attributes.get("href", "").strip()
        following = bench.document.by_id.get(href[1:]) if href.startswith("#") else None
        if following is None or following in chain or following.tag not in kinds:
            break
        chain.append(following)
    return chain


def inherited(chain: list[Node], name: str, *, tag: str = "") -> str | None:
    """An attribute of the first of the chain that has it (only of elements called ``tag``, if given)."""
    for node in chain:
        if name in node.attributes and (not tag or node.tag == tag):
            return node.attributes[name]
    return None


def server_transform(bench: Workbench, chain: list[Node], attribute: str, box: Box) -> Affine:
    """The transform of the first of the chain that has one; ``box`` is what its origin refers to."""
    for node in chain:
        text = bench.styles.transform_text(node, attribute)
        if text is not None:
            return transform_of(bench, node, text, bench.styles.standing(node), box) or IDENTITY
    return IDENTITY


def fits_bounds(bench: Workbench, node: Node) -> bool:
    """Whether the paint server is fitted to the bounds of what it paints, so that it needs some."""
    chain = chain_of(bench, node)
    if node.tag == "pattern":
        by_box = (inherited(chain, "patternUnits") or "objectBoundingBox") != "userSpaceOnUse"
        return by_box or inherited(chain, "patternContentUnits") == "objectBoundingBox"
    stops = next((count for one in chain if (count := sum(child.tag == "stop" for child in one.children))), 0)
    return stops > 1 and inherited(chain, "gradientUnits") != "userSpaceOnUse"  # one stop is a plain colour
