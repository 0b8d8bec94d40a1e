"""Coupons kept in the shop book under their codes."""

from core.burning.coupon import Coupon
from core.shop_book.store import ShopBook


def keep_coupon(book: ShopBook, coupon: Coupon) -> None:
    """Keep the coupon under its code, unless the very same one is there already."""
    if coupon not in book.values("coupon"):
        book.add("coupon", coupon.code, coupon, note=f"{coupon.kind} on {coupon.stock.name}")
