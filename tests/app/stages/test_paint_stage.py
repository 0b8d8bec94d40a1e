"""The Paint stage through the real window: colours, order, masks, timetable, run sheet."""

import itertools
from pathlib import Path

import icalendar
import pypdfium2
import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QCheckBox, QLineEdit, QListWidget, QPushButton, QToolButton

from app.dialogs.run_sheet_preview import RunSheetPreview
from app.stages.paint.film import FilmCard
from app.stages.paint.times import BondCard
from app.stages.stage import Stage, State, marks
from app.widgets.fields import ChoiceField, LengthField, NumberField
from core.figures import figures_of
from core.finishing.films import FILMS
from core.finishing.paints import BARE, MaskOptions
from core.shop_book.profiles import known_bond_trials, known_paints
from tests.windows import part

CREST = Path(__file__).parents[3] / "sample_jobs" / "crest.svg"
TIMEOUT_MS = 120_000


@pytest.fixture
def painted(qtbot, settle):
    """Waits until the Paint page shows the present job."""

    def wait(window):
        settle(window)
        page = window.paint_page

        def done():
            known = page.painting.painted
            return known is not None and known.plan.job == window.session.job and not page.painting.busy

        qtbot.waitUntil(done, timeout=TIMEOUT_MS)
        settle(window)
        return page.painting.painted.painting

    return wait


@pytest.fixture
def with_crest(window, settle, painted):
    window.files.open(CREST)
    settle(window)
    window.go_to(Stage.PAINT)
    painted(window)
    return window


def named(window, kind, name):
    (found,) = [one for one in window.paint_page.findChildren(kind) if one.accessibleName() == name]
    return found


def press(window, name):
    button = named(window, QPushButton, name)
    assert button.isEnabled(), name
    QTest.mouseClick(button, Qt.MouseButton.LeftButton)


def rows(window):
    listed = named(window, QListWidget, "Colours, first to last")
    return [listed.item(row).text() for row in range(listed.count())]


def strip_of(window):
    """The buttons of the steps that are shown."""
    buttons = window.paint_page.findChildren(QToolButton)
    return [one for one in buttons if one.property("role") == "step" and one.isVisible()]


def label_of(window, *labels):
    return {shape.id for shape in window.session.plan.drawing.shapes if shape.label in labels}


def test_the_crest_from_colours_to_files(with_crest, painted, dialogs, qtbot, settle, tmp_path):
    """A colour given, order explained, another order priced, masks and calendar saved, the run sheet seen and saved."""
    window = with_crest
    window.session.select(label_of(window, "gull"))
    named(window, ChoiceField, "Paint of the selected areas").chosen.emit("coral")
    painting = painted(window)
    assert painting.colouring.paint_of[next(iter(label_of(window, "gull")))] == "coral"
    assert rows(window) == [f"{n}. {p}" for n, p in enumerate(painting.order, start=1)]
    best_min = painting.effort_min
    assert "goes last" in " ".join(painting.reasons)

    press(window, "Chosen colour later")
    moved = painted(window)
    assert moved.order[:2] == painting.order[1::-1]
    assert moved.effort_min >= best_min and moved.best_effort_min == pytest.approx(best_min)
    press(window, "Cheapest order")
    assert painted(window).order == painting.order

    named(window, NumberField, "Pieces finished together").setValue(2)
    painted(window)
    (dated,) = [one for one in window.paint_page.findChildren(QCheckBox) if one.text() == "On a day of the calendar"]
    dated.click()
    painted(window)
    assert window.session.job.finishing.workday.start

    folder = tmp_path / "masks"
    dialogs.expect("save", folder)
    press(window, "Save masks…")
    qtbot.waitUntil(lambda: "mask files are in" in window.paint_page.note.text(), timeout=TIMEOUT_MS)
    assert len(list(folder.glob("*.svg"))) == len(list(folder.glob("*.dxf"))) == 3

    calendar = tmp_path / "times.ics"
    dialogs.expect("save", calendar)
    press(window, "Save for a calendar…")
    events = icalendar.Calendar.from_ical(calendar.read_bytes()).walk("VEVENT")
    assert any("pieces 1 to 2" in str(event.get("DESCRIPTION")) for event in events)

    pdf = tmp_path / "run"
    pages = []

    def look(dialog):
        assert isinstance(dialog, RunSheetPreview)
        pages.append(dialog.page_count)
        return True

    dialogs.expect("run", look)
    dialogs.expect("save", pdf)
    press(window, "Run sheet")
    qtbot.waitUntil(lambda: pdf.with_suffix(".pdf").exists(), timeout=TIMEOUT_MS)
    document = pypdfium2.PdfDocument(pdf.with_suffix(".pdf").read_bytes())
    assert 1 <= len(document) <= 3 and pages == [len(document)]
    assert "pieces 1 to 2" in " ".join(page.get_textpage().get_text_range() for page in document)


