"""The fixed words of the window, for translators: ``python -m tests.captions OUT.ts`` collects them and runs lupdate.

They are found where they stand: what is handed to the door (``app/qt/captions``) or to what hands it on.
"""

import ast
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from app.qt.captions import CONTEXT, CORE_CONTEXT
from tests.core_sentences import core_sentences

APP = Path(__file__).parents[1] / "app"
DOORS = {
    "caption", "words", "plain_label", "plain_tip", "small_button", "Card", "row", "figure", "figure_line",
    "ChoiceField", "show_main_action", "add_room", "Command", "Submenu", "EmptyNote", "Step", "go_on", "filled",
    "step_button", "NumberField", "LengthField", "SpeedField", "ChanceBar", "FindingsList", "PlainTable", "Answer",
    "say", "tell", "ask", "set_empty_text", "Foot", "Scrolled",
}  # fmt: skip
NO_CAPTIONS = {"key", "keys", "also", "icon", "role", "choice", "reach", "name"}
"""Arguments of these names are no words for people."""


@cache
def captions() -> tuple[str, ...]:
    """All of them, each once."""
    found: dict[str, None] = {}
    for file in sorted(APP.rglob("*.py")):
        for node in ast.walk(ast.parse(file.read_text("utf-8"))):
            if isinstance(node, ast.Call) and called(node) in DOORS:
                found |= dict.fromkeys(_texts(node))
            elif isinstance(node, ast.AnnAssign | ast.Assign) and _assigned(node) == "MENUS":
                found |= dict.fromkeys(_titles(node))
    return tuple(text for text in found if any(letter.isalpha() for letter in text))


def write_catalogue(file: Path) -> None:
    """The words as a catalogue of Qt Linguist's. Raises FileNotFoundError without lupdate."""
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder) / "captions.py"
        lines = [
            f"QCoreApplication.translate({context!r}, {_quoted(text)})"
            for context, texts in ((CONTEXT, captions()), (CORE_CONTEXT, core_sentences()))
            for text in texts
        ]
        source.write_text("\n".join(("from PySide6.QtCore import QCoreApplication", *lines, "")), "utf-8")
        subprocess.run(
            [str(lupdate()), str(source), "-ts", str(file)], check=True, capture_output=True, timeout=120, text=True
        )


def lupdate() -> Path:
    """Where the tool is: beside the interpreter."""
    return Path(sys.executable).with_name("pyside6-lupdate")


def _quoted(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"').replace("\n", "\\n")
    return f'"{escaped}"'


def called(node: ast.Call) -> str:
    """The name of what is called, "" for none."""
    if isinstance(node.func, ast.Name):
        return node.func.id
    return node.func.attr if isinstance(node.func, ast.Attribute) else ""


def _assigned(node: ast.AnnAssign | ast.Assign) -> str:
    target = node.target if isinstance(node, ast.AnnAssign) else node.targets[0]
    return target.id if isinstance(target, ast.Name) else ""


def _texts(call: ast.Call) -> Iterator[str]:
    given = [*call.args, *(one.value for one in call.keywords if one.arg not in NO_CAPTIONS)]
    for value in given:
        for node in ast.walk(value):
            if isinstance(node, ast.Call) and node is not value:
                break
            if isinstance(node, ast.JoinedStr):
                break
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                yield node.value


def _titles(node: ast.AnnAssign | ast.Assign) -> Iterator[str]:
    assert node.value is not None
    for entry in ast.walk(node.value):
        if isinstance(entry, ast.Tuple) and entry.elts and isinstance(entry.elts[0], ast.Constant):
            yield str(entry.elts[0].value)


if __name__ == "__main__":
    write_catalogue(Path(sys.argv[1]))
