"""Files that finishing needs are written to their end, or it is told why not, when the window closes meanwhile."""

import threading
from types import SimpleNamespace

import pytest
from PySide6.QtWidgets import QWidget

from app.errands import finishing_files
from app.errands.finishing_files import FinishingFiles
from app.session.background import close_all
from app.session.painting import Painting
from core.errors import TainError
from tests.windows import wait_until

PAINTED = SimpleNamespace(plan=SimpleNamespace(job=SimpleNamespace(source=None)), painting=None, burning=object())
CLOSES_BEFORE_S = 0.2


@pytest.fixture
def desk(qtbot, dialogs):
    """What a window has of it: the window, its painting, what writes."""
    window = QWidget()
    qtbot.addWidget(window)
    painting = Painting(window)
    yield window, painting, FinishingFiles(painting, window)
    close_all(window)


def test_masks_asked_for_behind_a_paint_plan_are_written_before_a_window_closes(desk, dialogs, monkeypatch, tmp_path):
    window, painting, files = desk
    painted, begun, written = threading.Event(), threading.Event(), []

    def paint(progress):
        begun.set()
        painted.wait(20)

    monkeypatch.setattr(finishing_files, "mask_files", lambda *asked: ())
    monkeypatch.setattr(finishing_files, "write_files", lambda masks, folder, **options: written.append(folder) or ())
    painting.do(paint, lambda value: None, lambda error: None)
    assert begun.wait(20)
    dialogs.expect("save", tmp_path / "masks")
    files.save_masks(PAINTED)
    threading.Timer(CLOSES_BEFORE_S, painted.set).start()
    close_all(window)
    assert written == [tmp_path / "masks"]


def test_masks_that_fail_while_a_window_closes_are_told(desk, dialogs, monkeypatch, tmp_path):
    window, _painting, files = desk
    gate, begun = threading.Event(), threading.Event()

    def full(masks, folder, **options):
        begun.set()
        gate.wait(20)
        raise TainError("The disk is full.", hint="Free some room.")

    monkeypatch.setattr(finishing_files, "mask_files", lambda *asked: ())
    monkeypatch.setattr(finishing_files, "write_files", full)
    dialogs.expect("save", tmp_path / "masks")
    files.save_masks(PAINTED)
    assert begun.wait(20)
    threading.Timer(CLOSES_BEFORE_S, gate.set).start()
    dialogs.expect("tell")
    close_all(window)
    wait_until(lambda: bool(dialogs.told))
    assert [text for text, _ in dialogs.told] == ["The disk is full."]
