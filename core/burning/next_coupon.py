"""The scrap that would help most: what a coupon is likely to show, what would be advised then, and how sure that is.

For each coupon many machines and stocks are drawn from what is held of them; each burns it, is read with the usual
errors, and the recipe that looks best after that is judged on the very machine and stock that burned it. The mean is
the chance of a clean piece that is to be expected after the scrap (expected utility of an experiment: D. V. Lindley,
Ann. Math. Stat. 27 (1956) 986; K. Chaloner, I. Verdinelli, Stat. Sci. 10 (1995) 273).
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.burning.beam import Floats, power_w
from core.burning.chance import OUTCOMES, Chance, in_hundred, limits
from core.burning.coupon import Coupon, CouponKind
from core.burning.coupons import make_coupon
from core.burning.learning import (
    MOST_WIDTH_MM,
    UNKNOWNS,
    WRONG_SHARE,
    Model,
    line_seen,
    log_limits,
    look_likelihood,
    width_likelihood,
)
from core.burning.machines import Machine
from core.burning.run_time import fill_time_s
from core.burning.scan_rows import scan_rows
from core.burning.unknowns import LEARNED, Draws, beliefs_of, draws_at, standard_scores
from core.errors import TainError
from core.progress import Progress, silent
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock
from core.units import MM_PER_INCH

Indices = NDArray[np.intp]
OFFERED: tuple[CouponKind, ...] = ("pitch-ladder", "speed-power", "passes", "line-widths")
SIZES_MM = ((60.0, 40.0), (80.0, 60.0), (120.0, 80.0))
HANDLING_MIN, READING_MIN = 4.0, 0.1
"""Laying the scrap, setting the focus, taking it off; reading one patch. Our own guess."""
LEAST_GAIN = 0.02
_DRAWS, _SCRAPS = 1200, 240
_PITCHES, _ENERGIES = 22, 36


@dataclass(frozen=True, slots=True, kw_only=True)
class CouponOffer:
    """A coupon worth burning: its minutes, and the chance of a clean piece now and to be expected after it."""

    kind: CouponKind
    width_mm: float
    height_mm: float
    minutes: float
    chance_now: float
    chance_after: float

    @property
    def words(self) -> str:
        """``"About 6 minutes on a 60 x 40 mm scrap would take this from 62 to 91 in 100."``."""
        return (
            f"About {self.minutes:.0f} minutes on a {self.width_mm:g} x {self.height_mm:g} mm scrap "
            f"({self.kind.replace('-', ' ')}) would take this from {in_hundred(self.chance_now)} to "
            f"{in_hundred(self.chance_after)} in 100, with the recipe it then advises."
        )


def next_coupon(
    recipe: Recipe,
    machine: Machine,
    stock: Stock,
    now: Chance,
    *,
    sizes_mm: Sequence[tuple[float, float]] = SIZES_MM,
    progress: Progress = silent,
) -> CouponOffer | None:
    """The coupon that raises the chance of a clean piece most for its minutes, or None where none is worth it.

    now: the chance of the present recipe. sizes_mm: of offcuts at hand. Raises Cancelled when progress does.
    """
    foresight = _Foresight(recipe, machine, stock)
    offers = []
    coupons = list(_coupons(recipe, machine, stock, sizes_mm))
    for number, coupon in enumerate(coupons):
        progress(number / len(coupons), "weighing scraps")
        after = foresight.chance_after(coupon)
        offer = CouponOffer(
            kind=coupon.kind,
            width_mm=coupon.width_mm,
            height_mm=coupon.height_mm,
            minutes=minutes_of(coupon),
            chance_now=now.clean,
            chance_after=after,
        )
        if after >= max(now.clean, foresight.best_now) + LEAST_GAIN:
            offers.append(offer)
    return max(offers, key=lambda one: (one.chance_after - foresight.best_now) / one.minutes, default=None)


def minutes_of(coupon: Coupon) -> float:
    """Burning, handling and reading it."""
    burning_s = 0.0
    for patch in coupon.patches:
        rows = scan_rows(
            shapely.box(0, 0, patch.width_mm, patch.height_mm),
            pitch_mm=patch.recipe.pitch_mm,
            angle_deg=patch.recipe.scan_angle_deg,
        )
        burning_s += fill_time_s(rows, patch.recipe, coupon.machine)
    return burning_s / 60 + HANDLING_MIN + READING_MIN * len(coupon.patches)


def _coupons(
    recipe: Recipe, machine: Machine, stock: Stock, sizes_mm: Sequence[tuple[float, float]]
) -> Iterable[Coupon]:
    """Every kind that tells of doses at every size that holds it; sizes that hold no more patches are left out."""
    for kind in OFFERED:
        most = 0
        for width, height in sorted(sizes_mm, key=lambda size: size[0] * size[1]):
            try:
                coupon = make_coupon(kind, stock, machine, width_mm=width, height_mm=height, recipe=recipe)
            except TainError:  # too small, or a recipe that nothing can be tried around
                continue
            if len(coupon.patches) > most:
                most = len(coupon.patches)
                yield coupon


class _Foresight:
    """What is held of machine and stock as draws, and which recipes would come out clean on each."""

    def __init__(self, recipe: Recipe, machine: Machine, stock: Stock) -> None:
        self._machine = machine
        beliefs = beliefs_of(machine, stock)
        self._model = Model(beliefs, machine, ())
        self._random = np.random.default_rng(7)
        scores = standard_scores(_DRAWS, 7)
        self._points = np.column_stack(
            [scores[:, : len(LEARNED)], self._random.standard_normal((_DRAWS, UNKNOWNS - len(LEARNED)))]
        )
        self._on_the_day = self._model.draws(self._points)
        self._of_scrap: dict[int, Draws] = {}
        scaled = self._model.scaled(self._points[:, : len(LEARNED)])
        self._clean = _clean(recipe, machine, draws_at(scaled, scores, machine))
        chances = self._clean.mean(0)
        self._best = int(np.argmax(chances))
        self.best_now = float(chances[self._best])

    def chance_after(self, coupon: Coupon) -> float:
        """The chance of a clean piece to be expected once the coupon is read."""
        scraps = np.linspace(0, _DRAWS - 1, _SCRAPS).astype(int)
        told = np.zeros((_SCRAPS, _DRAWS))
        for patch in coupon.patches:
            told += (
                self._lines(patch.recipe, scraps) if coupon.kind == "line-widths" else self._looks(patch.recipe, scraps)
            )
        told[np.arange(_SCRAPS), scraps] = -np.inf  # it must not recognise itself
        weights = np.exp(told - told.max(1, keepdims=True))
        weights /= weights.sum(1, keepdims=True)
        chosen = np.argmax(weights @ self._clean, axis=1)
        gain = self._clean[scraps, chosen].mean() - self._clean[scraps, self._best].mean()
        return min(1.0, self.best_now + float(gain))

    def _looks(self, recipe: Recipe, scraps: Indices) -> Floats:
        """Log-likelihood of what each scrap shows of a patch, under every draw (scraps, draws)."""
        energy = power_w(self._machine, recipe.power_pct) / recipe.speed_mm_s
        at, slope = log_limits(limits(recipe, self._machine, self._on_the_day)), self._model.slope(self._points)
        right = np.stack([look_likelihood(look, energy, at, slope) for look in OUTCOMES])
        shares = (1 - WRONG_SHARE) * np.clip(right, 0.0, 1.0) + WRONG_SHARE / len(right)
        rising = np.cumsum(shares[:, scraps], axis=0)
        seen = (self._random.random(_SCRAPS) * rising[-1] > rising).sum(0)
        result: Floats = np.log(shares[np.minimum(seen, len(right) - 1)])
        return result

    def _lines(self, recipe: Recipe, scraps: Indices) -> Floats:
        """The same of one line's width."""
        energy = power_w(self._machine, recipe.power_pct) / recipe.speed_mm_s
        slope, shared = self._model.slope(self._points), self._model.shared_error_mm(self._points)
        line = line_seen(recipe, energy, self._on_the_day, self._machine)
        found = np.empty((_SCRAPS, _DRAWS))
        for row, scrap in enumerate(scraps.tolist()):
            if scrap not in self._of_scrap:
                self._of_scrap[scrap] = self._model.draws(self._points[scrap : scrap + 1])
            width = self._model.read_width_mm(
                recipe, self._points[scrap : scrap + 1], self._random, draws=self._of_scrap[scrap]
            )
            right = width_likelihood(width, line, slope, shared)
            found[row] = (1 - WRONG_SHARE) * right + WRONG_SHARE * (0.5 / MOST_WIDTH_MM if width > 0 else 0.5)
        return np.log(found)


def _clean(recipe: Recipe, machine: Machine, draws: Draws) -> Floats:
    """Whether each recipe of a grid of pitches and energies comes out clean on each draw (draws, recipes), 0 or 1."""
    spot = float(np.median(draws.spot_mm))
    lines = np.geomspace(MM_PER_INCH / (1.5 * spot), MM_PER_INCH / (0.15 * spot), _PITCHES)
    one = math.sqrt(math.pi / 8) * spot
    energies = np.geomspace(
        0.7 * float(np.median(draws.clearing_dose_j_mm2)) * one, 2 * float(np.median(draws.frosting_dose_j_mm2)) * one,
        _ENERGIES,
    )  # fmt: skip
    columns = []
    for pitch in MM_PER_INCH / lines:
        at = limits(recipe, machine, draws, pitch_mm=float(pitch))
        columns.append((energies >= at.clear[:, None]) & (energies < at.frost[:, None]))
    return np.hstack(columns).astype(float)
