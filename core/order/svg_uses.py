"""Texts with fields that ``use`` elements place are written out where they are placed, so that each can be filled.

What is written out must draw what the file drew: rules of a style sheet that go by where a text stands, or by an id,
can make it draw another thing, and then that reference stays as it is.
"""

import copy
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from lxml import etree

_SVG = "{http://www.w3.org/2000/svg}"
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_OWN = frozenset({*_HREFS, "x", "y", "width", "height", "transform"})
_VIEWPORTS = frozenset({"symbol", "svg"})
_CAN_BE_WRITTEN = _VIEWPORTS | {"text", "g", "a", "switch"}
_MOST = 1_000
_MOST_APART = 40
"""References that are tried one by one where not all can be written out: each takes a reading of the file."""
_NUMBER = "data-made-a-reference"


@dataclass(frozen=True, slots=True)
class _Found:
    use: etree._Element
    target: etree._Element


def with_uses_written_out(
    root: etree._Element,
    holds_field: Callable[[etree._Element], bool],
    drawn: Callable[[etree._Element], Any],
) -> etree._Element:
    """The tree with a group in place of each ``use`` of something with a field, as SVG 2, 5.6 has it drawn.

    ``drawn`` tells what a tree draws, in a form that can be compared.
    """
    uses = [one for one in root.iter() if _tag(one) == "use"]
    for at, use in enumerate(uses):
        use.set(_NUMBER, str(at))
    made, chosen = _written_out(root, holds_field, frozenset(map(str, range(len(uses)))))
    if chosen:
        as_before = drawn(root)
        if drawn(made) != as_before:
            kept: frozenset[str] = frozenset()
            for number in sorted(chosen, key=int)[:_MOST_APART]:
                tried, _ = _written_out(root, holds_field, kept | {number})
                if drawn(tried) == as_before:
                    kept |= {number}
            made, _ = _written_out(root, holds_field, kept)
    for tree in (root, made):
        for one in tree.iter():
            if isinstance(one.tag, str):
                one.attrib.pop(_NUMBER, "")
    return made


def _written_out(
    root: etree._Element, holds_field: Callable[[etree._Element], bool], numbers: frozenset[str]
) -> tuple[etree._Element, set[str]]:
    """A copy with these references written out, and those of them that were."""
    done: set[str] = set()
    made = copy.deepcopy(root)
    for _ in range(_MOST):
        found = _next(made, holds_field, numbers)
        if found is None:
            break
        done.add(found.use.get(_NUMBER, ""))
        _write_out(found)
    return made, done


def _next(
    root: etree._Element, holds_field: Callable[[etree._Element], bool], numbers: frozenset[str]
) -> _Found | None:
    by_id: dict[str, etree._Element] = {}
    for one in root.iter():
        if isinstance(one.tag, str) and one.get("id"):
            by_id.setdefault(one.get("id", ""), one)
    for use in root.iter():
        if _tag(use) != "use" or use.get(_NUMBER) not in numbers:
            continue
        target = by_id.get(_referred(use))
        if (
            target is not None
            and _tag(target) in _CAN_BE_WRITTEN
            and target not in use.iterancestors()
            and any(holds_field(one) for one in target.iter() if _tag(one) == "text")
        ):
            return _Found(use, target)
    return None


def _write_out(found: _Found) -> None:
    use, target = found.use, found.target
    group = etree.Element(_like(use, "g"))
    for name, value in use.attrib.items():
        if name not in _OWN and name != _NUMBER:
            group.set(name, value)
    if use.get("transform"):
        group.set("transform", use.get("transform", ""))
    # a viewport of its own moves what is in it by any length there is, a translation by plain numbers alone
    shift = etree.SubElement(group, _like(use, "svg"), {"overflow": "visible"})
    for name in ("x", "y"):
        if use.get(name):
            shift.set(name, use.get(name, ""))
    made = copy.deepcopy(target)
    made.tail = None
    if _tag(made) in _VIEWPORTS:
        for name in ("width", "height"):
            if use.get(name, "auto") != "auto":
                made.set(name, use.get(name, ""))
            elif _tag(made) == "symbol":
                made.attrib.pop(name, "")
        if _tag(made) == "symbol":
            for name in ("x", "y"):
                made.attrib.pop(name, "")
        made.tag = _like(use, "svg")
    for one in made.iter():
        if isinstance(one.tag, str):
            one.attrib.pop("id", "")
    shift.append(made)
    group.tail = use.tail
    parent = use.getparent()
    assert parent is not None
    parent.replace(use, group)


def _like(use: etree._Element, tag: str) -> str:
    return f"{_SVG}{tag}" if str(use.tag).startswith("{") else tag


def _referred(use: etree._Element) -> str:
    reference = next((use.get(name) for name in _HREFS if use.get(name)), "") or ""
    return reference[1:] if reference.startswith("#") else ""


def _tag(element: etree._Element) -> str:
    return element.tag.removeprefix(_SVG) if isinstance(element.tag, str) else ""
