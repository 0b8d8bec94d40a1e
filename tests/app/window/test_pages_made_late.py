"""A page is made when it is first asked for, and shows what is so then: job, selection, units."""

import subprocess
import sys
from pathlib import Path

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from app.stages.layers.shapes_table import ShapesTable
from app.stages.stage import Stage, State, marks
from app.window.job_commands import a_quarter_turn_on
from core.job.painting.decisions import with_suggested_paints
from tests.windows import wait_until_settled

CREST = Path(__file__).parents[3] / "sample_jobs" / "crest.svg"


def test_the_first_picture_needs_one_page(window) -> None:
    assert [page.stage for page in window.pages.made] == [Stage.ARTWORK]
    window.go_to(Stage.BURN)
    assert [page.stage for page in window.pages.made] == [Stage.ARTWORK, Stage.BURN]
    assert list(window.pages) == list(Stage)


def test_a_page_made_late_shows_what_is_so_by_then(with_plate) -> None:
    window = with_plate
    window.settings.set("units", "inch")
    window.session.select([shape.id for shape in window.session.plan.drawing.shapes[1:3]])
    window.job_commands.place("Rotate the artwork", a_quarter_turn_on)
    wait_until_settled(window)
    window.go_to(Stage.SHEET)
    assert window.sheet_page.place_card.left.text().endswith("in")
    assert window.sheet_page.place_card.rotation.value() == 90
    window.go_to(Stage.LAYERS)
    table = window.pages[Stage.LAYERS].findChild(ShapesTable)
    assert len(table.selectionModel().selectedRows()) == 2


def test_a_page_made_late_tells_and_is_heard_as_any_other(with_plate) -> None:
    window = with_plate
    window.go_to(Stage.COVERAGE)
    window.coverage_page.main_action.click()
    assert window.stage is Stage.PAINT
    QTest.keyClick(window, "7", Qt.KeyboardModifier.ControlModifier)
    assert window.stage is Stage.HAND_OVER


def test_the_rail_knows_what_painting_came_to_though_nobody_looked(window) -> None:
    window.files.open(CREST)
    wait_until_settled(window)
    window.session.commit(with_suggested_paints(window.session.plan), "Paints as suggested")
    wait_until_settled(window)
    assert Stage.PAINT not in {page.stage for page in window.pages.made}
    assert window.session.paint_findings is not None
    assert marks(window.session)[Stage.PAINT].state is not State.WAITING


def test_no_page_but_the_first_is_loaded_at_the_start() -> None:
    code = "import sys; import app.window.start; print(*(m for m in sys.modules if m.startswith('app.stages.')))"
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    pages = {"layers", "sheet", "burn", "coverage", "paint", "hand_over"}
    assert pages & {module.split(".")[2] for module in loaded} == set()
