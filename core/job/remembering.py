"""Results of pure work, remembered from plan to plan by the values they come from."""

from collections import OrderedDict
from collections.abc import Callable, Hashable
from threading import Lock
from typing import Any, TypeVar

T = TypeVar("T")

REMEMBERED = 48
"""Results kept, those asked for last; tests keep more, as they ask for the same jobs again."""
_CACHE: OrderedDict[Hashable, Any] = OrderedDict()
_CACHE_LOCK = Lock()


def cached(key: Hashable, work: Callable[[], T], *more_key: Hashable) -> T:
    """The result of a pure ``work`` for these key values, remembered for the next plan. Safe from threads."""
    whole = (key, more_key)
    with _CACHE_LOCK:
        if whole in _CACHE:
            _CACHE.move_to_end(whole)
            result: T = _CACHE[whole]
            return result
    result = work()
    with _CACHE_LOCK:
        _CACHE[whole] = result
        while len(_CACHE) > REMEMBERED:
            _CACHE.popitem(last=False)
    return result


def is_remembered(key: Hashable, *more_key: Hashable) -> bool:
    """Whether ``cached`` has the result for these key values."""
    with _CACHE_LOCK:
        return (key, more_key) in _CACHE
