"""Causes of what is seen, likeliest first, by odds that anybody can follow.

A cause starts with a weight for how commonly it shows so; each piece of evidence multiplies it. What is not listed
keeps a weight, too, so that the shares never add up to certainty. The steps are ours, coarse on purpose: they rank, and
their shares are told as words. Independent pieces of evidence multiply their odds (Bayes' rule, odds form).
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from core.artwork.drawing import Finding
from core.trouble.case.case import Case
from core.trouble.causes.cause import Cause, Commonness, Evidence, Weight, evidence
from core.trouble.causes.caution import LearnedCaution
from core.trouble.causes.table import causes_of
from core.trouble.faults import Fault
from core.trouble.looks import BY_CODE as LOOKS
from core.trouble.looks import LookAt
from core.trouble.remembered import speaks

START: dict[Commonness, float] = {"usual": 4.0, "sometimes": 2.0, "seldom": 1.0}
NOT_LISTED = 1.0
"""Weight of what is not in the table; it takes part in the shares."""
UNSEEN = 0.25
"""For a fault that is seen and that the cause does not show as."""
TIMES: dict[Weight, float] = {-2: 0.2, -1: 0.5, 1: 2.0, 2: 4.0}
MOST_SHARE = 0.9
"""No share is told as more: nothing here is known better."""
Likely = Literal["most likely", "likely", "possible", "unlikely"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedCause:
    """A cause with what speaks for and against it. share: of all weights, 0 to ``MOST_SHARE``."""

    cause: Cause
    share: float
    likely: Likely
    evidence: tuple[Evidence, ...]

    @property
    def speaks_for(self) -> tuple[Evidence, ...]:
        """What makes it likelier, strongest first."""
        return tuple(sorted((one for one in self.evidence if one.weight > 0), key=lambda one: -one.weight))

    @property
    def speaks_against(self) -> tuple[Evidence, ...]:
        """What makes it less likely, strongest first."""
        return tuple(sorted((one for one in self.evidence if one.weight < 0), key=lambda one: one.weight))


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnosis:
    """What was seen, the causes likeliest first, looks that tell the first ones apart, and what does not go together.

    not_listed: the share that is left for what is not in the table.
    """

    faults: tuple[Fault, ...]
    causes: tuple[RankedCause, ...]
    not_listed: float
    looks: tuple[LookAt, ...]
    findings: tuple[Finding, ...] = ()


def ranked(case: Case, faults: Sequence[Fault], learned: Iterable[LearnedCaution] = ()) -> Diagnosis:
    """The diagnosis of one or more faults of one piece. learned: cautions of the shop book."""
    learned = tuple(learned)
    codes = [fault.code for fault in faults]
    weighed = [(cause, _evidence(case, cause, codes, learned)) for cause in causes_of(codes)]
    weights = [_start(cause, codes) * _odds(found) for cause, found in weighed]
    whole = sum(weights) + NOT_LISTED
    rows = sorted(zip(weights, weighed, strict=True), key=lambda row: -row[0])
    causes = tuple(_ranked(cause, min(weight / whole, MOST_SHARE), found) for weight, (cause, found) in rows)
    return Diagnosis(
        faults=tuple(faults),
        causes=causes,
        not_listed=NOT_LISTED / whole,
        looks=telling_looks(case, causes),
        findings=_findings(case, causes),
    )


def telling_looks(case: Case, causes: Sequence[RankedCause], *, most: int = 4) -> tuple[LookAt, ...]:
    """The looks not taken yet whose answer would part the likely causes most, best first."""
    likely = [one for one in causes if one.share >= 0.04][:6]
    answered = {look.code for look in case.noted.looks}
    parted = []
    for code, look in LOOKS.items():
        if code in answered:
            continue
        whole = sum(one.share for one in likely) or 1.0
        yes = [TIMES[dict(one.cause.looks)[code]] if code in dict(one.cause.looks) else 1.0 for one in likely]
        mean = sum(one.share * odds for one, odds in zip(likely, yes, strict=True)) / whole
        gain = sum(one.share * abs(odds - mean) for one, odds in zip(likely, yes, strict=True))
        if gain > 0.05:
            parted.append((gain, look))
    return tuple(look for _, look in sorted(parted, key=lambda one: -one[0])[:most])


def _start(cause: Cause, codes: Sequence[str]) -> float:
    shows = dict(cause.faults)
    weight = 1.0
    for code in codes:
        weight *= START[shows[code]] if code in shows else UNSEEN
    return weight


def _odds(found: Iterable[Evidence]) -> float:
    odds = 1.0
    for one in found:
        odds *= TIMES[one.weight]
    return odds


def _evidence(
    case: Case, cause: Cause, codes: Sequence[str], learned: tuple[LearnedCaution, ...]
) -> tuple[Evidence, ...]:
    found = [says(case) for says in cause.evidence]
    found += [_of_look(case, code, weight) for code, weight in cause.looks]
    found += [_of_shop(case, cause, codes, one) for one in learned]
    return tuple(one for one in found if one is not None)


def _of_look(case: Case, code: str, weight: Weight) -> Evidence | None:
    """An answer; a no says the opposite, one step weaker."""
    answer = case.noted.answer(code)
    if answer is None:
        return None
    words = f"{LOOKS[code].question} {'Yes' if answer else 'No'}."
    says = weight if answer else -(weight - 1 if weight > 0 else weight + 1)
    return evidence(words, says, f"seen ({LOOKS[code].tool}); what it says is common practice, no source")


def _of_shop(case: Case, cause: Cause, codes: Sequence[str], caution: LearnedCaution) -> Evidence | None:
    """What a trial of this shop found of the same paint, stock, adhesive or machine."""
    if caution.cause != cause.code or caution.fault not in codes or not speaks(caution, case):
        return None
    return evidence(caution.words, 2, f"trial {caution.trial} of this shop" if caution.trial else "noted in this shop")


def _ranked(cause: Cause, share: float, found: tuple[Evidence, ...]) -> RankedCause:
    return RankedCause(cause=cause, share=share, likely=_word(share, found), evidence=found)


def _word(share: float, found: Iterable[Evidence]) -> Likely:
    """In a word; "most likely" only where something of this very piece speaks for it, not the table alone."""
    if share >= 0.55 and any(one.weight > 0 for one in found):
        return "most likely"
    return "likely" if share >= 0.3 else "possible" if share >= 0.08 else "unlikely"


def _findings(case: Case, causes: Sequence[RankedCause]) -> tuple[Finding, ...]:
    """Marks that do not go together, and names that are not known: told, never guessed over."""
    findings = []
    for code in case.noted.contradicted:
        message = f"“{LOOKS[code].question}” was answered yes and no: neither counts until one is taken back."
        findings.append(Finding(code="marks-contradict", message=message))
    if case.noted.paint and not case.paints_meant:
        message = f"{case.noted.paint} is no paint of this job: what is known of its own figures is left out."
        findings.append(Finding(code="paint-not-known", message=message))
    if causes and all(any(one.weight == -2 for one in cause.evidence) for cause in causes):
        message = "Something speaks strongly against every cause that is listed: look again, or it is another one."
        findings.append(Finding(code="no-cause-fits", message=message, severity="note"))
    if not case.known:
        message = "There is no job: only what is usual, and what was noted, counts."
        findings.append(Finding(code="no-job", message=message, severity="note"))
    return tuple(findings)
