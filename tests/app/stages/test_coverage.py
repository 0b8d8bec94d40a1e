"""The Coverage page: verdicts in words, figures, worst places that are zoomed to where they are."""

from pathlib import Path

import pytest

from app.stages.coverage import PLACE_ROLE
from app.stages.stage import Stage
from app.theme.icons import icon
from core.job.other_pitches import COMPARED_LPI
from core.job.places_seen import listed_places, on_front
from tests.windows import part

pytestmark = pytest.mark.usefixtures("shared_window")

SAMPLES = Path(__file__).parents[3] / "sample_jobs"


@pytest.fixture
def gaps(with_plate, settle):
    window = with_plate
    window.go_to(Stage.COVERAGE)
    page = window.pages[Stage.COVERAGE]
    page.take_pitch(window.session.job.layers[0], 300)
    settle(window)
    return window, page.cards["fill"]


def test_the_figures_are_the_plans(gaps):
    window, card = gaps
    planned = next(one for one in window.session.plan.layers if one.layer.id == "fill")
    assert part(card, "Cleared width of one line").text() == f"{planned.verdict.cleared_width_mm:.4f} mm"
    assert part(card, "Pitch").text() == "0.0847 mm (300 LPI)"
    assert f"({100 * planned.coverage.left_over_mm2 / planned.area_mm2:.0f} %)" in part(card, "Coat left over").text()
    assert part(card, "Features lost").text() == str(planned.coverage.lost_features)
    assert part(card, "verdict").text().startswith("Leaves lines of coat; clean ")


def test_other_pitches_are_judged_beside_it(gaps):
    _, card = gaps
    verdicts = {lpi: part(card, f"verdict at {lpi} LPI").text() for lpi in COMPARED_LPI}
    assert verdicts[300].startswith("leaves lines; clean ") and verdicts[600].startswith("clean: ")


def test_a_pitch_that_is_clean_but_not_as_sure_as_wanted_is_no_failure(gaps):
    """A red sign beside the word "clean" said two things at once."""
    _, card = gaps
    for lpi in COMPARED_LPI:
        words, sign = part(card, f"verdict at {lpi} LPI").text(), part(card, f"sign at {lpi} LPI")
        seen = sign.grab().toImage()
        for which in ("done", "warning", "problem"):
            sign.show_icon(icon(which, which))
            if sign.grab().toImage() == seen:
                break
        assert (which == "problem") == (not words.startswith("clean")), (lpi, words, which)


def test_a_place_is_zoomed_to_where_it_is_on_the_front(gaps):
    window, card = gaps
    index = part(card, "Worst places of Fill").model().index(0, 0)
    place = index.data(PLACE_ROLE)
    wanted = []
    window.pages[Stage.COVERAGE].place_wanted.connect(lambda *args: wanted.append(args))
    part(card, "Worst places of Fill").clicked.emit(index)
    x_mm, y_mm, span_mm = wanted[0]
    sheet = window.session.job.sheet
    assert (x_mm, y_mm) == (pytest.approx(sheet.width_mm - place.x_mm), pytest.approx(place.y_mm))
    assert 1.0 <= span_mm < 60
    assert f"{x_mm:.1f}, {y_mm:.1f}\u00a0mm" in index.data()


def test_places_follow_the_turn(gaps, settle):
    window, card = gaps
    window.menus.actions["turn"].trigger()
    settle(window)
    place = part(card, "Worst places of Fill").model().index(0, 0).data(PLACE_ROLE)
    sheet = window.session.job.sheet
    assert on_front(window.session.job, place) == (
        pytest.approx(place.x_mm),
        pytest.approx(sheet.height_mm - place.y_mm),
    )


def test_without_a_fill_it_says_so(with_plate, settle):
    window = with_plate
    fills = [shape for shape, layer in window.session.plan.layer_of.items() if layer == "fill"]
    window.session.select(fills)
    window.menus.actions["leave out"].trigger()
    settle(window)
    window.go_to(Stage.COVERAGE)
    page = window.pages[Stage.COVERAGE]
    assert page.cards == {} and not part(page, "no fill").isHidden()


def test_the_loupe_comes_with_coverage_at_the_worst_place_and_stays_away_once_put_away(window, settle, qtbot):
    window.files.open(SAMPLES / "crest.svg")
    settle(window)
    for _ in range(2):
        window.go_to(Stage.COVERAGE)
        settle(window)
        planned = next(one for one in window.session.plan.layers if one.coverage is not None)
        place = on_front(window.session.job, listed_places(planned)[0])
        qtbot.waitUntil(lambda: window.loupe.on and window.loupe.settled and window.loupe.seen is not None)
        aim = window.loupe.seen.aim
        assert (aim.x_mm, aim.y_mm) == pytest.approx(place)
        window.go_to(Stage.SHEET)
        assert not window.loupe.on and not window.loupe_bar.isVisible()
    window.go_to(Stage.COVERAGE)
    window.menus.actions["loupe"].trigger()
    window.go_to(Stage.SHEET)
    window.go_to(Stage.COVERAGE)
    assert not window.loupe.on
    window.files.open(SAMPLES / "crest.svg")
    settle(window)
    assert window.loupe.on


def test_a_clean_job_lists_nothing_that_nobody_sees(window, settle):
    window.files.open(SAMPLES / "crest.svg")
    settle(window)
    window.go_to(Stage.COVERAGE)
    for planned in window.session.plan.layers:
        if planned.coverage is not None:
            assert planned.verdict.verdict == "clean"
            assert all(one.kind == "lost" or one.area_mm2 >= 0.1 for one in listed_places(planned))
            assert any(one.area_mm2 < 0.1 for one in planned.coverage.places), "nothing was left out: no check"


def test_the_dose_across_the_rows_tells_where_coat_stays(with_plate, settle):
    window = with_plate
    window.go_to(Stage.COVERAGE)
    settle(window)
    page = window.coverage_page
    plot = part(page, "Dose across the rows of Fill")
    assert plot.accessibleDescription().startswith("Coat stays over 0 %")
    part(page, "Use 300 lines per inch").click()
    settle(window)
    share = float(plot.accessibleDescription().split()[3])
    assert share == pytest.approx(100 * (1 - 0.0633 / (25.4 / 300)), abs=2), "by the cleared width"
    page.open_room(page.rows_room)
    inked = {plot.grab().toImage().pixelColor(x, 60).name() for x in range(20, plot.width() - 20)}
    assert len(inked) > 2, "hatch between the rows"
    page.leave_room()
