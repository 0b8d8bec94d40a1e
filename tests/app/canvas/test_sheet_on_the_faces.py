"""Outline, holes and flaws of the sheet on both faces; snapping to what the piece is."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from PySide6.QtCore import QPointF

from app.canvas.flaw_marks import flaw_at, flaw_words
from app.canvas.regions import region_path
from app.canvas.snapping import snapped
from app.theme.theme import theme
from core.sheet.placement import Flaw, Sheet
from tests.app.canvas.plans import make_plan, shapes

OUTLINE = (
    ((0.0, 0.0), (100.0, 0.0), (100.0, 30.0), (70.0, 60.0), (0.0, 60.0)),
    ((80.0, 10.0), (90.0, 10.0), (85.0, 20.0)),
)
SCRATCH = Flaw(kind="line", points=((5.0, 55.0), (25.0, 55.0)), width_mm=4.0, note="from the saw")
CHIP = Flaw(kind="point", points=((8.0, 45.0),), surface="clear face", noted_from="back", width_mm=3.0)


def piece_plan(turn="sideways", flaws=()):
    plan = make_plan(shapes()[:1], turn=turn)  # the square alone
    sheet = Sheet(width_mm=100.0, height_mm=60.0, thickness_mm=3.0, outline=OUTLINE, flaws=flaws)
    return replace(plan, job=replace(plan.job, sheet=sheet))


@pytest.mark.parametrize("turn", ["sideways", "endways"])
@pytest.mark.parametrize("face", ["front", "bed"])
def test_off_the_outline_and_in_its_hole_the_desk_is_seen(canvas, turn, face):
    canvas.show(piece_plan(turn), mode="sheet")
    picture, where = canvas.picture(), getattr(canvas, face)
    under = canvas.pixel(where, 104.0, 66.0, within=picture) if face == "front" else None
    grounds = {theme().canvas.desk, theme().canvas.bed}
    assert canvas.pixel(where, 95.0, 50.0, within=picture).name() in grounds
    assert canvas.pixel(where, 85.0, 13.0, within=picture).name() in grounds
    assert canvas.pixel(where, 60.0, 57.0, within=picture).name() not in grounds
    assert under is None or under.name() == theme().canvas.desk


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_flaws_lie_at_one_place_of_the_sheet_on_both_faces(canvas, turn):
    plan = piece_plan(turn, (SCRATCH, CHIP))
    canvas.show(plan, mode="sheet")
    for face in (canvas.front, canvas.bed):
        assert flaw_at(face, plan.job.sheet, face.to_px(15.0, 55.0)) == 0
        # the chip was noted on the back of a sheet turned sideways: 8 mm from the right edge as seen from the front
        assert flaw_at(face, plan.job.sheet, face.to_px(92.0, 45.0)) == 1
        assert flaw_at(face, plan.job.sheet, face.to_px(60.0, 40.0)) is None
        without = canvas.pixel(face, 15.0, 55.0)
        assert without.name() not in (theme().canvas.coat_deep, theme().canvas.back)
    assert canvas.front.to_px(15.0, 55.0) != canvas.bed.to_px(15.0, 55.0)


def test_flaws_are_told_in_words_apart(canvas, at):
    plan = piece_plan(flaws=(SCRATCH, CHIP))
    canvas.show(plan, mode="sheet")
    assert canvas.view.state.tip_at(QPointF(at(canvas.front, 15.0, 55.0))) == "Flaw 1: line in the coat, from the saw"
    assert flaw_words(1, CHIP) == "2: point on the clear face"


def test_flaws_of_either_surface_are_drawn_differently_in_one_colour(canvas):
    pictures = []
    for surface in ("coat", "clear face"):
        patch = Flaw(kind="patch", points=((2.0, 40.0), (60.0, 40.0), (60.0, 58.0), (2.0, 58.0)), surface=surface)
        canvas.show(piece_plan(flaws=(patch,)), mode="sheet")
        face, seen = canvas.front, canvas.picture()
        pictures.append([canvas.pixel(face, x, 56.0, within=seen).name() for x in np.arange(5.0, 55.0, 0.1)])
    assert pictures[0] != pictures[1]


def test_every_part_of_a_region_is_in_its_path():
    two = shapely.union_all([shapely.box(0, 0, 10, 10).difference(shapely.box(4, 4, 6, 6)), shapely.box(20, 0, 30, 5)])
    path = region_path(two)
    inside = [path.contains(QPointF(x, y)) for x, y in ((1, 1), (5, 5), (25, 2), (15, 2))]
    assert inside == [True, False, True, False]


SHEET = Sheet(width_mm=100.0, height_mm=60.0, thickness_mm=3.0, outline=OUTLINE)
BOX = (10.0, 10.0, 30.0, 20.0)
HULL = np.array([[10.0, 10.0], [30.0, 10.0], [30.0, 20.0], [10.0, 20.0]])


def test_the_corners_of_the_outline_catch():
    shift = snapped(BOX, SHEET, 40.4, 12.3, reach_mm=1.0, hull=HULL)
    assert shift.dx_mm == 40.0 and shift.x_lines_mm == (70.0,)  # its right edge meets the corner's x
    assert shift.dy_mm == 12.0 and shift.y_lines_mm == ()  # whole millimetres


def test_a_slanted_edge_catches_the_hull():
    shift = snapped(BOX, SHEET, 53.2, 25.7, reach_mm=1.0, hull=HULL)
    assert shift.slanted == (100.0, 30.0, 70.0, 60.0)
    corner = (30.0 + shift.dx_mm, 20.0 + shift.dy_mm)
    assert corner[0] + corner[1] == pytest.approx(130.0)  # the edge's line
    assert abs(shift.dx_mm - 53.2) == pytest.approx(abs(shift.dy_mm - 25.7))  # straight to it


def test_nothing_near_goes_to_whole_millimetres():
    shift = snapped((10.25, 10.5, 30.25, 20.5), SHEET, 11.3, 6.2, reach_mm=0.2)
    assert 10.25 + shift.dx_mm == pytest.approx(22.0) and 10.5 + shift.dy_mm == pytest.approx(17.0)
