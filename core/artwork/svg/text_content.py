"""What a text element says, character by character: whose style each one has and where it is put (SVG 2, 11.4)."""

import re
from dataclasses import dataclass, field

from core.artwork.svg.conditions import condition_holds
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.limits import MAX_GLYPHS, TooMuchError
from core.artwork.svg.values import NUMBER, length_px, number_list
from core.artwork.svg.workbench import Workbench

_NUMBERS = re.compile(rf"\s*{NUMBER}(?:[\s,]+{NUMBER})*\s*")
_SPANS = frozenset({"text", "tspan", "textPath", "a", "tref", "altGlyph"})


@dataclass(slots=True, kw_only=True, eq=False)
class Span:
    """Part of a text that one element says. ``path_node`` is the textPath it stands on."""

    node: Node
    context: Context
    parent: "Span | None"
    start: int
    stop: int = 0

    @property
    def runs_to_the_left(self) -> bool:
        """The base direction of the whole text."""
        step = self
        while step.parent is not None:
            step = step.parent
        return step.context.style.values["direction"] == "rtl"

    @property
    def path_node(self) -> Node | None:
        """The nearest textPath around it."""
        step: Span | None = self
        while step is not None:
            if step.node.tag == "textPath":
                return step.node
            step = step.parent
        return None


@dataclass(slots=True, kw_only=True)
class Character:
    """One addressable character; ``x`` and ``y`` are absolute where given, ``dx`` and ``dy`` shifts, user units."""

    text: str
    span: Span
    x: float | None = None
    y: float | None = None
    dx: float = 0.0
    dy: float = 0.0
    rotate_deg: float = 0.0


@dataclass(slots=True)
class _Collected:
    characters: list[Character] = field(default_factory=list)
    spans: list[Span] = field(default_factory=list)
    after_space: bool = True


def characters_of(bench: Workbench, node: Node, here: Context) -> list[Character]:
    """All characters that a text element shows, white space settled, positions put on. ``here`` is inside it."""
    collected = _Collected()
    root = Span(node=node, context=here, parent=None, start=0)
    collected.spans.append(root)
    stack: list[tuple[Span, int]] = [(root, 0)]
    while stack:
        span, at = stack.pop()
        content = span.node.content or []
        while at < len(content):
            item = content[at]
            at += 1
            if isinstance(item, str):
                _add_text(collected, item, span)
                continue
            inner = _entered_span(bench, item, span, len(collected.characters))
            if inner is not None:
                collected.spans.append(inner)
                if item.tag == "tref":
                    target = bench.referenced(item)
                    _add_text(collected, target.text() if target is not None else "", inner)
                    inner.stop = len(collected.characters)
                    continue
                stack.append((span, at))
                span, content, at = inner, inner.node.content or [], 0
        span.stop = len(collected.characters)
    characters = collected.characters
    if characters and characters[-1].text == " " and not _preserves(characters[-1].span):
        characters.pop()
    for span in collected.spans:
        _position(bench, characters, span)
    return _with_marks(characters, collected.spans)


_MARKS = {
    ("embed", "ltr"): "\u202a\u202c", ("embed", "rtl"): "\u202b\u202c",
    ("bidi-override", "ltr"): "\u202d\u202c", ("bidi-override", "rtl"): "\u202e\u202c",
    ("isolate", "ltr"): "\u2066\u2069", ("isolate", "rtl"): "\u2067\u2069",
    ("isolate-override", "ltr"): "\u2068\u202d\u202c\u2069", ("isolate-override", "rtl"): "\u2068\u202e\u202c\u2069",
    ("plaintext", "ltr"): "\u2068\u2069", ("plaintext", "rtl"): "\u2068\u2069",
}  # fmt: skip
"""What unicode-bidi comes to in control characters around an element's text (CSS Writing Modes 4, 2.4.2)."""


def _with_marks(characters: list[Character], spans: list[Span]) -> list[Character]:
    """The characters with those that turn the direction of an element's text, which show nothing."""
    before: dict[int, list[Character]] = {}
    after: dict[int, list[Character]] = {}
    for span in spans:
        style = span.context.style
        marks = _MARKS.get((style.own.get("unicode-bidi", "normal"), style.values["direction"]), "")
        if not marks or span.stop <= span.start:
            continue
        half = len(marks) // 2
        opening, closing = ([Character(text=mark, span=span) for mark in part] for part in (marks[:half], marks[half:]))
        before.setdefault(span.start, []).extend(opening)
        after[span.stop] = closing + after.get(span.stop, [])
    if not before:
        return characters
    result: list[Character] = []
    for i in range(len(characters) + 1):
        result += after.get(i, [])
        if i < len(characters):
            first = before.get(i, [])
            if first:  # what places the first character places what stands before it
                first[0].x, first[0].y = characters[i].x, characters[i].y
                characters[i].x = characters[i].y = None
            result += [*first, characters[i]]
    return result


def _entered_span(bench: Workbench, node: Node, parent: Span, start: int) -> Span | None:
    bench.budget.visit()
    if node.tag not in _SPANS or node.tag == "text":
        return None
    if not condition_holds(node):
        return None
    if node.tag == "textPath" and parent.node.tag == "textPath":
        return None
    style = bench.styles.computed(node, parent.context.style)
    if style.own.get("display") == "none":
        return None
    # transform, clip, mask, filter and opacity are for graphics elements, which parts of a text are not (SVG 2, 11.2)
    context = parent.context._replace(style=style)
    return Span(node=node, context=context, parent=parent, start=start)


def _preserves(span: Span) -> bool:
    values = span.context.style.values
    return values["xml:space"] == "preserve" or values["white-space"] in ("pre", "pre-wrap", "break-spaces")


def _add_text(collected: _Collected, text: str, span: Span) -> None:
    keep = _preserves(span)
    for character in text:
        if character in "\n\t\r ":
            if not keep and collected.after_space:
                continue
            collected.after_space = True
            character_shown = " "
        else:
            collected.after_space = False
            character_shown = character
        collected.characters.append(Character(text=character_shown, span=span))
    if len(collected.characters) > MAX_GLYPHS:
        raise TooMuchError(f"A text has more than {MAX_GLYPHS:,} characters.", hint="Turn it into outlines first.")


def _position(bench: Workbench, characters: list[Character], span: Span) -> None:
    """Put an element's own x, y, dx, dy and rotate onto its characters; inner elements come later and win."""
    attributes = span.node.attributes
    if span.node.tag == "textPath":
        return
    stop = min(span.stop, len(characters))
    for name, axis in (("x", 0), ("y", 1), ("dx", 0), ("dy", 1)):
        if name not in attributes:
            continue
        values = _lengths(bench, attributes[name], span.context, axis)
        for character, value in zip(characters[span.start : stop], values, strict=False):
            setattr(character, name, value)
    if "rotate" in attributes:
        turns = number_list(attributes["rotate"]) if _NUMBERS.fullmatch(attributes["rotate"]) else []
        for i, character in enumerate(characters[span.start : stop]):
            if turns:
                character.rotate_deg = turns[min(i, len(turns) - 1)]


def _lengths(bench: Workbench, text: str, here: Context, axis: int) -> list[float]:
    values = []
    for word in text.replace(",", " ").split():
        value = length_px(
            word,
            percent_of=here.viewport[axis],
            font_size_px=here.style.font_size_px,
            root_font_size_px=bench.styles.root_font_size_px,
        )
        if value is None:
            break
        values.append(value)
    return values
