"""What the front shows of the piece, fitting, and the marks of findings."""

from collections import Counter

import pytest
from PySide6.QtCore import QPointF, QRectF
from PySide6.QtTest import QTest

from app.canvas.finding_marks import finding_marks
from app.canvas.gap_map import SPILL_GROUND
from app.canvas.modes import RegionLook
from app.theme.in_force import apply_theme
from app.theme.theme import CONTRAST, DARK, DIM, LIGHT, contrast_ratio, mixed, theme
from core.artwork.drawing import Finding
from core.job.painting.planning import paint_plan
from tests.app.canvas.plans import LAYER_OF, SQUARE, make_plan
from tests.core.artwork.pictures.made_pictures import wedge_plan


def near(colour, wanted, by=10):
    r, g, b = (int(wanted[i : i + 2], 16) for i in (1, 3, 5))
    return max(abs(colour.red() - r), abs(colour.green() - g), abs(colour.blue() - b)) <= by


def finding(x_mm, y_mm, severity="warning", shape_ids=()):
    return Finding(code="thin", message="A thin part.", severity=severity, x_mm=x_mm, y_mm=y_mm, shape_ids=shape_ids)


@pytest.mark.parametrize("one", [LIGHT, DARK, CONTRAST], ids=["light", "dark", "contrast"])
def test_bared_sheet_stands_out_from_the_coat_as_seen(one):
    """WCAG 2.2, 1.4.11: 3:1 for graphics that carry meaning, against either end of the sheen."""
    for coat in (one.canvas.coat_bright, one.canvas.coat_deep):
        assert contrast_ratio(one.canvas.through, coat) >= 3.0


@pytest.mark.parametrize("looks", ["light", "dark", "contrast"])
def test_bared_sheet_stands_out_in_what_is_drawn(canvas, qapp, looks):
    """The same from the pixels themselves, by the formula of WCAG 2.2, for every stage that shows the piece."""
    apply_theme(qapp, looks)
    canvas.show(make_plan(), "sheet")
    for mode in ("sheet", "burn", "paint", "hand over"):
        canvas.view.set_mode(mode)
        canvas.settle()
        picture = canvas.picture()
        bared = canvas.pixel(canvas.front, 20, 20, within=picture).name()
        for x_mm, y_mm in ((5, 5), (36, 6), (5, 36)):
            coat = canvas.pixel(canvas.front, x_mm, y_mm, within=picture).name()
            assert contrast_ratio(bared, coat) >= 3.0, (mode, bared, coat)
    apply_theme(qapp, "light")


@pytest.mark.parametrize("looks", ["light", "dark", "contrast"])
def test_bared_sheet_stands_out_in_the_map_of_what_is_left(canvas, qapp, looks):
    """By area, not by its rim alone, on both faces: the coat is dim there; spill tells by dots on its own ground."""
    apply_theme(qapp, looks)
    canvas.show(make_plan(lpi=600), "coverage")
    canvas.settle()
    picture = canvas.picture()
    for face in (canvas.front, canvas.bed):
        bared = canvas.pixel(face, 20, 20, within=picture).name()
        for x_mm, y_mm in ((5, 5), (36, 6), (5, 36)):
            coat = canvas.pixel(face, x_mm, y_mm, within=picture).name()
            assert contrast_ratio(bared, coat) >= 3.0, (face.name, bared, coat)
    c = theme().canvas
    assert contrast_ratio(c.spill, mixed(c.bared, c.spill, SPILL_GROUND)) >= 3.0
    for coat in (c.coat_bright, c.coat_deep, c.back):
        dim = mixed(coat, c.ink, DIM)
        assert contrast_ratio(c.bared, dim) >= 3.0 and contrast_ratio(c.ink, dim) >= 3.0, "fills and cut lines"
    apply_theme(qapp, "light")


def test_lines_on_the_dim_coat_have_light_beside_them(canvas):
    """A score's, a guide's or an undecided shape's colour alone comes to 2:1 there."""
    canvas.show(make_plan(layer_of=LAYER_OF | {"triangle": "score"}), "coverage")
    canvas.settle()
    c, picture = theme().canvas, canvas.picture()
    dim = mixed(c.back, c.ink, DIM)
    assert contrast_ratio(c.score, dim) < 3.0 <= contrast_ratio(c.halo, dim)
    assert contrast_ratio(c.score, c.halo) >= 3.0
    seen = Counter(picture.pixelColor(x, y).name() for x in range(picture.width()) for y in range(picture.height()))
    assert seen[c.halo] > 200, "the light beside lines"


@pytest.mark.parametrize("looks", ["light", "dark", "contrast"])
def test_what_is_burned_stands_out_in_what_is_drawn(canvas, qapp, looks):
    """The same of the other picture, on both faces: most pixels of a fill, and a line that lies over one."""
    apply_theme(qapp, looks)
    scored = make_plan(layer_of=LAYER_OF | {"triangle": "score"})
    canvas.show(scored, "sheet")
    canvas.view.set_shown("what is burned")
    for mode in ("layers", "sheet", "burn"):
        canvas.view.set_mode(mode)
        canvas.view.set_shown("what is burned")
        canvas.settle()
        picture = canvas.picture()
        for face in (canvas.front, canvas.bed):
            at = face.to_px(20, 20).toPoint()
            pixels = Counter(picture.pixelColor(at.x() + x, at.y() + y).name() for x in range(16) for y in range(16))
            burned = pixels.most_common(1)[0][0]
            for x_mm, y_mm in ((5, 5), (36, 6), (5, 36)):
                coat = canvas.pixel(face, x_mm, y_mm, within=picture).name()
                assert contrast_ratio(burned, coat) >= 3.0, (mode, burned, coat)
    apply_theme(qapp, "light")


