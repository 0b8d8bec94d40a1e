"""What is not known for certain of a machine and a stock, how far it may lie off, and seeded draws of it.

Five figures are learned from scraps: spot, clearing and frosting dose, and the two exponents S that say how hits add
up in the coat and in the sheet behind it. Each is held on a *scale* on which its doubt is a normal one: the logarithm
of spot and doses, the logit of an S between its bounds. What differs from job to job and can't be learned (power,
focus, where lines fall) is drawn beside them.
"""

import math
from dataclasses import dataclass, replace
from functools import cache
from statistics import NormalDist
from typing import Any, Literal, TypeVar

import numpy as np
from numpy.typing import NDArray

from core.burning.beam import Floats
from core.burning.machines import Machine
from core.sheet.recipes import Origin
from core.sheet.stock import Stock

Profile = TypeVar("Profile", Machine, Stock)
Unknown = Literal["spot", "clearing dose", "frosting dose", "coat's S", "sheet's S", "power", "focus", "line placement"]

LEARNED: tuple[Unknown, ...] = ("spot", "clearing dose", "frosting dose", "coat's S", "sheet's S")
"""What scraps tell, in the order of every array of beliefs."""
DRAWN: tuple[Unknown, ...] = (*LEARNED, "power", "focus", "line placement")
"""What is drawn, in the order of the columns of ``Draws.scores``."""
FIGURES = ("spot_mm", "clearing_dose_j_mm2", "frosting_dose_j_mm2", "coat_adding_s", "sheet_adding_s")
"""The fields of machine (the first) and stock that hold what is learned."""

DOSE_SHARE, SPOT_SHARE = 0.25, 0.10
"""Standard errors of figures that nobody measured, as a share of them; our own wide guess."""
LEAST_SHARE = 0.002
"""No figure is surer than this, whatever was read."""
MOST_SHARE = 3.0
"""Nor less sure, whatever a file says: of a spot or dose that may lie anywhere between a twentieth and twenty times."""
S_BOUNDS = {"coat_adding_s": (0.52, 1.0), "sheet_adding_s": (0.0, 1.0)}
"""Between which the S of coat and sheet lie. Below 0.52 the starting recipe would come out clean at 300 LPI at the best
figures, and common practice has it that it leaves lines (no source)."""
LINES_OF_A_FILL = 1000
"""So many neighbouring lines stand for a wide fill: the widest and the narrowest of their gaps count."""
DRAWS, SEED = 4096, 20_240_611
_STEEP = 1.702
"""Makes the logistic curve follow the normal distribution's to 0.01 (D. C. Haley 1952, quoted from memory), so that an
S of which nothing is known lies anywhere between its bounds alike."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Beliefs:
    """What is held of the five learned figures: means (5,) and covariance (5, 5) on their scales, ``LEARNED`` order."""

    means: Floats
    covariance: Floats

    @property
    def errors(self) -> Floats:
        """Standard errors on the scales (5,)."""
        return np.sqrt(np.diag(self.covariance))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draws:
    """Equally likely states of machine and stock; every array (n,). ``scores`` (n, 8): standard normal, ``DRAWN``.

    power_share: real power over the set one. focus_error_mm: of the height. widest_gap, narrowest_gap: how many
    standard errors of a gap its most deviating ones lie off among ``LINES_OF_A_FILL``.
    """

    spot_mm: Floats
    clearing_dose_j_mm2: Floats
    frosting_dose_j_mm2: Floats
    coat_s: Floats
    sheet_s: Floats
    power_share: Floats
    focus_error_mm: Floats
    gap_deviation: Floats
    scores: Floats

    def __len__(self) -> int:
        """How many."""
        return len(self.spot_mm)


def figure_origin(profile: Machine | Stock, name: str) -> Origin:
    """Where one figure of a profile comes from."""
    return dict(profile.figure_origins).get(name, profile.origin)


def with_figure(profile: Profile, name: str, value: float, origin: Origin) -> Profile:
    """A machine or stock with one figure set, and where it came from noted."""
    origins = {**dict(profile.figure_origins), name: origin}
    changes: dict[str, Any] = {name: value, "figure_origins": tuple(origins.items())}
    if isinstance(profile, Stock) and origin.kind != "measured":
        changes["learned_together"] = tuple(pair for pair in profile.learned_together if name not in pair[:2])
    return replace(profile, **changes)


def standard_error(profile: Machine | Stock, name: str) -> float:
    """How far a figure may lie off, in its unit: as measured, else the wide guess for figures nobody measured."""
    value: float = getattr(profile, name)
    error = measured_error(dict(profile.figure_origins).get(name, Origin()), name, value)
    if error:
        return max(error, LEAST_SHARE * value)
    if name in S_BOUNDS:
        return 1.0 / slope_at(name, to_scale(name, value))
    return (SPOT_SHARE if name == "spot_mm" else DOSE_SHARE) * value


def measured_error(origin: Origin, name: str, value: float) -> float:
    """The standard error that comes with a figure of that value, within what can be reckoned with; 0 for none."""
    error = origin.standard_error
    if error is None or not math.isfinite(error) or error <= 0:
        return 0.0
    return min(error, 1.0 if name in S_BOUNDS else MOST_SHARE * value)


def to_scale(name: str, value: float) -> float:
    """A figure on the scale on which its doubt is normal."""
    if name not in S_BOUNDS:
        return math.log(value)
    low, high = S_BOUNDS[name]
    share = min(max((value - low) / (high - low), 1e-6), 1 - 1e-6)
    return math.log(share / (1 - share)) / _STEEP


def from_scale(name: str, scaled: Floats) -> Floats:
    """Figures from their scale; same shape."""
    if name not in S_BOUNDS:
        figures: Floats = np.exp(scaled)
        return figures
    low, high = S_BOUNDS[name]
    result: Floats = low + (high - low) / (1 + np.exp(-_STEEP * np.clip(scaled, -40, 40)))
    return result


def slope_at(name: str, scaled: float) -> float:
    """d scale / d figure at a place of the scale."""
    if name not in S_BOUNDS:
        return math.exp(-scaled)
    low, high = S_BOUNDS[name]
    share = 1 / (1 + math.exp(-_STEEP * scaled))
    return 1 / (_STEEP * (high - low) * share * (1 - share))


def beliefs_of(machine: Machine, stock: Stock) -> Beliefs:
    """What the figures of machine and stock and their standard errors say, with the stock's correlations."""
    owners: tuple[Machine | Stock, ...] = (machine, stock, stock, stock, stock)
    means = np.array([to_scale(name, getattr(owner, name)) for owner, name in zip(owners, FIGURES, strict=True)])
    errors = np.array(
        [
            standard_error(owner, name) * slope_at(name, float(mean))
            for owner, name, mean in zip(owners, FIGURES, means, strict=True)
        ]
    )
    for at, name in enumerate(FIGURES):  # an S is never known less than not at all
        errors[at] = min(errors[at], 1.0) if name in S_BOUNDS else errors[at]
    return Beliefs(means=means, covariance=np.outer(errors, errors) * _correlation(stock, machine))


