"""Threads load libraries at the same time, and none gets one half loaded.

``import a.b`` holds a.b while it loads a; where a loads a.b itself, a thread that began with a holds it and waits for
a.b. Python sees that they wait for each other and lets one go on with what is there (importlib's documentation of
``_DeadlockError``), which fails. Whoever takes the whole library first can't hold a part of it.
"""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
FILES = sorted(path for top in ("core", "app") for path in (ROOT / top).rglob("*.py"))


def test_no_module_takes_a_part_of_a_library_before_the_whole_that_loads_it():
    taken = {path: taken_in_order(ast.parse(path.read_text("utf-8"))) for path in FILES}
    wholes = sorted({name.split(".")[0] for names in taken.values() for name, _ in names if "." in name})
    loaded = loaded_by(wholes)
    begins = {path.parent for path in FILES if path.name == "__init__.py"}
    wrong = []
    for path, names in taken.items():
        first = {name for folder in path.parents if folder in begins for name, _ in taken[folder / "__init__.py"]}
        for name, line in names:
            whole = name.split(".")[0]
            if name != whole and name in loaded and whole not in first:
                wrong.append(f"{path.relative_to(ROOT)}:{line} {name}")
            first.add(whole)
    assert not wrong, "\n".join(wrong)


def taken_in_order(tree: ast.Module) -> list[tuple[str, int]]:
    """(module whose lock is taken first, line) of all imports that run, of libraries."""
    idle = {id(node) for one in ast.walk(tree) if is_for_types(one) for node in ast.walk(one)}
    found = []
    for node in ast.walk(tree):
        if id(node) in idle:
            continue
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
            found.append((node.module, node.lineno))
    libraries = [one for one in found if one[0].split(".")[0] not in {"core", "app", "tests", *sys.stdlib_module_names}]
    return sorted(libraries, key=lambda one: one[1])


def is_for_types(node: ast.AST) -> bool:
    return isinstance(node, ast.If) and isinstance(node.test, ast.Name) and node.test.id == "TYPE_CHECKING"


def loaded_by(wholes: list[str]) -> set[str]:
    """All modules that are loaded with these."""
    code = f"import sys, {', '.join(wholes)}; print(*sys.modules)"
    return set(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split())


MEANWHILE = """
import sys, threading, time
failed = []
def load(name):
    try:
        __import__(name)
    except ImportError as error:
        failed.append(f"{name}: {error}")
library, first, then = sys.argv[1:]
one = threading.Thread(target=load, args=(first,))
one.start()
while library not in sys.modules and one.is_alive():
    time.sleep(0)
load(then)
one.join()
print(*failed, sep=chr(10))
"""


@pytest.mark.parametrize(
    ("library", "first", "then"),
    [
        ("shapely", "core.geometry.rings", "core.artwork.drawing"),
        ("ezdxf", "core.order.dxf_template", "core.artwork.dxf.colours"),
    ],
)
def test_a_library_that_another_thread_is_loading_is_waited_for(library, first, then):
    """At the start the book, the file and what comes next are loaded by a thread each."""
    words = [sys.executable, "-c", MEANWHILE, library, first, then]
    assert subprocess.run(words, capture_output=True, text=True, check=True, timeout=60).stdout.strip() == ""
