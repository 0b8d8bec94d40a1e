"""A guard at every method by which Qt calls into Tain.

An exception that leaves such a method would pass through C++ code that knows nothing of it: the binding prints it at
best and brings the program down at worst. Here it goes to the hook for faults, and Qt's own method answers instead.
"""

import functools
import inspect
import sys
import traceback
from collections.abc import Callable
from typing import Any

_ANSWERS: dict[str, Any] = {"rowCount": 0, "columnCount": 0, "eventFilter": False, "event": False}
"""Where Qt's own method is no answer; None for all others."""


class Guarded:
    """Mixed in first, before a class of Qt: all that the class overrides of Qt is guarded."""

    def __init_subclass__(cls, **named: Any) -> None:
        super().__init_subclass__(**named)
        for name in overridden(cls):
            setattr(cls, name, _guarded(cls, name, vars(cls)[name]))


def overridden(cls: type) -> tuple[str, ...]:
    """Names of the methods that the class itself defines and Qt may call."""
    of_qt = [base for base in cls.__mro__[1:] if base.__module__.startswith("PySide6")]
    return tuple(
        name
        for name, value in vars(cls).items()
        if inspect.isfunction(value) and not name.startswith("__") and any(name in vars(base) for base in of_qt)
    )


def is_guarded(method: Callable[..., Any]) -> bool:
    """Whether an exception in it is caught."""
    return hasattr(method, "guards")


def _guarded(cls: type, name: str, method: Callable[..., Any]) -> Callable[..., Any]:
    @functools.wraps(method)
    def call(self: Any, *arguments: Any) -> Any:
        try:
            return call.guards(self, *arguments)  # type: ignore[attr-defined]
        except Exception as error:  # noqa: BLE001 - nothing may pass through C++; the hook takes it
            sys.excepthook(type(error), error, error.__traceback__)
            traceback.clear_frames(error.__traceback__)  # a painter that lives on in a frame brings Qt down
            return _instead(cls, self, name, arguments)

    call.guards = method  # type: ignore[attr-defined]
    return call


def _instead(cls: type, one: Any, name: str, arguments: tuple[Any, ...]) -> Any:
    """What Qt does on its own. A window whose closing failed stays open: unsaved work is in it."""
    if name == "closeEvent":
        arguments[0].ignore()
        return None
    try:
        return getattr(super(cls, one), name)(*arguments)
    except (NotImplementedError, AttributeError, TypeError, RuntimeError):
        return _ANSWERS.get(name)
