"""Where a job would repeat what came out wrong before, the shop's cautions speak up."""

import math
from collections.abc import Iterable, Sequence

from core.artwork.drawing import Finding
from core.trouble.case.case import Case, PaintFacts
from core.trouble.case.noted import Noted
from core.trouble.causes.cause import Cause
from core.trouble.causes.caution import Condition, ConditionFigure, LearnedCaution, Relation
from core.trouble.faults import Fault


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


def caution_by_hand(
    case: Case, noted: Noted, cause: Cause, faults: Sequence[Fault], *, date: str = ""
) -> LearnedCaution | None:
    """The maker says it was this cause: a caution without a trial, of the thing that the cause is about.

    None where it is not known which thing that is. What was noted or ticked off becomes its condition, so that it
    speaks only where that would come again.
    """
    paints = [paint for paint in case.paints if not noted.paint or paint.name.casefold() == noted.paint.casefold()]
    paint = paints[0] if len(paints) == 1 else None
    named = paint.name if paint is not None else noted.paint
    thing = {"paint": named, "stock": case.stock, "adhesive": case.adhesive, "machine": case.machine}[cause.about]
    if not thing or not faults:
        return None
    return LearnedCaution(
        about=cause.about,
        thing=thing,
        fault=faults[0].code,
        cause=cause.code,
        when=_conditions(case, noted, cause, paint),
        date=date,
    )


_LIMITS: dict[str, tuple[tuple[str, ConditionFigure, Relation], ...]] = {
    "recoat-too-early": (("between_coats_min", "wait_min", "at most"),),
    "recoat-too-late": (("longest_between_coats_min", "wait_min", "at least"),),
    "coat-too-thick": (("wet_film_um", "wet_um", "at least"),),
    "too-few-coats": (("coats", "coats", "at most"),),
    "bonded-too-soon": (("cure_h", "cure_h", "at most"),),
}
"""Which figure makes a cause come again, and which way."""


def _conditions(case: Case, noted: Noted, cause: Cause, paint: PaintFacts | None) -> tuple[Condition, ...]:
    if cause.code == "pitch-too-wide" and case.fills:
        return (Condition(figure="pitch_mm", relation="at least", value=max(fill.pitch_mm for fill in case.fills)),)
    found = []
    for name, figure, relation in _LIMITS.get(cause.code, ()):
        value = noted.value(name)
        if value is None and paint is not None:
            value = {"wait_min": paint.ticked_wait_min, "coats": paint.ticked_coats}.get(figure)
            value = _value(figure, case, paint) if value is None else value
        if value is not None:
            found.append(Condition(figure=figure, relation=relation, value=float(value)))
    return tuple(found)


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
