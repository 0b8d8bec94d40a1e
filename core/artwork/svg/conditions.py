"""Whether an element is meant for a reader like this one (SVG 2, 5.9: conditional processing)."""

from core.artwork.svg.document import Node

_LANGUAGES = ("en",)

_FEATURES = ("http://www.w3.org/TR/SVG11/feature#", "org.w3c.svg", "org.w3c.dom.svg")
"""How the names of SVG 1.1's own features begin (SVG 1.1, appendix K)."""


def condition_holds(node: Node) -> bool:
    """Whether the conditional attributes let the element be drawn."""
    attributes = node.attributes
    if "requiredExtensions" in attributes and node.tag != "svg":
        return False
    features = attributes.get("requiredFeatures")
    if features is not None and not all(one.startswith(_FEATURES) for one in features.split() or [""]):
        return False
    languages = attributes.get("systemLanguage")
    if languages is None:
        return True
    return any(
        one.strip().lower() == wanted or one.strip().lower().startswith(wanted + "-")
        for one in languages.split(",")
        for wanted in _LANGUAGES
    )
