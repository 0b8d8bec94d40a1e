"""Jobs and profiles as plain data (dicts, lists, numbers, words) for JSON, and back."""

import math
from dataclasses import fields, is_dataclass
from typing import Any, TypeVar, get_origin

import cattrs
from cattrs.gen import make_dict_unstructure_fn, override

from core.errors import UnreadableError

T = TypeVar("T")


def _converter() -> cattrs.Converter:
    converter = cattrs.Converter(detailed_validation=False)
    converter.register_structure_hook(float, _finite)
    converter.register_structure_hook(int, _whole)
    converter.register_structure_hook(str, _word)
    converter.register_structure_hook(bool, _yes_or_no)
    converter.register_unstructure_hook_func(_is_frozenset, sorted)
    converter.register_unstructure_hook_factory(_may_leave_out, lambda kind: _leaving_out(kind, converter))
    return converter


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
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise ValueError(f"{value!r} is not a finite number")
    return float(value)


def _whole(value: object, _: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise ValueError(f"{value!r} is not a whole number")
    return value


def _word(value: object, _: object) -> str:
    if not isinstance(value, str):
        raise ValueError(f"{value!r} is not text")
    return value


def _yes_or_no(value: object, _: object) -> bool:
    if not isinstance(value, bool):
        raise ValueError(f"{value!r} is not true or false")
    return value


_CONVERTER = _converter()


def to_data(value: object) -> Any:
    """Plain data of a frozen dataclass (nested ones too); sets become sorted lists."""
    return _CONVERTER.unstructure(value)


def from_data(kind: type[T], data: object, *, what: str) -> T:
    """The value of that class. Raises UnreadableError naming ``what`` when the data does not make one."""
    try:
        return _CONVERTER.structure(data, kind)
    except KeyError as error:
        raise UnreadableError(f"{what} can't be understood: {error} is missing.") from None
    except (ValueError, TypeError, AttributeError, cattrs.errors.CattrsError) as error:
        raise UnreadableError(f"{what} can't be understood: {error}.") from None
