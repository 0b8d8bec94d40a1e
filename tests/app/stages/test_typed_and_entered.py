"""The keys coming to something act on nothing, and what is typed for one job never lands in another."""

from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit

from app.stages.stage import Stage
from app.widgets.findings_list import FindingsList
from tests.app.conftest import PLATE
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

FAULTY = Path(__file__).parents[3] / "sample_jobs" / "faulty-door-sign.svg"


def test_tab_into_the_findings_zooms_nowhere_before_an_arrow_is_pressed(window, settle):
    window.activateWindow()
    window.files.open(FAULTY)
    settle(window)
    page = window.pages[Stage.ARTWORK]
    (listed,) = [one for one in page.findChildren(FindingsList) if one.accessibleName() == "Findings about the artwork"]
    picked = []
    listed.picked.connect(picked.append)
    page.main_action.setFocus()
    view = window.faces.state.faces[0].view
    while QApplication.focusWidget() is not listed:
        QTest.keyClick(QApplication.focusWidget(), Qt.Key.Key_Tab)
        QApplication.processEvents()
    assert picked == [] and window.faces.state.faces[0].view == view
    QTest.keyClick(listed, Qt.Key.Key_Down)
    assert len(picked) == 1


@pytest.fixture
def twin(tmp_path):
    """Another file with the same layers."""
    path = tmp_path / "twin.svg"
    path.write_text(PLATE.replace("plate", "twin"), "utf-8")
    return path


@pytest.mark.parametrize(
    ("stage", "name", "typed"),
    [(Stage.BURN, "Speed of Fill", "123"), (Stage.LAYERS, "Name of the fill layer Fill", "Anchor")],
)
def test_what_is_typed_is_not_set_in_a_job_opened_meanwhile(with_plate, twin, dialogs, settle, stage, name, typed):
    window = with_plate
    window.activateWindow()
    window.go_to(stage)
    settle(window)
    field = part(window.pages[stage], name)
    field.setFocus()
    field.selectAll()
    QTest.keyClicks(field, typed)
    shown = field if isinstance(field, QLineEdit) else field.lineEdit()
    assert shown.text() == typed
    window.files.open(twin)
    settle(window)
    assert window.session.job.source.name == "twin.svg"
    before = window.session.job
    window.faces.setFocus()
    settle(window)
    assert window.session.job is before and window.session.undo_label is None
