"""A coupon's reading kept in the shop book, and what its stock and machine learn from it."""

from dataclasses import dataclass, replace

from core.burning.coupon_reading import CouponReading, Learned, read_coupon, with_learned
from core.burning.coupons import Coupon
from core.burning.machines import Machine
from core.errors import JobError
from core.sheet.stock import Stock
from core.shop_book.profile_figures import check_profile
from core.shop_book.store import Entry, ShopBook


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptReading:
    """What a reading told, and the names of the profiles that changed by it."""

    learned: Learned
    changed: tuple[str, ...] = ()


def coupon_now(book: ShopBook, coupon: Coupon) -> Coupon:
    """The coupon with its machine as the book has it now: the spot may have been measured since it was made."""
    machine = _named(book, "machine", coupon.machine.name)
    return replace(coupon, machine=machine.value) if machine else coupon


def coupons_now(book: ShopBook) -> tuple[Coupon, ...]:
    """All coupons of the book so."""
    return tuple(coupon_now(book, coupon) for coupon in book.values("coupon"))


def keep_reading(book: ShopBook, coupon: Coupon, reading: CouponReading, *, apply: bool) -> KeptReading:
    """Keep the reading; with ``apply`` stock and machine of the book learn from it, all or nothing.

    Raises UnreadableError or JobError when it can't be read, when what it tells makes no sense beside what is known,
    or when the book no longer has stock and machine; WriteError when the book can't be written.
    """
    learned = read_coupon(coupon_now(book, coupon), reading)
    with book.writing():
        book.add("reading", coupon.code, reading, note=reading.note)
        changed = _apply(book, coupon, reading, learned) if apply else ()
    return KeptReading(learned=learned, changed=changed)


def _apply(book: ShopBook, coupon: Coupon, reading: CouponReading, learned: Learned) -> tuple[str, ...]:
    """Change the profiles that the reading changes; their names."""
    stock, machine = _named(book, "stock", coupon.stock.name), _named(book, "machine", coupon.machine.name)
    if stock is None or machine is None:
        raise JobError(
            f"The shop book no longer has both {coupon.stock.name} and {coupon.machine.name}.",
            hint="Bring back the one that is missing, then read the coupon again.",
        )
    new = with_learned(stock.value, machine.value, learned, code=coupon.code, date=reading.read)
    changed = []
    pairs: list[tuple[Entry, Stock | Machine]] = list(zip((stock, machine), new, strict=True))
    for entry, value in pairs:
        if value != entry.value:
            check_profile(value)
            book.change(entry.uuid, value, note=f"coupon {coupon.code}")
            changed.append(entry.name)
    return tuple(changed)


def _named(book: ShopBook, kind: str, name: str) -> Entry | None:
    return next((entry for entry in book.entries(kind) if entry.name == name), None)
