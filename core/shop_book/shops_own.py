"""What a shop book holds once, changed from time to time: the shop's rates and its letterhead."""

from typing import Any

from core.job.costs.rates import Rates, check_rates
from core.job.letterhead import Letterhead, check_letterhead
from core.shop_book.entries import Entry
from core.shop_book.store import ShopBook


def rates_of(book: ShopBook) -> Rates:
    """The rates that stand in the book; all zero until somebody sets them."""
    entry = _standing(book, "rates")
    return entry.value if entry else Rates()


def keep_rates(book: ShopBook, rates: Rates) -> Entry:
    """Let the book have these rates; earlier ones stay in its history. Raises UnreadableError, WriteError."""
    return _keep(book, "rates", check_rates(rates))


def letterhead_of(book: ShopBook) -> Letterhead:
    """The letterhead that stands in the book; empty until somebody writes it."""
    entry = _standing(book, "letterhead")
    return entry.value if entry else Letterhead()


def keep_letterhead(book: ShopBook, letterhead: Letterhead) -> Entry:
    """Let the book have it; earlier ones stay in its history. Raises UnreadableError, WriteError."""
    return _keep(book, "letterhead", check_letterhead(letterhead))


def _standing(book: ShopBook, kind: str) -> Entry | None:
    """The latest: books that were merged can hold several."""
    return max(book.entries(kind), key=lambda entry: entry.stamp, default=None)


def _keep(book: ShopBook, kind: str, value: Any) -> Entry:
    standing = _standing(book, kind)
    return book.change(standing.uuid, value) if standing else book.add(kind, kind, value)
