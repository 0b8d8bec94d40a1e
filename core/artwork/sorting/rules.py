"""The maker's own rules: what all shapes on one layer, of one line or fill colour, or all lettering, are for."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal, cast, get_args

from core.artwork.line_ids import whole_id
from core.errors import UnreadableError
from core.purposes import LEAVE_OUT, PURPOSES, Answer

if TYPE_CHECKING:
    from core.artwork.drawing import Drawing, Shape

Sort = Literal["layer", "stroke", "fill", "id", "text"]

_LEAVE_OUT_WORD = "leave-out"
ANSWER_WORDS: tuple[str, ...] = (*PURPOSES, _LEAVE_OUT_WORD)
"""How answers are written on the command line."""
_DONE: dict[Answer, str] = {
    "fill": "filled", "cut": "cut", "score": "scored", "guide": "guides", LEAVE_OUT: "left out",
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class PurposeRule:
    """What shapes of one sort are for. ``value``: a layer's or group's name, a colour "#rrggbb", an id; empty for text.

    Names compare without case.
    """

    sort: Sort
    value: str = ""
    answer: Answer

    def matches(self, shape: "Shape") -> bool:
        """Whether the rule speaks of this shape."""
        if self.sort == "text":
            return shape.is_text
        if self.sort == "stroke":
            return shape.stroke is not None and shape.stroke.colour.lower() == self.value
        if self.sort == "fill":
            return shape.fill is not None and shape.fill.lower() == self.value
        wanted = self.value.casefold()
        if self.sort == "id":
            return wanted in (shape.source_id.casefold(), shape.label.casefold(), whole_id(shape.id).casefold())
        own = (shape.source_id, shape.label)
        groups = [name for name in shape.names if name not in own]
        return wanted in (name.casefold() for name in (shape.source_layer, *groups))

    @property
    def sentence(self) -> str:
        """The rule in words."""
        done = _DONE[self.answer]
        if self.sort == "text":
            return f"Lettering: {done}."
        what = {
            "layer": f"Shapes on the layer “{self.value}”",
            "stroke": f"Lines of the colour {self.value}",
            "fill": f"Areas of the colour {self.value}",
            "id": f"The object “{self.value}”",
        }[self.sort]
        return f"{what}: {done}."

    @property
    def written(self) -> str:
        """The rule as it is written on the command line."""
        answer = _LEAVE_OUT_WORD if self.answer == LEAVE_OUT else self.answer
        return f"{self.sort if self.sort == 'text' else f'{self.sort}:{self.value}'}={answer}"


def parse_answer(text: str) -> Answer:
    """A purpose or "leave-out". Raises UnreadableError."""
    word = text.strip().lower()
    if word in (_LEAVE_OUT_WORD, LEAVE_OUT):
        return LEAVE_OUT
    if word not in PURPOSES:
        raise UnreadableError(f"“{text}” is no purpose.", hint=f"Write one of {', '.join(ANSWER_WORDS)}.")
    return next(purpose for purpose in PURPOSES if purpose == word)


def parse_rule(text: str) -> PurposeRule:
    """A rule as written on the command line: ``layer:NAME=cut``, ``stroke:#rrggbb=score``, ``text=score``.

    Raises UnreadableError, with how to write it.
    """
    what, equals, answer = text.rpartition("=")
    sort, _, value = what.partition(":")
    sort, value = sort.strip().lower(), value.strip()
    if not equals or sort not in get_args(Sort) or (sort != "text") != bool(value):
        raise UnreadableError(
            f"“{text}” is no rule.",
            hint="Write layer:NAME=cut, stroke:#rrggbb=score, fill:#rrggbb=fill, id:NAME=guide or text=score.",
        )
    if sort in ("stroke", "fill"):
        value = _colour(value)
    return PurposeRule(sort=cast(Sort, sort), value=value, answer=parse_answer(answer))


def _colour(text: str) -> str:
    digits = text.lower().removeprefix("#")
    if re.fullmatch(r"[0-9a-f]{3}", digits):
        digits = "".join(2 * digit for digit in digits)
    if not re.fullmatch(r"[0-9a-f]{6}", digits):
        raise UnreadableError(f"“{text}” is no colour.", hint="Write it like #ff8800.")
    return f"#{digits}"


def ruled(drawing: "Drawing", rules: Sequence[PurposeRule]) -> dict[str, PurposeRule]:
    """The rule of each shape that has one, by its id: the first that matches."""
    if not rules:
        return {}
    return {
        shape.id: rule
        for shape in drawing.shapes
        if (rule := next((one for one in rules if one.matches(shape)), None)) is not None
    }


def rules_that_match(drawing: "Drawing", rules: Sequence[PurposeRule]) -> dict[PurposeRule, int]:
    """Those of the rules that speak of shapes here, in their order, with how many shapes follow each."""
    counts: dict[PurposeRule, int] = {}
    for rule in ruled(drawing, rules).values():
        counts[rule] = counts.get(rule, 0) + 1
    return {rule: counts[rule] for rule in rules if rule in counts}


def offered_rules(shapes: Sequence["Shape"], answer: Answer) -> tuple[PurposeRule, ...]:
    """The rules that an answer about these shapes could become, the most particular first."""
    if not shapes:
        return ()
    offered: list[PurposeRule] = []
    layers = {shape.source_layer for shape in shapes}
    strokes = {shape.stroke.colour if shape.stroke is not None else "" for shape in shapes}
    fills = {shape.fill or "" for shape in shapes}
    if len(layers) == 1 and "" not in layers:
        offered.append(PurposeRule(sort="layer", value=layers.pop(), answer=answer))
    if len(strokes) == 1 and "" not in strokes:
        offered.append(PurposeRule(sort="stroke", value=strokes.pop().lower(), answer=answer))
    if len(fills) == 1 and "" not in fills:
        offered.append(PurposeRule(sort="fill", value=fills.pop().lower(), answer=answer))
    if all(shape.is_text for shape in shapes):
        offered.append(PurposeRule(sort="text", answer=answer))
    return tuple(offered)
