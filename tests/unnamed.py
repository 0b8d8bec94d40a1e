"""Modules that no test names: `python -m tests.unnamed` prints them, the longest first.

What stands there is tested through what uses it. That is well where a break shows where it is made; a module with rules
of its own that only a whole job reaches deserves a test.
"""

import ast
from pathlib import Path

ROOT = Path(__file__).parents[1]


def unnamed() -> list[tuple[int, str]]:
    """(lines, module) of every module of the program that no file of the tests imports or names."""
    modules = {
        ".".join(path.relative_to(ROOT).with_suffix("").parts): path
        for top in ("core", "app")
        for path in (ROOT / top).rglob("*.py")
        if path.name != "__init__.py"
    }
    named: set[str] = set()
    for path in (ROOT / "tests").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import):
                named |= {alias.name for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and node.module:
                named |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
            elif isinstance(node, ast.Constant) and isinstance(node.value, str):
                named.add(node.value)
    left = sorted(modules.keys() - named)
    return sorted(((len(modules[name].read_text("utf-8").splitlines()), name) for name in left), reverse=True)


if __name__ == "__main__":
    found = unnamed()
    for lines, name in found:
        print(f"{lines:5} {name}")
    print(f"{len(found)} modules that no test names")