def mark(window):
    return marks(window.session)[Stage.PAINT]


def test_the_rail_tells_how_painting_stands(window, settle, painted):
    """Suggested paints wait for a decision; decided ones tell of tight places until these were gone past."""
    window.files.open(CREST)
    settle(window)
    assert mark(window).state is State.DECIDE and "4 paints are suggested" in mark(window).why
    window.go_to(Stage.COVERAGE)
    window.pages[Stage.COVERAGE].on_main_action()
    assert window.stage is Stage.PAINT
    painted(window)
    assert "Use these paints" in window.paint_page.main_action.text()
    window.paint_page.main_action.click()
    assert window.stage is Stage.HAND_OVER
    painted(window)
    assert len(window.session.job.finishing.paints) == 4
    assert mark(window).state is State.DECIDE and "least bridge" in mark(window).why
    window.go_to(Stage.PAINT)
    painted(window)
    assert "finding" in window.paint_page.main_action.text()
    window.paint_page.main_action.click()
    assert mark(window).state is State.DONE
    window.menus.actions["undo"].trigger()
    settle(window)
    assert mark(window).state is State.DECIDE


def test_the_picture_shows_the_piece_after_the_chosen_step(with_crest, settle):
    """Burn, mask, colour, wait, peel of the first colour: bare sheet, film with openings, one paint; then all of it."""
    window = with_crest
    finished = {"#d8a23a", "#1b8a8f", "#16324f", "#cf4f3a"}
    assert {look.colour for look in window.faces.state.looks} == finished
    steps = {one.text().split("\n")[0]: one for one in strip_of(window)}
    assert list(steps) == ["burn", "mask", "colour", "wait", "peel"]
    steps["burn"].click()
    settle(window)
    assert window.faces.state.looks == ()
    steps["mask"].click()
    settle(window)
    (film,) = window.faces.state.looks
    opening = window.paint_page.chosen_step.opening
    assert film.pattern == "hatch" and film.region.intersection(opening).area == pytest.approx(0.0, abs=1e-6)
    steps["colour"].click()
    settle(window)
    assert [look.colour for look in window.faces.state.looks] == ["#d8a23a", film.colour]
    steps["peel"].click()
    settle(window)
    assert [look.colour for look in window.faces.state.looks] == ["#d8a23a"]
    steps["peel"].click()
    settle(window)
    assert {look.colour for look in window.faces.state.looks} == finished


def test_the_steps_go_on_into_the_next_colour_and_to_the_end(with_crest, settle):
    window = with_crest
    (on,) = [one for one in window.paint_page.findChildren(QToolButton) if one.accessibleName() == "Step after"]
    colours, seen = [], []
    while on.isEnabled():
        on.click()
        settle(window)
        colours.append(window.paint_page.chosen)
        seen.append({look.colour for look in window.faces.state.looks if look.pattern == "plain"})
    order = window.paint_page.painted.painting.order
    assert list(dict.fromkeys(colours)) == list(order)
    assert seen[-1] == {"#d8a23a", "#1b8a8f", "#16324f", "#cf4f3a"}
    assert all(before <= after for before, after in itertools.pairwise(seen))


