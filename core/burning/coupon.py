"""What kinds of coupons there are, and what a coupon is."""

from dataclasses import dataclass, field
from typing import Literal

from core.burning.patches import BurnedPiece, Patch

CouponKind = Literal[
    "pitch-ladder", "speed-power", "line-widths", "cut-ladder", "two-angles", "passes", "focus-ladder", "kerf-strips",
    "both-way-comb", "beam-delay",
    "painted-scrap",
]  # fmt: skip

COUPON_KINDS: dict[CouponKind, str] = {
    "pitch-ladder": "Fills at one dose a line, from wide to narrow pitch: where do lines go, where does it frost?",
    "speed-power": "Fills at one pitch over speeds and powers: which is clean?",
    "line-widths": "Single lines at several powers: their widths, read through a loupe, give spot and clearing dose.",
    "cut-ladder": "Small squares cut at several speeds: which fall out?",
    "two-angles": "Fills along x and along y at several pitches: do both come out alike?",
    "passes": "Fills burned once, twice and four times at several powers: how do passes add up in coat and sheet?",
    "focus-ladder": "Single lines at several heights and two powers: their widths give best focus and Rayleigh range.",
    "painted-scrap": "Fills through cured paint and coat over speeds and powers: the dose that a later burn needs.",
    "kerf-strips": "Strips cut side by side: pushed together, the gap they leave, measured once, gives the kerf.",
    "both-way-comb": "Two rows against a fixed comb at several speeds: which pairs line up gives offset and delay.",
    "beam-delay": "Single rows against a fixed comb at several speeds: which pairs line up gives the beam's delay.",
}

COMBS: tuple[CouponKind, ...] = ("both-way-comb", "beam-delay")

LEAST_PATCH_MM: dict[CouponKind, tuple[float, float]] = {
    "pitch-ladder": (6.0, 5.0),
    "speed-power": (6.0, 5.0),
    "line-widths": (8.0, 4.0),
    "cut-ladder": (6.0, 6.0),
    "two-angles": (6.0, 6.0),
    "passes": (6.0, 5.0),
    "focus-ladder": (8.0, 4.0),
    "kerf-strips": (20.0, 8.0),
    "both-way-comb": (22.0, 2.0),
    "beam-delay": (22.0, 1.0),
    "painted-scrap": (6.0, 5.0),
}
"""Less can't be judged by eye, or held."""

MOST_PATCH_MM = 20.0
"""More only takes longer."""

SQUARE_MM = 12.0
"""Side of a cut ladder's squares at most."""

STRIPS_MM = (60.0, 20.0)
"""The rectangle of the kerf strips at most."""

COMB_MM = 66.0
"""A comb's length at most."""

LINES_EACH = 4

LINE_DISTANCE_MM = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Coupon(BurnedPiece):
    """A laid-out coupon. Its ``code`` finds it again in the shop book; ``made`` is an ISO date.

    paints: what lies on the coat of a painted scrap, first painted first; its stock then holds that stack's figures.
    """

    kind: CouponKind
    made: str
    paints: tuple[str, ...] = field(default=(), metadata={"omit_default": True})


Table = list[list[Patch]]
"""Rows of patches, not laid out yet."""
