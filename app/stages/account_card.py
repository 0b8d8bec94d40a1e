"""What became of everything in the file: one line, opened to a list whose entries are zoomed to."""

from typing import TYPE_CHECKING

from PySide6.QtCore import Signal

from app.qt.captions import caption, filled
from app.widgets.fields import Card, small_button, words
from app.widgets.findings_list import FindingsList
from core.findings import Finding, Severity

if TYPE_CHECKING:
    from core.artwork.account import Entry
    from core.job.plan import Plan

_SEVERITY: dict[str, Severity] = {"unreadable": "warning", "undecided": "warning"}


class AccountCard(Card):
    """Shows a plan's account. picked: an entry, as a finding at its place on the sheet."""

    picked = Signal(object)

    def __init__(self) -> None:
        super().__init__("What became of it")
        self._said = False
        self._sentence = words()
        self.body.addWidget(self._sentence)
        self._open = small_button("", tip="Each group of shapes with its reason; click one to zoom there")
        self._open.clicked.connect(self._turn)
        self.line(self._open).addStretch(1)
        self._list = FindingsList("What became of each group of shapes", most_px=260)
        self._list.picked.connect(self.picked)
        self._list.hide()
        self.body.addWidget(self._list)
        self._name_button()

    def show_plan(self, plan: "Plan", *, inches: bool) -> None:
        """Show the account of this plan."""
        from core.artwork.transforming import moved_finding

        self._sentence.setText(plan.account.sentence)
        entries = [moved_finding(_as_finding(entry), plan.drawing_to_front) for entry in plan.account.entries]
        self._list.show_findings(entries, inches=inches)
        self._open.setEnabled(bool(entries))

    def show_tall(self, tall: bool) -> None:
        """A tall page has the list open by itself, until the maker says."""
        if not self._said and tall == self._list.isHidden():
            self._list.setVisible(tall)
            self._name_button()

    def _turn(self) -> None:
        self._said = True
        self._list.setVisible(self._list.isHidden())
        self._name_button()

    def _name_button(self) -> None:
        text = caption("Show each group") if self._list.isHidden() else caption("Hide the groups")
        self._open.setText(text)
        self._open.setAccessibleName(filled("{text} of shapes with its reason", text=text))


def _as_finding(entry: "Entry") -> Finding:
    from core.artwork.account import FATE_WORDS

    message = f"{entry.count:,} {FATE_WORDS[entry.fate]}: {entry.why}"
    return Finding(
        code="account",
        message=message,
        severity=_SEVERITY.get(entry.fate, "note"),
        x_mm=entry.x_mm,
        y_mm=entry.y_mm,
        shape_ids=entry.shape_ids,
    )
