"""The machines and stocks to choose from: the shop book's where there is one, the starting profiles else."""

from core.burning.machines import STARTING_MACHINES, Machine
from core.sheet.stock import STARTING_STOCKS, Stock
from core.shop_book.store import book_path, open_book


def known_machines() -> tuple[Machine, ...]:
    """The shop book's machines, by name; the starting profiles where there is no book. Never makes a book.

    Raises UnreadableError or WriteError when there is one that can't be opened.
    """
    return _from_book("machine") or STARTING_MACHINES


def known_stocks() -> tuple[Stock, ...]:
    """The shop book's stocks, by name; the starting profiles where there is no book. Never makes a book.

    Raises UnreadableError or WriteError when there is one that can't be opened.
    """
    return _from_book("stock") or STARTING_STOCKS


def _from_book(kind: str) -> tuple:  # type: ignore[type-arg]  # of machines or of stocks
    if not book_path().exists():
        return ()
    with open_book() as book:
        return book.values(kind)
