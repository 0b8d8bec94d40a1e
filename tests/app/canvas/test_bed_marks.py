"""Zones of the bed and the datum are drawn where they are: seen as what changes in the picture of the faces."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtGui import QImage

from app.canvas.bed_marks import zone_rects
from app.stages.stage import Stage
from core.burning.bed_zones import BedZone
from core.geometry.flattening import path_bounds_mm
from core.sheet.datum import Datum

pytestmark = pytest.mark.usefixtures("shared_window")


def picture(window) -> np.ndarray:
    image = window.faces.grab().toImage().convertToFormat(QImage.Format.Format_RGB32)
    flat = np.frombuffer(image.constBits(), np.uint8)
    return flat.reshape(image.height(), image.bytesPerLine() // 4, 4)[:, : image.width(), :3].astype(int)


def changed(before: np.ndarray, after: np.ndarray) -> np.ndarray:
    return (np.abs(before - after) > 8).any(2)


def commit(window, settle, job) -> np.ndarray:
    window.session.commit(job, "A change")
    settle(window)
    return picture(window)


def test_a_clamp_is_drawn_on_the_bed_face_where_it_lies_and_nowhere_else(with_plate, settle) -> None:
    window = with_plate
    window.go_to(Stage.BURN)
    window.menus.actions["fit sheet"].trigger()
    settle(window)
    before = picture(window)
    job = window.session.job
    clamp = BedZone(kind="clamp", x_mm=4.0, y_mm=4.0, width_mm=20.0, height_mm=12.0)
    after = commit(window, settle, replace(job, machine=replace(job.machine, zones=(clamp,))))
    (bed,) = [face for face in window.faces.state.faces if face.name == "bed"]
    ((kind, box),) = zone_rects(bed, window.session.job)
    assert kind == "clamp"
    within = changed(before, after)[int(box.top()) + 2 : int(box.bottom()) - 1, int(box.left()) + 2 : int(box.right())]
    assert within.mean() > 0.5


def test_marks_of_the_datum_are_drawn_on_both_faces(with_plate, settle) -> None:
    window = with_plate
    window.go_to(Stage.BURN)
    window.menus.actions["fit sheet"].trigger()
    job = replace(window.session.job, datum=Datum(kind="part edge"))
    before = commit(window, settle, job)
    after = commit(window, settle, replace(job, datum=Datum(kind="marks")))
    plan = window.session.plan
    paths = [path for layer in plan.datum_layers for path in layer.paths]
    assert paths
    difference = changed(before, after)
    for face in window.faces.state.faces:
        for path in paths:
            x0, y0, x1, y1 = path_bounds_mm(path, 0.1)
            box = face.rect_px(x0, y0, x1, y1).adjusted(-2, -2, 2, 2).toAlignedRect()
            assert face.area.contains(box)
            assert difference[box.top() : box.bottom(), box.left() : box.right()].any()
