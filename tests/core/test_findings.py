"""What the program finds stands in one registry: code, severity, stage, words of the repair."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from app.stages.stage import Stage, stage_of
from core.artwork.checkup import repairs
from core.artwork.checkup.scales import SCALES
from core.artwork.drawing import Finding
from core.findings import FINDINGS, REPAIRS, repair_words

ROOT = Path(__file__).parents[2]
SAYING = (
    "Finding", "RowFinding", "Told", "_cell_finding", "_finding", "_warning", "_note", "add", "complain", "capped",
    "_outlined", "said", "note", "warn",
)  # fmt: skip
"""What is called with a code to say something."""
NOT_ABOUT_FINDINGS = ("core/shop_book/", "core/finishing/calendar_file.py", "core/finishing/inspection.py", "app/")


@cache
def said() -> tuple[tuple[str, str, str | None], ...]:
    """Every (file, code, severity or None where it can't be told) that a call in the program says."""
    return tuple(
        (path.relative_to(ROOT).as_posix(), code, severity)
        for folder in ("core", "app")
        for path in (ROOT / folder).rglob("*.py")
        for code, severity in said_in(path.relative_to(ROOT).as_posix(), path.read_text("utf-8"))
    )


def said_in(path: str, text: str) -> Iterator[tuple[str, str | None]]:
    if not any(f"{name}(" in text for name in SAYING):
        return  # not worth taking apart
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        if name not in SAYING or (name != "Finding" and path.startswith(NOT_ABOUT_FINDINGS)):
            continue
        keywords = {keyword.arg: keyword.value for keyword in node.keywords}
        code = keywords.get("code") or next(iter(node.args), None)
        given = keywords.get("severity")
        severity = given.value if isinstance(given, ast.Constant) else None if given else _usual(name)
        for part in ast.walk(code) if code is not None else ():
            if isinstance(part, ast.Constant) and isinstance(part.value, str) and "-" in part.value:
                yield part.value, severity


def _usual(name: str) -> str | None:
    usual = {"_note": "note", "_warning": "warning"}
    return usual.get(name, "warning" if name in ("Finding", "RowFinding", "Told", "add") else None)


def test_every_code_that_is_said_stands_in_the_registry():
    found = said()
    assert len({code for _, code, _ in found}) > 90
    assert sorted({f"{code} in {path}" for path, code, _ in found if code not in FINDINGS}) == []


def test_severities_are_those_of_the_registry():
    wrong = [
        f"{code} is a {severity} in {path}"
        for path, code, severity in said()
        if code in FINDINGS and severity not in (None, *FINDINGS[code].severities)
    ]
    assert wrong == []


def test_every_verdict_but_clean_is_a_finding():
    from core.burning.beam import Verdict

    for verdict in Verdict.__args__:
        assert verdict == "clean" or verdict.replace(" ", "-") in FINDINGS


def test_every_repair_has_words_and_every_word_a_repair():
    doing = {*repairs._PLAIN, *repairs._WITH_WIDTH, *SCALES}
    assert doing == set(REPAIRS)
    named = {repair for kind in FINDINGS.values() for repair in kind.repairs}
    assert named == set(REPAIRS)
    assert repair_words("drop-specks:0.06") == "specks dropped"


@pytest.mark.parametrize("kind", FINDINGS.values(), ids=lambda kind: kind.code)
def test_every_finding_has_a_stage_of_the_window(kind):
    assert stage_of(Finding(code=kind.code, message="")) is Stage(kind.stage)
