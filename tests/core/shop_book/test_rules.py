"""Rules in the shop book: kept for a customer or for all, replaced, named, carried to another book."""

import pytest

from core.artwork.sorting.rules import parse_rule
from core.errors import UnreadableError
from core.shop_book.exchange import exported, import_into
from core.shop_book.rules import keep_rule, kept_rules, rules_named
from core.shop_book.store import open_book

RED_CUT, RED_SCORED, BLUE = (parse_rule(text) for text in ("stroke:#f00=cut", "stroke:#f00=score", "stroke:#00f=score"))


@pytest.fixture
def book(tmp_path):
    with open_book(tmp_path / "book.sqlite") as book:
        yield book


def test_a_customer_s_rules_come_before_those_for_all(book):
    keep_rule(book, BLUE)
    keep_rule(book, RED_CUT, customer="Gullwick House")
    assert rules_named(book, "gullwick house") == (RED_CUT, BLUE)
    assert rules_named(book, "all") == (BLUE,)


def test_a_rule_about_the_same_shapes_takes_the_old_one_s_place(book):
    keep_rule(book, RED_CUT, customer="Gullwick House")
    keep_rule(book, RED_SCORED, customer="gullwick house ")
    assert [entry.value.rule for entry in kept_rules(book)] == [RED_SCORED]


def test_an_unknown_name_is_refused_with_those_that_are_known(book):
    keep_rule(book, RED_CUT, customer="Gullwick House")
    with pytest.raises(UnreadableError) as refused:
        rules_named(book, "Mole")
    assert "Gullwick House" in (refused.value.hint or "")


def test_rules_travel_with_the_book(book, tmp_path):
    keep_rule(book, RED_CUT, customer="Gullwick House")
    with open_book(tmp_path / "other.sqlite") as other:
        import_into(other, exported(book), name="book.json")
        assert rules_named(other, "Gullwick House") == (RED_CUT,)


def test_a_removed_rule_is_followed_no_more(book):
    entry = keep_rule(book, RED_CUT)
    book.remove(entry.uuid)
    assert kept_rules(book) == ()
