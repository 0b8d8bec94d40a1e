"""No word is cut off: captions of every page measured at four sizes of the window, in both themes."""

from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QSize
from PySide6.QtWidgets import (
    QAbstractSpinBox,
    QApplication,
    QCheckBox,
    QComboBox,
    QLabel,
    QLineEdit,
    QPushButton,
    QToolButton,
    QWidget,
)

from app.stages.stage import Stage
from app.theme.in_force import apply_theme
from app.widgets.scrolled import MARGIN_PX
from app.window.page_side import LEAST_PX as LEAST_PAGE_PX
from core.job.timing import range_text
from tests.windows import wait_until, wait_until_settled

SAMPLE = Path(__file__).parents[3] / "sample_jobs" / "crest.svg"
SIZES = ((1024, 700), (1280, 800), (1600, 1000), (1920, 1080))
ARROW_PX, FRAME_PX = 24, 8


def needed(widget: QWidget) -> QSize | None:
    """The room that a widget's words need; None for one that shows none."""
    metrics = widget.fontMetrics()
    if isinstance(widget, QLabel):
        if not widget.text():
            return None
        if widget.wordWrap():
            longest = max(widget.text().split(), key=metrics.horizontalAdvance)  # a word is not broken
            return QSize(metrics.horizontalAdvance(longest), widget.heightForWidth(widget.width()))
        shown = widget.text().replace("&", "") if widget.buddy() is not None else widget.text()
        return QSize(metrics.horizontalAdvance(shown), metrics.height())
    if isinstance(widget, QPushButton | QToolButton | QCheckBox):
        shown = widget.text() and not (
            isinstance(widget, QToolButton) and widget.toolButtonStyle().name == "ToolButtonIconOnly"
        )
        return widget.sizeHint() if shown else None
    if isinstance(widget, QComboBox):
        return QSize(metrics.horizontalAdvance(widget.currentText()) + ARROW_PX + FRAME_PX, 0)
    if isinstance(widget, QAbstractSpinBox):
        return QSize(metrics.horizontalAdvance(widget.text()) + FRAME_PX, 0)
    return None


def clipped(root: QWidget) -> list[str]:
    """The captions below a widget that have less room than they need, or that reach over the edge of their page."""
    found = []
    for widget in root.findChildren(QWidget):
        if not widget.isVisible() or isinstance(widget, QLineEdit):
            continue
        need = needed(widget)
        if need is not None and (need.width() > widget.width() + 1 or need.height() > widget.height() + 1):
            text = widget.currentText() if isinstance(widget, QComboBox) else widget.text()  # type: ignore[attr-defined]
            found.append(f"{text!r}: {widget.width()} x {widget.height()}, needs {need.width()} x {need.height()}")
    return found


@pytest.fixture(scope="module")
def with_crest(shared_window):
    """The crest with its paint and advice, worked out once."""
    window = shared_window
    window.files.open(SAMPLE)
    wait_until_settled(window)
    for stage, known in (
        (Stage.PAINT, lambda: window.paint_page.painted is not None and not window.paint_page.painting.busy),
        (Stage.BURN, lambda: not window.burn_page.advising.busy),
    ):
        window.go_to(stage)
        wait_until(known)
    return window


def test_no_caption_is_cut_off_at_any_size_in_either_theme(with_crest, qapp, qtbot, settle):
    window = with_crest
    found: dict[str, list[str]] = {}
    for theme in ("light", "dark"):
        apply_theme(qapp, theme)
        for size in SIZES:
            window.resize(*size)
            for stage in Stage:
                window.go_to(stage)
                settle(window)
                qtbot.wait(1)  # what wraps is as high as it needs to be once it has its width
                page = window.pages[stage]
                where = f"{stage.title}, {size[0]} x {size[1]}, {theme}"
                if (cut := clipped(window.rail) + clipped(page)) or (cut := too_wide(page)):
                    found[where] = cut
                for room in page.rooms if size == SIZES[0] else ():
                    page.open_room(room)
                    QApplication.processEvents()
                    if cut := clipped(page) or too_wide(page):
                        found[f"{where}, {room.title}"] = cut
                    page.leave_room()
    apply_theme(qapp, "light")
    lines = [f"{where}: {one}" for where, cut in found.items() for one in cut]
    assert "\n".join(lines) == ""


def test_every_page_and_room_fits_the_narrowest_page_there_is(with_crest, settle):
    """The page can be drawn in so far; two buttons side by side made the timetable wider than that."""
    window, found = with_crest, []
    window.resize(1360, 860)
    for stage, page in window.pages.items():
        window.go_to(stage)
        settle(window)
        for part in (page.front, *page.rooms):
            bar = part.verticalScrollBar().sizeHint().width()
            needed = part.content.minimumSizeHint().width() + bar - min(bar, MARGIN_PX - 4)  # the margin beside it
            if needed > LEAST_PAGE_PX:
                found.append(f"{part.accessibleName()}: {needed}")
    assert found == []


def too_wide(page) -> list[str]:
    """Whether what is shown of a page reaches over its edge."""
    part = page.seen_part
    over = part.content.width() - part.viewport().width()
    return [f"{over} px wider than the page"] if over > 0 else []


def test_a_layer_keeps_its_name_beside_a_long_run_time(window, settle, qtbot):
    """A range of times once left the name of a layer eight pixels."""
    window.files.open(SAMPLE.with_name("name-plate.svg"))
    settle(window)
    job = window.session.job
    slow = tuple(replace(one, recipe=replace(one.recipe, speed_mm_s=500.0)) for one in job.layers)
    window.session.commit(replace(job, layers=slow), "Slower")
    window.resize(1280, 800)
    window.go_to(Stage.BURN)
    settle(window)
    qtbot.wait(1)
    assert "to" in range_text(window.session.plan.layers[0].time_range)
    assert clipped(window.pages[Stage.BURN]) == []
