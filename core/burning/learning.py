"""What readings of scraps say of spot, doses and the two S, all together: Bayes by weighted draws.

A reading is an uncertain look, not a hard bound. Every patch gets a dose that scatters by itself; every width is read
with an error of its own and one that all of them share; now and then a reading is simply wrong. Those, and how far
power and focus were off on the day, are unknowns like the figures themselves, and are summed over. Draws are weighted
by how well they foretell what was seen, and drawn anew where the weight lies until they stand for it (adaptive
importance sampling: O. Cappé, A. Guillin, J. M. Marin, C. P. Robert, J. Comput. Graph. Stat. 13 (2004) 907; likelihood
raised in steps: R. M. Neal, Stat. Comput. 11 (2001) 125). Checked by simulation-based calibration (S. Talts and others
2018, arXiv 1804.06788): ``python -m tests.benchmarks learning``.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from core.burning.beam import Floats, Verdict, power_w
from core.burning.chance import OUTCOMES, Limits, limits, spots_at_coat_mm
from core.burning.machines import Machine
from core.burning.unknowns import LEARNED, Beliefs, Draws, draws_at
from core.sheet.recipes import Recipe

PATCH_SCATTER = 0.05
"""Standard deviation of a patch's dose, as a share of it; our own guess, learned along with the rest."""
SCATTER_DOUBT = 0.4
"""Standard deviation of the logarithm of that."""
READING_ERROR_MM = 0.002
"""Standard deviation of one width read through a loupe; our own guess."""
SHARED_ERROR_MM = 0.003
"""Standard deviation of the error that all widths of a reading share: how an edge is looked at, the loupe's scale."""
WRONG_SHARE = 0.03
"""So many readings are simply wrong."""
MOST_WIDTH_MM = 0.4
"""A wrong width is anywhere up to here."""
SEED = 20_240_612
UNKNOWNS = len(LEARNED) + 4
"""Those learned, then power and focus of the day, the shared reading error, the scatter of patches."""
_FIRST, _NEXT, _LAST = 4000, 2000, 4000
_MOST_ROUNDS, _WHOLE_ROUNDS = 14, 2
ENOUGH, LEAST_ENOUGH = 400, 250
"""Equal draws that the weighted ones are to be worth: more rounds short of the first, a walk short of the second."""
_WALKERS, _STEPS = 300, 300
_TAIL = 6.0
_PRIOR_SHARE = 0.1


@dataclass(frozen=True, slots=True, kw_only=True)
class LookSeen:
    """How a fill patch looks."""

    label: str
    recipe: Recipe
    look: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class LineSeen:
    """The width of a single line, mm; 0 where nothing was bared."""

    label: str
    recipe: Recipe
    width_mm: float


Seen = LookSeen | LineSeen


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Posterior:
    """What is held of the five figures after the readings.

    scaled (n, 5): on the scales of ``unknowns``, ``LEARNED`` order; weights (n,) add to 1. shared_error_mm (n,).
    wrong (readings,): how likely each reading is wrong, in the order given. effective: how many equal draws the
    weighted ones are worth.
    """

    scaled: Floats
    weights: Floats
    shared_error_mm: Floats
    scatter: Floats
    wrong: tuple[float, ...]
    effective: float

    def beliefs(self) -> Beliefs:
        """Mean and covariance on the scales."""
        means = self.weights @ self.scaled
        apart = self.scaled - means
        covariance = (apart * self.weights[:, None]).T @ apart
        return Beliefs(means=means, covariance=covariance + 1e-10 * np.eye(len(LEARNED)))

    def quantiles(self, column: int, shares: Sequence[float]) -> Floats:
        """Weighted quantiles of one figure, on its scale."""
        return weighted_quantiles(self.scaled[:, column], self.weights, shares)


def weighted_quantiles(values: Floats, weights: Floats, shares: Sequence[float]) -> Floats:
    """Quantiles of weighted values."""
    order = np.argsort(values)
    rising = np.cumsum(weights[order]) - weights[order] / 2
    result: Floats = np.interp(shares, rising / weights.sum(), values[order])
    return result


