"""It came out wrong: from a tick to a change, a kept fault, a trial worked through, and a finding in the next job."""

from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QPushButton

from app.dialogs.job_done import JobDoneDialog
from app.dialogs.trouble.page import TroublePage
from app.dialogs.trouble.steps import StepsDialog
from app.dialogs.trouble.trial_plan import TrialPlanDialog
from app.dialogs.trouble.trials import TrialsDialog
from app.stages.stage import Stage
from core.job.painting.decisions import with_suggested_paints
from core.shop_book.store import open_book
from tests.app.window.test_accessibility import nameless

pytestmark = pytest.mark.usefixtures("shared_window")


def choose(field, at):
    field.setCurrentIndex(at)
    field.activated.emit(at)


@pytest.fixture
def opened(with_plate, dialogs, qtbot):
    """Opens the page, ticks cracked, and hands it to ``act`` once its figures are there."""
    window = with_plate

    def open_page(act, *, trigger=lambda: window.menus.actions["came out wrong"].trigger()):
        def run(page):
            assert isinstance(page, TroublePage)
            qtbot.waitUntil(lambda: not window.shop.busy)
            page.faults.tick(["cracked"])
            act(page)
            return True

        dialogs.expect("run", run)
        trigger()
        qtbot.waitUntil(lambda: not dialogs.answers and not window.shop.busy)

    return window, open_page


def test_the_likeliest_cause_stands_on_top_and_follows_what_is_noted(opened):
    def act(page):
        assert nameless(page) == []
        before = [card.cause.code for card in page.cards]
        field = page.notes.figures["between-coats-min"]
        field.setText("5")
        field.editingFinished.emit()
        assert page.cards[0].cause.code == "recoat-too-early" and len(before) >= 4
        assert page.diagnosis.causes[0].likely in ("likely", "most likely")
        field.setText("soon")
        field.editingFinished.emit()
        assert page.notes.noted.value("between_coats_min") is None

    window, open_page = opened
    open_page(act)
    open_page(act, trigger=lambda: _press(window, Stage.COVERAGE))
    open_page(act, trigger=lambda: _press(window, Stage.PAINT))


def _press(window, stage):
    window.go_to(stage)
    window.pages[stage].wrong_wanted.emit()


def test_looks_are_answered_and_stay(opened):
    def act(page):
        page.faults.tick(["scan-lines"])
        code = next(iter(page.notes.looks))
        choose(page.notes.looks[code], 1)
        assert page.notes.noted.answer(code) is True
        assert next(iter(page.notes.looks)) == code
        choose(page.notes.looks[code], 0)
        assert page.notes.noted.answer(code) is None

    opened[1](act)


def test_a_press_changes_the_job_and_undo_takes_it_back(opened, settle):
    window, open_page = opened
    window.session.commit(with_suggested_paints(window.session.plan), "paints")
    settle(window)
    before = window.session.job

    def act(page):
        names = [paint.name for paint in page.case.paints]
        choose(page.notes.paint, 1 + names.index(names[0]))
        card = next(card for card in page.cards if card.cause.code == "recoat-too-early")
        card.change.click()

    open_page(act)
    assert window.session.job != before
    waits = {paint.name: paint.between_coats_min for paint in window.session.job.finishing.paints}
    assert max(waits.values()) == 30
    window.session.undo()
    assert window.session.job == before
    settle(window)


def test_what_came_out_wrong_is_kept_with_its_photo(opened, dialogs, qtbot):
    def act(page):
        dialogs.answers.insert(0, ("open", "/photos/cracks.jpg"))
        page.notes.add_photo.click()
        page.keep.click()
        qtbot.waitUntil(lambda: "shop book has" in page.told.text())

    opened[1](act)
    with open_book() as book:
        kept = book.values("fault")[0]
    assert kept.faults == ("cracked",) and kept.noted.photos == ("/photos/cracks.jpg",)


