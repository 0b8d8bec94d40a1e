"""Coupons: test pieces that fit the offcut at hand, each patch with its label and the look that is expected of it.

A coupon is laid out as it is read: in the front frame, or, for labels read from the back, in the bed frame.
``core.job.coupon_job`` makes an ordinary job of it, so that it is prepared, shown and exported like any other.
"""

import hashlib
import math
from dataclasses import replace

from core.burning.coupon import COUPON_KINDS, Coupon, CouponKind
from core.burning.coupon_laying import laid_out, least_size
from core.burning.coupon_tables import tables_for
from core.burning.machines import Machine
from core.burning.patches import Side
from core.errors import JobError
from core.sheet.placement import Turn
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock

_CAPTIONS_MEAN: dict[CouponKind, str] = {
    "speed-power": " (mm/s / %)",
    "painted-scrap": " (mm/s / %)",
    "two-angles": " (LPI, angle)",
    "passes": " (passes x %)",
    "focus-ladder": " (mm / %)",
    "both-way-comb": " (mm/s)",
    "beam-delay": " (mm/s)",
}
_CODE_LETTERS = "23456789ABCDEFGHJKMNPQRTUVWXYZ"


def make_coupon(
    kind: CouponKind,
    stock: Stock,
    machine: Machine,
    *,
    width_mm: float = 120.0,
    height_mm: float = 80.0,
    recipe: Recipe | None = None,
    read_from: Side = "front",
    turn: Turn = "sideways",
    made: str = "",
    paints: tuple[str, ...] = (),
) -> Coupon:
    """A coupon of that kind for the stock and machine, as rich as the size allows.

    recipe: what is tried around; the stock's own where None. Raises JobError when the stock must not be burned so,
    or when the size is too small, naming the least that would do.
    """
    if kind not in COUPON_KINDS:
        raise JobError(f"There is no coupon “{kind}”.", hint=f"Choose one of {', '.join(COUPON_KINDS)}.")
    if stock.refused:
        raise JobError(f"{stock.name}: {stock.refused}")
    if not all(math.isfinite(side) and side > 0 for side in (width_mm, height_mm)):
        raise JobError(f"A coupon can't be {width_mm:g} x {height_mm:g} mm.", hint="Give a size like 120x80.")
    if paints and kind != "painted-scrap":
        raise JobError("Only a painted scrap has paints on its coat.", hint="Choose that kind, or name none.")
    tables = tables_for(kind, stock, machine, recipe)
    under = f" under {', '.join(paints)}" if paints else ""
    title = f"{kind}{_CAPTIONS_MEAN.get(kind, '')} {stock.name}{under} {made}".strip()
    for table in tables:
        laid = laid_out(kind, table, title, width_mm, height_mm)
        if laid:
            break
    else:
        need = least_size(kind, tables[-1], title)
        raise JobError(
            f"{width_mm:g} x {height_mm:g} mm is too small for the {kind} coupon.",
            hint=f"It needs about {need[0]:.0f} x {need[1]:.0f} mm.",
        )
    coupon = Coupon(
        code="",
        kind=kind,
        made=made,
        width_mm=width_mm,
        height_mm=height_mm,
        read_from=read_from,
        turn=turn,
        stock=stock,
        machine=machine,
        patches=laid[0],
        labels=laid[1],
        paints=paints,
    )
    return _with_code(coupon)


# --- layout ----------------------------------------------------------------------------------------------------------


def _with_code(coupon: Coupon) -> Coupon:
    """The coupon with its code, which is a digest of all it holds, written before its title."""
    digest = hashlib.sha256(repr(coupon).encode()).digest()
    number = int.from_bytes(digest[:8], "big")
    code = ""
    for _ in range(5):
        number, rest = divmod(number, len(_CODE_LETTERS))
        code += _CODE_LETTERS[rest]
    title, *captions = coupon.labels
    return replace(coupon, code=code, labels=(replace(title, text=f"{code} {title.text}".strip()), *captions))
