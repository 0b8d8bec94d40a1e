"""The shop's rates in the shop book: one entry, changed from time to time."""

from core.job.rates import Rates, check_rates
from core.shop_book.store import Entry, ShopBook

KIND = "rates"
_NAME = "rates"


def rates_of(book: ShopBook) -> Rates:
    """The rates that stand in the book; all zero until somebody sets them."""
    entries = book.entries(KIND)
    if not entries:
        return Rates()
    rates: Rates = max(entries, key=lambda entry: entry.stamp).value
    return rates


def keep_rates(book: ShopBook, rates: Rates) -> Entry:
    """Let the book have these rates; earlier ones stay in its history. Raises UnreadableError, WriteError."""
    check_rates(rates)
    entries = book.entries(KIND)
    if not entries:
        return book.add(KIND, _NAME, rates)
    return book.change(max(entries, key=lambda entry: entry.stamp).uuid, rates)