def _correlation(stock: Stock, machine: Machine) -> Floats:
    """The correlation matrix (5, 5) that the stock holds; none where it was learned on another machine."""
    matrix = np.eye(len(FIGURES))
    spot_is_its = stock.learned_on == machine.name and figure_origin(machine, "spot_mm").kind == "measured"
    for first, second, share in stock.learned_together:
        if "spot_mm" in (first, second) and not spot_is_its:
            continue
        if first in FIGURES and second in FIGURES and -1 < share < 1:
            i, j = FIGURES.index(first), FIGURES.index(second)
            matrix[i, j] = matrix[j, i] = share
    values, vectors = np.linalg.eigh(matrix)
    if values[0] < 1e-6:  # of figures changed one by one since
        matrix = vectors @ np.diag(np.maximum(values, 1e-6)) @ vectors.T
        scale = np.sqrt(np.diag(matrix))
        matrix = matrix / np.outer(scale, scale)
    return np.asarray(matrix, float)


def draws_of(beliefs: Beliefs, machine: Machine, *, count: int = DRAWS, seed: int = SEED) -> Draws:
    """Seeded draws: the same beliefs give the same draws, and near beliefs near draws."""
    return draws_at(scaled_draws(beliefs, count=count, seed=seed), standard_scores(count, seed), machine)


def scaled_draws(beliefs: Beliefs, *, count: int = DRAWS, seed: int = SEED) -> Floats:
    """The five learned figures on their scales (count, 5)."""
    scores = standard_scores(count, seed)[:, : len(LEARNED)]
    result: Floats = beliefs.means + scores @ np.linalg.cholesky(beliefs.covariance).T
    return result


def draws_at(scaled: Floats, scores: Floats, machine: Machine) -> Draws:
    """The draws whose learned figures lie there on their scales (n, 5); the rest by its scores (n, 8)."""
    spot, clearing, frosting, coat_s, sheet_s = (from_scale(name, scaled[:, k]) for k, name in enumerate(FIGURES))
    return Draws(
        spot_mm=spot,
        clearing_dose_j_mm2=clearing,
        frosting_dose_j_mm2=frosting,
        coat_s=coat_s,
        sheet_s=sheet_s,
        power_share=np.exp(machine.power_error_pct / 100 * scores[:, 5]),
        focus_error_mm=machine.focus_error_mm * scores[:, 6],
        gap_deviation=_most_of_many(scores[:, 7]),
        scores=scores,
    )


@cache
def _scores(count: int, seed: int) -> Floats:
    """Standard normal scores (count, 8), a Latin hypercube: every column takes each of ``count`` equal strata once.

    M. D. McKay, R. J. Beckman, W. J. Conover, Technometrics 21 (1979) 239.
    """
    random = np.random.default_rng(seed)
    normal = NormalDist()
    strata = np.array([normal.inv_cdf((k + 0.5) / count) for k in range(count)])
    columns = np.column_stack([random.permutation(strata) for _ in DRAWN])
    columns.flags.writeable = False
    return columns


def standard_scores(count: int = DRAWS, seed: int = SEED) -> Floats:
    """Standard normal scores (count, 8), one column for each of ``DRAWN``; the same every time."""
    return _scores(count, seed)


def _most_of_many(scores: Floats) -> Floats:
    """The largest of ``LINES_OF_A_FILL`` standard normal deviations, one for each score; rising with it."""
    table_x, table_y = _most_table()
    result: Floats = np.interp(scores, table_x, table_y)
    return result


@cache
def _most_table() -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """By the distribution of an extreme: P(all below z) = Φ(z)^n."""
    normal = NormalDist()
    x = np.linspace(-4.5, 4.5, 181)
    return x, np.array([normal.inv_cdf(normal.cdf(float(one)) ** (1 / LINES_OF_A_FILL)) for one in x])
