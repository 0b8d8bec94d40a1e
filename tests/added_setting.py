"""The program with one setting more: a line is written into a copy of the recipes' file, and nothing else is done.

    python -m tests.added_setting FOLDER

works through the program by its commands and its window and prints as JSON what each place says.
"""

import importlib
import io
import json
import os
import sys
import types
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import replace
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
LINE = (
    '    wobble_mm: float = figure(0.0, words="Wobble", unit="mm", least=0, most=2, about="How far the head sways")\n'
)
BEFORE = "    origin: Origin = STARTING_POINT\n"
SAMPLE = ROOT / "sample_jobs" / "house-number.svg"


def add_it() -> None:
    """Have all of the program meet the recipes with the setting in them."""
    path = ROOT / "core" / "sheet" / "recipes.py"
    text = path.read_text("utf-8")
    assert text.count(BEFORE) == 1
    module = types.ModuleType("core.sheet.recipes")
    module.__file__ = str(path)
    sys.modules[module.__name__] = module
    exec(compile(text.replace(BEFORE, LINE + BEFORE), str(path), "exec"), module.__dict__)
    importlib.import_module("core.sheet").recipes = module  # type: ignore[attr-defined]


def tain(*arguments: str | Path) -> str:
    """What a command says on both streams, with its exit code at the end."""
    from app.command_line import main

    said, code = io.StringIO(), 0
    with redirect_stdout(said), redirect_stderr(said):
        try:
            code = main([str(one) for one in arguments])
        except SystemExit as ended:
            code = int(ended.code or 0)
    return f"{said.getvalue()}\nexit {code}"


def by_commands(folder: Path) -> dict[str, Any]:
    """What commands and files say of it."""
    from core.output.opening import open_job
    from core.output.settings_schema import schema

    svg, dxf, job = (folder / f"out.{kind}" for kind in ("svg", "dxf", "tain"))
    found = {
        "prepare": tain("prepare", SAMPLE, "--set", "cut.wobble_mm=0.25", "--wobble-mm", "0.5", "-o", svg, "-o", dxf,
                        "-o", job),
        "refused": tain("prepare", SAMPLE, "--set", "cut.wobble-mm=3", "-o", folder / "no.svg"),
        "help": tain("prepare", "--help"),
        "show": tain("show", svg),
        "svg": svg.read_text("utf-8"),
        "dxf": dxf.read_text("utf-8"),
        "run sheet": tain("runsheet", job, "-o", folder / "run.pdf") + _pdf_text(folder / "run.pdf"),
        "schema": schema()["$defs"]["recipe"]["properties"].get("wobble_mm"),
    }  # fmt: skip
    for kind, path in (("from SVG", svg), ("from DXF", dxf), ("from job", job)):
        found[kind] = {layer.purpose: layer.recipe.wobble_mm for layer in open_job(path).layers}  # type: ignore[attr-defined]
    return found


def _pdf_text(path: Path) -> str:
    import pypdfium2

    document = pypdfium2.PdfDocument(path)
    return "\n".join(page.get_textpage().get_text_bounded() for page in document)


def by_window(folder: Path) -> dict[str, Any]:
    """What the window shows of it."""
    from PySide6.QtWidgets import QApplication

    from app.dialogs.profile_forms import StockForm
    from app.stages.stage import Stage
    from app.words.figure_words import compared_recipes, recipe_text
    from core.job.decisions import with_recipe
    from core.output.opening import open_job
    from tests.windows import a_window, part, wait_until_settled

    application = QApplication.instance() or QApplication([])
    job = open_job(folder / "out.tain")
    cut = next(layer for layer in job.layers if layer.purpose == "cut")
    plain = next(layer for layer in job.layers if layer.purpose == "score")
    found: dict[str, Any] = {
        "recipe words": recipe_text(cut.recipe, fill=False),
        "compared": compared_recipes(plain.recipe, cut.recipe, fill=False),
    }
    with a_window(folder / "home", folder / "out.tain") as window:
        window.go_to(Stage.BURN)
        wait_until_settled(window)
        field = part(window, f"Wobble of {cut.name}")
        found["field"] = [field.minimum(), field.maximum(), field.text()]
        window.session.commit(with_recipe(job, cut.id, replace(cut.recipe, wobble_mm=1.5)), "Wobble")
        wait_until_settled(window)
        found["field after a change"] = field.text()
    form = StockForm(job.stock, inches=False, changed=lambda: None, refused=lambda why: None)
    found["stock form"] = [part(form, f"Wobble of the {purpose} recipe").text() for purpose in ("fill", "cut")]
    del application
    return found


if __name__ == "__main__":
    home = Path(sys.argv[1]) / "home"
    home.mkdir(parents=True)
    os.environ["TAIN_HOME"] = str(home)
    add_it()
    print(json.dumps(by_commands(home.parent) | by_window(home.parent), ensure_ascii=False))
