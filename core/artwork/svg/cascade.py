"""The CSS cascade: what is declared on each element, from presentation attributes, style sheets and style=""."""

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

import tinycss2
from cssselect2 import parser

from core.artwork.svg.document import Document, Node
from core.artwork.svg.limits import MAX_SELECTOR_TESTS, MAX_STYLE_SHEET_CHARS
from core.artwork.svg.selectors import Selector, UnknownSelectorError

INHERITED = {
    "color": "black",
    "fill": "black",
    "fill-opacity": "1",
    "fill-rule": "nonzero",
    "stroke": "none",
    "stroke-width": "1",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-miterlimit": "4",
    "stroke-dasharray": "none",
    "stroke-dashoffset": "0",
    "stroke-opacity": "1",
    "visibility": "visible",
    "clip-rule": "nonzero",
    "color-interpolation": "sRGB",
    "color-interpolation-filters": "linearRGB",
    "marker-start": "none",
    "marker-mid": "none",
    "marker-end": "none",
    "font-family": "",
    "font-size": "medium",
    "font-style": "normal",
    "font-weight": "normal",
    "font-stretch": "normal",
    "font-variant": "normal",
    "font-kerning": "auto",
    "font-feature-settings": "normal",
    "font-variation-settings": "normal",
    "kerning": "auto",
    "letter-spacing": "normal",
    "word-spacing": "normal",
    "text-anchor": "start",
    "writing-mode": "horizontal-tb",
    "direction": "ltr",
    "white-space": "normal",
    "xml:space": "default",
    "xml:lang": "",
    "paint-order": "normal",
    "dominant-baseline": "auto",
}
"""Inherited properties with their initial values."""

OWN = {
    "opacity": "1",
    "display": "inline",
    "clip-path": "none",
    "mask": "none",
    "mask-type": "luminance",
    "filter": "none",
    "overflow": "visible",
    "transform-origin": "",
    "transform-box": "view-box",
    "stop-color": "black",
    "stop-opacity": "1",
    "flood-color": "black",
    "flood-opacity": "1",
    "vector-effect": "none",
    "text-decoration": "none",
    "baseline-shift": "baseline",
    "alignment-baseline": "auto",
    "unicode-bidi": "normal",
    "mix-blend-mode": "normal",
    "isolation": "auto",
}
"""Properties that are not inherited, with their initial values."""

GEOMETRY = frozenset({"x", "y", "width", "height", "cx", "cy", "r", "rx", "ry", "d"})
"""Properties that name attributes of the same name (SVG 2, chapter 7). They and ``transform`` stand in the
declarations only where style says them."""

PRESENTATION = (
    (frozenset(INHERITED) - {"font-kerning", "font-variation-settings"})
    | (frozenset(OWN) - {"transform-box"})
    | {"transform-origin"}
)
"""Properties that an attribute of the same name may say."""
_KNOWN = frozenset(INHERITED) | frozenset(OWN) | GEOMETRY | {"transform", "marker", "font"}
_PLAIN_STYLE = re.compile(r"[^\"'\\/!{}@]*")


class Declarations(NamedTuple):
    """Values by property name: the plain ones, and those that are important."""

    plain: dict[str, str]
    important: dict[str, str]


class _Rule(NamedTuple):
    specificity: tuple[int, int, int]
    order: int
    selector: Selector
    declarations: Declarations


