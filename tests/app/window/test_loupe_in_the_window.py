"""The loupe over the faces: toggled by a key, at the pointer or the view's middle, the same verdict as the figures."""

from dataclasses import replace

import numpy as np
import pytest
from PySide6.QtCore import QPoint, Qt
from PySide6.QtTest import QTest

from app.canvas.aim import LENS_PX
from core.burning.loupe import BARE, COAT_FROM_BACK, COAT_FROM_FRONT, FROSTED, LEFT_OVER, UNTOUCHED
from core.job.decisions import with_recipe
from core.units import pitch_mm_from_lpi

pytestmark = pytest.mark.usefixtures("shared_window")


@pytest.fixture
def magnified(with_plate, qtbot, settle):
    window = with_plate
    QTest.keyClick(window.faces, Qt.Key.Key_L)

    def look_at(x_mm, y_mm):
        settle(window)
        front = window.faces.state.faces[0]
        window.faces.touch.set_pointed((x_mm, y_mm), front.name)
        qtbot.waitUntil(lambda: window.loupe.settled)
        return window.loupe.seen

    return window, look_at


def middle_of(window):
    plan = window.session.plan
    fill = next(layer for layer in plan.layers if layer.layer.id == "fill")
    part = min(fill.region.geoms, key=lambda one: one.bounds[0])
    return part.representative_point().coords[0]


def with_fill(window, **changes):
    job = window.session.job
    recipe = next(layer for layer in job.layers if layer.id == "fill").recipe
    window.session.commit(with_recipe(job, "fill", replace(recipe, **changes)), "A recipe")


def share(seen, code):
    return float(np.mean(seen.look.classes == code))


def test_the_key_shows_it_and_puts_it_away(with_plate):
    window = with_plate
    action = window.menus.actions["loupe"]
    QTest.keyClick(window.faces, Qt.Key.Key_L)
    assert window.loupe.on and action.isChecked() and window.loupe_bar.isVisible()
    QTest.keyClick(window.faces, Qt.Key.Key_L)
    assert not window.loupe.on and not action.isChecked() and not window.loupe_bar.isVisible()


def test_a_clean_fill_is_bare_and_its_edge_is_where_the_fill_ends(magnified):
    window, look_at = magnified
    x_mm, y_mm = middle_of(window)
    seen = look_at(x_mm, y_mm)
    assert share(seen, BARE) == 1.0
    assert "bare 100\u00a0%" in window.loupe_bar.words.text()
    sheet = window.session.job.sheet
    assert share(look_at(sheet.width_mm - 0.5, sheet.height_mm - 0.5), UNTOUCHED) == 1.0


def test_it_agrees_with_the_coverage_figures(magnified):
    window, look_at = magnified
    with_fill(window, pitch_mm=pitch_mm_from_lpi(300))
    seen = look_at(*middle_of(window))
    planned = next(layer for layer in window.session.plan.layers if layer.layer.id == "fill")
    assert share(seen, LEFT_OVER) == pytest.approx(planned.coverage.left_over_mm2 / planned.area_mm2, abs=0.03)
    with_fill(window, pitch_mm=pitch_mm_from_lpi(600), speed_mm_s=400.0)
    assert share(look_at(*middle_of(window)), FROSTED) > 0.3


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_the_bed_is_the_front_turned_over(magnified, turn):
    window, look_at = magnified
    with_fill(window, pitch_mm=pitch_mm_from_lpi(300), scan_angle_deg=30.0)
    if turn == "endways":
        window.menus.actions["turn"].trigger()
    seen = look_at(*middle_of(window))
    coat = {"front": COAT_FROM_FRONT, "bed": COAT_FROM_BACK}

    def covered(image, rgb):
        return np.array([[image.pixelColor(x, y).getRgb()[:3] == rgb for x in range(LENS_PX)] for y in range(LENS_PX)])

    front, bed = covered(seen.front, coat["front"]), covered(seen.bed, coat["bed"])
    assert 0.1 < front.mean() < 0.9
    flipped = front[:, ::-1] if turn == "sideways" else front[::-1]
    assert (flipped == bed).all()


def test_paint_shows_from_the_front_only(magnified):
    window, look_at = magnified
    at = middle_of(window)
    bar = window.loupe_bar
    bar.paint.setCurrentIndex(1)
    bar.paint.activated.emit(1)
    seen = look_at(*at)
    assert seen.front.pixelColor(120, 120).name() == window.loupe.paint_colour
    assert seen.bed.pixelColor(120, 120).name() != window.loupe.paint_colour


def test_its_size_is_held_between_10_and_200(magnified):
    window, look_at = magnified
    spans = []
    for times in (10, 200):
        window.loupe_bar.slider.setValue(times)
        assert window.loupe_bar.times.value() == times
        spans.append(look_at(*middle_of(window)).aim.span_mm)
    assert spans[0] / spans[1] == pytest.approx(20)


def test_without_a_pointer_it_looks_at_the_middle_of_the_view(magnified, qtbot):
    window, _ = magnified
    window.faces.touch.set_pointed(None)
    x_mm, y_mm = middle_of(window)
    window.faces.zooming.zoom_to(x_mm, y_mm, 5.0)
    qtbot.waitUntil(lambda: window.loupe.settled)
    assert (window.loupe.seen.aim.x_mm, window.loupe.seen.aim.y_mm) == pytest.approx((x_mm, y_mm))


def test_it_is_painted_on_both_faces(magnified, qtbot):
    window, look_at = magnified
    window.faces.zooming.fit("sheet")
    x_mm, y_mm = middle_of(window)
    plain = window.faces.grab().toImage()
    look_at(x_mm, y_mm)
    seen = window.faces.grab().toImage()
    for face in window.faces.state.faces:
        at = (face.to_px(x_mm, y_mm) + QPoint(LENS_PX // 2, 0)).toPoint()
        near = [at + QPoint(dx, 0) for dx in range(-3, 4)]
        assert any(plain.pixelColor(one) != seen.pixelColor(one) for one in near), face.name


def test_its_words_are_in_inches_in_inch_mode(magnified):
    window, look_at = magnified
    seen = look_at(*middle_of(window))
    assert window.loupe_bar.words.text().startswith(f"{seen.aim.span_mm:.2f}\u00a0mm across")
    window.settings.set("units", "inch")
    assert window.loupe_bar.words.text().startswith(f"{seen.aim.span_mm / 25.4:.4f}\u00a0in across")
