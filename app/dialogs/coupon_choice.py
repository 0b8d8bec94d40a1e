"""Which of the book's coupons."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from PySide6.QtWidgets import QDialog, QHBoxLayout, QPushButton, QVBoxLayout, QWidget

from app.dialogs.coupon_maker import KIND_NAMES
from app.dialogs.coupon_picture import CouponPicture
from app.qt.captions import caption
from app.widgets.fields import ChoiceField

if TYPE_CHECKING:
    from core.burning.coupon import Coupon


class CouponChoice(QDialog):
    """``coupon`` is the one chosen; the first is at first."""

    def __init__(self, parent: QWidget | None, coupons: Sequence["Coupon"]) -> None:
        super().__init__(parent)
        self.setWindowTitle(caption("Sheet of expected looks"))
        self.coupon = coupons[0]
        layout = QVBoxLayout(self)
        layout.setContentsMargins(24, 24, 24, 16)
        layout.setSpacing(12)
        self.which = ChoiceField("Coupon", [(coupon_words(one), one) for one in coupons])
        self.which.chosen.connect(self._show)
        layout.addWidget(self.which)
        self._picture = CouponPicture()
        layout.addWidget(self._picture, 1)
        line = QHBoxLayout()
        line.addStretch(1)
        cancel = QPushButton(caption("Cancel"))
        cancel.clicked.connect(self.reject)
        save = QPushButton(caption("&Save its sheet of looks…"))
        save.setProperty("role", "main")
        save.setDefault(True)
        save.clicked.connect(self.accept)
        line.addWidget(cancel)
        line.addWidget(save)
        layout.addLayout(line)
        self.resize(480, 420)
        self._show(self.coupon)

    def _show(self, coupon: "Coupon") -> None:
        self.coupon = coupon
        self._picture.show_coupon(coupon)


def coupon_words(coupon: "Coupon") -> str:
    """A coupon in a list."""
    return f"{coupon.code}: {KIND_NAMES[coupon.kind].lower()} on {coupon.stock.name}, {coupon.made}"
