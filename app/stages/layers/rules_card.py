"""The maker's rules: those this job follows, those of the shop book that match it, and the way to keep one."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QHBoxLayout, QVBoxLayout, QWidget

from app.session.session import Session
from app.session.shop import Shop
from app.widgets import messages
from app.widgets.fields import Card, clear, small_button, words
from app.words.wording import count_text
from core.artwork.sorting.rules import PurposeRule, rules_that_match
from core.errors import TainError
from core.job.job import Job
from core.shop_book.store import book_path

if TYPE_CHECKING:
    from core.shop_book.kinds import KeptRule
    from core.shop_book.store import ShopBook


class RulesCard(Card):
    """Rules as sentences, each with what can be done about it. changed: others match."""

    changed = Signal()

    def __init__(self, session: Session, shop: Shop) -> None:
        super().__init__()
        self._session, self._shop = session, shop
        self._kept: tuple[KeptRule, ...] = ()
        self._asked = False
        self._shown: object = None
        self.offered_count = 0
        self.body.addWidget(
            words("A rule says what all shapes of a layer or colour are for. It is followed only where you say so.")
        )
        self._rows = QVBoxLayout()
        self._rows.setSpacing(8)
        self.body.addLayout(self._rows)
        edit = small_button("&Rules of the shop book…", tip="See, change and remove the rules that are kept")
        edit.clicked.connect(self._edit)
        self.line(edit).addStretch(1)
        shop.wrote.connect(self.read_book)

    def read_book(self) -> None:
        """Ask the shop book again which rules it keeps."""
        self._asked = True
        if not book_path().exists():  # none is made before there is something to keep
            return

        def work(book: "ShopBook") -> "tuple[KeptRule, ...]":
            from core.shop_book.rules import kept_rules

            return tuple(entry.value for entry in kept_rules(book))

        def take(kept: "tuple[KeptRule, ...]") -> None:
            self._kept = kept
            self.show_rules()

        self._shop.do(work, take, lambda error: None)

    def show_rules(self) -> None:
        """Bring the list up to date."""
        if not self._asked and self._session.plan is not None:
            self.read_book()
        job, plan = self._session.job, self._session.plan
        followed = job.rules
        offered = [one for one in self._kept if one.rule not in followed]
        matching = rules_that_match(plan.drawing, [one.rule for one in offered]) if plan is not None else {}
        offered = [one for one in offered if one.rule in matching]
        counts = rules_that_match(plan.drawing, followed) if plan is not None else {}
        shown = (followed, tuple(counts.items()), tuple(offered), tuple(matching.items()))
        if shown == self._shown:
            return
        self._shown = shown
        self.offered_count = len(offered)
        self.changed.emit()
        clear(self._rows)
        for rule in followed:
            what = count_text(counts.get(rule, 0), "shape", "shapes")
            self._add_row(f"Followed here, {what}: {rule.sentence}", "Stop", rule, self._drop)
        for kept in offered:
            what = count_text(matching[kept.rule], "shape", "shapes")
            self._add_row(f"Kept, matches {what}: {kept.sentence}", "Follow", kept.rule, self._follow)
        if not followed and not offered:
            self._rows.addWidget(words("No rule matches this artwork.", role="quiet"))

    def keep(self, kept: "KeptRule") -> None:
        """Follow a rule here and keep it in the shop book."""
        self._follow(kept.rule)

        def work(book: "ShopBook") -> None:
            from core.shop_book.rules import keep_rule

            keep_rule(book, kept.rule, customer=kept.customer)

        self._shop.do(work, lambda value: None, self._tell, writes=True)

    def _add_row(self, text: str, button: str, rule: PurposeRule, do: Callable[[PurposeRule], None]) -> None:
        row = QWidget()
        line = QHBoxLayout(row)
        line.setContentsMargins(0, 0, 0, 0)
        line.setSpacing(8)
        line.addWidget(words(text), 1)
        press = small_button(button, f"{button}: {rule.sentence}")
        press.clicked.connect(lambda: do(rule))
        line.addWidget(press)
        self._rows.addWidget(row)

    def _follow(self, rule: PurposeRule) -> None:
        job = self._session.job
        others = tuple(one for one in job.rules if (one.sort, one.value) != (rule.sort, rule.value))
        self._commit(replace(job, rules=(rule, *others)), "Follow a rule")

    def _drop(self, rule: PurposeRule) -> None:
        job = self._session.job
        self._commit(replace(job, rules=tuple(one for one in job.rules if one != rule)), "Stop a rule")

    def _commit(self, job: Job, label: str) -> None:
        if job != self._session.job:
            self._session.commit(job, label)

    def _edit(self) -> None:
        from app.dialogs.rules import RulesDialog

        messages.run(RulesDialog(self.window(), self._shop))

    def _tell(self, error: TainError) -> None:
        messages.tell_error(self, "Rules", error)
