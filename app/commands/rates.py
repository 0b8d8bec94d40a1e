"""``tain rates``: what the shop reckons with."""

import argparse
import json
from dataclasses import replace

from core.errors import UnreadableError
from core.figures import Figure, all_figures_of, check_figure
from core.job.as_data import to_data
from core.job.costs.rates import Rates, breaks_words, parsed_breaks
from core.shop_book.shops_own import keep_rates, rates_of
from core.shop_book.store import open_book

SUMMARY = "What the shop reckons with: hours of machine and hands, sheet, film, what is put on top, breaks, tax."
EXAMPLES = (
    "tain rates --machine-per-h 40 --handwork-per-h 30 --currency EUR",
    "tain rates --breaks '10: 5, 50: 12' --least-charge 25 --tax-pct 19",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain rates``."""
    for one in all_figures_of(Rates):
        option = f"--{one.export_name}"
        if one.kind == "number":
            parser.add_argument(option, type=float, metavar="N", help=_help(one))
        else:
            parser.add_argument(option, metavar="TEXT", help=_help(one))
    parser.add_argument("--json", action="store_true", help="print as JSON")


def run(arguments: argparse.Namespace) -> int:
    """Set what is named, print what stands. Returns the exit code; raises TainError for the caller to say."""
    named = {one.name: getattr(arguments, one.name) for one in all_figures_of(Rates)}
    changes = {name: value for name, value in named.items() if value is not None}
    if "breaks" in changes:
        changes["breaks"] = parsed_breaks(changes["breaks"])
    for one in all_figures_of(Rates):
        if one.name in changes and one.name != "breaks":
            _check(one, changes[one.name])
    with open_book() as book:
        rates = replace(rates_of(book), **changes)
        if changes:
            keep_rates(book, rates)
    if arguments.json:
        print(json.dumps(to_data(rates), ensure_ascii=False))
    else:
        print("\n".join(_line(rates, one) for one in all_figures_of(Rates)))
    return 0


def _check(one: Figure, value: object) -> None:
    """Raises UnreadableError that names the option."""
    try:
        check_figure(one, value)
    except UnreadableError as error:
        raise UnreadableError(f"--{one.export_name}: {error.message}", hint=error.hint) from None


def _help(one: Figure) -> str:
    words = ", ".join(filter(None, (one.words, one.about)))
    return f"{words} ({one.unit})".replace("%", "%%") if one.unit else words.replace("%", "%%")


def _line(rates: Rates, one: Figure) -> str:
    value = getattr(rates, one.name)
    shown = breaks_words(rates) or "none" if one.name == "breaks" else value if one.kind == "text" else f"{value:g}"
    unit = f"{rates.currency} {one.unit}".strip() if one.unit.startswith("/") else one.unit
    return f"  {one.words:<22} {shown or '-':>10} {unit:<8} {one.about}".rstrip()
