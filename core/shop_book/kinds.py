"""What the shop book holds: a word for each kind of entry and the class of its values.

A new kind needs a frozen dataclass and a line in ``KINDS``; fields added later need a default, so that older entries
still read.
"""

from dataclasses import dataclass
from typing import Any

from core.artwork.sorting.rules import PurposeRule
from core.burning.coupon import Coupon
from core.burning.coupon_seen import CouponReading
from core.burning.machines import Machine
from core.burning.run_time_fit import TimedJob
from core.finishing.bonding import BondTrial
from core.finishing.paints import Paint
from core.job.costs.rates import Rates
from core.job.letterhead import Letterhead
from core.purposes import Purpose
from core.sheet.offcuts import Piece
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.trouble.case.noted import FaultNoted
from core.trouble.causes.caution import LearnedCaution
from core.trouble.trials.trial import Trial

FOR_ALL = "all"
"""How rules for the files of all customers are named."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RecipeNote:
    """A recipe kept: for what, on which stock and machine (their uuids), and how it did. ``photos``: paths."""

    purpose: Purpose
    recipe: Recipe
    stock_uuid: str = ""
    machine_uuid: str = ""
    verdict: str = ""
    note: str = ""
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class JobDone:
    """A job that was burned. ``done``: ISO date; actual_s None where nobody took the time; settings: its settings
    document as JSON text; timing: what the run-time fit needs of it; photos: paths."""

    done: str
    stock: str
    machine: str
    predicted_s: float
    actual_s: float | None = None
    verdict: str = ""
    note: str = ""
    settings: str = ""
    timing: TimedJob | None = None
    photos: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptRule:
    """A rule and whose files it holds for; an empty customer is everybody."""

    rule: PurposeRule
    customer: str = ""

    @property
    def name(self) -> str:
        """The entry's name."""
        return f"{self.customer or FOR_ALL}: {self.rule.written}"

    @property
    def sentence(self) -> str:
        """The rule in words, with whose files it is about."""
        return f"{self.rule.sentence} In {f'files of {self.customer}' if self.customer else 'all files'}."


KINDS: dict[str, type[Any]] = {
    "machine": Machine,
    "stock": Stock,
    "recipe": RecipeNote,
    "coupon": Coupon,
    "reading": CouponReading,
    "job": JobDone,
    "paint": Paint,
    "bond": BondTrial,
    "piece": Piece,
    "rates": Rates,
    "letterhead": Letterhead,
    "rule": KeptRule,
    "caution": LearnedCaution,
    "trial": Trial,
    "fault": FaultNoted,
}

SAME_NAMES = ("reading", "job", "bond", "fault")
"""Kinds of which several entries may have one name: a coupon is read twice, a job burned again."""
