"""``tain cost``: what a job costs, what to ask for so many of it, and a line to quote."""

import argparse
import json
from pathlib import Path
from typing import Any

from app.commands.files_in import add_settings_argument, opened_job
from core.job.as_data import to_data
from core.job.costs.cost import Cost, job_cost
from core.job.costs.pricing import Price, price_words, prices, quote_words, unpriced_words
from core.job.painting.planning import paint_plan
from core.job.prepare import prepare
from core.sheet.offcuts import Piece
from core.shop_book.rack import piece_named, piece_of_job
from core.shop_book.shops_own import rates_of
from core.shop_book.store import open_book

SUMMARY = "What a job costs: sheet, machine, paint, film, handwork; what to ask for so many; a line to quote."
EXAMPLES = (
    "tain cost sign.tain",
    "tain cost sign.tain --quantity 1 --quantity 25",
    "tain cost sign.tain --piece A4 --json",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain cost``."""
    parser.add_argument("job", type=Path, metavar="JOB", help="a job (.tain) or artwork")
    parser.add_argument("--piece", metavar="NAME", help="the piece of the rack it is cut from, where the job says none")
    parser.add_argument(
        "--quantity",
        type=int,
        action="append",
        default=[],
        metavar="N",
        help="a price for so many parts (may be given again); else for one run and at each of the shop's breaks",
    )
    add_settings_argument(parser)
    parser.add_argument("--json", action="store_true", help="print as JSON")


def run(arguments: argparse.Namespace) -> int:
    """Reckon and print. Returns the exit code; raises TainError for the caller to say."""
    job = opened_job(arguments.job, arguments)
    piece: Piece | None = None
    with open_book() as book:
        rates = rates_of(book)
        if arguments.piece:
            piece = piece_named(book, arguments.piece).value
        elif job.piece_id:
            piece = piece_of_job(book, job.piece_id).value
    plan = prepare(job)
    cost = job_cost(plan, rates, piece=piece, painting=paint_plan(plan))
    offered = prices(cost, arguments.quantity)
    quantity = offered[0].quantity
    if arguments.json:
        print(json.dumps(_data(cost, offered, quantity), ensure_ascii=False, indent=1))
    else:
        print(_words(cost, offered, quantity))
    return 0


def _data(cost: Cost, offered: tuple[Price, ...], quantity: int) -> dict[str, Any]:
    return {
        **to_data(cost),
        "total": cost.total,
        "quote": cost.quote,
        "unpriced": list(cost.unpriced),
        "prices": [to_data(one) for one in offered],
        "words": quote_words(cost, quantity),
    }


def _words(cost: Cost, offered: tuple[Price, ...], quantity: int) -> str:
    wide = max(len(line.label) for line in cost.lines)
    lines = [f"  {line.what:<10} {line.label:<{wide}} {line.amount:>9.2f}  {line.how}" for line in cost.lines]
    lines.append(f"  {'together':<10} {'':<{wide}} {cost.total:>9.2f}")
    if cost.total:
        lines += [f"  for {one.quantity:<6} {price_words(one, cost.rates.currency)}" for one in offered]
    lines.append(quote_words(cost, quantity))
    if unpriced_words(cost):
        lines.append("Set what the shop reckons with: tain rates --machine-per-h 30 ...")
    return "\n".join(lines)
