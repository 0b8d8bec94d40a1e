"""Jobs and profiles as plain data (dicts, lists, numbers, words) for JSON, and back.

``from_data`` is the one door by which values come in: from job files, exports, the shop book and what is imported.
"""

import re
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from typing import Any, Literal, TypeVar, get_args, get_origin

import cattrs
from cattrs.gen import make_dict_unstructure_fn, override

from core.errors import UnreadableError
from core.figures import GREATEST, check_figures

T = TypeVar("T")
"""So many lists, objects and values after commas a file may hold."""
_NOT_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


class _DamagedError(ValueError):
    """What is wrong with a value, in words for the maker."""


def _converter() -> cattrs.Converter:
    converter = cattrs.Converter(detailed_validation=False, forbid_extra_keys=True)
    converter.register_structure_hook(float, _finite)
    converter.register_structure_hook(int, _whole)
    converter.register_structure_hook(str, _word)
    converter.register_structure_hook(bool, _yes_or_no)
    converter.register_structure_hook_func(_is_choice, _one_of)
    for kind_of_row in (tuple, frozenset):
        _only_from_lists(converter, kind_of_row)
    converter.register_unstructure_hook_func(_is_frozenset, sorted)
    converter.register_unstructure_hook_factory(_may_leave_out, lambda kind: _leaving_out(kind, converter))
    return converter


def _only_from_lists(converter: cattrs.Converter, kind_of_row: type[Any]) -> None:
    """Rows come from lists: the letters of a word or the keys of an object are none."""

    def made(kind: Any) -> bool:
        return get_origin(kind) is kind_of_row

    def hook(kind: Any) -> Any:
        parts = [part for part in get_args(kind) if part is not ...]
        alike = kind_of_row is frozenset or get_args(kind)[1:] == (...,)

        def structured(value: Any, _: Any) -> Any:
            if not isinstance(value, (list, tuple)):
                raise _DamagedError("a list is missing")
            if alike:
                return kind_of_row(converter.structure(one, parts[0]) for one in value)
            if len(value) != len(parts):
                raise _DamagedError(f"a row has {len(value)} values instead of {len(parts)}")
            return kind_of_row(converter.structure(one, part) for one, part in zip(value, parts, strict=True))

        return structured

    converter.register_structure_hook_factory(made, hook)


def _is_choice(kind: Any) -> bool:
    return get_origin(kind) is Literal


def _one_of(value: object, kind: Any) -> Any:
    if not isinstance(value, (str, int)) or value not in get_args(kind):
        raise _DamagedError(f"{_shown(value)} is none of {', '.join(map(str, get_args(kind)))}")
    return value


def _is_frozenset(kind: Any) -> bool:
    return get_origin(kind) is frozenset


def _may_leave_out(kind: Any) -> bool:
    return is_dataclass(kind) and any("omit_default" in field.metadata for field in fields(kind))


def _leaving_out(kind: Any, converter: cattrs.Converter) -> Any:
    """Fields that came later stay out while they hold nothing, so that older jobs keep their bytes and their code."""
    left_out: dict[str, Any] = {
        field.name: override(omit_if_default=True) for field in fields(kind) if "omit_default" in field.metadata
    }
    return make_dict_unstructure_fn(kind, converter, **left_out)


def _finite(value: object, _: object) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise _DamagedError(f"{_shown(value)} is no number")
    try:
        return float(value)
    except OverflowError:
        raise _DamagedError(f"{_shown(value)} is no number that makes sense") from None


def _whole(value: object, _: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise _DamagedError(f"{_shown(value)} is no whole number")
    return value


def _word(value: object, _: object) -> str:
    if not isinstance(value, str):
        raise _DamagedError(f"{_shown(value)} is not text")
    if _NOT_TEXT.search(value):
        raise _DamagedError("a text holds characters that are none")
    return value


def _yes_or_no(value: object, _: object) -> bool:
    if not isinstance(value, bool):
        raise _DamagedError(f"{_shown(value)} is not true or false")
    return value


def _shown(value: object) -> str:
    """A value as it stands in a file, cut short."""
    if value is None:
        return "nothing"
    if isinstance(value, (list, dict)):
        return "a list" if isinstance(value, list) else "an object"
    if isinstance(value, int) and not -GREATEST <= value <= GREATEST:
        return "a number of very many digits"
    text = _NOT_TEXT.sub("\N{REPLACEMENT CHARACTER}", " ".join(str(value).split()))
    return f"“{text if len(text) <= 40 else text[:39] + '…'}”"


_CONVERTER = _converter()


def to_data(value: object) -> Any:
    """Plain data of a frozen dataclass (nested ones too); sets become sorted lists."""
    return _CONVERTER.unstructure(value)


def from_data(kind: type[T], data: object, *, what: str) -> T:
    """The value of that class, its figures checked against the table.

    Raises UnreadableError naming ``what``: when the data does not make one, when a figure makes no sense, and when it
    holds keys that are not known here, since what they decide would be lost.
    """
    try:
        value = _CONVERTER.structure(data, kind)
    except cattrs.errors.ForbiddenExtraKeysError as error:
        raise newer(what, error.extra_fields) from None
    except KeyError as error:
        raise UnreadableError(f"{what} can't be understood: {error} is missing.") from None
    except _DamagedError as error:
        raise UnreadableError(f"{what} can't be understood: {error}.") from None
    except (ValueError, TypeError, AttributeError, cattrs.errors.CattrsError):
        raise UnreadableError(f"{what} can't be understood: its parts are not in place.") from None
    try:
        check_figures(value)
    except UnreadableError as error:
        raise UnreadableError(f"{what}: {error.message}", hint=error.hint) from None
    return value


def newer(what: str, keys: Iterable[str]) -> UnreadableError:
    """The error for data with keys that are not known here."""
    named = ", ".join(sorted(_shown(key) for key in keys))
    return UnreadableError(f"{what} was saved by a newer Tain: {named} is not known here.", hint="Update Tain.")
