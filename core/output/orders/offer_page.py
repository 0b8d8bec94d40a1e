"""The offer: one page with the shop's own head, positions, price breaks, tax, and how long it holds."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from reportlab.lib.units import mm
from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from core.errors import JobError, UnreadableError
from core.job.costs.cost import Cost
from core.job.costs.pricing import Position, Price, asked, price, prices, unpriced_words
from core.job.letterhead import Letterhead
from core.output.orders.pages import MOST_OF_A_NAME, MOST_OF_A_NUMBER, MOST_OF_A_TEXT, check_words, paged
from core.output.orders.proof_page import page_head
from core.output.run_sheet.fonts import fonts_for
from core.output.run_sheet.looks import WIDTH, Style, lined_cells, text, tight_cells

FIRST_YEAR, LAST_YEAR = 1990, 2200


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """What is offered. breaks: what other quantities come to; missing: what is not reckoned, in words."""

    positions: tuple[Position, ...]
    breaks: tuple[Price, ...]
    currency: str
    tax_pct: float
    missing: str
    day: date
    number: str = ""
    customer: str = ""


def offer_of(
    cost: Cost, words: str, *, quantity: int | None = None, day: date, number: str = "", customer: str = ""
) -> Offer:
    """The offer of one job or order.

    Raises JobError where nothing of it is reckoned: it has no price; UnreadableError for words too long or a day that
    nobody means.
    """
    check_words(words, "What is offered", MOST_OF_A_TEXT)
    check_words(number, "The number", MOST_OF_A_NUMBER)
    check_words(customer, "The customer's name", MOST_OF_A_NAME)
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        raise UnreadableError(f"An offer of the year {day.year} can't be meant.", hint="Write a day like 2026-03-02.")
    if not cost.total:
        missing = unpriced_words(cost)
        raise JobError(
            f"There is no price to offer. {missing}." if missing else "There is no price to offer.",
            hint="Set what the shop reckons with: Shop, Cost and quote; or tain rates --machine-per-h 30 ...",
        )
    currency = cost.rates.currency
    priced = price(cost, quantity or cost.copies)
    others = prices(cost, [count for count, _ in cost.rates.breaks if count != priced.quantity] or [priced.quantity])
    return Offer(
        positions=(Position(words=words, price=priced, currency=currency),),
        breaks=tuple(one for one in others if one.quantity != priced.quantity),
        currency=currency,
        tax_pct=cost.rates.tax_pct,
        missing=unpriced_words(cost),
        day=day,
        number=number,
        customer=customer,
    )


def offer_page(offer: Offer, letterhead: Letterhead) -> bytes:
    """The PDF's bytes; the same inputs give the same bytes."""
    said = [one.words for one in offer.positions]
    style = Style(fonts_for("".join([offer.customer, offer.number, offer.currency, letterhead.terms, *said,
                                     *letterhead.lines])))  # fmt: skip
    title = f"Offer {offer.number}".strip()
    holds = offer.day + timedelta(days=letterhead.valid_days)
    story: list[Flowable] = [*page_head(title, letterhead, offer.customer, style)]
    story += [text(f"{offer.day:%Y-%m-%d}. This offer holds until {holds:%Y-%m-%d}.", style.text), Spacer(0, 5 * mm)]
    story += [_positions(offer, style), Spacer(0, 4 * mm), _sum(offer, style)]
    if offer.breaks:
        story += [text("Other quantities", style.head), _breaks(offer, style)]
    if letterhead.terms:
        story += [Spacer(0, 4 * mm), text(letterhead.terms, style.text)]
    if not letterhead.name:
        story += [Spacer(0, 6 * mm), text("The shop's name and address are not set yet: tain letterhead.", style.small)]
    return paged(story, title=title, foot=letterhead.name or title, fonts=style.fonts)


def _positions(offer: Offer, style: Style) -> Flowable:
    head = [("", style.small), ("What", style.small), ("Quantity", style.small_number), ("Each", style.small_number),
            ("Together", style.small_number)]  # fmt: skip
    rows: list[list[Any]] = [[text(words, look) for words, look in head]]
    for at, one in enumerate(offer.positions, start=1):
        told = [text(one.words, style.strong)]
        if one.price.off_pct:
            told.append(text(f"{one.price.off_pct:g} % off for {one.price.quantity} are in it", style.small))
        if one.price.raised:
            told.append(text("the least charge of an order", style.small))
        rows.append(
            [
                text(str(at), style.text),
                told,
                text(str(one.price.quantity), style.number),
                text(asked(one.price.each, one.currency), style.number),
                text(asked(one.price.net, one.currency), style.strong_number),
            ]
        )
    return Table(rows, colWidths=[20, WIDTH - 270, 60, 90, 100], style=lined_cells())


def _sum(offer: Offer, style: Style) -> Flowable:
    net, tax, gross = (sum(getattr(one.price, name) for one in offer.positions) for name in ("net", "tax", "gross"))
    rows = [("Together", net, style.text, style.number)]
    if offer.tax_pct:
        rows.append((f"Tax, {offer.tax_pct:g} %", tax, style.text, style.number))
    rows.append(("To pay", gross, style.strong, style.strong_number))
    cells = [["", text(words, look), text(asked(amount, offer.currency), right)] for words, amount, look, right in rows]
    return KeepTogether([Table(cells, colWidths=[WIDTH - 220, 110, 110], style=tight_cells(2))])


def _breaks(offer: Offer, style: Style) -> Flowable:
    words = ("Quantity", "Each", "Together", "with tax")
    rows: list[Sequence[Any]] = [[text(word, style.small_number) for word in words]]
    for one in offer.breaks:
        amounts = [asked(amount, offer.currency) for amount in (one.each, one.net, one.gross)]
        rows.append([text(str(one.quantity), style.number), *(text(words, style.number) for words in amounts)])
    return Table(rows, colWidths=[70, 110, 110, 110], hAlign="LEFT", style=lined_cells())
