"""Where a job would repeat what came out wrong before, the shop's cautions speak up."""

import math
from collections.abc import Iterable

from core.artwork.drawing import Finding
from core.trouble.case import Case, PaintFacts
from core.trouble.caution import Condition, ConditionFigure, LearnedCaution


def speaks(caution: LearnedCaution, case: Case) -> bool:
    """Whether the case has that paint, stock, adhesive or machine, with figures as they were."""
    wanted = caution.thing.casefold()
    if caution.about == "paint":
        return any(
            paint.name.casefold() == wanted and all(_holds(one, case, paint) for one in caution.when)
            for paint in case.paints
        )
    has = {"stock": case.stock, "adhesive": case.adhesive, "machine": case.machine}[caution.about]
    return has.casefold() == wanted and all(_holds(one, case, None) for one in caution.when)


def repeated(case: Case, cautions: Iterable[LearnedCaution]) -> tuple[Finding, ...]:
    """A finding for each caution that the job would repeat."""
    findings = []
    for caution in cautions:
        if not speaks(caution, case):
            continue
        message = f"{caution.words[:1].upper()}{caution.words[1:]}. This job would repeat it."
        if caution.about in ("paint", "adhesive"):
            findings.append(Finding(code="came-out-wrong-before", message=message))
        else:
            findings.append(Finding(code="burned-wrong-before", message=message))
    return tuple(findings)


def _holds(condition: Condition, case: Case, paint: PaintFacts | None) -> bool:
    """False where the job does not say: a caution that may not fit is not cried."""
    value = _value(condition.figure, case, paint)
    if value is None or not math.isfinite(value):
        return False
    slack = 1e-6 * max(1.0, abs(condition.value))
    return value <= condition.value + slack if condition.relation == "at most" else value >= condition.value - slack


def _value(figure: ConditionFigure, case: Case, paint: PaintFacts | None) -> float | None:
    if figure == "pitch_mm":
        return max((fill.pitch_mm for fill in case.fills), default=None)
    if paint is None:
        return None
    if figure == "wait_min":
        return paint.wait_min
    return {"coats": float(paint.coats), "wet_um": paint.wet_film_um, "cure_h": paint.cure_h}[figure]
