"""Commands about the shop book with actions of their own, as in ``tain rack add``."""

import argparse
from collections.abc import Callable, Mapping
from typing import NamedTuple

from core.shop_book.store import ShopBook, open_book


class Action(NamedTuple):
    """What its line of help says, what adds its arguments, and what does it and returns the exit code."""

    about: str
    add_arguments: Callable[[argparse.ArgumentParser], None]
    work: Callable[[ShopBook, argparse.Namespace], int]


def add_actions(parser: argparse.ArgumentParser, actions: Mapping[str, Action]) -> None:
    """The actions by name, each with its arguments; which one is asked for stands in ``action``."""
    added = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
    for name, action in actions.items():
        action.add_arguments(added.add_parser(name, help=action.about, description=action.about))


def run_action(arguments: argparse.Namespace, actions: Mapping[str, Action]) -> int:
    """Do the action that is asked for, with the shop book open. Returns the exit code; raises TainError."""
    with open_book() as book:
        return actions[arguments.action].work(book, arguments)
