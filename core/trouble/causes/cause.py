"""A cause and a piece of evidence, as plain values.

How common a cause is and how much a figure speaks for it are coarse steps, not measurements: common practice, no
source, unless an evidence names one.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from core.finishing.bonding import NO_SOURCE
from core.trouble.case.case import Case
from core.trouble.causes.caution import About

Commonness = Literal["usual", "sometimes", "seldom"]
Weight = Literal[-2, -1, 1, 2]
"""How a piece of evidence speaks: strongly against, against, for, strongly for."""

MODEL = "the dose model (J. M. Liu, Opt. Lett. 7, 196, 1982), with this stock's and machine's figures"
CAN = "the can's own words as noted in the paint"


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """What one figure of the job says about a cause, in words that hold the figure."""

    words: str
    weight: Weight
    source: str = NO_SOURCE


EvidenceOf = Callable[[Case], Evidence | None]
"""None where the job does not say."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One cause.

    faults: what it shows as, and how commonly. evidence: figures of the job. looks: codes of looks with what a yes
    says; a no says the opposite, one step weaker. rescue: what can be done with this piece; prevent: what to do
    another time. change: key of what Tain can change (``core.trouble.changes``), "" for nothing. factors: what a
    trial would vary. about: what a caution of it is kept with.
    """

    code: str
    name: str
    faults: tuple[tuple[str, Commonness], ...]
    rescue: str
    prevent: str
    evidence: tuple[EvidenceOf, ...] = ()
    looks: tuple[tuple[str, Weight], ...] = ()
    change: str = ""
    factors: tuple[str, ...] = ()
    about: About = "paint"
    source: str = NO_SOURCE


def evidence(words: str, weight: int, source: str = NO_SOURCE) -> Evidence | None:
    """The evidence, None for a weight of 0; weights beyond two steps count as two."""
    steps: dict[int, Weight] = {-2: -2, -1: -1, 1: 1, 2: 2}
    bounded = max(-2, min(2, weight))
    return Evidence(words=words, weight=steps[bounded], source=source) if bounded else None