def learn(prior: Beliefs, machine: Machine, seen: Sequence[Seen], *, seed: int = SEED) -> Posterior:
    """The beliefs after these readings of one scrap. The same readings give the same answer."""
    random = np.random.default_rng(seed)
    model = Model(prior, machine, seen)
    points = random.standard_normal((_FIRST, UNKNOWNS))
    log_prior = _log_normal(points)
    told = model.log_likelihood(points)
    power, log_proposal = 0.0, log_prior
    whole = 0  # rounds with the whole likelihood
    for _ in range(_MOST_ROUNDS):
        power = _next_power(told, log_prior - log_proposal, power)
        weights = _weights(log_prior - log_proposal + power * told)
        mean, spread = _moments(points, weights)
        whole += power >= 1.0
        points = _proposed(random, mean, spread, _LAST if whole >= _WHOLE_ROUNDS else _NEXT)
        log_prior, log_proposal = _log_normal(points), _log_proposal(points, mean, spread)
        told = model.log_likelihood(points)
        weights = _weights(log_prior - log_proposal + told)
        if whole >= _WHOLE_ROUNDS and (weights**2).sum() < 1 / ENOUGH:
            break
    if (weights**2).sum() > 1 / LEAST_ENOUGH:  # ridges that no ellipsoid follows
        points = _walked(random, points[random.choice(len(points), _WALKERS, p=weights)], model)
        weights = np.full(len(points), 1 / len(points))
    learned = points[:, : len(LEARNED)]
    return Posterior(
        scaled=model.scaled(learned),
        weights=weights,
        shared_error_mm=SHARED_ERROR_MM * points[:, -2],
        scatter=_scatter(points),
        wrong=tuple(float(weights @ share) for share in model.wrong_shares(points)),
        effective=float(1 / (weights**2).sum()),
    )


class Model:
    """How likely what was seen is, for points (n, 9) of standard normal unknowns."""

    def __init__(self, prior: Beliefs, machine: Machine, seen: Sequence[Seen]) -> None:
        self._machine, self._seen = machine, seen
        self._means = prior.means
        self._root = np.linalg.cholesky(prior.covariance)
        self._energies = [power_w(machine, one.recipe.power_pct) / one.recipe.speed_mm_s for one in seen]

    def scaled(self, points: Floats) -> Floats:
        """The learned figures on their scales."""
        result: Floats = self._means + points @ self._root.T
        return result

    def draws(self, points: Floats) -> Draws:
        """Machine and stock of each point; lines stray as they do at the middle of chance."""
        scores = np.zeros((len(points), 8))
        scores[:, 5:7] = points[:, 5:7]
        return draws_at(self.scaled(points[:, : len(LEARNED)]), scores, self._machine)

    def slope(self, points: Floats) -> Floats:
        """Slope of the logistic distribution of the patches' doses (n,)."""
        return math.pi / (math.sqrt(3) * _scatter(points))

    def shared_error_mm(self, points: Floats) -> Floats:
        """Error that all widths share (n,)."""
        result: Floats = SHARED_ERROR_MM * points[:, -2]
        return result

    def read_width_mm(
        self, recipe: Recipe, point: Floats, random: np.random.Generator, *, draws: Draws | None = None
    ) -> float:
        """The width that one line of one machine and stock (1, 9) would be read as, with the model's own errors.

        draws: of the point, where they are known.
        """
        draws, wrong = self.draws(point) if draws is None else draws, random.random() < WRONG_SHARE
        dose = math.exp(float(_scatter(point)[0]) * math.sqrt(3) / math.pi * random.logistic())
        if wrong:
            return random.random() * MOST_WIDTH_MM if random.random() < 0.5 else 0.0
        w = float(spots_at_coat_mm(recipe, self._machine, draws)[0]) / 2
        hits = recipe.passes ** (1 - float(draws.coat_s[0]))
        energy = power_w(self._machine, recipe.power_pct) / recipe.speed_mm_s
        peak = energy * dose * float(draws.power_share[0]) * hits * math.sqrt(2 / math.pi) / w
        over = math.log(peak / float(draws.clearing_dose_j_mm2[0]))
        if over <= 0:
            return 0.0
        read_mm = float(self.shared_error_mm(point)[0]) + READING_ERROR_MM * random.standard_normal()
        return max(w * math.sqrt(2 * over) + read_mm, 1e-4)

    def log_likelihood(self, points: Floats) -> Floats:
        """(n,)."""
        total = np.zeros(len(points))
        for right, wrong in self._each(points):
            total += np.log((1 - WRONG_SHARE) * right + WRONG_SHARE * wrong)
        return total

    def wrong_shares(self, points: Floats) -> list[Floats]:
        """For each reading how likely it is wrong, (n,)."""
        return [WRONG_SHARE * bad / ((1 - WRONG_SHARE) * good + WRONG_SHARE * bad) for good, bad in self._each(points)]

    def _each(self, points: Floats) -> list[tuple[Floats, float]]:
        """For each reading: its likelihood if it is right (n,), and if it is wrong."""
        draws, slope = self.draws(points), self.slope(points)
        shared_error_mm = self.shared_error_mm(points)
        looks: dict[tuple[float, int, float], LogLimits] = {}
        lines: dict[tuple[float, int, float], Line] = {}
        found = []
        for one, energy in zip(self._seen, self._energies, strict=True):
            recipe = one.recipe
            if isinstance(one, LineSeen):
                line_of = (energy, recipe.passes, recipe.focus_mm)
                if line_of not in lines:
                    lines[line_of] = line_seen(recipe, energy, draws, self._machine)
                right = width_likelihood(one.width_mm, lines[line_of], slope, shared_error_mm)
                found.append((right, 0.5 / MOST_WIDTH_MM if one.width_mm > 0 else 0.5))
                continue
            alike = (recipe.pitch_mm, recipe.passes, recipe.focus_mm)
            if alike not in looks:
                looks[alike] = log_limits(limits(recipe, self._machine, draws))
            found.append((look_likelihood(one.look, energy, looks[alike], slope), 1 / len(OUTCOMES)))
        return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LogLimits:
    """Logarithms of ``Limits``, what frosts told first (n,)."""

    reach: Floats
    clear: Floats
    frost: Floats