def test_areas_get_another_paint_by_click_by_colour_and_stay_bare(with_crest, painted):
    window = with_crest
    gull = label_of(window, "gull")
    window.session.select(gull)
    choice = named(window, ChoiceField, "Paint of the selected areas")
    assert choice.currentText() == "gold"
    choice.chosen.emit("navy")
    painting = painted(window)
    assert painting.colouring.paint_of[next(iter(gull))] == "navy"
    press(window, "All of this colour")
    assert len(window.session.selection) == 35
    choice.chosen.emit(BARE)
    painting = painted(window)
    assert "gold" not in painting.order
    assert painting.colouring.bare.area > 3000
    window.menus.actions["undo"].trigger()
    window.menus.actions["undo"].trigger()
    assert painted(window).colouring.paint_of[next(iter(gull))] == "gold"


def test_a_new_paint_and_its_figures(with_crest, painted, dialogs, home):
    window = with_crest
    window.session.select(label_of(window, "gull"))
    dialogs.expect("colour", "#eeeeee")
    press(window, "New paint for the selected areas")
    painting = painted(window)
    assert "new paint" in painting.order
    listed = named(window, QListWidget, "Colours, first to last")
    listed.setCurrentRow(painting.order.index("new paint"))
    name = named(window, QLineEdit, "Name of the paint")
    name.selectAll()
    QTest.keyClicks(name, "shell white")
    QTest.keyClick(name, Qt.Key.Key_Return)
    painting = painted(window)
    assert "shell white" in painting.order and "new paint" not in painting.order
    named(window, NumberField, "Coats of the paint").setValue(4)
    step = next(step for step in painted(window).steps if step.area.paint.name == "shell white")
    assert step.area.paint.coats == 4

    def fill_in(dialog):
        dialog.coats.setValue(3)
        dialog.verdict.setText("covers in three")
        dialog.photo.setText("/shop/shell.jpg")
        return True

    dialogs.expect("run", fill_in)
    press(window, "Add a trial")
    painted(window)
    assert "3 coats: covers in three" in named(window, QListWidget, "Trials of the paint").item(0).text()
    named(window, NumberField, "Volume solids of the paint").setValue(45)
    named(window, NumberField, "Dry film of one coat").setValue(30)
    press(window, "Rate from solids and film")
    painted(window)
    note = named(window, QLineEdit, "Note of the paint")
    QTest.keyClicks(note, "shake well")
    QTest.keyClick(note, Qt.Key.Key_Return)
    painted(window)
    named(window, ChoiceField, "Backing behind it").chosen.emit(
        next(p for p in painting.steps if p.area.paint.name == "navy").area.paint
    )
    painted(window)
    named(window, NumberField, "Backing coats of the paint").setValue(2)
    painted(window)
    press(window, "Keep this paint in the shop book")
    (kept,) = known_paints()
    assert (kept.name, kept.coats, kept.trials[0].verdict) == ("shell white", 4, "covers in three")
    assert (kept.trials[0].coats, kept.trials[0].photo) == (3, "/shop/shell.jpg")
    assert kept.spreading_rate_m2_l == pytest.approx(10 * 45 / 30)
    assert (kept.note, kept.backing, kept.backing_coats) == ("shake well", "navy", 2)
    assert kept.origin.kind == "set by hand"


def test_a_name_that_is_taken_is_turned_down_in_words(with_crest, painted):
    window = with_crest
    before = window.session.job
    name = named(window, QLineEdit, "Name of the paint")
    name.selectAll()
    QTest.keyClicks(name, "navy")
    QTest.keyClick(name, Qt.Key.Key_Return)
    painted(window)
    assert window.session.job is before
    assert "navy" in window.paint_page.note.text() and window.paint_page.note.isVisible()


def test_tight_places_are_a_count_that_steps_through_them(with_crest, qtbot):
    window = with_crest
    tight = window.paint_page.tight
    (on,) = [one for one in tight.findChildren(QToolButton) if one.accessibleName() == "Tight place after"]
    with qtbot.waitSignal(window.paint_page.place_wanted):
        on.click()
    assert "Hard edge" in tight.told and "Second burn" in tight.told
    first = tight.told
    with qtbot.waitSignal(window.paint_page.place_wanted):
        on.click()
    assert tight.told != first


