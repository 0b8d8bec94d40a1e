"""The transform of an element, about its transform-origin (CSS Transforms 1)."""

from core.artwork.svg.document import Node
from core.artwork.svg.styles import Style
from core.artwork.svg.values import length_px, parse_transform
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import IDENTITY, Affine, compose, translation

Box = tuple[float, float, float, float]
"""x, y, width, height."""

FITTED = frozenset({"fill-box", "content-box", "stroke-box"})
"""Values of transform-box that take the bounds of what is transformed."""


def transform_of(bench: Workbench, node: Node, text: str | None, style: Style, box: Box) -> Affine | None:
    """The matrix of an element with this transform (list or CSS syntax) and style; None where it makes no sense.

    ``box`` is what percentages and keywords of its origin refer to.
    """
    if text is None:
        return IDENTITY
    matrix = parse_transform(text, style.font_size_px)
    if matrix is None:
        bench.findings.add(
            "bad-transform",
            f"{node.name_for_people()} has a transform that makes no sense; it was left out of account.",
        )
        return None
    origin = style.own.get("transform-origin")
    if origin and matrix != IDENTITY:
        x, y = transform_origin(origin, box, style.font_size_px)
        matrix = compose(compose(translation(x, y), matrix), translation(-x, -y))
    return matrix


def transform_origin(text: str, box: Box, font_size_px: float) -> tuple[float, float]:
    """The point that a transform turns about, in user units."""
    words = text.split()
    keywords = {"left": "0%", "top": "0%", "center": "50%", "right": "100%", "bottom": "100%"}
    if (words and words[0] in ("top", "bottom")) or (len(words) > 1 and words[1] in ("left", "right")):
        words[:2] = [words[1], words[0]] if len(words) > 1 else ["center", words[0]]
    words = [keywords.get(word, word) for word in words]
    if len(words) == 1:
        words.append("50%")
    result = []
    for axis, word in enumerate(words[:2]):
        value = length_px(word, percent_of=box[2 + axis], font_size_px=font_size_px)
        if value is None:
            return (box[0], box[1])
        result.append(box[axis] + value)
    return (result[0], result[1])
