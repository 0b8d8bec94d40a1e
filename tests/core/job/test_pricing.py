"""Prices against sums done by hand with fractions: breaks, least charge, rounding, tax."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import JobError, UnreadableError
from core.job.costs.cost import Cost, CostLine
from core.job.costs.pricing import price, price_words, prices, quote_words
from core.job.costs.rates import Rates, breaks_words, check_rates, parsed_breaks

LINES = (
    CostLine(what="sheet", label="sheet", amount=12.0, how=""),
    CostLine(what="machine", label="machine", amount=20.0, once=5.0, each_run=3.0, how=""),
)
RATES = Rates(currency="Kr", margin_pct=50.0, tax_pct=19.0, breaks=((10, 5.0), (50, 12.5)))


def cost(copies=4, **changes):
    return Cost(lines=LINES, copies=copies, rates=replace(RATES, **changes))


def test_one_run_costs_what_it_says():
    priced = price(cost(tax_pct=0.0), 4)
    assert priced.runs == 1 and priced.net == pytest.approx(32.0 * 1.5) and priced.each == pytest.approx(12.0)
    assert priced.net == priced.gross and not priced.tax and not priced.raised


def test_what_is_paid_once_and_by_each_run_is_shared():
    # 5 once, 3 for each of 4 runs, (32 - 8) / 4 for each of 13; half of it on top, 5 % off from ten on
    priced = price(cost(), 13)
    assert priced.runs == 4 and priced.off_pct == 5.0
    each = round((5 + 3 * 4 + 6 * 13) * 1.5 * 0.95 / 13, 2)
    assert priced.each == pytest.approx(each) and priced.net == pytest.approx(13 * each)
    assert priced.tax == pytest.approx(round(13 * each * 0.19, 2)) and priced.gross == pytest.approx(
        13 * each + priced.tax
    )


def test_rounding_is_half_up_in_decimals():
    # 0.125 is exact in binary, 2.675 is not: both are halves for people (see decimal.ROUND_HALF_UP)
    for amount, step, wanted in ((0.125, 0.01, 0.13), (2.675, 0.01, 2.68), (1.024, 0.05, 1.0), (1.025, 0.05, 1.05),
                                 (7.5, 1.0, 8.0)):  # fmt: skip
        alone = Cost(
            lines=(CostLine(what="sheet", label="sheet", amount=amount, how=""),), copies=1,
            rates=Rates(round_to=step),
        )  # fmt: skip
        assert price(alone, 1).each == wanted


def test_the_least_charge_and_tax_without_cents():
    priced = price(cost(least_charge=100.0, tax_round_to=1.0), 1)
    assert priced.raised and priced.net == 100.0 and priced.tax == 19.0 and priced.gross == 119.0
    assert "the least charge" in price_words(priced, "Kr") and "with 19.00 Kr of tax 119.00 Kr" in price_words(
        priced, "Kr"
    )
    assert price(cost(round_to=1.0, tax_round_to=1.0, tax_pct=7.7), 3).tax % 1 == 0


def test_prices_at_one_run_and_at_each_break():
    assert [one.quantity for one in prices(cost())] == [4, 10, 50]
    assert [one.quantity for one in prices(cost(), [50, 1])] == [1, 50]
    assert [one.off_pct for one in prices(cost(), [9, 10, 49, 50, 51])] == [0.0, 5.0, 5.0, 12.5, 12.5]
    for wrong in (0, -3, 10**9):
        with pytest.raises(JobError):
            price(cost(), wrong)


def test_the_line_says_number_each_together_tax_and_what_it_is_made_up_of():
    line = quote_words(cost(), 10)
    assert line.startswith("10 at ") and "5 % off" in line and "of tax" in line
    assert "One run: sheet 12.00, machine 20.00, 50 % on top." in line


@settings(max_examples=80, deadline=None)
@given(
    quantity=st.integers(1, 400),
    copies=st.integers(1, 12),
    margin=st.sampled_from([0, 20, 33]),
    step=st.sampled_from(["0.01", "0.05", "1"]),
    tax=st.sampled_from([0, 7, 19]),
    least=st.sampled_from([0, 25, 1000]),
)
def test_prices_as_fractions_give_them(quantity, copies, margin, step, tax, least):
    """The same sum in whole fractions, rounded by counting steps."""
    rates = replace(
        RATES, margin_pct=float(margin), round_to=float(step), tax_pct=float(tax), least_charge=float(least)
    )
    priced = price(Cost(lines=LINES, copies=copies, rates=rates), quantity)
    runs = (quantity + copies - 1) // copies
    off = Fraction(125, 10) if quantity >= 50 else Fraction(5) if quantity >= 10 else Fraction(0)
    raw = (5 + 3 * runs + Fraction(24, copies) * quantity) * (1 + Fraction(margin, 100)) * (1 - off / 100) / quantity
    each = half_up(raw, Fraction(step))
    net = max(each * quantity, Fraction(least))
    taxed = half_up(net * Fraction(tax, 100), Fraction(1, 100))
    assert Fraction(Decimal(repr(priced.each))) == each
    assert Fraction(Decimal(repr(priced.net))) == net
    assert Fraction(Decimal(repr(priced.tax))) == taxed
    assert Fraction(Decimal(repr(priced.gross))) == net + taxed
    assert priced.raised == (each * quantity < least)


def half_up(amount, step):
    whole, rest = divmod(amount, step)
    return (whole + (1 if 2 * rest >= step else 0)) * step


def test_breaks_as_they_are_typed():
    assert parsed_breaks("50: 12,5 %, 10: 5") == ((10, 5.0), (50, 12.5))
    assert parsed_breaks("10=5; 20=7") == ((10, 5.0), (20, 7.0)) and parsed_breaks(" ") == ()
    assert parsed_breaks(breaks_words(RATES)) == RATES.breaks
    for wrong in ("ten: 5", "10", "1: 5", "10: 5, 10: 6", "10: 100", "10: -5", "10: 5: 6", "9" * 30 + ": 5"):
        with pytest.raises(UnreadableError):
            parsed_breaks(wrong)


def test_rates_that_make_no_sense_are_refused():
    for wrong in ({"tax_pct": 101.0}, {"round_to": 0.0}, {"attendance_pct": 120.0}, {"machine_per_h": float("nan")},
                  {"currency": "a long word for money"}, {"breaks": ((10, 5.0), (10, 6.0))}):  # fmt: skip
        with pytest.raises(UnreadableError):
            check_rates(replace(RATES, **wrong))


def test_what_costs_something_is_not_given_away_and_the_least_charge_comes_in_whole_cents():
    alone = Cost(
        lines=(CostLine(what="sheet", label="sheet", amount=0.001, how=""),), copies=1,
        rates=Rates(currency="Kr", least_charge=0.000001),
    )  # fmt: skip
    priced = price(alone, 3)
    assert priced.each == 0.01 and priced.net == 0.03 and not priced.raised
    raised = price(replace(alone, rates=replace(alone.rates, least_charge=0.041)), 3)
    assert raised.raised and raised.net == 0.05
    whole = price(replace(alone, rates=replace(alone.rates, least_charge=24.5, round_to=1.0)), 3)
    assert whole.net == 24.5  # the maker's own figure, not rounded to whole units with the price of one
    none = price(replace(alone, lines=()), 1)
    assert none.each == 0 and none.net == 0.01


def test_prices_in_thousandths_are_told_in_thousandths():
    priced = price(cost(round_to=0.005, tax_round_to=0.001), 13)
    told = price_words(priced, "Kr")
    assert f"{priced.each:.3f}" in told and Decimal(f"{priced.net:.3f}") == 13 * Decimal(f"{priced.each:.3f}")


def test_a_currency_has_no_figures_to_be_taken_for_an_amount():
    for strange in ("0.000001", "1", "Kr2", "１２"):
        with pytest.raises(UnreadableError, match="Currency"):
            check_rates(Rates(currency=strange))
    check_rates(Rates(currency="Kčs."))
