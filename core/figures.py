"""One table for the settings: what each figure is called, its unit, its limits, how it is written out.

A figure is declared where its dataclass stands, in one line: ``focus_mm: float = figure(0.0, words="Focus", unit="mm",
least=-50, most=50)``. Everything that shows, asks for, checks, writes or reads figures walks them with ``figures_of``.
Limits keep slips of the finger and forged files out; they are no advice.
"""

import math
import re
import types
from collections.abc import Callable, Iterator
from dataclasses import MISSING, Field, dataclass, field, fields, is_dataclass
from functools import cache
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from core.errors import UnreadableError

_KEY = "figure"
COLOUR = "#[0-9a-fA-F]{6}"
"""What a colour looks like."""
GREATEST = 1e15
"""No length, time, price or count anywhere is larger; declared figures have closer limits of their own."""
Kind = Literal["number", "count", "switch", "choice", "text", "numbers"]
"""What a value is: a float, an int, a bool, one of a few words, a str, or a tuple (of tuples) of floats."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OtherForm:
    """Another number that says the same, as lines per inch say the pitch; the two run against each other."""

    name: str
    words: str
    unit: str
    from_figure: Callable[[float], float]
    to_figure: Callable[[float], float]
    places: int = 2
    step: float = 1.0
    about: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One figure of a dataclass.

    name: of the field. words: for people. least, most: what makes sense, ends included (of a text: its length).
    purposes: those it matters to, empty for all. choices: the words that a "choice" is one of. pattern: what a text
    must match. places, step, group, about: for editors.
    always_said: told in words even where it is as it starts. bare: its unit says what it is ("800 mm/s"). counted: its
    words for one and for several ("pass", "passes").
    """

    name: str
    words: str
    kind: Kind
    default: Any  # MISSING where it must be set
    unit: str = ""
    least: float = -math.inf
    most: float = math.inf
    purposes: tuple[str, ...] = ()
    choices: tuple[str, ...] = ()
    pattern: str = ""
    places: int = 2
    step: float = 1.0
    group: str = ""
    about: str = ""
    always_said: bool = False
    bare: bool = False
    counted: tuple[str, str] | None = None
    other_form: OtherForm | None = None

    @property
    def export_name(self) -> str:
        """How exports and options name it: ``power-pct``."""
        return self.name.replace("_", "-")

    @property
    def in_unit(self) -> str:
        """The unit with the space before it; none before a degree sign."""
        return self.unit if self.unit in ("", "°") else f" {self.unit}"

    def matters_to(self, purpose: str) -> bool:
        """Whether a layer of that purpose has it."""
        return not self.purposes or purpose in self.purposes

    def limits_words(self) -> str:
        """``"0.01 to 100 000 mm/s"``, ``"off, low or high"``."""
        if self.kind == "choice":
            return _either(self.choices)
        if self.kind == "switch":
            return "yes or no"
        return f"{_plain(self.least)} to {_plain(self.most)}{self.in_unit}"

    def value_words(self, value: Any) -> str:
        """In a few words, with the unit: ``"800 mm/s"``, ``"focus 2 mm"``."""
        if self.counted is not None:
            return f"{value:g} {self.counted[value != 1]}"
        words = self.words[:1].lower() + self.words[1:]
        if self.other_form is not None:
            other = f"{self.other_form.from_figure(value):.5g} {self.other_form.unit}"
            return f"{other} ({words} {value:.{self.places}f}{self.in_unit})"
        if self.kind == "switch":
            return words if value else f"no {words}"
        shown = value if isinstance(value, str) else f"{value:g}"
        return f"{shown}{self.in_unit}" if self.bare else f"{words} {shown}{self.in_unit}"


def figure(
    default: Any = MISSING,
    *,
    words: str,
    unit: str = "",
    least: float = -math.inf,
    most: float = math.inf,
    purposes: tuple[str, ...] = (),
    pattern: str = "",
    places: int = 2,
    step: float = 1.0,
    group: str = "",
    about: str = "",
    always_said: bool = False,
    bare: bool = False,
    counted: tuple[str, str] | None = None,
    other_form: OtherForm | None = None,
    always_kept: bool = False,
) -> Any:
    """A dataclass field that is a figure; see ``Figure`` for what the rest means.

    always_kept: written to files even where it is as it starts. Only figures of the first files are: later ones stay
    out while they say nothing, so that older jobs keep their bytes and their code.
    """
    told = {
        "words": words, "unit": unit, "least": least, "most": most, "purposes": purposes, "pattern": pattern,
        "places": places, "step": step, "group": group, "about": about, "always_said": always_said,
        "bare": bare, "counted": counted, "other_form": other_form,
    }  # fmt: skip
    metadata: dict[str, Any] = {_KEY: told}
    if default is MISSING:
        return field(metadata=metadata)
    return field(default=default, metadata=metadata if always_kept else metadata | {"omit_default": True})


