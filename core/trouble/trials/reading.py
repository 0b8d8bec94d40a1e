"""What the marked patches say: counts, the chance of such a split by lot alone, how many patches would settle it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.artwork.drawing import Finding
from core.trouble.trials.exact import Grades, Table, difference_p, stratified_p, trend_p
from core.trouble.trials.factors import Factor
from core.trouble.trials.planning import side_of
from core.trouble.trials.power import LEVEL, MOST_EACH
from core.trouble.trials.scales import SCALES, severity
from core.trouble.trials.steps import waits_kept
from core.trouble.trials.trial import Trial


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelCount:
    """So many faulty patches of those read at one level."""

    level: str
    bad: int
    read: int
    mean_grade: float


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorReading:
    """What was read of one factor.

    p: chance of a split at least so uneven, were its levels alike; several factors and repeated reading are paid for in
    it. found: p is at most ``LEVEL`` and every level was read. worst: the level that came out worst, where found.
    more_patches: how many more, split the same way, would bring it there; None where none would, or it is there.
    """

    factor: Factor
    counts: tuple[LevelCount, ...]
    p: float
    test: str
    found: bool
    worst: str
    more_patches: int | None
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialReading:
    """All of it. unread, contradicted: labels of patches that count for nothing yet."""

    trial: Trial
    factors: tuple[FactorReading, ...]
    unread: tuple[str, ...]
    contradicted: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def complete(self) -> bool:
        """Whether every patch counts."""
        return not self.unread and not self.contradicted


def read_trial(trial: Trial) -> TrialReading:
    """What the marks say so far; half-read trials are told as such."""
    grades = {label: severity(trial.scale, trial.fault, grade) for label, grade in trial.grades().items()}
    contradicted = trial.contradicted
    unread = tuple(one.label for one in trial.patches if one.label not in grades and one.label not in contradicted)
    raw = [_p(trial, grades, factor) for factor in trial.factors]
    paid = _paid([p for p, _ in raw], trial.extended)
    complete = not unread and not contradicted
    factors = tuple(
        _factor(trial, grades, factor, p, test, complete)
        for factor, p, (_, test) in zip(trial.factors, paid, raw, strict=True)
    )
    return TrialReading(
        trial=trial, factors=factors, unread=unread, contradicted=contradicted,
        findings=_findings(trial, unread, contradicted),
    )  # fmt: skip


def _paid(chances: Sequence[float], extended: int) -> list[float]:
    """Chances with what looking several times costs: S. Holm, Scand. J. Statist. 6 (1979) 65, for several factors.

    Twice as much for every time that patches were added after reading, so that all looks together err at most 1 in 10.
    """
    paid, most = [0.0] * len(chances), 0.0
    for rank, place in enumerate(sorted(range(len(chances)), key=lambda place: chances[place])):
        most = max(most, min(1.0, (len(chances) - rank) * chances[place]))
        paid[place] = min(1.0, most * 2**extended)
    return paid


def _p(trial: Trial, grades: dict[str, int], factor: Factor) -> tuple[float, str]:
    """The chance of such a split by lot, and the test's name."""
    side = side_of(factor.worse)
    strata = _strata(trial, grades, factor)
    if not factor.ordered and len(factor.levels) > 2:
        return difference_p(strata, seed=trial.seed) if _any(strata) else 1.0, "permutation of the mean grades"
    if len(factor.levels) > 2:
        trend = {"greater": "less", "less": "greater"}.get(side, side)  # low worse: grades fall as the level rises
        p = trend_p(strata, trend, seed=trial.seed) if _any(strata) else 1.0  # type: ignore[arg-type]
        return p, "Jonckheere's trend, permuted"
    tables = [_table(levels, trial.limit) for levels in strata]
    name = "Fisher's exact test" if len(tables) == 1 else "Fisher's exact test at equal levels of the other factor"
    return stratified_p(tables, side) if tables else 1.0, name


def _any(strata: Sequence[Sequence[Grades]]) -> bool:
    return any(len(level) for stratum in strata for level in stratum)


def _table(levels: Sequence[Grades], limit: int) -> Table:
    first, second = levels[0], levels[-1]
    return Table(
        bad_first=int((first >= limit).sum()), first=len(first), bad_second=int((second >= limit).sum()),
        second=len(second),
    )  # fmt: skip


def _strata(trial: Trial, grades: dict[str, int], factor: Factor) -> list[list[Grades]]:
    """Grades by level of the factor, apart for each level of the other one."""
    place = trial.factors.index(factor)
    others = sorted({one.levels[:place] + one.levels[place + 1 :] for one in trial.patches})
    return [
        [
            np.array(
                [
                    grades[one.label]
                    for one in trial.patches
                    if one.label in grades
                    and one.levels[place] == level
                    and one.levels[:place] + one.levels[place + 1 :] == other
                ],
                dtype=np.int64,
            )
            for level in factor.levels
        ]
        for other in others
    ]


