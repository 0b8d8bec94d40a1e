"""A coupon's reading kept in the shop book, and what its stock and machine learn from it."""

from dataclasses import replace

from core.burning.coupon_reading import CouponReading, Learned, read_coupon, with_learned
from core.burning.coupons import Coupon
from core.errors import JobError
from core.shop_book.store import Entry, ShopBook


def read_for_book(book: ShopBook, coupon: Coupon, reading: CouponReading) -> Learned:
    """What the reading tells with the machine as the book has it now. Raises UnreadableError or JobError."""
    machine = _named(book, "machine", coupon.machine.name)
    # its spot may have been measured since the coupon was made
    return read_coupon(replace(coupon, machine=machine.value) if machine else coupon, reading)


def keep_reading(book: ShopBook, coupon: Coupon, reading: CouponReading, *, apply: bool) -> Learned:
    """Keep the reading; with ``apply`` stock and machine of the book learn from it, all or nothing.

    Raises UnreadableError or JobError when it can't be read, or when the book no longer has stock and machine;
    WriteError when the book can't be written.
    """
    learned = read_for_book(book, coupon, reading)
    stock, machine = _named(book, "stock", coupon.stock.name), _named(book, "machine", coupon.machine.name)
    with book.writing():
        book.add("reading", coupon.code, reading, note=reading.note)
        if apply:
            if stock is None or machine is None:
                raise JobError(f"The book no longer has {coupon.stock.name} and {coupon.machine.name}.")
            new = with_learned(stock.value, machine.value, learned, code=coupon.code, date=reading.read)
            for entry, value in zip((stock, machine), new, strict=True):
                if value != entry.value:
                    book.change(entry.uuid, value, note=f"coupon {coupon.code}")
    return learned


def _named(book: ShopBook, kind: str, name: str) -> Entry | None:
    return next((entry for entry in book.entries(kind) if entry.name == name), None)
