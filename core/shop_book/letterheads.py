"""The shop's letterhead in the shop book: one entry, changed from time to time."""

from core.job.letterhead import Letterhead, check_letterhead
from core.shop_book.store import Entry, ShopBook

KIND = "letterhead"


def letterhead_of(book: ShopBook) -> Letterhead:
    """The letterhead that stands in the book; empty until somebody writes it."""
    entries = book.entries(KIND)
    if not entries:
        return Letterhead()
    letterhead: Letterhead = max(entries, key=lambda entry: entry.stamp).value
    return letterhead


def keep_letterhead(book: ShopBook, letterhead: Letterhead) -> Entry:
    """Let the book have it; earlier ones stay in its history. Raises UnreadableError, WriteError."""
    check_letterhead(letterhead)
    entries = book.entries(KIND)
    if not entries:
        return book.add(KIND, KIND, letterhead)
    return book.change(max(entries, key=lambda entry: entry.stamp).uuid, letterhead)
