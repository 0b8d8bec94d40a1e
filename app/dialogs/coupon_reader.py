"""Reading a burned coupon: looks of patches or widths of lines in, what they tell out, and into the shop book."""

import re
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtCore import Qt
from PySide6.QtWidgets import (
    QDialog,
    QGridLayout,
    QHBoxLayout,
    QLineEdit,
    QPushButton,
    QScrollArea,
    QVBoxLayout,
    QWidget,
)

from app.dialogs.coupon_choice import coupon_words
from app.dialogs.coupon_picture import CouponPicture
from app.dialogs.residual_plot import ResidualPlot
from app.qt.captions import caption, filled
from app.widgets.fields import ChoiceField, show_role, words
from app.widgets.plain_text import plain_label, plain_tip
from app.words.learned_words import learned_lines
from app.words.wording import count_text, in_shown_units
from core.burning.coupon import COMBS, Coupon
from core.burning.coupon_reading import Learned, read_coupon
from core.burning.coupon_seen import CUT_LOOKS, FILL_LOOKS, CouponReading, GapSeen, PairSeen, PatchSeen, WidthSeen
from core.errors import TainError, UnreadableError
from core.units import MM_PER_INCH

if TYPE_CHECKING:
    from core.burning.patches import Patch

UNREAD = "not read"


class CouponReader(QDialog):
    """Accepted when the reading is to be kept: ``reading`` of ``coupon``. The first coupon is shown at first."""

    def __init__(self, parent: QWidget | None, coupons: Sequence[Coupon], *, inches: bool = False) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Read a coupon"))
        self._inches = inches
        self.coupon = coupons[0]
        self.learned: Learned | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        self.which = ChoiceField("Coupon", [(coupon_words(one), one) for one in coupons])
        self.which.chosen.connect(self._show)
        layout.addWidget(self.which)
        self._how = words(role="quiet")
        self._how.setObjectName("how it is read")
        layout.addWidget(self._how)
        upper = QHBoxLayout()
        self.picture = CouponPicture()
        self.picture.clicked.connect(self._clicked)
        upper.addWidget(self.picture, 3)
        scroll = QScrollArea()
        scroll.setAccessibleName(caption("Patches"))
        scroll.setWidgetResizable(True)
        scroll.setMinimumWidth(300)
        scroll.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self._scroll = scroll
        upper.addWidget(scroll, 2)
        layout.addLayout(upper, 1)
        self.told = words()
        layout.addWidget(self.told)
        self.residuals = ResidualPlot()
        layout.addWidget(self.residuals)
        line = QHBoxLayout()
        line.addStretch(1)
        cancel = QPushButton(caption("Cancel"))
        cancel.clicked.connect(self.reject)
        self.keep = QPushButton(caption("&Keep in the shop book"))
        self.keep.setProperty("role", "main")
        self.keep.clicked.connect(self.accept)
        line.addWidget(cancel)
        line.addWidget(self.keep)
        layout.addLayout(line)
        self.resize(820, 720)
        self._show(self.coupon)

    @property
    def reading(self) -> CouponReading:
        """What was entered. Raises UnreadableError for a width that can't be one."""
        patches = tuple(
            PatchSeen(label=label, look=look)
            for label, choice in self.looks.items()
            if (look := _chosen(choice, self.coupon.patch(label))) is not None
        )
        widths = tuple(
            WidthSeen(label=label, width_mm=width)
            for label, edit in self.widths.items()
            for width in _widths(label, edit.text(), inches=self._inches)
        )
        gaps = tuple(
            GapSeen(label=label, gap_mm=gap_mm)
            for label, edit in self.gaps.items()
            for gap_mm in _widths(label, edit.text(), inches=self._inches)[:1]
        )
        pairs = tuple(_pair(label, edit.text()) for label, edit in self.pairs.items() if edit.text().strip())
        return CouponReading(
            code=self.coupon.code, read=date.today().isoformat(), patches=patches, widths=widths, gaps=gaps, pairs=pairs
        )

    def _show(self, coupon: Coupon) -> None:
        self.coupon = coupon
        self.which.show_value(coupon)
        self.looks: dict[str, ChoiceField] = {}
        self.widths: dict[str, QLineEdit] = {}
        self.gaps: dict[str, QLineEdit] = {}
        self.pairs: dict[str, QLineEdit] = {}
        two_rows = coupon.kind == "both-way-comb"
        by_width = coupon.kind in ("line-widths", "focus-ladder")
        self._how.setText(
            filled(
                "Type the widths of each patch's lines in {part} as seen through a loupe, parted by "
                "blanks; 0 where nothing was bared.",
                part="inches" if self._inches else "mm",
            )
            if by_width
            else filled(
                "Push the strips together and type the gap they leave, in {part}, measured once.",
                part="inches" if self._inches else "mm",
            )
            if coupon.kind == "kerf-strips"
            else filled(
                "Type which pair has its line midway in the gap, counted from the long line: to the "
                "right above zero, to the left below it, 1.5 between two{part}.",
                part="; the upper row, then the lower one" if two_rows else "",
            )
            if coupon.kind in COMBS
            else caption(
                "Click the patches that came out clean (or through), again for another look; or choose beside them."
            )
        )
        content = QWidget()
        content.setProperty("role", "page")
        grid = QGridLayout(content)
        grid.setColumnStretch(2, 1)
        for row, patch in enumerate(coupon.patches):
            grid.addWidget(plain_label(patch.label), row, 0)
            grid.addWidget(plain_label(in_shown_units(patch.caption, inches=self._inches)), row, 1)
            grid.addWidget(self._editor(patch, by_width=by_width), row, 2)
        grid.setRowStretch(len(coupon.patches), 1)
        self._scroll.setWidget(content)
        self._work_out()

    def _editor(self, patch: "Patch", *, by_width: bool) -> QWidget:
        name = f"Patch {patch.label}, {patch.caption}"
        if patch.strips > 1:
            gap = QLineEdit()
            gap.setAccessibleName(filled("Gap of {name}, {part}", name=name, part="in" if self._inches else "mm"))
            gap.textChanged.connect(lambda text: self._work_out())
            self.gaps[patch.label] = gap
            return gap
        if patch.comb_step_mm:
            pair = QLineEdit()
            pair.setAccessibleName(filled("Pairs of {name}", name=name))
            pair.textChanged.connect(lambda text: self._work_out())
            pair.returnPressed.connect(self.focusNextChild)
            self.pairs[patch.label] = pair
            return pair
        if by_width:
            edit = QLineEdit()
            edit.setAccessibleName(filled("Widths of {name}, {part}", name=name, part="in" if self._inches else "mm"))
            edit.setPlaceholderText(in_shown_units(patch.expected, inches=self._inches))
            edit.textChanged.connect(lambda text: self._work_out())
            edit.returnPressed.connect(self.focusNextChild)
            self.widths[patch.label] = edit
            return edit
        choice = ChoiceField(name, [(UNREAD, None), *((look, look) for look in _looks_of(patch))])
        choice.setToolTip(
            plain_tip(
                filled("Expected: {in_shown_units}", in_shown_units=in_shown_units(patch.expected, inches=self._inches))
            )
        )
        choice.chosen.connect(lambda look: self._work_out())
        self.looks[patch.label] = choice
        return choice

    def _clicked(self, label: str) -> None:
        typed = {**self.widths, **self.gaps, **self.pairs}
        if label in typed:
            typed[label].setFocus()
        else:
            choice = self.looks[label]
            choice.setCurrentIndex((choice.currentIndex() + 1) % choice.count())
            self._work_out()

    def _work_out(self) -> None:
        seen = {label: choice.currentText() for label, choice in self.looks.items() if choice.currentIndex() > 0}
        typed = {label: len(_words(edit.text())) for label, edit in self.widths.items()}
        seen |= {label: count_text(count, "line", "lines") for label, count in typed.items() if count}
        seen |= {label: "gap" for label, edit in self.gaps.items() if edit.text().strip()}
        seen |= {label: "pair" for label, edit in self.pairs.items() if edit.text().strip()}
        self.picture.show_coupon(self.coupon, seen)
        self.learned = None
        if not seen:
            self._tell("Nothing read yet.", role="quiet")
        else:
            try:
                self.learned = read_coupon(self.coupon, self.reading)
            except TainError as error:
                self._tell(str(error), role="refusal")
            else:
                self._tell("\n".join(learned_lines(self.learned)) or "Nothing is told by this yet.", role="body")
        self.residuals.show_fit(self.learned.fit if self.learned is not None else None)
        self.keep.setEnabled(self.learned is not None)

    def _tell(self, text: str, *, role: str) -> None:
        show_role(self.told, role)
        self.told.setText(in_shown_units(text, inches=self._inches))


