"""The sentences of ``core`` that people read, for translators: found where they stand, figures taken out."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from app.qt.captions import GAP, taken_apart

CORE = Path(__file__).parents[1] / "core"
_NO_WORDS = re.compile(
    r"SELECT |INSERT |UPDATE |CREATE |PRAGMA |ALTER |DELETE |AND |WHERE |\\|<|^\W*$|^[-\w]+/[-\w]+$|://|=\"|/>|None|\bFROM\b"
)
TABLES = {"figure", "Figure", "PurposeLook", "OtherForm"}
"""Calls whose texts are words for people even where they are one word."""


@cache
def core_sentences() -> tuple[str, ...]:
    """Each once, a gap for every figure and quoted name, sentence by sentence."""
    found: dict[str, None] = {}
    for file in sorted(CORE.rglob("*.py")):
        tree = ast.parse(file.read_text("utf-8"))
        skipped, one_word = set(_not_said(tree)), _one_word(tree)
        for node in ast.walk(tree):
            text = None if id(node) in skipped else _text_of(node)
            if text is not None and (" " in text or node in one_word) and not _NO_WORDS.search(text):
                for sentence in re.split(r"(?<=[.?!])\s+", text.strip()):
                    pattern = taken_apart(sentence)[0]
                    if re.search("[A-Za-z]{2,}", pattern.replace(GAP, "")):
                        found[pattern] = None
    return tuple(found)


def _text_of(node: ast.AST) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):  # a figure stands for whatever is put in
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "0" for part in node.values)
    return None


def _one_word(tree: ast.AST) -> set[ast.AST]:
    """Texts of figures and the like, which may be a word alone."""
    return {
        value
        for call in ast.walk(tree)
        if isinstance(call, ast.Call) and isinstance(call.func, ast.Name) and call.func.id in TABLES
        for value in (
            *call.args,
            *(one.value for one in call.keywords if one.arg in ("words", "about", "unit", "group")),
        )
    }


def _not_said(tree: ast.AST) -> Iterator[int]:
    """Docstrings, parts of sentences that are whole elsewhere, and what no person reads: keys, patterns, SQL."""
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            yield from (id(part) for part in ast.walk(node) if part is not node and isinstance(part, ast.Constant))
        elif isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            yield id(node.value)
        elif (
            isinstance(node, ast.Call)
            and isinstance(node.func, ast.Attribute)
            and node.func.attr in ("compile", "execute")
        ):
            yield from (id(part) for part in ast.walk(node))