def figures_of(kind: type[Any]) -> tuple[Figure, ...]:
    """The figures of a dataclass that people set, in the order of its fields; none where it declares none."""
    return tuple(one for one in _declared(kind) if one.kind not in ("text", "numbers"))


def all_figures_of(kind: type[Any]) -> tuple[Figure, ...]:
    """All that a dataclass declares, texts and rows of numbers too."""
    return _declared(kind)


def figure_named(kind: type[Any], name: str) -> Figure:
    """The figure of that name. Raises KeyError."""
    for one in all_figures_of(kind):
        if one.name == name:
            return one
    raise KeyError(name)


def figures_for(kind: type[Any], purpose: str) -> tuple[Figure, ...]:
    """The figures that matter to a layer of that purpose."""
    return tuple(one for one in figures_of(kind) if one.matters_to(purpose))


def said(value: Any, purpose: str, *, but: tuple[str, ...] = ()) -> list[str]:
    """The figures that matter to the purpose, in words: those that are always said, and those that were changed.

    but: names of figures that are told elsewhere.
    """
    return [
        one.value_words(getattr(value, one.name))
        for one in figures_for(type(value), purpose)
        if one.name not in but and (one.always_said or getattr(value, one.name) != one.default)
    ]


# --- checking --------------------------------------------------------------------------------------------------------


def check_figure(one: Figure, value: Any, *, of: str = "") -> None:
    """Raises UnreadableError, in a sentence, when the value makes no sense; ``of`` says of what."""
    if one.kind == "numbers":
        for number in _numbers(value):
            if not _within(one, number):
                raise _refused(one, f"{_number_words(number)}{one.in_unit}", of)
    elif one.kind in ("number", "count"):
        if not isinstance(value, (int, float)) or isinstance(value, bool):
            raise _refused(one, _short(value), of)
        if not _within(one, value):
            raise _refused(one, f"{_number_words(value)}{one.in_unit}", of)
        if one.kind == "count" and value != int(value):
            raise UnreadableError(f"{_of(one, of)} can't be {value:g}.", hint="Give a whole number.")
    elif (one.kind == "choice" and value not in one.choices) or (one.kind == "switch" and not isinstance(value, bool)):
        raise _refused(one, _short(value), of)
    elif one.kind == "text":
        _check_text(one, value, of)


def check_figures(value: Any, *, of: str = "") -> None:
    """Raises UnreadableError on the first figure that makes no sense, of the value and of all that it holds.

    ``of``: what the value is to be called, unless it has a name of its own. Where its figures have to agree, its
    ``check_whole()`` says so.
    """
    own = str(getattr(value, "name", "")).strip() or of
    for one in _checked(type(value)):
        check_figure(one, getattr(value, one.name), of=own)
    for name, called in _holding(type(value)):
        held = getattr(value, name)
        what = " of ".join(filter(None, (f"the {called}" if called else "", own)))
        for nested in _flat(held):
            check_figures(nested, of=what)
    if hasattr(value, "check_whole"):
        value.check_whole()


def other_limits(one: Figure, other: OtherForm) -> tuple[float, float]:
    """Least and most of a figure's other form."""
    least, most = sorted((other.from_figure(one.least), other.from_figure(one.most)))
    return least, most


def from_other_form(one: Figure, value: float, *, of: str = "") -> float:
    """The figure that its other form's value stands for. Raises UnreadableError where that makes no sense."""
    other = one.other_form
    assert other is not None
    least, most = other_limits(one, other)
    if not (math.isfinite(value) and least <= value <= most):
        words = f"{other.words} of {of}" if of else other.words
        raise UnreadableError(
            f"{words} can't be {value:g}.", hint=f"Give {_plain(least)} to {_plain(most)} {other.unit}."
        )
    return min(max(other.to_figure(value), one.least), one.most)  # an end of the limits, but for rounding


def parsed_other_form(one: Figure, text: str, *, of: str = "") -> float:
    """The figure that the text gives in its other form, checked. Raises UnreadableError."""
    other = one.other_form
    value = _number(_without_unit(text, other.unit if other is not None else ""))
    return from_other_form(one, math.nan if value is None else value, of=of)


def parsed(one: Figure, text: str, *, of: str = "") -> Any:
    """The value that the text gives, checked. Raises UnreadableError."""
    typed = _without_unit(text, one.unit)
    value: Any = typed
    if one.kind in ("number", "count"):
        value = _number(typed)
        if value is None:
            raise _refused(one, f"“{_short(text)}”", of)
    elif one.kind == "switch":
        if typed.casefold() not in _SWITCHES:
            raise _refused(one, _short(text), of)
        value = _SWITCHES[typed.casefold()]
    elif one.kind == "choice":
        value = typed.casefold()
    check_figure(one, value, of=of)
    return int(value) if one.kind == "count" else value


_SWITCHES = {"yes": True, "on": True, "true": True, "1": True, "no": False, "off": False, "false": False, "0": False}