def _looks_of(patch: "Patch"):  # type: ignore[no-untyped-def]  # a tuple of PatchLook
    return CUT_LOOKS if patch.purpose == "cut" else FILL_LOOKS


def _chosen(choice: ChoiceField, patch: "Patch"):  # type: ignore[no-untyped-def]  # a PatchLook or None
    return _looks_of(patch)[choice.currentIndex() - 1] if choice.currentIndex() > 0 else None


def _words(text: str) -> list[str]:
    return [word for word in re.split(r"[\s;]+", text) if word]


def _pair(label: str, text: str) -> PairSeen:
    """The pairs typed: one, or those of two rows. Raises UnreadableError."""
    try:
        first, *rest = [float(word.replace(",", ".").replace("\u2212", "-")) for word in _words(text)]
        (second,) = rest or (None,)
    except ValueError:
        raise UnreadableError(
            f"Patch {label}: “{text.strip()}” tells no pair.", hint="Write 2, or 2 -1 for two rows."
        ) from None
    return PairSeen(label=label, pair=first, second=second)


def _widths(label: str, text: str, *, inches: bool) -> list[float]:
    """The widths typed, mm. Raises UnreadableError."""
    try:
        found = [float(word.replace(",", ".")) for word in _words(text)]
    except ValueError:
        found = [-1.0]
    widths_mm = [width * MM_PER_INCH for width in found] if inches else found
    if any(not 0 <= width_mm < 10 for width_mm in widths_mm):
        like = "in inches, like 0.0016 0.0017" if inches else "in mm, like 0.041 0.043"
        raise UnreadableError(f"Patch {label}: “{text.strip()}” gives no line widths.", hint=f"Write them {like}.")
    return widths_mm
