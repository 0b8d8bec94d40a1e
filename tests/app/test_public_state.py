"""The window's tests hold to what is public."""

import ast
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_windows_tests_go_through_what_is_public() -> None:
    """By state, object names and names for screen readers: a private member may be called otherwise tomorrow."""
    reached = [
        f"{path.relative_to(ROOT)}:{node.lineno} {ast.unparse(node)}"
        for path in sorted((ROOT / "tests" / "app").rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Attribute) and node.attr.startswith("_") and not node.attr.startswith("__")
        if not (isinstance(node.value, ast.Name) and node.value.id in ("self", "cls", "os"))  # os._exit dies, as asked
        if path.name != "attack.py"  # reads the options out of argparse, which has no public way
    ]
    assert reached == []