def test_front_shows_the_piece_while_the_bed_shows_what_is_burned(canvas):
    canvas.show(make_plan(), "burn")
    assert canvas.view.state.shown == "as it will look"
    picture = canvas.picture()
    assert near(canvas.pixel(canvas.front, 20, 20, within=picture), theme().canvas.through)
    assert not near(canvas.pixel(canvas.bed, 20, 20, within=picture), theme().canvas.through)
    canvas.view.set_shown("what is burned")
    canvas.settle()
    assert not near(canvas.pixel(canvas.front, 20, 20), theme().canvas.through)
    canvas.view.set_shown("as sent")
    canvas.settle()
    assert near(canvas.pixel(canvas.front, 20, 20), "#202020")


def test_a_choice_of_picture_is_kept_for_its_stage(canvas):
    canvas.show(make_plan(), "burn")
    canvas.view.set_shown("what is burned")
    canvas.view.set_mode("hand over")
    assert canvas.view.state.shown == "as it will look"
    canvas.view.set_mode("burn")
    assert canvas.view.state.shown == "what is burned"


@pytest.mark.parametrize("size", [(900, 500), (860, 640), (1500, 900), (600, 900)])
def test_artwork_fills_nine_tenths_of_the_limiting_side(canvas, size):
    canvas.view.resize(*size)
    canvas.show(make_plan(), "artwork")
    x0, y0, x1, y1 = canvas.view.state.box_of("artwork")
    box, area = canvas.front.rect_px(x0, y0, x1, y1), canvas.front.area
    assert max(box.width() / area.width(), box.height() / area.height()) >= 0.9
    assert QRectF(area).contains(box)


def test_fit_to_selection_and_back_to_the_sheet(canvas):
    canvas.show(make_plan(), "layers")
    canvas.view.touch.select({"square"})
    canvas.view.zooming.fit("selection")
    canvas.settle()
    xs = [x for x, _ in SQUARE]
    assert canvas.view.state.view.x_mm == pytest.approx((min(xs) + max(xs)) / 2)
    canvas.view.zooming.fit("sheet")
    assert canvas.front.area.contains(canvas.front.sheet_rect.toRect())


def test_marks_gather_into_counts_when_zoomed_out_and_part_when_zoomed_in(canvas):
    canvas.show(make_plan(), "layers")
    canvas.view.set_finding_marks([finding(20, 20), finding(21, 20, "problem"), finding(70, 20)])
    canvas.view.zooming.fit("sheet")
    for _ in range(8):
        canvas.view.zooming.zoom_by(0.8)
    marks = canvas.view.state.marks_on(canvas.front)
    together = next(mark for mark in marks if 1 in mark.indices)
    assert set(together.indices) >= {0, 1}
    assert together.severity == "problem"
    canvas.view.zooming.zoom_to(20.5, 20, 4)
    assert {mark.indices for mark in canvas.view.state.marks_on(canvas.front)} == {(0,), (1,)}


def test_pressing_a_count_zooms_until_its_places_part(canvas):
    from PySide6.QtCore import Qt

    canvas.show(make_plan(), "layers")
    canvas.view.set_finding_marks([finding(20, 20), finding(22, 20)])
    canvas.view.zooming.fit("sheet")
    for _ in range(6):
        canvas.view.zooming.zoom_by(0.8)
    (mark,) = canvas.view.state.marks_on(canvas.front)
    assert mark.text == "2"
    QTest.mouseClick(
        canvas.view, Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier, mark.plate.center().toPoint()
    )
    assert len(canvas.view.state.marks_on(canvas.front)) == 2


def test_a_mark_never_lies_over_the_lettering_it_speaks_of(canvas):
    canvas.show(make_plan(), "layers")
    canvas.view.set_finding_marks([finding(20, 20, shape_ids=("square",)), finding(12, 12, shape_ids=("square",))])
    for face in (canvas.front, canvas.bed):
        lettering = face.rect_px(10, 10, 30, 30)
        marks = canvas.view.state.marks_on(face)
        assert marks
        assert not [mark for mark in marks if mark.plate.intersects(lettering)]


def test_marks_of_many_findings_do_not_cover_each_other(canvas):
    canvas.show(make_plan(), "layers")
    many = [finding(10 + 9 * (n % 10), 8 + 8 * (n // 10)) for n in range(60)]
    marks = finding_marks(canvas.front, many, lambda one: [])
    assert sum(len(mark.indices) for mark in marks) == 60
    for n, mark in enumerate(marks):
        assert not [other for other in marks[n + 1 :] if other.plate.intersects(mark.plate)]
        assert QRectF(canvas.front.area).contains(QPointF(mark.plate.center()))


def test_a_painted_picture_keeps_its_tones(canvas):
    """Five steps from black to white, bared where dark and painted: the paint shows by the share that is bared."""
    plan = wedge_plan("paint")
    (area,) = paint_plan(plan).colouring.areas
    canvas.show(plan, "paint")
    canvas.view.set_region_looks((RegionLook(region=area.region, colour="#a01010"),))
    canvas.settle()
    picture = canvas.picture()
    x0, y0, x1, _ = area.region.bounds
    reds = []
    for step in range(5):
        x_mm = x0 + (step + 0.5) / 5 * (x1 - x0)
        colour = canvas.pixel(canvas.front, x_mm, y0 + 5, within=picture)
        reds.append(colour.red() - colour.green())
    assert reds == sorted(reds, reverse=True) and reds[0] > 130 and reds[-1] < 15, reds
