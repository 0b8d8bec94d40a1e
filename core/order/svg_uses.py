"""Texts with fields that ``use`` elements place are written out where they are placed, so that each can be filled.

Only a reference to a text, or to a group that holds one, is written out: what a symbol, or another file, places is not.
"""

import copy
import re
from collections.abc import Callable

from lxml import etree

_SVG = "{http://www.w3.org/2000/svg}"
_HREFS = ("href", "{http://www.w3.org/1999/xlink}href")
_OWN = frozenset({*_HREFS, "x", "y", "width", "height", "transform"})
_LENGTH = re.compile(r"\s*[-+]?(?:\d+\.?\d*|\.\d+)(?:e[-+]?\d+)?(?:px)?\s*")
_MOST = 1_000


def write_uses_out(root: etree._Element, holds_field: Callable[[etree._Element], bool]) -> None:
    """Put a group with a copy in place of each ``use`` of something with a field, as SVG 2, 5.6 has it drawn."""
    sheets = "\n".join("".join(str(text) for text in one.itertext()) for one in root.iter() if _tag(one) == "style")
    for _ in range(_MOST):
        by_id = {one.get("id"): one for one in root.iter() if isinstance(one.tag, str) and one.get("id")}
        found = next(
            (
                (use, target)
                for use in root.iter()
                if _tag(use) == "use"
                and (target := by_id.get(_referred(use))) is not None
                and _can_be_written(use, target, sheets)
                and any(holds_field(one) for one in target.iter() if _tag(one) == "text")
            ),
            None,
        )
        if found is None:
            return
        _write_out(*found)


def _can_be_written(use: etree._Element, target: etree._Element, sheets: str) -> bool:
    ids = [one.get("id") for one in target.iter() if isinstance(one.tag, str) and one.get("id")]
    return (
        _tag(target) in ("text", "g", "a")
        and target not in use.iterancestors()
        and all(_LENGTH.fullmatch(use.get(name, "0")) for name in ("x", "y"))
        and not any(f"#{name}" in sheets for name in ids)
        and not re.search(r"\buse\b", sheets)
    )


def _write_out(use: etree._Element, target: etree._Element) -> None:
    group = etree.Element(f"{_SVG}g" if str(use.tag).startswith("{") else "g")
    for name, value in use.attrib.items():
        if name not in _OWN:
            group.set(name, value)
    x, y = (use.get(name, "0").strip().removesuffix("px") for name in ("x", "y"))
    group.set("transform", f"{use.get('transform', '')} translate({x} {y})".strip())
    made = copy.deepcopy(target)
    made.tail = None
    for one in made.iter():
        if isinstance(one.tag, str) and "id" in one.attrib:
            del one.attrib["id"]
    group.append(made)
    group.tail = use.tail
    parent = use.getparent()
    assert parent is not None
    parent.replace(use, group)


def _referred(use: etree._Element) -> str:
    reference = next((use.get(name) for name in _HREFS if use.get(name)), "") or ""
    return reference[1:] if reference.startswith("#") else ""


def _tag(element: etree._Element) -> str:
    return element.tag.removeprefix(_SVG) if isinstance(element.tag, str) else ""
