"""Rules about purposes in the shop book: what a customer's layers and colours mean, or those of all."""

from core.artwork.sorting.rules import PurposeRule
from core.errors import UnreadableError
from core.shop_book.entries import Entry
from core.shop_book.kinds import FOR_ALL, KeptRule
from core.shop_book.store import ShopBook

KIND = "rule"


def kept_rules(book: ShopBook, customer: str | None = None) -> tuple[Entry, ...]:
    """The rules of a customer and, after them, those for all; without a customer every rule there is."""
    entries = book.entries(KIND)
    if customer is None:
        return entries
    wanted = customer.strip().casefold()
    own = [entry for entry in entries if entry.value.customer.casefold() == wanted and wanted != FOR_ALL]
    return (*own, *(entry for entry in entries if not entry.value.customer))


def rules_named(book: ShopBook, customer: str) -> tuple[PurposeRule, ...]:
    """The rules to follow for that customer ("all": those for everybody).

    Raises UnreadableError where the book has none under that name.
    """
    entries = kept_rules(book, customer)
    wanted = customer.strip().casefold()
    known = sorted({entry.value.customer or FOR_ALL for entry in book.entries(KIND)})
    if wanted not in (name.casefold() for name in known):
        names = "; ".join(known) or "none yet"
        raise UnreadableError(f"The shop book has no rules for “{customer}”.", hint=f"It has rules for: {names}.")
    return tuple(entry.value.rule for entry in entries)


def keep_rule(book: ShopBook, rule: PurposeRule, *, customer: str = "") -> Entry:
    """Let the book have this rule, in place of one about the same shapes. Raises WriteError."""
    kept = KeptRule(rule=rule, customer=customer.strip())
    for entry in book.entries(KIND):
        old: KeptRule = entry.value
        about = (old.customer.casefold(), old.rule.sort, old.rule.value.casefold())
        if about == (kept.customer.casefold(), rule.sort, rule.value.casefold()):
            return book.change(entry.uuid, kept, name=kept.name)
    return book.add(KIND, kept.name, kept)
