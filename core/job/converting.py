"""How values become plain data and come back, checked one by one. Imported when the first one does."""

import re
from dataclasses import fields, is_dataclass
from typing import Any, Literal, get_args, get_origin

import cattrs
from cattrs.gen import make_dict_unstructure_fn, override

from core.figures import GREATEST

_NOT_TEXT = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")


class DamagedError(ValueError):
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
                raise DamagedError("a list is missing")
            if alike:
                return kind_of_row(converter.structure(one, parts[0]) for one in value)
            if len(value) != len(parts):
                raise DamagedError(f"a row has {len(value)} values instead of {len(parts)}")
            return kind_of_row(converter.structure(one, part) for one, part in zip(value, parts, strict=True))

        return structured

    converter.register_structure_hook_factory(made, hook)


def _is_choice(kind: Any) -> bool:
    return get_origin(kind) is Literal


def _one_of(value: object, kind: Any) -> Any:
    if not isinstance(value, (str, int)) or value not in get_args(kind):
        raise DamagedError(f"{shown(value)} is none of {', '.join(map(str, get_args(kind)))}")
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
        raise DamagedError(f"{shown(value)} is no number")
    try:
        return float(value)
    except OverflowError:
        raise DamagedError(f"{shown(value)} is no number that makes sense") from None


def _whole(value: object, _: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise DamagedError(f"{shown(value)} is no whole number")
    return value


def _word(value: object, _: object) -> str:
    if not isinstance(value, str):
        raise DamagedError(f"{shown(value)} is not text")
    if _NOT_TEXT.search(value):
        raise DamagedError("a text holds characters that are none")
    return value


def _yes_or_no(value: object, _: object) -> bool:
    if not isinstance(value, bool):
        raise DamagedError(f"{shown(value)} is not true or false")
    return value


def shown(value: object) -> str:
    """A value as it stands in a file, cut short."""
    if value is None:
        return "nothing"
    if isinstance(value, (list, dict)):
        return "a list" if isinstance(value, list) else "an object"
    if isinstance(value, int) and not -GREATEST <= value <= GREATEST:
        return "a number of very many digits"
    text = _NOT_TEXT.sub("\N{REPLACEMENT CHARACTER}", " ".join(str(value).split()))
    return f"“{text if len(text) <= 40 else text[:39] + '…'}”"


CONVERTER = _converter()
