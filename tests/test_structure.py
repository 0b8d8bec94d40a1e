"""The floor plan holds: no circle of imports among files, those for types counted; see also pyproject's contracts."""

import ast
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

ROOT = Path(__file__).parents[1]


def modules() -> dict[str, Path]:
    """Every module of the program by its dotted name."""
    found = {}
    for top in ("core", "app"):
        for path in sorted((ROOT / top).rglob("*.py")):
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            found[name.removesuffix(".__init__")] = path
    return found


def imported(tree: ast.AST, known: frozenset[str]) -> frozenset[str]:
    """The modules that a file imports anywhere, in functions and for types alike."""
    names = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            whole = {f"{node.module}.{alias.name}" for alias in node.names} & known
            names |= whole or {node.module}
            names |= {node.module} if len(whole) < len(node.names) else set()
    return frozenset(names & known)


def circle(graph: dict[str, frozenset[str]]) -> list[str]:
    """The names of one circle in the graph, empty where there is none."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def test_no_circle_of_imports() -> None:
    paths = modules()
    known = frozenset(paths)
    graph = {name: imported(ast.parse(path.read_text()), known) - {name} for name, path in paths.items()}
    assert len(graph) > 300
    assert sum(map(len, graph.values())) > 1000
    assert circle(graph) == []


def test_the_finder_sees_imports_for_types_and_in_functions() -> None:
    one = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from app.b import B\n"
    other = "def f():\n    import app.a\n"
    known = frozenset({"app.a", "app.b"})
    graph = {"app.a": imported(ast.parse(one), known), "app.b": imported(ast.parse(other), known)}
    assert set(circle(graph)) == {"app.a", "app.b"}
    assert circle({"app.a": frozenset({"app.b"}), "app.b": frozenset()}) == []
