"""A diagnosis as plain data and as words."""

import textwrap
from typing import Any

from core.trouble.changes import Change
from core.trouble.ranking import Diagnosis, RankedCause

SURE = (
    "Shares rank causes; they are no measurement. What has no source is common practice. A trial on a scrap settles it."
)


def diagnosis_data(diagnosis: Diagnosis, changes: dict[str, Change]) -> dict[str, Any]:
    """What ``tain trouble --json`` prints. changes: by the cause's code."""
    return {
        "seen": [{"code": fault.code, "name": fault.name, "front": fault.front, "back": fault.back}
                 for fault in diagnosis.faults],
        "causes": [_cause_data(one, changes.get(one.cause.code)) for one in diagnosis.causes],
        "not_listed": round(diagnosis.not_listed, 3),
        "look_next": [{"code": look.code, "question": look.question, "tool": look.tool} for look in diagnosis.looks],
        "findings": [{"code": one.code, "severity": one.severity, "message": one.message}
                     for one in diagnosis.findings],
        "how_sure": SURE,
    }  # fmt: skip


def _cause_data(one: RankedCause, change: Change | None) -> dict[str, Any]:
    return {
        "code": one.cause.code,
        "name": one.cause.name,
        "share": round(one.share, 3),
        "likely": one.likely,
        "for": [{"words": item.words, "weight": item.weight, "source": item.source} for item in one.speaks_for],
        "against": [{"words": item.words, "weight": item.weight, "source": item.source}
                    for item in one.speaks_against],
        "rescue": one.cause.rescue,
        "next_time": one.cause.prevent,
        "change": None if change is None else {"key": change.key, "words": change.words},
        "trial_factors": list(one.cause.factors),
        "about": one.cause.about,
        "source": one.cause.source,
    }  # fmt: skip


def diagnosis_words(diagnosis: Diagnosis, changes: dict[str, Change], *, most: int = 5) -> str:
    """The diagnosis for people, the likeliest causes in full."""
    lines = [f"Seen: {'; '.join(fault.name for fault in diagnosis.faults)}."]
    lines += [f"{finding.severity}: {finding.message}" for finding in diagnosis.findings]
    for number, one in enumerate(diagnosis.causes[:most], start=1):
        lines.append(f"{number}. {one.cause.name} [{one.cause.code}]: {one.likely}.")
        lines += [f"   + {item.words} ({item.source})" for item in one.speaks_for]
        lines += [f"   - {item.words} ({item.source})" for item in one.speaks_against]
        lines += _wrapped("now: ", one.cause.rescue) + _wrapped("next time: ", one.cause.prevent)
        change = changes.get(one.cause.code)
        if change is not None:
            lines += _wrapped(f"Tain can change it (--change {one.cause.code}): ", change.words)
        lines.append(f"   {one.cause.source}")
    rest = diagnosis.causes[most:]
    if rest:
        lines.append(f"Less likely: {', '.join(one.cause.code for one in rest)}.")
    if diagnosis.looks:
        lines.append("To tell them apart, answer with --looked CODE=yes or CODE=no:")
        lines += [f"   {look.code}: {look.question} ({look.tool})" for look in diagnosis.looks]
    lines.append(SURE)
    return "\n".join(lines)


def _wrapped(head: str, text: str) -> list[str]:
    return textwrap.wrap(f"{head}{text}", 110, initial_indent="   ", subsequent_indent="     ")
