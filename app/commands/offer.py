"""``tain offer``: a page with a price."""

import argparse
import json
from datetime import date
from pathlib import Path

from app.commands.files_in import add_settings_argument, begun_order, warn_of_book
from core.atomic import check_writable, write_atomically
from core.errors import UnreadableError
from core.job.as_data import to_data
from core.job.costs.pricing import price_words
from core.output.orders.customer_pages import offered_words, work_cost
from core.output.orders.offer_page import offer_of, offer_page
from core.shop_book.rack import rack_pieces
from core.shop_book.shops_own import letterhead_of, rates_of
from core.shop_book.store import open_book

SUMMARY = "An offer on one page: positions, price breaks, tax, how long it holds, the shop's own head."
EXAMPLES = (
    "tain offer sign.tain -o offer.pdf --quantity 12 --customer 'Rowing club'",
    "tain offer badges/order.tain -o offer.pdf --number 2026-07",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain offer``."""
    parser.add_argument("job", type=Path, metavar="JOB", help="a job or an order (.tain), or artwork")
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf", help="the file to write")
    parser.add_argument("--quantity", type=int, metavar="N", help="how many parts; else as many as there are")
    parser.add_argument("--what", default="", metavar="WORDS", help="what is offered, in words")
    parser.add_argument("--customer", default="", metavar="NAME", help="whom it is for")
    parser.add_argument("--number", default="", metavar="NUMBER", help="the offer's own number")
    parser.add_argument("--date", metavar="2026-03-02", help="its day; else today")
    add_settings_argument(parser)
    parser.add_argument("--json", action="store_true", help="print it as JSON")
    parser.add_argument("--force", action="store_true", help="overwrite a file that exists")


def run(arguments: argparse.Namespace) -> int:
    """Reckon and write. Returns the exit code; raises TainError for the caller to say."""
    if arguments.output.suffix.lower() != ".pdf":
        raise UnreadableError(f"{arguments.output.name} is no name for an offer.", hint="End it in .pdf.")
    check_writable(arguments.output, overwrite=arguments.force)
    day = _day(arguments.date)
    with open_book() as book:
        rates, letterhead = rates_of(book), letterhead_of(book)
        pieces = {uuid: piece for uuid, _, piece in rack_pieces(book)}
    order, problem = begun_order(arguments.job, arguments)
    warn_of_book(problem)
    cost = work_cost(order, rates, pieces)
    words = arguments.what or offered_words(order)
    offer = offer_of(
        cost, words, quantity=arguments.quantity, day=day, number=arguments.number, customer=arguments.customer
    )
    write_atomically(arguments.output, offer_page(offer, letterhead), overwrite=arguments.force)
    first = offer.positions[0]
    if arguments.json:
        told = {"words": first.words, "price": to_data(first.price), "currency": offer.currency, "date": f"{day}"}
        told |= {"breaks": [to_data(one) for one in offer.breaks], "not_reckoned": list(cost.unpriced)}
        print(json.dumps(told, ensure_ascii=False, indent=1))
    else:
        print(f"{first.words}: {price_words(first.price, offer.currency)}")
        if offer.missing:
            print(f"note: {offer.missing}")
        print(f"wrote {arguments.output}")
    return 0


def _day(text: str | None) -> date:
    try:
        return date.fromisoformat(text) if text else date.today()
    except ValueError:
        raise UnreadableError(f"“{text}” is no day.", hint="Write it like 2026-03-02.") from None