def log_limits(at: Limits) -> LogLimits:
    """Once for all patches that differ in power and speed only."""
    reach, clear, frost = (
        np.log(np.minimum(limit, 1e300))
        for limit in (np.minimum(at.reach, at.frost), np.minimum(at.clear, at.frost), at.frost)
    )
    return LogLimits(reach=reach, clear=clear, frost=frost)


def look_likelihood(look: Verdict, energy_j_mm: float, at: LogLimits, slope: Floats) -> Floats:
    """How likely a look is for a patch whose dose scatters (logistic), (n,)."""
    log_energy = math.log(max(energy_j_mm, 1e-300))

    def below(log_limit: Floats) -> Floats:
        result: Floats = scipy.special.expit(slope * (log_limit - log_energy))
        return result

    match look:
        case "clean":
            return below(at.frost) - below(at.clear)
        case "leaves lines":
            return below(at.clear) - below(at.reach)
        case "frosts":
            return 1 - below(at.frost)
        case "not reached":
            return below(at.reach)


_NODES, _NODE_WEIGHTS = np.polynomial.hermite_e.hermegauss(11)
_NODE_WEIGHTS /= math.sqrt(2 * math.pi)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Line:
    """A single line: half its spot mm, and the logarithm of its peak over the clearing dose (n,)."""

    w: Floats
    over: Floats


def line_seen(recipe: Recipe, energy_j_mm: float, draws: Draws, machine: Machine) -> Line:
    """Once for all widths that are read of it."""
    w = spots_at_coat_mm(recipe, machine, draws) / 2
    adding = recipe.passes ** (1 - draws.coat_s)
    peak = energy_j_mm * draws.power_share * adding * math.sqrt(2 / math.pi) / w
    return Line(w=w, over=np.log(np.maximum(peak, 1e-300) / draws.clearing_dose_j_mm2))


