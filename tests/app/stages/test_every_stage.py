"""What every stage has: an icon, a mode of the faces, a page of help, a place among the floors."""

import tomllib
from pathlib import Path
from typing import get_args

import pytest

from app.canvas.modes import CanvasMode
from app.help.page_texts import help_pages, page_of_stage
from app.stages.stage import Stage
from app.theme.icons import icon_names
from core import findings

ROOT = Path(__file__).parents[3]


@pytest.mark.parametrize("stage", Stage)
def test_a_stage_is_drawn_shown_on_the_faces_and_explained(stage):
    assert stage.value.replace(" ", "-") in icon_names()
    assert stage.value in get_args(CanvasMode)
    assert page_of_stage(stage.value) in {page.key for page in help_pages()}


def test_modes_and_findings_belong_to_stages():
    values = {stage.value for stage in Stage}
    assert set(get_args(CanvasMode)) == values
    assert set(get_args(findings.Stage)) <= values


def test_no_page_is_left_out_of_the_contract_that_keeps_them_apart():
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["importlinter"]["contracts"]
    (pages,) = (set(one["modules"]) for one in contracts if one["name"].startswith("no page of the window"))
    folder = ROOT / "app" / "stages"
    with_page = {path for path in folder.rglob("*.py") if "(Page):" in path.read_text("utf-8")}
    rooms = {path.relative_to(folder).parts[0].removesuffix(".py") for path in with_page}
    assert {f"app.stages.{room}" for room in rooms} == pages and len(pages) == len(Stage)
