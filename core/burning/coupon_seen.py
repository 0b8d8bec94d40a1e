"""What was seen on a burned coupon, as the maker notes it."""

from dataclasses import dataclass, field
from typing import Literal

PatchLook = Literal["clean", "leaves lines", "frosts", "not reached", "through", "holds on"]

FILL_LOOKS: tuple[PatchLook, ...] = ("clean", "leaves lines", "frosts", "not reached")

CUT_LOOKS: tuple[PatchLook, ...] = ("through", "holds on")


@dataclass(frozen=True, slots=True, kw_only=True)
class PatchSeen:
    """How one patch of a coupon looks: a fill's or a cut's look."""

    label: str
    look: PatchLook


@dataclass(frozen=True, slots=True, kw_only=True)
class WidthSeen:
    """The width of one line of a patch, read through a loupe; 0 where nothing was bared. A patch may have several."""

    label: str
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GapSeen:
    """The gap that the strips of a patch leave when they are pushed together, mm."""

    label: str
    gap_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PairSeen:
    """Which pair of a comb lines up, counted from its long line, to the right above zero; halves are between two.

    second: that of the row below, where the patch has two.
    """

    label: str
    pair: float
    second: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponReading:
    """What was seen on a coupon. ``read``: ISO date; ``photos``: paths."""

    code: str
    read: str = ""
    patches: tuple[PatchSeen, ...] = ()
    widths: tuple[WidthSeen, ...] = ()
    gaps: tuple[GapSeen, ...] = field(default=(), metadata={"omit_default": True})
    pairs: tuple[PairSeen, ...] = field(default=(), metadata={"omit_default": True})
    photos: tuple[str, ...] = ()
    note: str = ""
