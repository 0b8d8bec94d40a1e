"""The floor plan holds: no circle of imports among files, those for types counted; see also pyproject's contracts."""

import ast
from functools import cache
from graphlib import CycleError, TopologicalSorter
from importlib.util import resolve_name
from pathlib import Path

ROOT = Path(__file__).parents[1]


@cache
def modules() -> dict[str, Path]:
    """Every module of the program by its dotted name."""
    found = {}
    for top in ("core", "app"):
        for path in sorted((ROOT / top).rglob("*.py")):
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            found[name.removesuffix(".__init__")] = path
    return found


@cache
def trees() -> dict[str, ast.Module]:
    """Every module of the program, parsed."""
    return {name: ast.parse(path.read_text("utf-8")) for name, path in modules().items()}


def imported(tree: ast.AST, known: frozenset[str], here: str = "") -> frozenset[str]:
    """The modules that a file imports anywhere, in functions and for types alike. here: the folder it stands in."""
    names = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            module = resolve_name("." * node.level + (node.module or ""), here) if node.level else node.module or ""
            whole = {f"{module}.{alias.name}" for alias in node.names} & known
            names |= whole or {module}
            names |= {module} if len(whole) < len(node.names) else set()
    return frozenset(names & known)


def folder_of(name: str) -> str:
    """The package that a module stands in; a package's own file stands in itself."""
    return name if modules()[name].name == "__init__.py" else name.rpartition(".")[0]


def graph_of_files() -> dict[str, frozenset[str]]:
    """Every module and what it imports."""
    known = frozenset(trees())
    return {name: imported(tree, known, folder_of(name)) - {name} for name, tree in trees().items()}


def circle(graph: dict[str, frozenset[str]]) -> list[str]:
    """The names of one circle in the graph, empty where there is none."""
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        return list(error.args[1])
    return []


def test_no_circle_of_imports() -> None:
    graph = graph_of_files()
    assert len(graph) > 300
    assert sum(map(len, graph.values())) > 1000
    assert circle(graph) == []


def test_no_circle_among_folders_a_folder_and_those_within_it_are_two() -> None:
    arrows: dict[str, set[str]] = {}
    for name, seen in graph_of_files().items():
        arrows.setdefault(folder_of(name), set()).update({folder_of(other) for other in seen} - {folder_of(name)})
    assert len(arrows) > 40
    assert circle({folder: frozenset(seen) for folder, seen in arrows.items()}) == []


def test_the_finder_sees_imports_for_types_and_in_functions() -> None:
    one = "from typing import TYPE_CHECKING\nif TYPE_CHECKING:\n    from app.b import B\n"
    other = "def f():\n    from . import a\n"
    known = frozenset({"app.a", "app.b"})
    graph = {"app.a": imported(ast.parse(one), known), "app.b": imported(ast.parse(other), known, "app")}
    assert set(circle(graph)) == {"app.a", "app.b"}
    assert circle({"app.a": frozenset({"app.b"}), "app.b": frozenset()}) == []


FOR_TESTS = frozenset({
    "middle_of", "ring_box", "offers_text", "hears",  # public state of widgets, where nothing else tells it
    "is_guarded", "icon_names",  # what a test goes through one by one
    "resolved",  # the plane engine without the quick way past it: the two are held against each other
})  # fmt: skip
"""Names that only tests call, each for a reason."""


def _defined(tree: ast.AST) -> set[str]:
    """Functions, classes and methods; Qt's own names (camelCase) and Python's are called by those."""
    kinds = (ast.FunctionDef, ast.AsyncFunctionDef, ast.ClassDef)
    names = {node.name for node in ast.walk(tree) if isinstance(node, kinds)}
    return {name for name in names if not name.startswith("__") and (name.islower() or name[0].isupper())}


def _used(tree: ast.AST) -> set[str]:
    used = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Name):
            used.add(node.id)
        elif isinstance(node, ast.Attribute):
            used.add(node.attr)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            used.add(node.value)
    return used


def test_nothing_is_there_that_no_line_of_the_program_uses() -> None:
    used = set().union(*map(_used, trees().values()))
    defined = set().union(*map(_defined, trees().values()))
    called_by_libraries = {"run", "add_arguments", "fixup", "clone"}
    assert len(defined) > 4000
    idle = sorted(defined - used - called_by_libraries - FOR_TESTS)
    assert not idle, f"No line of the program uses {', '.join(idle)}: delete them, or move them to the tests."


def _fixed(tree: ast.Module) -> set[str]:
    """Names that a file gives a value once for all."""
    targets = [
        target
        for node in tree.body
        if isinstance(node, ast.Assign | ast.AnnAssign)
        for target in (node.targets if isinstance(node, ast.Assign) else [node.target])
    ]
    return {target.id for target in targets if isinstance(target, ast.Name) and not target.id.startswith("__")}


def _read(tree: ast.AST) -> set[str]:
    names = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Load)}
    words = {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    return names | words | {node.attr for node in ast.walk(tree) if isinstance(node, ast.Attribute)}


def test_no_fixed_value_is_there_that_no_line_of_the_program_reads() -> None:
    read = set().union(*map(_read, trees().values()))
    fixed = set().union(*map(_fixed, trees().values()))
    assert len(fixed) > 800
    for_tests = {"CHANGE_KEYS"}  # every change that a cause names, one by one
    assert sorted(fixed - read - for_tests) == []


def test_the_session_has_no_widgets_and_words_no_qt() -> None:
    for name, tree in trees().items():
        from_qt = {node.module for node in ast.walk(tree) if isinstance(node, ast.ImportFrom) and node.module}
        if name.startswith("app.session."):
            assert "PySide6.QtWidgets" not in from_qt, name
        if name.startswith(("app.words.", "app.commands.")):
            assert not any(module.startswith("PySide6") for module in from_qt), name
