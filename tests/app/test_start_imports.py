"""What the first picture does not need is not loaded before it: each takes a twentieth to a third of a second."""

import subprocess
import sys

LATER = {
    "cattrs", "ezdxf", "fontTools", "icalendar", "jsonschema", "pikepdf", "pypdfium2", "reportlab",
    "scipy.optimize", "scipy.sparse", "scipy.special", "tinycss2", "uharfbuzz",
}  # fmt: skip


def loaded_by(words: str) -> set[str]:
    code = f"import sys; {words}; print(*sys.modules)"
    return set(subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split())


def test_the_window_starts_without_what_later_steps_need():
    assert LATER & loaded_by("import app.window.start") == set()


def test_the_version_is_told_without_starting_anything():
    loaded = loaded_by("from app.command_line import main; main(['--version'])")
    assert {"numpy", "shapely", "PySide6"} & loaded == set()
    assert "core.job.job" not in loaded