def _counts(trial: Trial, grades: dict[str, int], factor: Factor) -> tuple[LevelCount, ...]:
    place = trial.factors.index(factor)
    counts = []
    for level in factor.levels:
        own = [grades[one.label] for one in trial.patches if one.levels[place] == level and one.label in grades]
        bad = sum(grade >= trial.limit for grade in own)
        counts.append(LevelCount(level=level, bad=bad, read=len(own), mean_grade=sum(own) / len(own) if own else 0.0))
    return tuple(counts)


def _factor(trial: Trial, grades: dict[str, int], factor: Factor, p: float, test: str, complete: bool) -> FactorReading:
    counts = _counts(trial, grades, factor)
    found = complete and p <= LEVEL
    worst = max(counts, key=lambda one: (one.mean_grade, one.bad)).level if found else ""
    more = None if p <= LEVEL or not complete else _more_patches(trial, grades, factor)
    return FactorReading(
        factor=factor, counts=counts, p=p, test=test, found=found, worst=worst, more_patches=more,
        words=_words(trial, factor, counts, p, more, complete=complete),
    )  # fmt: skip


def _more_patches(trial: Trial, grades: dict[str, int], factor: Factor) -> int | None:
    """How many more, if they split as the ones so far, would bring the chance to ``LEVEL``, the next look paid for.

    Whole rounds of all levels are added, up to ``MOST_EACH`` at each. Of factors with two levels only.
    """
    if len(factor.levels) != 2 or not factor.ordered:
        return None
    counts = _counts(trial, grades, factor)
    if not all(count.read for count in counts):
        return None
    shares = [count.bad / count.read for count in counts]
    cost = 2 ** (trial.extended + 1) * len(trial.factors)
    for added in range(1, MOST_EACH + 1):
        bad = [share * (count.read + added) for share, count in zip(shares, counts, strict=True)]
        down, up = math.floor, math.ceil  # what is no whole patch counts against the difference
        first, second = (down, up) if shares[0] > shares[1] else (up, down)
        table = Table(
            bad_first=first(bad[0]), first=counts[0].read + added, bad_second=second(bad[1]),
            second=counts[1].read + added,
        )  # fmt: skip
        if stratified_p([table], side_of(factor.worse)) * cost <= LEVEL:
            return 2 * added
    return None


def _words(
    trial: Trial, factor: Factor, counts: Sequence[LevelCount], p: float, more: int | None, *, complete: bool
) -> str:
    told = "; ".join(
        f"{factor.level_words(one.level)}: {one.bad} of {one.read} {trial.seen if at == 0 else ''}".rstrip()
        for at, one in enumerate(counts)
    )
    if not any(one.read for one in counts):
        return f"{factor.kind.words}: nothing is read yet."
    way = " this way" if factor.worse != "either" else ""
    if any(one.bad > 0 for one in counts) or len(factor.levels) > 2:
        told += (
            f". If the {factor.kind.words} made no difference, a split at least so uneven{way} would come "
            f"{_times(p)} in 100"
        )
    else:
        told += ". No patch is faulty, so nothing speaks for a difference"
    if not complete:
        return f"{told}; not all patches count yet."
    if p <= LEVEL:
        return f"{told}: that counts as found. One trial in 20 without any difference would say so, too."
    return f"{told}; {more} more patches that split the same way would settle it." if more else f"{told}; not settled."


def _times(p: float) -> str:
    if p < 0.005:
        return "less than 1 time"
    times = round(100 * p)
    return "1 time" if times == 1 else f"{times} times"


def _findings(trial: Trial, unread: Sequence[str], contradicted: Sequence[str]) -> tuple[Finding, ...]:
    findings = []
    if contradicted:
        message = f"{', '.join(contradicted)}: graded in two ways; they count for nothing until one is taken back."
        findings.append(Finding(code="marks-contradict", message=message))
    if unread:
        message = f"{len(unread)} of {len(trial.patches)} patches are not read yet: {', '.join(unread)}."
        findings.append(Finding(code="trial-half-read", message=message, severity="note"))
    findings += [Finding(code="wait-not-kept", message=told) for told in waits_kept(trial)]
    if trial.extended:
        message = "Patches were added after reading: chances are told twice as high for each time."
        findings.append(Finding(code="trial-extended", message=message, severity="note"))
    findings.append(Finding(code="trial-scale", message=f"Judged by {SCALES[trial.scale].source}.", severity="note"))
    return tuple(findings)
