"""``tain proof``: the page that a customer signs."""

import argparse
import json
from pathlib import Path

from app.commands.files_in import add_settings_argument, begun_order, warn_of_book
from core.atomic import check_writable, write_atomically
from core.errors import UnreadableError
from core.output.orders.customer_pages import shown_work
from core.output.orders.proof_page import as_picture, proof
from core.shop_book.shops_own import letterhead_of
from core.shop_book.store import open_book

SUMMARY = "The proof for the customer: the piece from the front, all names, colours, a line to sign."
EXAMPLES = (
    "tain proof badges/order.tain -o proof.pdf --customer 'Rowing club'",
    "tain proof sign.tain -o proof.png",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain proof``."""
    parser.add_argument("job", type=Path, metavar="JOB", help="a job or an order (.tain), or artwork")
    parser.add_argument("-o", "--output", type=Path, required=True, metavar="OUT.pdf", help="OUT.pdf or OUT.png")
    parser.add_argument("--customer", default="", metavar="NAME", help="who is to look at it")
    add_settings_argument(parser)
    parser.add_argument("--json", action="store_true", help="print what it shows as JSON")
    parser.add_argument("--force", action="store_true", help="overwrite a file that exists")


def run(arguments: argparse.Namespace) -> int:
    """Write the proof. Returns the exit code; raises TainError for the caller to say."""
    suffix = arguments.output.suffix.lower()
    if suffix not in (".pdf", ".png"):
        raise UnreadableError(f"{arguments.output.name} is no name for a proof.", hint="End it in .pdf or .png.")
    check_writable(arguments.output, overwrite=arguments.force)
    order, problem = begun_order(arguments.job, arguments)
    warn_of_book(problem)
    shown = shown_work(order)
    with open_book() as book:
        letterhead = letterhead_of(book)
    data = proof(shown, letterhead, customer=arguments.customer)
    write_atomically(arguments.output, as_picture(data) if suffix == ".png" else data, overwrite=arguments.force)
    if arguments.json:
        told = {"design": shown.name, "quantity": shown.quantity, "names": [words for _, words in shown.lines]}
        print(json.dumps(told, ensure_ascii=False))
    else:
        print(f"wrote {arguments.output}: {shown.quantity} in {shown.name}")
    return 0