def width_likelihood(width_mm: float, line: Line, slope: Floats, shared_error_mm: Floats) -> Floats:
    """Density of a line's width, 1/mm, or how likely it is that nothing was bared (n,).

    ``W = w √(2 ln(D/D_th))`` (Liu 1982) with a dose that scatters, plus the reading's own error and the shared one; the
    own error by Gauss's quadrature.
    """
    if width_mm <= 0:
        nothing: Floats = scipy.special.expit(-slope * line.over)
        return nothing
    w2 = line.w**2
    widths = np.maximum(width_mm - shared_error_mm - READING_ERROR_MM * _NODES[:, None], 0.0)
    tail = widths * widths
    tail *= slope / (2 * w2)
    tail -= slope * line.over
    np.exp(np.negative(np.abs(tail, out=tail), out=tail), out=tail)
    widths *= tail
    tail += 1
    widths /= tail
    widths /= tail  # the logistic density is e / (1 + e)²
    result: Floats = _NODE_WEIGHTS @ widths * slope / w2
    return result


def _scatter(points: Floats) -> Floats:
    result: Floats = PATCH_SCATTER * np.exp(SCATTER_DOUBT * points[:, -1])
    return result


def _next_power(told: Floats, log_ratio: Floats, power: float) -> float:
    """How far the likelihood can be raised with a sixth of the draws still counting."""
    wanted = len(told) / 6

    def effective(trial: float) -> float:
        weights = _weights(log_ratio + trial * told)
        return float(1 / (weights**2).sum())

    if effective(1.0) >= wanted:
        return 1.0
    low, high = power, 1.0
    for _ in range(30):
        middle = (low + high) / 2
        low, high = (middle, high) if effective(middle) >= wanted else (low, middle)
    return max(low, min(1.0, power + 0.02))


def _weights(log_weights: Floats) -> Floats:
    weights: Floats = np.exp(log_weights - log_weights.max())
    weights /= weights.sum()
    return weights


def _moments(points: Floats, weights: Floats) -> tuple[Floats, Floats]:
    mean = weights @ points
    apart = points - mean
    spread = (apart * weights[:, None]).T @ apart
    return mean, 1.15 * spread + 1e-6 * np.eye(len(mean))


def _proposed(random: np.random.Generator, mean: Floats, spread: Floats, count: int) -> Floats:
    """Student's t around the mean, and a few draws of the prior, so that nothing likely is out of reach."""
    size = len(mean)
    normal = random.standard_normal((count, size))
    tails = np.sqrt(_TAIL / random.chisquare(_TAIL, count))
    points: Floats = mean + tails[:, None] * (normal @ np.linalg.cholesky(spread).T)
    prior = random.random(count) < _PRIOR_SHARE
    points[prior] = normal[prior]
    return points


def _walked(random: np.random.Generator, points: Floats, model: Model) -> Floats:
    """Points that a population has walked to, each step along the difference of two others (Markov chain).

    C. J. F. ter Braak, Stat. Comput. 16 (2006) 239: differential evolution; every tenth step the whole difference.
    """
    count, size = points.shape
    height = _log_normal(points) + model.log_likelihood(points)
    kept = []
    for step in range(_STEPS):
        first, second = (random.permutation(count) for _ in range(2))
        reach = 1.0 if step % 10 == 0 else 2.38 / math.sqrt(2 * size)
        trial = points + reach * (points[first] - points[second]) + 1e-4 * random.standard_normal(points.shape)
        trial_height = _log_normal(trial) + model.log_likelihood(trial)
        accepted = np.log(random.random(count)) < trial_height - height
        points, height = np.where(accepted[:, None], trial, points), np.where(accepted, trial_height, height)
        if step >= _STEPS // 2 and step % 10 == 9:
            kept.append(points)
    return np.concatenate(kept)


def _log_normal(points: Floats) -> Floats:
    result: Floats = -0.5 * (points**2).sum(1) - 0.5 * points.shape[1] * math.log(2 * math.pi)
    return result


def _log_proposal(points: Floats, mean: Floats, spread: Floats) -> Floats:
    size = len(mean)
    root = np.linalg.cholesky(spread)
    distance = (np.linalg.solve(root, (points - mean).T) ** 2).sum(0)
    tail: Floats = (
        scipy.special.gammaln((_TAIL + size) / 2)
        - scipy.special.gammaln(_TAIL / 2)
        - 0.5 * size * math.log(_TAIL * math.pi)
        - np.log(np.diag(root)).sum()
        - 0.5 * (_TAIL + size) * np.log1p(distance / _TAIL)
    )
    result: Floats = np.logaddexp(math.log(1 - _PRIOR_SHARE) + tail, math.log(_PRIOR_SHARE) + _log_normal(points))
    return result
