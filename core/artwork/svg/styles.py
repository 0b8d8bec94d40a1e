"""Computed styles: what an element inherits and what it says itself."""

import re
from functools import cached_property

from core.artwork.svg.cascade import GEOMETRY, INHERITED, OWN, Cascade
from core.artwork.svg.colours import BLACK, NO_PAINT, Paint, Rgba, parse_colour, parse_paint
from core.artwork.svg.document import Node
from core.artwork.svg.limits import MAX_CUSTOM_PROPERTY_CHARS
from core.artwork.svg.values import length_px, opacity_value, split_length

MEDIUM_FONT_PX = 16.0
_FONT_KEYWORDS_PX = {
    "xx-small": 9.0, "x-small": 10.0, "small": 13.0, "medium": 16.0, "large": 18.0, "x-large": 24.0, "xx-large": 32.0,
    "xxx-large": 48.0,
}  # fmt: skip
"""CSS Fonts 4, 2.5, at a medium of 16 px."""

_VARIABLE = re.compile(r"var\(\s*(--[^\s,()]+)\s*(?:,((?:[^()]|\([^()]*\))*))?\)")
_WIDE_KEYWORDS = frozenset({"inherit", "initial", "unset", "revert", "revert-layer"})
_SHARED_LIMIT = 50_000


class Style:
    """Computed values of one element. Elements that say the same in the same place share one Style.

    ``values`` holds every inherited property, ``own`` the others as far as the element says them.
    """

    def __init__(
        self, values: dict[str, str], own: dict[str, str], custom: dict[str, str], font_size_px: float
    ) -> None:
        self.values = values
        self.own = own
        self.custom = custom
        self.font_size_px = font_size_px
        self.cache: dict[str, object] = {}
        """For what other modules work out from this style."""
        self.children: dict[tuple[tuple[str, str], ...], Style] = {}

    def get(self, name: str) -> str:
        """The computed value of a property."""
        return self.own.get(name, OWN[name]) if name in OWN else self.values[name]

    @cached_property
    def colour(self) -> Rgba:
        """What currentColor means here."""
        return parse_colour(self.values["color"]) or BLACK

    @cached_property
    def fill(self) -> Paint:
        """The fill paint."""
        return parse_paint(self.values["fill"]) or NO_PAINT

    @cached_property
    def stroke(self) -> Paint:
        """The stroke paint."""
        return parse_paint(self.values["stroke"]) or NO_PAINT

    @cached_property
    def fill_opacity(self) -> float:
        """fill-opacity, 0..1."""
        return opacity_value(self.values["fill-opacity"])

    @cached_property
    def stroke_opacity(self) -> float:
        """stroke-opacity, 0..1."""
        return opacity_value(self.values["stroke-opacity"])

    @cached_property
    def opacity(self) -> float:
        """The element's own opacity, 0..1."""
        return opacity_value(self.own.get("opacity"))

    @cached_property
    def visible(self) -> bool:
        """False where visibility hides the element itself (not its children)."""
        return self.values["visibility"] not in ("hidden", "collapse")


def initial_style() -> Style:
    """What the outermost element inherits."""
    return Style(dict(INHERITED), {}, {}, MEDIUM_FONT_PX)