def test_film_that_stays_on_and_bonding(with_crest, painted, dialogs):
    window = with_crest
    (film,) = [one for one in window.paint_page.findChildren(QCheckBox) if one.text().startswith("Film stays on")]
    film.click()
    assert painted(window).steps[0].made_by == "laser"
    named(window, ChoiceField, "Joint").chosen.emit("mirror coat")
    painted(window)
    named(window, ChoiceField, "Adhesive").chosen.emit("thickened solvent cement")
    painted(window)
    assert part(window.paint_page.findChild(BondCard), "verdict").text() == "Avoid"
    assert "blister" in part(window.paint_page.findChild(BondCard), "advice").text()

    def fill_in(dialog):
        dialog.verdict.show_value("avoid")
        dialog.note.setText("blistered within a day")
        return True

    dialogs.expect("run", fill_in)
    press(window, "Add a bonding trial")
    assert "avoid. blistered within a day" in part(window.paint_page.findChild(BondCard), "advice").text()
    (trial,) = known_bond_trials()
    assert (trial.joint, trial.adhesive, trial.verdict) == ("mirror coat", "thickened solvent cement", "avoid")


def test_artwork_that_is_not_painted_says_so(window, plate, settle, qtbot):
    window.go_to(Stage.PAINT)
    assert "Open artwork first" in part(window.paint_page, "state").text()
    window.files.open(plate)
    settle(window)
    qtbot.waitUntil(lambda: window.paint_page.painted is not None, timeout=TIMEOUT_MS)
    window.session.select(label_of(window, "left", "middle", "dot"))
    named(window, ChoiceField, "Paint of the selected areas").chosen.emit(BARE)
    qtbot.waitUntil(
        lambda: "every bared area stays bare" in part(window.paint_page, "state").text(), timeout=TIMEOUT_MS
    )


def test_a_damaged_shop_book_is_named_and_the_advice_still_stands(with_crest, painted, home):
    window = with_crest
    (home / "shop-book.sqlite").write_bytes(b"this is no book" * 100)
    named(window, ChoiceField, "Joint").chosen.emit("mirror coat")
    painted(window)
    assert part(window.paint_page.findChild(BondCard), "verdict").text() == "Suits"
    assert "damaged or no shop book" in window.paint_page.note.text()
    press(window, "Keep this paint in the shop book")
    assert "damaged or no shop book" in window.paint_page.note.text()


def test_masks_that_cannot_be_written_are_told(with_crest, painted, dialogs, qtbot, tmp_path):
    """The folder's place is taken by a file."""
    window = with_crest
    blocked = tmp_path / "taken"
    blocked.write_text("a file")
    dialogs.expect("save", blocked / "masks")
    dialogs.expect("tell")
    press(window, "Save masks…")
    qtbot.waitUntil(lambda: bool(dialogs.told), timeout=TIMEOUT_MS)
    assert "can't be made" in dialogs.told[0][0]
    assert blocked.read_text() == "a file"


def test_film_is_told_and_a_laser_that_cuts_it_is_warned_of(with_crest, painted):
    window = with_crest
    card = next(one for one in window.paint_page.findChildren(FilmCard))
    masks = window.session.job.finishing.masks
    assert set(card.fields) <= {one.name for one in figures_of(MaskOptions)}
    assert FILMS[masks.film].laying in card.told.text() and card.caution.isHidden()
    named(window, ChoiceField, "Film").chosen.emit("transfer tape")
    painted(window)
    named(window, ChoiceField, "Film is cut by").chosen.emit("laser")
    painted(window)
    named(window, LengthField, "Width of the film's cut").setValue(0.2)
    painted(window)
    masks = window.session.job.finishing.masks
    assert (masks.film, masks.cut_by, masks.cut_width_mm) == ("transfer tape", "laser", 0.2)
    assert FILMS["transfer tape"].laying in card.told.text() and not card.caution.isHidden()
    assert "no chlorine" in card.caution.text()
    named(window, NumberField, "Abrading").setValue(9)
    painted(window)
    assert window.session.job.finishing.workday.abrade_min == 9.0