def _without_unit(text: str, unit: str) -> str:
    return text.strip().removesuffix(unit).strip()


def _number(text: str) -> float | None:
    if "_" in text or not text.isascii():  # 2_0 is a slip here, not twenty; figures of other scripts are no input
        return None
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return None


def _check_text(one: Figure, value: Any, of: str) -> None:
    if not isinstance(value, str) or not re.fullmatch(one.pattern or ".*", value, re.DOTALL):
        raise UnreadableError(f"{_of(one, of)} can't be “{_short(value)}”.", hint=one.about)
    if len(value) > one.most:
        raise UnreadableError(f"{_of(one, of)} is {len(value)} letters long.", hint=f"At most {one.most:g} make sense.")


def _within(one: Figure, value: float) -> bool:
    try:
        return math.isfinite(value) and one.least <= value <= one.most
    except OverflowError:  # a whole number of hundreds of digits
        return False


def _refused(one: Figure, shown: str, of: str) -> UnreadableError:
    return UnreadableError(f"{_of(one, of)} can't be {shown}.", hint=f"Give {one.limits_words()}.")


def _of(one: Figure, of: str) -> str:
    return f"{one.words} of {_short(of)}" if of else one.words


def _short(value: Any) -> str:
    text = " ".join(str(value).split())
    return text if len(text) <= 40 else f"{text[:39]}…"


def _number_words(value: float) -> str:
    try:
        return f"{value:g}"
    except OverflowError:
        return "so large a number"


def _plain(value: float) -> str:
    return f"{value:,g}".replace(",", "\u202f") if abs(value) < 1e6 else f"{value:,.0f}".replace(",", "\u202f")


def _either(words: tuple[str, ...]) -> str:
    return " or ".join(filter(None, (", ".join(words[:-1]), words[-1])))


def _flat(held: Any) -> Iterator[Any]:
    """What a field holds, out of its tuples."""
    if isinstance(held, tuple):
        for one in held:
            yield from _flat(one)
    elif is_dataclass(held):
        yield held


def _numbers(value: Any) -> Iterator[float]:
    if isinstance(value, (tuple, list)):
        for one in value:
            yield from _numbers(one)
    elif value is not None:
        yield value


# --- what the types say ----------------------------------------------------------------------------------------------


def _read_declared(kind: Any) -> tuple[Figure, ...]:
    declared = [one for one in fields(kind) if _KEY in one.metadata] if is_dataclass(kind) else []
    hints = get_type_hints(kind) if declared else {}
    return tuple(_figure(one, hints[one.name]) for one in declared)


_declared: Callable[[Any], tuple[Figure, ...]] = cache(_read_declared)


def _read_checked(kind: Any) -> tuple[Figure, ...]:
    """What is declared, and every other number with limits that keep sums from running over."""
    if not is_dataclass(kind):
        return ()
    known, hints = _declared(kind), get_type_hints(kind)
    names = {one.name for one in known}
    others = [one.name for one in fields(kind) if one.name not in names and _is_numbers(hints[one.name])]
    return (
        *known,
        *(
            Figure(name=name, words=name.replace("_", " ").capitalize(), kind="numbers", default=MISSING,
                   least=-GREATEST, most=GREATEST)
            for name in others
        ),
    )  # fmt: skip


_checked: Callable[[Any], tuple[Figure, ...]] = cache(_read_checked)


def _is_numbers(hint: Any) -> bool:
    parts = [part for part in get_args(hint) if part not in (..., type(None))]
    return all(_is_numbers(part) for part in parts) if parts else hint in (float, int)


def _figure(declared: "Field[Any]", hint: Any) -> Figure:
    kind = _kind_of(hint)
    return Figure(
        name=declared.name,
        kind=kind,
        default=declared.default,
        choices=tuple(get_args(hint)) if kind == "choice" else (),
        **declared.metadata[_KEY],
    )


def _kind_of(hint: Any) -> Kind:
    plain: dict[Any, Kind] = {float: "number", int: "count", bool: "switch", str: "text"}
    if hint in plain:
        return plain[hint]
    return "choice" if get_origin(hint) is Literal else "numbers"


def _read_holding(kind: Any) -> tuple[tuple[str, str], ...]:
    """Fields that hold other dataclasses, alone or in a tuple, and what those are called there."""
    if not is_dataclass(kind):
        return ()
    hints = get_type_hints(kind)
    return tuple(
        (one.name, one.metadata.get("called", one.name.replace("_", " ")))
        for one in fields(kind)
        if any(is_dataclass(held) for held in _held(hints[one.name]))
    )


_holding: Callable[[Any], tuple[tuple[str, str], ...]] = cache(_read_holding)


def _held(hint: Any) -> tuple[Any, ...]:
    if get_origin(hint) in (tuple, Union, types.UnionType):
        return tuple(one for part in get_args(hint) for one in _held(part))
    return (hint,)
