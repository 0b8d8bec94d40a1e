"""Rules on the Layers page: kept from a decision, offered when artwork matches, changed and removed; the account."""

import pytest
from PySide6.QtWidgets import QLabel, QPushButton

from app.dialogs.rules import RulesDialog
from app.stages.account_card import AccountCard
from app.stages.layers.rules_card import RulesCard
from app.stages.stage import Stage
from app.widgets.findings_list import FindingsList
from core.artwork.sorting.rules import parse_rule
from core.shop_book.rules import keep_rule, kept_rules
from core.shop_book.store import open_book
from tests.windows import part

BORDERED = """<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="60mm" viewBox="0 0 80 60">
<rect x="2" y="2" width="76" height="56" fill="none" stroke="#000" stroke-width="0.1"/>
<g id="Border"><rect x="10" y="10" width="60" height="40" fill="none" stroke="#00f" stroke-width="0.1"/></g>
<image id="photo" href="none.png" x="30" y="20" width="9" height="9"/></svg>"""


@pytest.fixture
def bordered(window, tmp_path, settle):
    path = tmp_path / "bordered.svg"
    path.write_text(BORDERED, "utf-8")

    def do():
        window.files.open(path)
        settle(window)
        window.go_to(Stage.LAYERS)
        return window

    return do


def button(window, name):
    page = window.pages[Stage.LAYERS]
    return next(one for one in page.findChildren(QPushButton) if one.accessibleName() == name and not one.isHidden())


def texts(widget):
    return [label.text() for label in widget.findChildren(QLabel)]


def test_a_decision_becomes_a_rule_that_is_followed_and_kept(bordered, dialogs, qtbot, settle):
    window = bordered()
    (question,) = window.session.plan.questions
    page = window.pages[Stage.LAYERS]
    window.session.select(question.shape_ids)
    assert not part(page, "Keep as a rule…").isEnabled(), "nothing is decided yet"
    window.menus.actions["put score"].trigger()
    settle(window)
    assert part(page, "Keep as a rule…").isEnabled()

    def answer(dialog):
        assert dialog.rule.currentText() == "Shapes on the layer “Border”: scored."
        dialog.customer.setText("Gullwick House")
        return True

    dialogs.expect("run", answer)
    part(page, "Keep as a rule…").click()
    settle(window)
    assert window.session.job.rules == (parse_rule("layer:Border=score"),)
    qtbot.waitUntil(lambda: not window.shop.busy)
    with open_book() as book:
        assert [entry.value.customer for entry in kept_rules(book)] == ["Gullwick House"]


def test_a_kept_rule_that_matches_is_offered_and_followed_only_when_wanted(bordered, qtbot, settle):
    with open_book() as book:
        keep_rule(book, parse_rule("stroke:#0000ff=score"))
        keep_rule(book, parse_rule("layer:Nowhere=cut"))
    window = bordered()
    card = window.pages[Stage.LAYERS].findChild(RulesCard)
    qtbot.waitUntil(lambda: any("matches 1 shape" in text for text in texts(card)))
    assert window.session.plan.questions and not any("Nowhere" in text for text in texts(card))
    button(window, "Follow: Lines of the colour #0000ff: scored.").click()
    settle(window)
    assert not window.session.plan.questions
    item = next(one for one in window.session.plan.sorted if one.why.startswith("By your rule"))
    assert item.purpose == "score"
    button(window, "Stop: Lines of the colour #0000ff: scored.").click()
    settle(window)
    assert window.session.plan.questions


def test_rules_are_sentences_in_a_list_that_can_be_changed_and_removed(bordered, qtbot, settle):
    with open_book() as book:
        keep_rule(book, parse_rule("stroke:#0000ff=score"), customer="Gullwick House")
    window = bordered()
    dialog = RulesDialog(window, window.shop)
    qtbot.addWidget(dialog)
    qtbot.waitUntil(lambda: dialog.list.count() == 1)
    assert dialog.list.item(0).text() == "Lines of the colour #0000ff: scored. In files of Gullwick House."
    dialog.answer.setCurrentIndex(1)
    dialog.customer.clear()
    dialog.change.click()
    qtbot.waitUntil(lambda: dialog.list.item(0).text() == "Lines of the colour #0000ff: cut. In all files.")
    dialog.remove.click()
    qtbot.waitUntil(lambda: dialog.list.count() == 0)
    assert not dialog.remove.isEnabled()
    dialog.done(0)


def test_the_account_is_one_line_that_opens_to_a_list_that_zooms(bordered, settle):
    window = bordered()
    window.go_to(Stage.ARTWORK)
    page = window.pages[Stage.ARTWORK]
    card = page.findChild(AccountCard)
    assert "3 shapes in the file: 1 cut, 1 undecided, 1 not readable." in texts(card)
    assert card.findChild(FindingsList).isHidden()
    card.findChild(QPushButton).click()
    assert not card.findChild(FindingsList).isHidden()
    photo = next(one for one in card.findChild(FindingsList).findings if "photo" in one.message)
    picked = []
    page.finding_picked.connect(picked.append)
    card.findChild(FindingsList).picked.emit(photo)
    assert picked == [photo]
    x_mm, y_mm = window.session.plan.drawing_to_front[4:]
    assert (photo.x_mm, photo.y_mm) == (pytest.approx(30 + x_mm), pytest.approx(20 + y_mm))
    card.findChild(QPushButton).click()
    assert card.findChild(FindingsList).isHidden()
