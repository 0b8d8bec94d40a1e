"""What coupon to make: kind, size, the face it is read from, the recipe it tries around."""

from datetime import date
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.dialogs.coupon_picture import CouponPicture
from app.qt.captions import caption, filled
from app.widgets.fields import Card, ChoiceField, LengthField, words
from core.burning.coupon import COUPON_KINDS, Coupon, CouponKind
from core.burning.coupons import make_coupon
from core.errors import TainError
from core.job.job import Job
from core.purposes import Purpose
from core.sheet.recipes import Recipe

if TYPE_CHECKING:
    from core.burning.next_coupon import CouponOffer
    from core.burning.patches import Side

KIND_NAMES: dict[CouponKind, str] = {
    "pitch-ladder": "Pitch ladder",
    "speed-power": "Speed and power",
    "line-widths": "Line widths",
    "cut-ladder": "Cut ladder",
    "two-angles": "Two scan angles",
    "passes": "Passes",
    "focus-ladder": "Focus ladder",
    "kerf-strips": "Kerf strips",
    "both-way-comb": "Both-way comb",
    "beam-delay": "Beam delay",
    "painted-scrap": "Painted scrap",
}
OFFERED_KINDS: tuple[CouponKind, ...] = tuple(kind for kind in COUPON_KINDS if kind != "painted-scrap")
"""A painted scrap needs its paints: `tain coupon painted-scrap` makes it."""
SIDES: tuple[tuple[str, "Side"], ...] = (("the front", "front"), ("the back", "back"))


class CouponMaker(QDialog):
    """``coupon`` is what the choices come to, for the job's stock and machine; None while they don't fit."""

    def __init__(self, parent: QWidget | None, job: Job, *, inches: bool, offer: "CouponOffer | None" = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Make a coupon"))
        self._job = job
        self.coupon: Coupon | None = None
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        layout.addWidget(
            words(filled("For {name} on {name_2}.", name=job.stock.name, name_2=job.machine.name), role="quiet")
        )
        card = Card()
        self.kind = ChoiceField("Kind of coupon", [(KIND_NAMES[kind], kind) for kind in OFFERED_KINDS])
        card.row("&Kind", self.kind)
        self._asks = words(role="quiet")
        card.body.addWidget(self._asks)
        self.width_field = LengthField("Width of the offcut", low=5, high=1000)
        self.height_field = LengthField("Height of the offcut", low=5, high=1000)
        for label, field, size_mm in (("&Width", self.width_field, 120.0), ("&Height", self.height_field, 80.0)):
            field.show_inches(inches)
            field.show_value(size_mm)
            field.entered.connect(lambda value: self._try())
            card.row(label, field)
        self.side = ChoiceField("Face the labels are read from", SIDES)
        card.row("Read &from", self.side)
        self.recipe = ChoiceField("Recipe to try around")
        card.row("Try &around", self.recipe)
        for choice in (self.kind, self.side, self.recipe):
            choice.activated.connect(lambda at: self._try())
        layout.addWidget(card)
        self._picture = CouponPicture()
        layout.addWidget(self._picture, 1)
        self.told = words()
        layout.addWidget(self.told)
        line = QHBoxLayout()
        line.addStretch(1)
        cancel = QPushButton(caption("Cancel"))
        cancel.clicked.connect(self.reject)
        self.make = QPushButton(caption("&Open it as a job"))
        self.make.setProperty("role", "main")
        self.make.setDefault(True)
        self.make.clicked.connect(self.accept)
        line.addWidget(cancel)
        line.addWidget(self.make)
        layout.addLayout(line)
        self.resize(520, 640)
        if offer is not None:
            self.kind.show_value(offer.kind)
            self.width_field.show_value(offer.width_mm)
            self.height_field.show_value(offer.height_mm)
        self._try()

    def _recipes(self, purpose: Purpose) -> list[tuple[str, int]]:
        layers = [layer for layer in self._job.layers if layer.purpose == purpose]
        return [("the stock's own recipe", -1), *((f"{layer.name} of this job", at) for at, layer in enumerate(layers))]

    def _try(self) -> None:
        kind: CouponKind = OFFERED_KINDS[max(0, self.kind.currentIndex())]
        self._asks.setText(COUPON_KINDS[kind])
        purpose: Purpose = "cut" if kind in ("cut-ladder", "kerf-strips") else "fill"
        offered = self._recipes(purpose)
        at = min(max(0, self.recipe.currentIndex()), len(offered) - 1)
        self.recipe.offer(offered)
        self.recipe.show_value(offered[at][1])
        layers = [layer.recipe for layer in self._job.layers if layer.purpose == purpose]
        recipe: Recipe | None = layers[at - 1] if at else None
        try:
            self.coupon = make_coupon(
                kind,
                self._job.stock,
                self._job.machine,
                width_mm=self.width_field.value(),
                height_mm=self.height_field.value(),
                recipe=recipe,
                read_from=SIDES[max(0, self.side.currentIndex())][1],
                turn=self._job.turn,
                made=date.today().isoformat(),
            )
        except TainError as error:
            self.coupon = None
            self.told.setText(str(error))
        else:
            self.told.setText(
                filled(
                    "{patches} patches. Its code will be {code}.",
                    patches=len(self.coupon.patches),
                    code=self.coupon.code,
                )
            )
        self.make.setEnabled(self.coupon is not None)
        self._picture.show_coupon(self.coupon)