class Styles:
    """Computes styles from the cascade."""

    def __init__(self, cascade: Cascade, root: Node) -> None:
        self._cascade = cascade
        self._shared = 0
        self._standing: dict[int, Style] = {}
        self.root_font_size_px = MEDIUM_FONT_PX
        self.root_font_size_px = self.computed(root, initial_style()).font_size_px

    def computed(self, node: Node, parent: Style) -> Style:
        """The style of ``node`` where it stands in (or is used in) ``parent``."""
        declared = self._cascade.declared(node)
        if not declared and not parent.own:
            return parent
        key = tuple(declared.items())
        found = parent.children.get(key)
        if found is None:
            found = self._compute(declared, parent)
            if self._shared < _SHARED_LIMIT:
                self._shared += 1
                parent.children[key] = found
        return found

    def standing(self, node: Node) -> Style:
        """The style of an element where it stands in the file."""
        above: list[Node] = []
        step: Node | None = node
        while step is not None and id(step) not in self._standing:
            above.append(step)
            step = step.parent
        style = self._standing[id(step)] if step is not None else initial_style()
        for one in reversed(above):
            style = self._standing[id(one)] = self.computed(one, style)
        return style

    def geometry(self, node: Node, name: str) -> str | None:
        """A geometry property: what style says, else the attribute."""
        value = self._cascade.declared(node).get(name)
        return value if value is not None and value != "auto" else node.attributes.get(name)

    def transform_text(self, node: Node, attribute: str = "transform") -> str | None:
        """The transform: what style says, else the attribute (of that name)."""
        value = self._cascade.declared(node).get("transform")
        return value if value is not None else node.attributes.get(attribute)

    def _compute(self, declared: dict[str, str], parent: Style) -> Style:
        values, custom = parent.values, parent.custom
        own: dict[str, str] = {}
        font_size_px = parent.font_size_px
        if any(name.startswith("--") for name in declared):
            custom = {**custom, **{name: value for name, value in declared.items() if name.startswith("--")}}
        changed: dict[str, str] = {}
        for name, said in declared.items():
            value = said
            if "var(" in said and not name.startswith("--"):
                substituted = _substituted(said, custom)
                if substituted is None:
                    continue
                value = substituted
            if name in INHERITED:
                if value in _WIDE_KEYWORDS:
                    changed[name] = INHERITED[name] if value == "initial" else parent.values[name]
                elif name not in ("fill", "stroke") or parse_paint(value) is not None:
                    changed[name] = value
            elif name in OWN:
                if value == "inherit":
                    own[name] = parent.get(name)
                elif value not in _WIDE_KEYWORDS:
                    own[name] = value
            elif name == "font":
                changed.update(_font_shorthand(value))
            elif name in GEOMETRY or name == "transform":
                continue
        if "font-size" in changed:
            font_size_px = self._font_size(changed["font-size"], parent.font_size_px)
        if changed.get("font-weight") in ("bolder", "lighter"):
            changed["font-weight"] = _relative_weight(changed["font-weight"], parent.values["font-weight"])
        if changed:
            values = {**values, **changed}
        return Style(values, own, custom, font_size_px)

    def _font_size(self, text: str, parent_px: float) -> float:
        if text in _FONT_KEYWORDS_PX:
            return _FONT_KEYWORDS_PX[text]
        if text in ("larger", "smaller"):
            return parent_px * (1.2 if text == "larger" else 1 / 1.2)
        size = length_px(text, percent_of=parent_px, font_size_px=parent_px, root_font_size_px=self.root_font_size_px)
        return size if size is not None and size >= 0 else parent_px


def _relative_weight(word: str, inherited: str) -> str:
    """bolder and lighter beside the weight around (CSS Fonts 4, 2.2.1)."""
    weight = {"normal": 400.0, "bold": 700.0}.get(inherited, 400.0)
    if inherited.replace(".", "", 1).isdecimal():
        weight = float(inherited)
    if word == "bolder":
        return "400" if weight < 350 else "700" if weight < 550 else str(max(900.0, weight))
    return str(min(100.0, weight)) if weight < 550 else "400" if weight < 750 else "700"


def _substituted(value: str, custom: dict[str, str]) -> str | None:
    """The value with its var() put in; None where that can't be done (CSS then drops the declaration)."""
    for _ in range(16):
        match = _VARIABLE.search(value)
        if not match:
            return value if "var(" not in value else None
        replacement = custom.get(match.group(1), match.group(2))
        if replacement is None:
            return None
        value = value[: match.start()] + replacement.strip() + value[match.end() :]
        if len(value) > MAX_CUSTOM_PROPERTY_CHARS:
            return None
    return None


def _font_shorthand(text: str) -> dict[str, str]:
    """The parts of a font shorthand that matter here."""
    result = {"font-style": "normal", "font-weight": "normal", "font-variant": "normal", "font-stretch": "normal"}
    words = text.split()
    for i, word in enumerate(words):
        size = word.partition("/")[0]
        parts = split_length(size)
        if size in _FONT_KEYWORDS_PX or size in ("larger", "smaller") or (parts is not None and parts[1]):
            result["font-size"] = size
            result["font-family"] = " ".join(words[i + 1 :])
            return result
        if word in ("italic", "oblique"):
            result["font-style"] = word
        elif word in ("bold", "bolder", "lighter") or word.isdecimal():
            result["font-weight"] = word
        elif word == "small-caps":
            result["font-variant"] = word
        elif word.endswith(("condensed", "expanded")):
            result["font-stretch"] = word
    return {}
