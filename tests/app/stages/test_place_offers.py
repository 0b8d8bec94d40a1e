"""Places to choose from on the Sheet stage: what each does to the run time, and putting the artwork there."""

from dataclasses import replace

import pytest
from PySide6.QtWidgets import QPushButton

from app.stages.stage import Stage
from core.job.place_offers import place_offers
from core.job.turned_time import time_if_at
from core.sheet.placement import Flaw
from tests.app.window.test_accessibility import nameless

pytestmark = pytest.mark.usefixtures("shared_window")


def test_places_are_offered_told_and_taken(with_plate, settle, qtbot):
    window = with_plate
    window.go_to(Stage.SHEET)
    card = window.sheet_page.offers_card
    job = window.session.job
    flaw = Flaw(kind="line", points=((2.0, 2.0), (80.0, 60.0)))
    sheet = replace(job.sheet, width_mm=120.0, height_mm=160.0, flaws=(flaw,))
    window.session.commit(replace(job, sheet=sheet), "sheet")
    settle(window)
    assert card.now.text().startswith("Now: burned from ")
    card.look.click()
    qtbot.waitUntil(lambda: bool(card.offers) and not card.busy, timeout=60_000)
    assert nameless(card) == []
    plan = window.session.plan
    by_hand = place_offers(plan, window.sheet_page.place_card.options(plan.job))
    assert [offer.placed for offer in card.offers] == [offer.placed for offer in by_hand]
    assert {aim for offer in card.offers for aim in offer.aims} == {"least flaws", "quickest", "least sheet"}
    words = " ".join(label.text() for label in card.findChildren(type(card.now)))
    assert "Least flaws" in words and "page's top left corner comes to" in words
    last = card.offers[-1]
    shown_s = time_if_at(plan, last.placed.rotation_deg).best_s
    assert last.time.best_s == pytest.approx(shown_s) and last.time_words in words
    buttons = [one for one in card.findChildren(QPushButton) if one.text() == "Put it there"]
    assert len(buttons) == len(card.offers)
    buttons[-1].click()
    settle(window)
    placement = window.session.job.placement
    assert (placement.x_mm, placement.y_mm) == (last.placed.x_mm, last.placed.y_mm)
    assert placement.rotation_deg == last.placed.rotation_deg and card.offers  # still the same question
    window.session.commit(replace(window.session.job, sheet=replace(sheet, width_mm=130.0)), "another")
    settle(window)
    assert card.offers == ()  # what was found is no answer any more


def test_where_nothing_fits_is_said(with_plate, settle, qtbot):
    window = with_plate
    window.go_to(Stage.SHEET)
    card = window.sheet_page.offers_card
    job = window.session.job
    window.session.commit(replace(job, sheet=replace(job.sheet, width_mm=20.0, height_mm=20.0)), "small")
    settle(window)
    card.look.click()
    qtbot.waitUntil(lambda: not card.busy and card.refused.text() != "", timeout=60_000)
    assert "does not fit" in card.refused.text() and not card.offers
