"""Cautions of what came out wrong, kept in the shop book with the paint, stock, adhesive or machine they are about."""

from core.shop_book.entries import Entry
from core.shop_book.profiles import kept_values
from core.shop_book.store import ShopBook
from core.trouble.causes.caution import LearnedCaution

KIND = "caution"


def known_cautions() -> tuple[LearnedCaution, ...]:
    """The shop's cautions, by name. Never makes a book. Raises where there is one that can't be opened."""
    return kept_values(KIND)


def keep_caution(book: ShopBook, caution: LearnedCaution) -> Entry:
    """Let the book have this caution, in place of one about the same thing, fault and cause. Raises WriteError."""
    with book.writing():
        for entry in book.entries(KIND):
            if entry.name.casefold() == caution.name.casefold():
                return book.change(entry.uuid, caution)
        return book.add(KIND, caution.name, caution)
