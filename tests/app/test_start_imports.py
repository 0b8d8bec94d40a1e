"""What the first picture does not need is not loaded before it: each takes a twentieth to a third of a second."""

import ast
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]

LATER = {
    "cattrs", "ezdxf", "fontTools", "icalendar", "jsonschema", "lxml", "manifold3d", "numpy", "pikepdf", "pypdfium2",
    "reportlab", "scipy", "shapely", "tinycss2", "uharfbuzz", "logging.handlers",
}  # fmt: skip


def loaded_by(words: str) -> set[str]:
    code = f"import sys; {words}; print(*sys.modules)"
    return set(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split())


def test_the_window_starts_without_what_later_steps_need():
    assert LATER & loaded_by("import app.window.start") == set()


def test_an_import_within_a_function_saves_the_start_something():
    """What is loaded at the start anyway is imported at a file's head, where it is seen."""
    loaded = loaded_by("import app.window.start")
    idle = [
        f"{path.relative_to(ROOT)}:{line} {name}"
        for top in ("core", "app")
        for path in sorted((ROOT / top).rglob("*.py"))
        if path != ROOT / "app" / "command_line.py"  # its own start is that of ``tain --version``
        for line, name in imported_late(ast.parse(path.read_text("utf-8")))
        if name in loaded
    ]
    assert idle == []


def imported_late(tree: ast.AST) -> set[tuple[int, str]]:
    """Line and module of every import within a function."""
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    imports = [node for function in functions for node in ast.walk(function)]
    found = {(node.lineno, alias.name) for node in imports if isinstance(node, ast.Import) for alias in node.names}
    for node in imports:
        if isinstance(node, ast.ImportFrom):
            whole = [f"{node.module}.{alias.name}" for alias in node.names]
            of_files = [name for name in whole if (ROOT / name.replace(".", "/")).with_suffix(".py").is_file()]
            found |= {(node.lineno, name) for name in of_files or [node.module or ""]}
    return found


def test_the_version_is_told_without_starting_anything():
    loaded = loaded_by("from app.command_line import main; main(['--version'])")
    assert {"numpy", "shapely", "PySide6"} & loaded == set()
    assert "core.job.job" not in loaded


def test_a_job_its_order_and_history_load_without_arrays():
    """The window starts with an empty job."""
    assert {"numpy", "shapely"} & loaded_by("import core.order.history") == set()


def test_no_page_has_to_load_its_modules_when_it_is_opened(tmp_path):
    """They were loaded behind the first picture."""
    code = f"""if True:
        import sys
        from pathlib import Path
        from PySide6.QtWidgets import QApplication
        from app.window.coming import load_what_comes
        from app.window.start import new_window
        app = QApplication([])
        window = new_window(Path({str(tmp_path)!r}))
        load_what_comes().join()
        before = set(sys.modules)
        for stage in window.pages:
            window.go_to(stage)
        print("late:", *(name for name in set(sys.modules) - before if name.startswith(("app.", "core."))))
        import os; os._exit(0)
    """
    surroundings = {**os.environ, "QT_QPA_PLATFORM": "offscreen", "TAIN_HOME": str(tmp_path), "PYTHONUNBUFFERED": "1"}
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=surroundings)
    assert told.stdout.split() == ["late:"]
