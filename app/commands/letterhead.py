"""``tain letterhead``: the shop's own name and address, for proofs and offers."""

import argparse
import json
from dataclasses import replace

from core.figures import all_figures_of
from core.job.as_data import to_data
from core.job.letterhead import Letterhead
from core.shop_book.shops_own import keep_letterhead, letterhead_of
from core.shop_book.store import open_book

SUMMARY = "The shop's own name and address, as they stand on proofs and offers."
EXAMPLES = ("tain letterhead --name 'Gullwick Signs' --address '3 Landing Stage; Gullwick' --valid-days 14",)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain letterhead``."""
    for one in all_figures_of(Letterhead):
        kind = int if one.name == "valid_days" else str
        words = f"{one.words}: {one.about}" if one.about else one.words
        parser.add_argument(f"--{one.export_name}", type=kind, metavar="N" if kind is int else "TEXT", help=words)
    parser.add_argument("--json", action="store_true", help="print as JSON")


def run(arguments: argparse.Namespace) -> int:
    """Set what is named, print what stands. Returns the exit code; raises TainError for the caller to say."""
    named = {one.name: getattr(arguments, one.name) for one in all_figures_of(Letterhead)}
    changes = {name: value for name, value in named.items() if value is not None}
    with open_book() as book:
        letterhead = replace(letterhead_of(book), **changes)
        if changes:
            keep_letterhead(book, letterhead)
    if arguments.json:
        print(json.dumps(to_data(letterhead), ensure_ascii=False))
    else:
        print("\n".join(f"  {one.words:<16} {getattr(letterhead, one.name)}" for one in all_figures_of(Letterhead)))
    return 0
