"""Marks of findings on faces full of small fills: where they lie, and how little is looked at for it."""

import random

import numpy as np
from PySide6.QtCore import QPointF, QRectF

from app.canvas import finding_marks as marks_module
from app.canvas.faces_layout import Face, View, laid_out
from app.canvas.finding_marks import DIRECTIONS, DISTANCES_PX, PLATE_PX, finding_marks
from app.canvas.state import FacesState
from core.findings import Finding
from core.sheet.placement import Sheet

SMALL = [
    (x + 0.3, y + 0.3, x + 0.3 + size, y + 0.3 + size)
    for x in range(0, 600, 12)
    for y in range(0, 300, 12)
    for size in [2 + (x * 7 + y * 3) % 9]
]
BOXES = np.array(SMALL)


def faces() -> tuple[Face, Face]:
    view = View(x_mm=300.0, y_mm=150.0, px_per_mm=0.9)
    return laid_out(
        (1300, 500), "side by side", view, Sheet(width_mm=600.0, height_mm=300.0, thickness_mm=3.0), "sideways"
    )


def findings(count: int) -> list[Finding]:
    lot = random.Random(3)
    return [
        Finding(code="speck", message="A speck.", x_mm=lot.uniform(0, 600), y_mm=lot.uniform(0, 300))
        for _ in range(count)
    ]


def test_marks_lie_at_the_nearest_place_free_of_letters_and_of_each_other():
    for face in faces():
        area, letters = QRectF(face.area), [face.rect_px(*box) for box in SMALL]
        taken: list[QRectF] = []
        for mark in finding_marks(face, findings(60), lambda _: (), lambda: BOXES):
            around = [QPointF(dx * distance, dy * distance) for distance in DISTANCES_PX for dx, dy in DIRECTIONS]
            plates = [QRectF(0, 0, mark.plate.width(), PLATE_PX) for _ in around]
            for plate, way in zip(plates, around, strict=True):
                plate.moveCenter(mark.foot + way)
            plates = [one for one in plates if area.contains(one) and not any(one.intersects(own) for own in taken)]
            clear = [one for one in plates if not any(one.intersects(box) for box in letters)]
            assert mark.plate == (clear or plates)[0]
            taken.append(mark.plate)


def test_where_no_finding_is_in_sight_no_fill_is_looked_at(monkeypatch):
    monkeypatch.setattr(marks_module, "_Letters", None)
    face = faces()[0]
    beyond = [Finding(code="speck", message="A speck.", x_mm=-9000.0, y_mm=0.0), Finding(code="a", message="b")]
    assert finding_marks(face, beyond, lambda _: (), lambda: BOXES) == ()


def test_a_plate_is_held_against_few_of_very_many_fills(monkeypatch):
    """32 marks among a thousand fills took some 250,000 looks, a tenth of a second of the window's thread."""
    looks = []
    plainly = QRectF.intersects
    monkeypatch.setattr(QRectF, "intersects", lambda one, other: looks.append(1) or plainly(one, other))
    assert finding_marks(faces()[0], findings(32), lambda _: (), lambda: BOXES)
    assert len(looks) < 5_000


def test_marks_are_those_of_the_findings_of_now_wherever_they_lie_in_memory():
    """Findings that changed twice between two paintings may lie where the first ones lay."""
    (face, _), state = faces(), FacesState()
    one, other = findings(2)

    def marked(finding):
        state.findings = (finding,)
        return id(state.findings), state.marks_on(face)

    first_at, first = marked(one)
    state.findings, elsewhere = (), []
    for _ in range(1000):
        state.findings = (other,)
        if id(state.findings) == first_at:
            break
        elsewhere.append(state.findings)
    assert state.marks_on(face) == finding_marks(face, [other], lambda _: ()) != first
