"""Jobs and profiles as plain data (dicts, lists, numbers, words) for JSON, and back."""

import math
from typing import Any, TypeVar, get_origin

import cattrs

from core.errors import UnreadableError

T = TypeVar("T")


def _converter() -> cattrs.Converter:
    converter = cattrs.Converter(detailed_validation=False)
    converter.register_structure_hook(float, _finite)
    converter.register_structure_hook(int, _whole)
    converter.register_structure_hook(str, _word)
    converter.register_structure_hook(bool, _yes_or_no)
    converter.register_unstructure_hook_func(_is_frozenset, sorted)
    return converter


def _is_frozenset(kind: Any) -> bool:
    return get_origin(kind) is frozenset


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
