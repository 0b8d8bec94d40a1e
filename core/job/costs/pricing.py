"""What is asked for a job that costs so much: breaks, least charge, rounding, tax; a line to quote."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal

from core.errors import JobError
from core.job.costs.cost import Cost

MOST_PARTS = 1_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Price:
    """What so many parts are offered for.

    each: of one, rounded, before tax. net: all of them, or the least charge; tax of it; gross: both. off_pct: the
    break that was reached. raised: net is the least charge. runs: sheets of the job that it takes.
    """

    quantity: int
    each: float
    net: float
    tax: float
    gross: float
    off_pct: float
    raised: bool
    runs: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """One line of an offer: a price for so many, with words for people and the currency."""

    words: str
    price: Price
    currency: str


def price(cost: Cost, quantity: int) -> Price:
    """What that many parts are offered for. Raises JobError for none, or for more than make sense.

    What an order pays once is shared by all parts, what each run pays by whole runs; all else grows with the parts.
    """
    if not 1 <= quantity <= MOST_PARTS:
        raise JobError(f"{quantity} parts can't be offered.", hint=f"Give 1 to {MOST_PARTS:,}.")
    rates = cost.rates
    once = math.fsum(line.once for line in cost.lines)
    each_run = math.fsum(line.each_run for line in cost.lines)
    per_part = (cost.total - once - each_run) / cost.copies
    runs = -(-quantity // cost.copies)
    whole = (once + each_run * runs + per_part * quantity) * (1 + rates.margin_pct / 100)
    off_pct = rates.off_pct(quantity)
    exact = whole * (1 - off_pct / 100) / quantity
    # what costs something is not given away for the rounding
    each = _rounded(exact, rates.round_to) or (Decimal(repr(rates.round_to)) if exact > 0 else Decimal(0))
    net = each * quantity
    least = _rounded(rates.least_charge, min(rates.round_to, 0.01), ROUND_CEILING)
    raised = net < least
    net = max(net, least)
    tax = _rounded(float(net) * rates.tax_pct / 100, rates.tax_round_to)
    return Price(
        quantity=quantity,
        each=float(each),
        net=float(net),
        tax=float(tax),
        gross=float(net + tax),
        off_pct=off_pct,
        raised=raised,
        runs=runs,
    )


def prices(cost: Cost, quantities: Sequence[int] = ()) -> tuple[Price, ...]:
    """Prices at these quantities, or at one run and at each of the shop's breaks; fewest first."""
    wanted = quantities or (cost.copies, *(number for number, _ in cost.rates.breaks))
    return tuple(price(cost, quantity) for quantity in sorted(set(wanted)))


def money(amount: float, currency: str = "") -> str:
    """What something costs: ``"12.50 EUR"``."""
    return f"{amount:.2f} {currency}".strip()


def asked(amount: float, currency: str = "") -> str:
    """An amount of a price, nothing of it rounded away: ``"12.50 EUR"``, in thousandths where prices are."""
    places = 2 if math.isclose(round(amount, 2), amount, abs_tol=5e-7) else 3
    return f"{amount:.{places}f} {currency}".strip()


def price_words(priced: Price, currency: str) -> str:
    """``"12 at 4.50 EUR, together 54.00 EUR, with 10.26 EUR of tax 64.26 EUR"``."""
    words = asked(priced.net, currency)
    if priced.quantity > 1:
        words = f"{priced.quantity} at {asked(priced.each, currency)}, together {words}"
    if priced.raised:
        words += " (the least charge)"
    if priced.off_pct:
        words += f", {priced.off_pct:g} % off"
    if priced.tax:
        words += f", with {asked(priced.tax, currency)} of tax {asked(priced.gross, currency)}"
    return words


def quote_words(cost: Cost, quantity: int | None = None) -> str:
    """The quote on one line: the price, what it is made up of, and what is not in it.

    quantity: how many parts; None for one run. Where nothing is reckoned there is no price to quote.
    """
    missing = unpriced_words(cost)
    if not cost.total:
        return f"No price yet. {missing or 'No rates are set'}."
    parts: dict[str, float] = {}
    for line in cost.lines:
        parts[line.what] = parts.get(line.what, 0.0) + line.amount
    made_up = ", ".join(f"{what} {amount:.2f}" for what, amount in parts.items() if amount)
    margin = f", {cost.rates.margin_pct:g} % on top" if cost.rates.margin_pct else ""
    words = price_words(price(cost, quantity or cost.copies), cost.rates.currency)
    return f"{words}. One run: {made_up}{margin}.{f' {missing}.' if missing else ''}"


def unpriced_words(cost: Cost) -> str:
    """``"Not reckoned: navy (no price), machine (an hour is 0)"``; empty where all is."""
    return f"Not reckoned: {', '.join(cost.unpriced)}" if cost.unpriced else ""


def _rounded(amount: float, step: float, how: str = ROUND_HALF_UP) -> Decimal:
    """To whole steps, halves away from zero, reckoned in decimals so that 0.05 is 0.05."""
    unit = Decimal(repr(step))
    return (Decimal(repr(round(amount, 9))) / unit).quantize(Decimal(1), how) * unit
