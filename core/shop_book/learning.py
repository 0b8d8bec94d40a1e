"""A coupon's reading kept in the shop book, and what its stock and machine learn from it."""

import math
from dataclasses import dataclass, replace
from typing import Any

from core.burning.batches import of_batch, with_batch_kept
from core.burning.coupon import Coupon
from core.burning.coupon_reading import Learned, read_coupon, with_learned
from core.burning.coupon_seen import CouponReading
from core.burning.machines import Machine
from core.errors import JobError
from core.job.as_data import to_data
from core.job.painting.stacks import with_stack_learned
from core.sheet.stacks import StackFigures
from core.sheet.stock import Stock
from core.shop_book.entries import Entry
from core.shop_book.profile_figures import check_profile
from core.shop_book.store import ShopBook


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptReading:
    """What a reading told, and the names of the profiles that changed by it."""

    learned: Learned
    changed: tuple[str, ...] = ()


def coupon_now(book: ShopBook, coupon: Coupon) -> Coupon:
    """The coupon with its machine and stock as the book has them now, but for what this very coupon taught them.

    Figures may have been measured since it was made; read again, it must not count twice.
    """
    machine, stock = _named(book, "machine", coupon.machine.name), _named(book, "stock", coupon.stock.name)
    if machine:
        coupon = replace(coupon, machine=_before(book, machine, coupon.code))
    if stock is None or coupon.paints:  # what lies on a painted scrap is known to the coupon alone
        return coupon
    return replace(coupon, stock=of_batch(_before(book, stock, coupon.code), coupon.stock.batch))


def _before(book: ShopBook, entry: Entry, code: str) -> Any:
    """The entry's value before the coupon changed it last; as it is where something else did."""
    return next((state.value for state in book.history(entry.uuid) if state.note != _note(code)), entry.value)


def _note(code: str) -> str:
    return f"coupon {code}"


def coupons_now(book: ShopBook) -> tuple[Coupon, ...]:
    """All coupons of the book so."""
    return tuple(coupon_now(book, coupon) for coupon in book.values("coupon"))


def keep_reading(book: ShopBook, coupon: Coupon, reading: CouponReading, *, apply: bool) -> KeptReading:
    """Keep the reading; with ``apply`` stock and machine of the book learn from it, all or nothing.

    Raises UnreadableError or JobError when it can't be read, when what it tells makes no sense beside what is known,
    or when the book no longer has stock and machine; WriteError when the book can't be written.
    """
    now = coupon_now(book, coupon)
    learned = read_coupon(now, reading)
    with book.writing():
        book.add("reading", coupon.code, reading, note=reading.note)
        changed = _apply(book, now, reading, learned) if apply else ()
    return KeptReading(learned=learned, changed=changed)


def learned_data(learned: Learned) -> dict[str, Any]:
    """What a reading told as plain data; a dose without a limit above is None, as JSON has no infinity."""
    data: dict[str, Any] = to_data(learned)
    for bounds in (data["clearing_bounds"], data["frosting_bounds"]):
        bounds["high"] = None if math.isinf(bounds["high"]) else bounds["high"]
    return data


def _apply(book: ShopBook, now: Coupon, reading: CouponReading, learned: Learned) -> tuple[str, ...]:
    """Change the profiles that the reading changes; their names."""
    stock, machine = _named(book, "stock", now.stock.name), _named(book, "machine", now.machine.name)
    if stock is None or machine is None:
        raise JobError(
            f"The shop book no longer has both {now.stock.name} and {now.machine.name}.",
            hint="Bring back the one that is missing, then read the coupon again.",
        )
    if _learned_from_between(book, stock, now.code):
        raise JobError(
            f"{stock.name} has learned from coupon {now.code} before, and from others since.",
            hint="Take the stock back to where it was before (its history), or burn a new coupon.",
        )
    learned_stock, learned_machine = with_learned(now.stock, now.machine, learned, code=now.code, date=reading.read)
    if now.stock.batch.named and not now.paints:
        check_profile(learned_stock)
        learned_stock = with_batch_kept(_before(book, stock, now.code), learned_stock)
    if now.paints:
        learned_stock, learned_machine = _with_stack(stock.value, now, learned_stock), machine.value
    new = learned_stock, learned_machine
    changed = []
    pairs: list[tuple[Entry, Stock | Machine]] = list(zip((stock, machine), new, strict=True))
    for entry, value in pairs:
        if value != entry.value:
            check_profile(value)
            book.change(entry.uuid, value, note=_note(now.code))
            changed.append(entry.name)
    return tuple(changed)


def _with_stack(stock: Stock, coupon: Coupon, learned: Stock) -> Stock:
    """The stock with what a painted scrap of it told of that stack."""
    origin = next((origin for name, origin in learned.figure_origins if name == "clearing_dose_j_mm2"), learned.origin)
    figures = StackFigures(
        paints=coupon.paints,
        clearing_dose_j_mm2=learned.clearing_dose_j_mm2,
        frosting_dose_j_mm2=learned.frosting_dose_j_mm2,
        origin=origin,
    )
    return with_stack_learned(stock, figures)


def _learned_from_between(book: ShopBook, entry: Entry, code: str) -> bool:
    """Whether the coupon taught the entry something below what another taught it."""
    notes = [state.note for state in book.history(entry.uuid)]
    while notes and notes[0] == _note(code):
        notes.pop(0)
    return _note(code) in notes


def _named(book: ShopBook, kind: str, name: str) -> Entry | None:
    return next((entry for entry in book.entries(kind) if entry.name == name), None)
