"""A picture in the window: asked for its size, traced at a threshold that follows the slider, screened, undone."""

from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image
from PySide6.QtCore import QSize
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QLabel, QScrollArea, QSlider, QWidget

from app.dialogs.pictures import BeforeAndAfter, PictureQuestion, Side
from app.errands.pictures import before_and_after
from app.stages.picture_card import PictureCard
from app.stages.stage import Stage
from core.artwork.drawing import ArtworkSource
from core.artwork.picture_decisions import PictureOptions, ToneControls
from core.job.job import new_job
from core.job.prepare import prepare
from tests.core.artwork.pictures.made_pictures import file_bytes
from tests.windows import a_window, wait_until_settled


@pytest.fixture
def ramp(tmp_path: Path) -> Path:
    path = tmp_path / "ramp.png"
    path.write_bytes(file_bytes(Image.linear_gradient("L").resize((120, 120)), dpi=(254, 254)))
    return path


def test_the_threshold_moves_what_the_faces_show(ramp: Path, tmp_path: Path) -> None:
    with a_window(tmp_path, ramp) as window:
        wait_until_settled(window)
        session = window.session
        slider = window.findChild(QSlider, "picture-threshold")
        assert slider is not None
        areas = []
        for grey in (60, 120, 200):
            slider.setValue(grey)
            wait_until_settled(window)
            assert session.plan is not None
            areas.append(session.plan.layers[0].region.area)
        assert areas == sorted(areas) and areas[2] > 2 * areas[0]
        assert session.job.source is not None and session.job.source.data == ramp.read_bytes()
        session.undo()  # the whole drag is one step
        wait_until_settled(window)
        assert session.job.reading.picture.trace.threshold is None


def test_cards_send_whole_decisions(ramp: Path, tmp_path: Path) -> None:
    with a_window(tmp_path, ramp) as window:
        wait_until_settled(window)
        card = window.findChild(PictureCard)
        assert card is not None and card.isVisibleTo(window)
        options = PictureOptions(way="screen", bared_is="dark")
        card.changed.emit(options, "Way of the picture", None)
        wait_until_settled(window)
        assert window.session.plan is not None and window.session.plan.screens
        window.go_to(Stage.COVERAGE)
        wait_until_settled(window)
        at_pitch = {lpi: window.findChild(QLabel, f"verdict at {lpi} LPI").text() for lpi in (300, 600)}  # type: ignore[union-attr]
        assert at_pitch[300].startswith("tones to 75 %: ") and at_pitch[600].startswith("tones to 100 %: ")
        held = [int(told.split(": ")[1].split()[0]) for told in at_pitch.values()]
        assert abs(held[0] - held[1]) <= 3, "tones hang on the line, hardly on the pitch"


def test_questions_and_comparisons_can_be_built(ramp: Path, qtbot) -> None:  # type: ignore[no-untyped-def]
    question = PictureQuestion(None, "photo.jpg", 100.0)
    qtbot.addWidget(question)
    question.choose(width_mm=80.0, way="screen")
    assert (question.width_mm, question.way) == (80.0, "screen")


def middle(side: Side) -> tuple[int, int, int]:
    colour = side.image.pixelColor(side.image.width() // 2, side.image.height() // 2)
    return colour.red(), colour.green(), colour.blue()


def test_before_is_the_file_in_its_colours_and_after_what_is_burned(qtbot) -> None:  # type: ignore[no-untyped-def]
    image = Image.new("RGB", (60, 60), "white")
    image.paste((180, 30, 30), (10, 10, 50, 50))
    data = file_bytes(image, dpi=(50.8, 50.8))
    job = new_job(ArtworkSource(name="red.png", data=data))
    before, after = before_and_after(data, prepare(job))
    assert middle(before) == (180, 30, 30) and middle(after) == (0, 0, 0)
    assert "30.0 x 30.0 mm" in before.told and "1 outlines" in after.told
    picture = PictureOptions(way="screen", bared_is="light", tones=ToneControls(invert=True))
    screened = prepare(replace(job, reading=replace(job.reading, picture=picture)))
    before, after = before_and_after(data, screened)
    assert middle(before) == (180, 30, 30) and "as a plain fill" in before.told
    assert min(middle(after)) > 210 and "screened" in after.told and "MB as DXF" in after.told
    shown = BeforeAndAfter(None, before, after, 30.0)
    qtbot.addWidget(shown)
    assert shown.windowTitle() == "Before and after"


def test_before_and_after_is_as_large_as_the_window_and_magnifies(qtbot) -> None:  # type: ignore[no-untyped-def]
    window = QWidget()
    qtbot.addWidget(window)
    window.resize(1600, 1000)
    image = QImage(400, 300, QImage.Format.Format_RGB32)
    side = Side(caption="As it came", image=image, told="400 x 300 pixels.")
    shown = BeforeAndAfter(window, side, replace(side, caption="As it will look"), 60.0)
    assert shown.size() == QSize(1504, 920)
    pictures = [area.widget() for area in shown.findChildren(QScrollArea)]
    at_true_size = pictures[0].width()
    assert at_true_size == pytest.approx(60 / 25.4 * shown.screen().physicalDotsPerInchX(), abs=1)
    for times in (2.0, 4.0):
        shown.show_at(times)
        assert [picture.width() for picture in pictures] == [round(times * 60 / 25.4 * dpi_of(shown))] * 2
    shown.show_at(8.0)
    assert pictures[0].width() <= 3200


def dpi_of(widget: QWidget) -> float:
    return float(widget.screen().physicalDotsPerInchX())