class Cascade:
    """The style sheets of one document, ready to be asked."""

    def __init__(self, document: Document) -> None:
        self._rules: dict[tuple[str, str], list[_Rule]] = {}
        self._order = 0
        self._tests_left = MAX_SELECTOR_TESTS
        self.notes: list[tuple[str, str]] = []
        """(code, sentence) of what was not understood."""
        size = 0
        for sheet in document.style_sheets:
            size += len(sheet)
            if size > MAX_STYLE_SHEET_CHARS:
                self.notes.append(
                    ("style-sheet-too-long", "The style sheets are too long; the rest of them was left out.")
                )
                break
            self._add_sheet(sheet)

    @property
    def has_rules(self) -> bool:
        """Whether any style sheet says something."""
        return bool(self._rules)

    def declared(self, node: Node) -> dict[str, str]:
        """Property values declared on the node, later ones over earlier ones as CSS orders them."""
        if node.declared is None:
            node.declared = self._cascaded(node)
        return node.declared

    def _cascaded(self, node: Node) -> dict[str, str]:
        result = {name: value.strip() for name, value in node.attributes.items() if name in PRESENTATION}
        style = node.attributes.get("style")
        matched = self._matching_rules(node) if self._rules else []
        if not matched and not style:
            return result
        if style:
            matched.append(inline_declarations(style))
        for declarations in matched:
            result.update(declarations.plain)
        for declarations in matched:
            result.update(declarations.important)
        return result

    def _matching_rules(self, node: Node) -> list[Declarations]:
        keys = [("*", ""), ("e", node.tag), ("#", node.id)]
        keys.extend((".", name) for name in dict.fromkeys(node.attributes.get("class", "").split()))
        found: list[_Rule] = []
        for key in keys:
            rules = self._rules.get(key, ())
            if self._tests_left < len(rules):
                if self._tests_left >= 0:
                    self.notes.append(
                        ("style-sheet-too-long", "The style sheets ask for too much work; some rules were left out.")
                    )
                self._tests_left = -1
                break
            self._tests_left -= len(rules)
            found.extend(rule for rule in rules if rule.selector.matches(node))
        found.sort(key=lambda rule: rule[:2])
        return [rule.declarations for rule in found]

    def _add_sheet(self, text: str) -> None:
        rules = tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True)
        for rule in rules:
            if rule.type == "qualified-rule":
                self._add_rule(rule)
            elif rule.type == "at-rule":
                self._add_at_rule(rule)

    def _add_at_rule(self, rule: tinycss2.ast.AtRule) -> None:
        name = rule.lower_at_keyword
        if name == "import":
            self.notes.append(("style-import", "The style sheet wants another file (@import); it was not fetched."))
        elif name == "font-face":
            self.notes.append(
                ("font-face", "The style sheet brings or links a font of its own (@font-face); it was not used.")
            )
        elif name == "media" and rule.content is not None:
            query = tinycss2.serialize(rule.prelude).strip().lower()
            if not query or query.split()[0] in ("all", "screen"):
                for inner in tinycss2.parse_rule_list(rule.content, skip_comments=True, skip_whitespace=True):
                    if inner.type == "qualified-rule":
                        self._add_rule(inner)

    def _add_rule(self, rule: tinycss2.ast.QualifiedRule) -> None:
        declarations = _declarations(rule.content)
        if not any(declarations):
            return
        try:
            selectors = [
                Selector(one.parsed_tree, one.specificity)
                for one in parser.parse(rule.prelude)
                if one.pseudo_element is None
            ]
        except (parser.SelectorError, UnknownSelectorError, RecursionError):
            self.notes.append(
                ("style-rule", f"A style rule was not understood: {tinycss2.serialize(rule.prelude).strip()[:60]}")
            )
            return
        for selector in selectors:
            self._order += 1
            rule_here = _Rule(selector.specificity, self._order, selector, declarations)
            self._rules.setdefault(selector.key, []).append(rule_here)


def _gathered(said: Iterable[tuple[str, str, bool]]) -> Declarations:
    """Declarations (name, value, whether important), later ones over earlier ones; what is not known is left out."""
    result = Declarations({}, {})
    for raw_name, value, important in said:
        name = raw_name if raw_name.startswith("--") else raw_name.lower()
        into = result.important if important else result.plain
        if name == "marker":
            into.update(dict.fromkeys(("marker-start", "marker-mid", "marker-end"), value))
        elif name in _KNOWN or name.startswith("--"):
            into[name] = value
    return result


def _declarations(content: list[tinycss2.ast.Node]) -> Declarations:
    return _gathered(
        (one.name, tinycss2.serialize(one.value).strip(), one.important)
        for one in tinycss2.parse_blocks_contents(content, skip_comments=True, skip_whitespace=True)
        if one.type == "declaration"
    )


@lru_cache(maxsize=8192)
def inline_declarations(style: str) -> Declarations:
    """The declarations of a style attribute."""
    if not _PLAIN_STYLE.fullmatch(style):
        if len(style) > MAX_STYLE_SHEET_CHARS:
            return Declarations({}, {})
        return _declarations(tinycss2.parse_component_value_list(style, skip_comments=True))
    pieces = (piece.partition(":") for piece in style.split(";"))
    return _gathered((name.strip(), value.strip(), False) for name, colon, value in pieces if colon)