def test_a_trial_is_planned_worked_through_read_and_speaks_up(opened, dialogs, qtbot, settle, tmp_path):
    window, open_page = opened
    window.session.commit(with_suggested_paints(window.session.plan), "paints")
    settle(window)

    def plan(dialog):
        assert isinstance(dialog, TrialPlanDialog) and nameless(dialog) == []
        dialog.levels[0].setText("10")
        assert dialog.trial is None and not dialog.take.isEnabled()
        dialog.levels[0].setText("20, 60")
        dialog.repeats.setValue(4)
        assert len(dialog.trial.patches) == 8
        return True

    def act(page):
        dialogs.answers[:0] = [("run", plan), ("save", str(tmp_path / "trial"))]
        next(card for card in page.cards if card.cause.code == "recoat-too-early").trial.click()

    open_page(act)
    assert {path.suffix for path in (tmp_path / "trial").iterdir()} == {".svg", ".dxf", ".json", ".pdf"}

    def work(dialog):
        assert isinstance(dialog, TrialsDialog)
        qtbot.waitUntil(lambda: dialog.trial is not None and not window.shop.busy)
        assert nameless(dialog) == []
        for row in (0, 1):
            dialog.steps.rows.item(row).setCheckState(Qt.CheckState.Checked)
            qtbot.waitUntil(lambda: not window.shop.busy)
        dialog.steps.show_due()
        assert "due" in dialog.steps.due.text() and len(dialog.trial.ticks) == 2
        for one in dialog.trial.patches:
            for _ in range(4 if one.levels == ("20",) else 1):
                dialog.next_grade(one.label)
                qtbot.waitUntil(lambda: not window.shop.busy)
        assert dialog.reading.factors[0].found
        assert dialog.patch.currentText() == "A1" and dialog.grade.currentText() == str(dialog.trial.grades()["A1"])
        choose(dialog.grade, 0)
        qtbot.waitUntil(lambda: not window.shop.busy)
        assert dialog.reading.unread == ("A1",)
        choose(dialog.grade, 4 if dialog.trial.patch("A1").levels == ("20",) else 1)
        qtbot.waitUntil(lambda: not window.shop.busy)
        assert "Remembered" in dialog.told.text()
        return True

    dialogs.expect("run", work)
    window.menus.actions["trials"].trigger()
    qtbot.waitUntil(lambda: not dialogs.answers and not window.shop.busy)
    window.session.work_out()
    window.session.commit(replace(window.session.job, turn="endways"), "turn")
    settle(window)
    assert "came-out-wrong-before" in {finding.code for finding in window.session.plan.findings}
    window.go_to(Stage.PAINT)
    settle(window)
    assert "came-out-wrong-before" in {finding.code for finding in window.paint_page.stage_findings()}


def test_a_job_marked_done_leads_to_it(opened, dialogs, qtbot):
    window, open_page = opened

    def note(dialog):
        assert isinstance(dialog, JobDoneDialog)
        dialog.wrong.setChecked(True)
        return True

    dialogs.expect("run", note)
    open_page(lambda page: None, trigger=lambda: window.menus.actions["job done"].trigger())


def test_steps_of_the_job_are_ticked_off_and_their_waits_run(with_plate, dialogs, settle):
    window = with_plate
    window.session.commit(with_suggested_paints(window.session.plan), "paints")
    window.go_to(Stage.PAINT)
    settle(window)

    def work(dialog):
        assert isinstance(dialog, StepsDialog) and nameless(dialog) == []
        for row in (0, 1):
            dialog.steps.rows.item(row).setCheckState(Qt.CheckState.Checked)
        dialog.steps.show_due()
        assert "due" in dialog.steps.due.text()
        dialog.steps.rows.item(1).setCheckState(Qt.CheckState.Unchecked)
        return True

    dialogs.expect("run", work)
    next(button for button in window.findChildren(QPushButton) if button.text() == "&Tick off…").click()
    settle(window)
    assert len(window.session.job.finishing.ticks) == 1
    window.session.undo()
    assert len(window.session.job.finishing.ticks) == 2
    settle(window)


def test_the_page_is_reached_from_a_job_and_a_fault_of_the_shop_book(opened, dialogs, qtbot):
    window, open_page = opened
    dialogs.expect("run", lambda dialog: True)
    window.menus.actions["job done"].trigger()
    qtbot.waitUntil(lambda: not dialogs.answers and not window.shop.busy)

    def keep(page):
        field = page.notes.figures["temperature-c"]
        field.setText("9")
        field.editingFinished.emit()
        page.cards[0].remember.click()
        qtbot.waitUntil(lambda: page.told.text() != "")
        page.keep.click()
        qtbot.waitUntil(lambda: "shop book has" in page.told.text())

    open_page(keep)

    def look_up(kind, then):
        def run(dialog):
            qtbot.waitUntil(lambda: dialog.entries.count() > 0 and not window.shop.busy)
            names = [dialog.entries.item(row).text() for row in range(dialog.entries.count())]
            dialog.entries.setCurrentRow(next(row for row, name in enumerate(names) if name.startswith(kind)))
            assert dialog.wrong.isEnabled()
            dialog.wrong.click()
            return True

        dialogs.expect("run", run)
        dialogs.expect("run", then)
        window.menus.actions["shop book"].trigger()

    def of_fault(page):
        assert page.notes.noted.value("temperature_c") == 9

    def of_job(page):
        assert page.case.known and page.case.fills and page.case.fills[0].chance is not None
        assert not page.case.paints

    for kind, act in (("Came out wrong", of_fault), ("Job done", of_job)):

        def run(page, act=act):
            qtbot.waitUntil(lambda: not window.shop.busy)
            act(page)
            return True

        look_up(kind, run)
        qtbot.waitUntil(lambda: not dialogs.answers and not window.shop.busy)
