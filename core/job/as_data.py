"""Jobs and profiles as plain data (dicts, lists, numbers, words) for JSON, and back.

``from_data`` is the one door by which values come in: from job files, exports, the shop book and what is imported.
"""

from collections.abc import Iterable
from typing import Any, TypeVar

from core.errors import UnreadableError
from core.figures import check_figures

T = TypeVar("T")


def to_data(value: object) -> Any:
    """Plain data of a frozen dataclass (nested ones too); sets become sorted lists."""
    from core.job.converting import CONVERTER

    return CONVERTER.unstructure(value)


def from_data(kind: type[T], data: object, *, what: str) -> T:
    """The value of that class, its figures checked against the table.

    Raises UnreadableError naming ``what``: when the data does not make one, when a figure makes no sense, and when it
    holds keys that are not known here, since what they decide would be lost.
    """
    import cattrs

    from core.job.converting import CONVERTER, DamagedError

    try:
        value = CONVERTER.structure(data, kind)
    except cattrs.errors.ForbiddenExtraKeysError as error:
        raise newer(what, error.extra_fields) from None
    except KeyError as error:
        raise UnreadableError(f"{what} can't be understood: {error} is missing.") from None
    except DamagedError as error:
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
    from core.job.converting import shown

    named = ", ".join(sorted(shown(key) for key in keys))
    return UnreadableError(f"{what} was saved by a newer Tain: {named} is not known here.", hint="Update Tain.")
