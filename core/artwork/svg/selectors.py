"""Matching of CSS selectors, with a bound on the work.

cssselect2 parses; matching is ours since a descendant selector is walked here with what was found out already
remembered, so that no style sheet can make it exponential.
"""

from collections.abc import Callable
from typing import Any

import tinycss2
from cssselect2 import parser

from core.artwork.svg.document import Node
from core.artwork.svg.limits import MAX_SELECTOR_PARTS

Test = Callable[[Node], bool]


class UnknownSelectorError(Exception):
    """A selector that is not understood here; CSS drops its rule."""


class Selector:
    """One selector, right part first: compound tests, each with the combinator that leads to it from the left."""

    __slots__ = ("_seen", "combinators", "key", "specificity", "tests")

    def __init__(self, tree: Any, specificity: tuple[int, int, int]) -> None:
        self.specificity = specificity
        self.tests: list[Test] = []
        self.combinators: list[str] = []
        self._seen: dict[tuple[int, int], bool] = {}
        last = tree
        while isinstance(tree, parser.CombinedSelector):
            self.tests.append(_compound_test(tree.right))
            self.combinators.append(tree.combinator)
            tree = tree.left
        self.tests.append(_compound_test(tree))
        if len(self.tests) > MAX_SELECTOR_PARTS:
            raise UnknownSelectorError("too long")
        self.key = _key(last.right if isinstance(last, parser.CombinedSelector) else last)

    def matches(self, node: Node) -> bool:
        """Whether the node is one that the selector means."""
        return self.tests[0](node) and (len(self.tests) == 1 or self._left_matches(node, 1))

    def _left_matches(self, node: Node, part: int) -> bool:
        """Whether what stands left of ``part - 1`` fits a node that part matched. Depth is bounded by the parts."""
        if part == len(self.tests):
            return True
        combinator = self.combinators[part - 1]
        passed: list[Node] = []
        step = node.parent if combinator in " >" else _previous(node)
        found = False
        while step is not None:
            known = self._seen.get((part, id(step)))
            if combinator in " ~" and known is not None:
                found = known
                break
            if self.tests[part](step) and self._left_matches(step, part + 1):
                found = True
            if combinator in ">+":
                return found
            passed.append(step)
            if found:
                break
            step = step.parent if combinator == " " else _previous(step)
        for one in passed:
            self._seen[(part, id(one))] = found
        return found


def _previous(node: Node) -> Node | None:
    if node.parent is None or node.index == 0:
        return None
    return node.parent.children[node.index - 1]


def _key(compound: Any) -> tuple[str, str]:
    """By what rules are looked up: an id, else a class, else an element name, else everything."""
    best = ("*", "")
    for simple in compound.simple_selectors:
        if isinstance(simple, parser.IDSelector):
            return ("#", simple.ident)
        if isinstance(simple, parser.ClassSelector):
            best = (".", simple.class_name)
        elif isinstance(simple, parser.LocalNameSelector) and best[0] == "*":
            best = ("e", simple.local_name)
    return best


def _compound_test(compound: Any) -> Test:
    tests = [_simple_test(simple) for simple in compound.simple_selectors]
    if not tests:
        return lambda node: True
    if len(tests) == 1:
        return tests[0]
    return lambda node: all(test(node) for test in tests)


def _simple_test(simple: Any) -> Test:
    if isinstance(simple, parser.LocalNameSelector):
        name = simple.local_name
        return lambda node: node.tag == name
    if isinstance(simple, parser.IDSelector):
        ident = simple.ident
        return lambda node: node.attributes.get("id") == ident
    if isinstance(simple, parser.ClassSelector):
        class_name = simple.class_name
        return lambda node: class_name in node.attributes.get("class", "").split()
    if isinstance(simple, parser.NamespaceSelector):
        return lambda node: True
    if isinstance(simple, parser.AttributeSelector):
        return _attribute_test(simple)
    if isinstance(simple, (parser.MatchesAnySelector, parser.SpecificityAdjustmentSelector)):
        choices = [Selector(one.parsed_tree, (0, 0, 0)) for one in simple.selector_list]
        return lambda node: any(choice.matches(node) for choice in choices)
    if isinstance(simple, parser.NegationSelector):
        excluded = [Selector(one.parsed_tree, (0, 0, 0)) for one in simple.selector_list]
        return lambda node: not any(choice.matches(node) for choice in excluded)
    if isinstance(simple, parser.PseudoClassSelector):
        return _pseudo_class_test(simple.name)
    if isinstance(simple, parser.FunctionalPseudoClassSelector):
        return _nth_test(simple)
    raise UnknownSelectorError(repr(simple)[:60])


def _attribute_test(simple: Any) -> Test:
    name, operator, wanted = simple.name, simple.operator, simple.value
    if operator is None:
        return lambda node: name in node.attributes
    if simple.case_sensitive is False:
        wanted = wanted.lower()

    def value_of(node: Node) -> str | None:
        value = node.attributes.get(name)
        return value.lower() if value is not None and simple.case_sensitive is False else value

    def test(node: Node) -> bool:
        value = value_of(node)
        if value is None:
            return False
        if operator == "=":
            return bool(value == wanted)
        if operator == "~=":
            return wanted in value.split()
        if operator == "|=":
            return bool(value == wanted or value.startswith(wanted + "-"))
        if not wanted:
            return False
        if operator == "^=":
            return value.startswith(wanted)
        if operator == "$=":
            return value.endswith(wanted)
        return wanted in value

    return test


def _pseudo_class_test(name: str) -> Test:
    if name == "root":
        return lambda node: node.parent is None
    if name == "first-child":
        return lambda node: node.index == 0
    if name == "last-child":
        return lambda node: node.parent is None or node.index == len(node.parent.children) - 1
    if name == "only-child":
        return lambda node: node.parent is None or len(node.parent.children) == 1
    if name == "empty":
        return lambda node: not node.children and not node.text().strip()
    if name in (
        "hover",
        "active",
        "focus",
        "visited",
        "target",
        "checked",
        "disabled",
        "focus-visible",
        "focus-within",
    ):
        return lambda node: False
    if name in ("link", "any-link"):
        return lambda node: node.tag == "a" and "href" in node.attributes
    raise UnknownSelectorError(name)


def _nth_test(simple: Any) -> Test:
    if simple.name not in ("nth-child", "nth-last-child"):
        raise UnknownSelectorError(simple.name)
    formula = tinycss2.nth.parse_nth(simple.arguments)
    if formula is None:
        raise UnknownSelectorError(simple.name)
    step, offset = formula
    from_end = simple.name == "nth-last-child"

    def test(node: Node) -> bool:
        count = len(node.parent.children) if node.parent is not None else 1
        place = count - node.index if from_end else node.index + 1
        rest = place - offset
        return bool(rest == 0 if step == 0 else rest % step == 0 and rest // step >= 0)

    return test
