"""What a job that is done leaves of its piece: before and after, whether it goes back on the rack, labels."""

from collections.abc import Callable

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QCheckBox, QHBoxLayout, QVBoxLayout

from app.canvas.piece_picture import PieceLook, PiecePicture
from app.qt.captions import caption, filled
from app.widgets.fields import Card, LengthField, words
from app.words.wording import count_text, sheet_area_text
from core.sheet.remainders import LEAST_SIDE_MM
from core.shop_book.used_piece import UsedPiece

PICTURE = QSize(210, 140)

WorkOut = Callable[[float, Callable[[UsedPiece | None], None]], None]
"""Work out anew what is left, keeping what holds a square of this side: (side in mm, who takes the result)."""


class JobLeftCard(Card):
    """``used`` is what goes back on the rack if ``put_back`` is ticked."""

    def __init__(self, used: UsedPiece, work_out: WorkOut, *, inches: bool) -> None:
        super().__init__(f"What is left of “{used.entry.name}”")
        self.used = used
        self._inches = inches
        pictures = QHBoxLayout()
        pictures.setSpacing(12)
        self.before = PiecePicture("The piece with the job on it", least=PICTURE)
        self.after = PiecePicture("What is left of it", least=PICTURE)
        for heading, picture in (("Before", self.before), ("After", self.after)):
            column = QVBoxLayout()
            column.addWidget(words(heading, role="quiet"))
            column.addWidget(picture)
            pictures.addLayout(column)
        self.body.addLayout(pictures)
        self.about = words()
        self.body.addWidget(self.about)
        self.least = LengthField("Smallest square worth keeping", low=1, high=1000)
        self.least.show_inches(inches)
        self.least.show_value(LEAST_SIDE_MM)
        self.row("Keep &from", self.least, help_text="What holds a square of this side is kept, the rest is waste")
        self.least.entered.connect(lambda side_mm: work_out(side_mm, self.show_used))
        self.put_back = QCheckBox(caption("&Put what is left on the rack in its place"))
        self.put_back.setChecked(True)
        self.body.addWidget(self.put_back)
        self.labels = QCheckBox(caption("&Write a label to score for each offcut"))
        self.body.addWidget(self.labels)
        self.put_back.toggled.connect(self.labels.setEnabled)
        self.show_used(used)

    def show_used(self, used: UsedPiece | None) -> None:
        """Show what is left."""
        if used is None:
            return
        self.used = used
        piece, left = used.entry.value, used.left
        parts = tuple((region, sheet_area_text(region.area, inches=self._inches)) for region in left.kept)
        kept = count_text(len(left.kept), "offcut", "offcuts") if left.kept else "nothing worth keeping"
        taken, waste = (sheet_area_text(one.area, inches=self._inches) for one in (left.taken, left.waste))
        text = filled("{taken} taken, {waste} waste, {kept} left.", taken=taken, waste=waste, kept=kept)
        self.about.setText(text)
        self.before.show_piece(PieceLook(piece=piece, burned=left.taken), f"{used.entry.name} with the job on it")
        self.after.show_piece(PieceLook(piece=piece, parts=parts), text)
