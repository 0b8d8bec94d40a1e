"""``tain rates``: what the shop reckons with."""

import argparse
import json
from dataclasses import replace

from core.job.as_data import to_data
from core.job.cost import Rates
from core.shop_book.rates import keep_rates, rates_of
from core.shop_book.store import open_book

SUMMARY = "What the shop reckons with: an hour of machine and hands, sheet, film, what is put on top."
EXAMPLES = ("tain rates --machine-per-h 40 --handwork-per-h 30",)

RATES = {
    "machine_per_h": "an hour of the machine",
    "setup_min": "minutes of setting up for each job",
    "handwork_per_h": "an hour of handwork",
    "sheet_per_m2": "a square metre of sheet, for jobs on no piece of the rack",
    "mask_film_per_m2": "a square metre of mask film",
    "margin_pct": "percent put on top for a quote",
}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain rates``."""
    parser.add_argument("--currency", help="a word or sign for the currency")
    for name, words in RATES.items():
        parser.add_argument(f"--{name.replace('_', '-')}", type=float, metavar="N", help=words)
    parser.add_argument("--json", action="store_true", help="print as JSON")


def run(arguments: argparse.Namespace) -> int:
    """Set what is named, print what stands. Returns the exit code; raises TainError for the caller to say."""
    named = {name: getattr(arguments, name) for name in (*RATES, "currency")}
    changes = {name: value for name, value in named.items() if value is not None}
    with open_book() as book:
        rates = replace(rates_of(book), **changes)
        if changes:
            keep_rates(book, rates)
    if arguments.json:
        print(json.dumps(to_data(rates), ensure_ascii=False))
    else:
        print("\n".join(_line(rates, name) for name in RATES))
    return 0


def _line(rates: Rates, name: str) -> str:
    unit = rates.currency if name.endswith(("_h", "_m2")) else ""
    return f"  {RATES[name]:<58} {getattr(rates, name):>9.2f} {unit}".rstrip()
