"""CSS filter functions (Filter Effects 1, 6) as the primitives that they stand for."""

import math
import re

from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Filter
from core.artwork.svg.values import length_px
from core.artwork.svg.workbench import Workbench

_FUNCTION = re.compile(r"\s*([a-z-]+)\(((?:[^()]|\([^()]*\))*)\)")
_REACH = 3.2
"""Deviations that a blur reaches."""


def css_filter_of(bench: Workbench, text: str, node: Node, here: Context) -> Filter | None:
    """What a list of CSS filter functions does; None where it can't be understood (Filter Effects 1, 6)."""
    steps: list[Node] = []
    reach = 0.0
    at = 0
    while at < len(text.rstrip()):
        match = _FUNCTION.match(text, at)
        if not match:
            return None
        made = _css_step(match.group(1), match.group(2).strip(), here)
        if made is None:
            return None
        steps.append(made[0])
        reach += made[1]
        at = match.end()
    bounds = bench.bounds_of(node, here)
    if bounds is None or not steps:
        return None
    stroke = length_px(here.style.values["stroke-width"], percent_of=0.0, font_size_px=here.style.font_size_px) or 1.0
    x0, y0, x1, y1 = bounds
    reach += stroke * 2 + max(x1 - x0, y1 - y0) * 0.02
    box = (x0 - reach, y0 - reach, x1 + reach, y1 + reach)
    return Filter(steps=tuple(steps), box=box, bounds=bounds, by_box=False, to_mm=here.matrix, linear=False)


def _css_step(name: str, text: str, here: Context) -> tuple[Node, float] | None:
    """A filter function as a primitive, and how far it reaches."""

    def made(tag: str, **attributes: str) -> Node:
        return Node(tag, {key.replace("_", "-"): value for key, value in attributes.items()}, None, 0)

    def length(word: str) -> float | None:
        return length_px(word, percent_of=0.0, font_size_px=here.style.font_size_px)

    if name == "blur":
        deviation = length(text or "0")
        if deviation is None or deviation < 0:
            return None
        return made("feGaussianBlur", stdDeviation=repr(deviation)), deviation * _REACH
    if name == "drop-shadow":
        words = re.findall(r"[a-z]+\([^()]*\)|[^\s]+", text)
        lengths = [value for word in words if (value := length(word)) is not None]
        colours = [word for word in words if length(word) is None]
        if not 2 <= len(lengths) <= 3 or len(colours) > 1:
            return None
        dx, dy, deviation = (*lengths, 0.0)[:3]
        shadow = made(
            "feDropShadow", dx=repr(dx), dy=repr(dy), stdDeviation=repr(deviation),
            flood_color=colours[0] if colours else "currentColor",
        )  # fmt: skip
        return shadow, max(abs(dx), abs(dy)) + deviation * _REACH
    amount = _amount(text or "1")
    if name == "hue-rotate":
        turn = re.fullmatch(r"([-+.\deE]+)(deg|grad|rad|turn)?", text or "0")
        if not turn:
            return None
        factor = {"grad": 0.9, "rad": 180 / math.pi, "turn": 360.0}.get(turn.group(2) or "", 1.0)
        return made("feColorMatrix", type="hueRotate", values=repr(float(turn.group(1)) * factor)), 0.0
    if amount is None:
        return None
    rows = {
        "opacity": "1 0 0 0 0  0 1 0 0 0  0 0 1 0 0  0 0 0 {0} 0",
        "brightness": "{0} 0 0 0 0  0 {0} 0 0 0  0 0 {0} 0 0  0 0 0 1 0",
        "contrast": "{0} 0 0 0 {1}  0 {0} 0 0 {1}  0 0 {0} 0 {1}  0 0 0 1 0",
        "invert": "{2} 0 0 0 {0}  0 {2} 0 0 {0}  0 0 {2} 0 {0}  0 0 0 1 0",
    }
    if name in rows:
        share = min(amount, 1.0) if name in ("opacity", "invert") else amount
        values = rows[name].format(share, 0.5 - share / 2, 1 - 2 * share)
        return made("feColorMatrix", type="matrix", values=values), 0.0
    if name in ("saturate", "grayscale", "sepia"):  # in colours only: how grey sepia is makes no odds here
        left = amount if name == "saturate" else 1 - min(amount, 1.0)
        return made("feColorMatrix", type="saturate", values=repr(left)), 0.0
    return None


def _amount(text: str) -> float | None:
    """A number or percentage at or above zero."""
    match = re.fullmatch(r"([-+.\deE]+)(%?)", text)
    if not match:
        return None
    value = float(match.group(1)) / (100 if match.group(2) else 1)
    return value if value >= 0 else None
