"""A painter that outlives its widget's paint event, as where an error's traceback holds it, takes the program down."""

import ast
from pathlib import Path

APP = Path(__file__).parents[2] / "app"
ENDED_BY_HAND = {"canvas/picture.py", "canvas/gap_map.py"}
"""Painters of images that are handed on; whoever is handed them ends them in a ``finally``."""


def painters_begun(tree: ast.AST) -> set[ast.Call]:
    calls = {node for node in ast.walk(tree) if isinstance(node, ast.Call) and node.args}
    return {call for call in calls if isinstance(call.func, ast.Name) and call.func.id == "QPainter"}


def begun_by_with(tree: ast.AST) -> set[ast.expr]:
    return {item.context_expr for node in ast.walk(tree) if isinstance(node, ast.With) for item in node.items}


def test_painters_end_with_their_block():
    begun, astray = 0, []
    for path in sorted(APP.rglob("*.py")):
        tree = ast.parse(path.read_text("utf-8"))
        painters = painters_begun(tree)
        begun += len(painters)
        if path.relative_to(APP).as_posix() not in ENDED_BY_HAND:
            astray += [f"{path.name}:{call.lineno}" for call in painters - begun_by_with(tree)]
    assert begun > 20 and astray == []
