"""What a trial can vary, and which way each is expected to do harm. The directions are common practice, no source."""

from dataclasses import dataclass
from typing import Literal

from core.errors import UnreadableError
from core.units import pitch_mm_from_lpi

FactorName = Literal[
    "coats", "wait_min", "wet_um", "primer", "scan_angle_deg", "pitch_mm", "paint", "wipe_down", "cured_edges"
]
Worse = Literal["low", "high", "either"]
"""Which end of a factor is expected to come out worse; "no" is low, "yes" is high."""
Sort = Literal["number", "count", "switch", "name"]
LEAST_LEVELS, MOST_LEVELS, MOST_FACTORS = 2, 4, 2

STARTING_LEVELS: dict[str, str] = {
    "coats": "2, 3", "wait_min": "10, 60", "wet_um": "40, 80", "primer": "no, yes", "scan_angle_deg": "0, 90",
    "pitch_mm": "0.0423, 0.0847", "paint": "", "wipe_down": "no, yes", "cured_edges": "no, yes",
}  # fmt: skip
"""Where levels start. Common practice or plain guesses: the maker writes the own ones."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FactorKind:
    """What can be varied. words: for people; worse: fault to the end that is expected to show it more."""

    name: FactorName
    words: str
    sort: Sort
    unit: str = ""
    least: float = 0.0
    most: float = 0.0
    worse: tuple[tuple[str, Worse], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Factor:
    """One factor of a trial with its levels in order, as texts. worse is fixed before anything is painted."""

    name: FactorName
    levels: tuple[str, ...]
    worse: Worse = "either"

    @property
    def kind(self) -> FactorKind:
        """What is known of it."""
        return KINDS[self.name]

    @property
    def ordered(self) -> bool:
        """Whether its levels have an order."""
        return self.kind.sort != "name"

    @property
    def words(self) -> str:
        """What is varied, with its levels."""
        return f"{self.kind.words}: {', '.join(self.levels)}{f' {self.kind.unit}' if self.kind.unit else ''}"

    def level_words(self, level: str) -> str:
        """``"wait 10 min"``, ``"no primer"``, ``"navy"``."""
        kind = self.kind
        if kind.sort == "switch":
            return f"{'with' if level == 'yes' else 'no'} {kind.words}"
        if kind.sort == "name":
            return level
        return f"{kind.words} {level}{'' if kind.unit in ('', '°') else ' '}{kind.unit}"


def _kinds(*kinds: FactorKind) -> dict[FactorName, FactorKind]:
    return {kind.name: kind for kind in kinds}


KINDS: dict[FactorName, FactorKind] = _kinds(
    FactorKind(
        name="coats", words="coats", sort="count", least=1, most=9,
        worse=(("cracked", "high"), ("wrinkled", "high"), ("showing-through", "low"), ("patchy", "low"),
               ("pinholes", "low")),
    ),
    FactorKind(
        name="wait_min", words="wait", sort="number", unit="min", least=0, most=20_000,
        worse=(("cracked", "low"), ("wrinkled", "low"), ("dull", "low"), ("bled", "low"), ("mask-ghost", "low"),
               ("peeling", "high")),
    ),
    FactorKind(
        name="wet_um", words="wet film", sort="number", unit="µm", least=1, most=2_000,
        worse=(("cracked", "high"), ("wrinkled", "high"), ("bled", "high"), ("pinholes", "high"), ("dull", "high"),
               ("showing-through", "low")),
    ),
    FactorKind(name="primer", words="primer", sort="switch", worse=(("peeling", "low"), ("patchy", "low"))),
    FactorKind(name="scan_angle_deg", words="scan angle", sort="number", unit="°", least=-360, most=360),
    FactorKind(
        name="pitch_mm", words="pitch", sort="number", unit="mm", least=0.01, most=25.4,
        worse=(("scan-lines", "high"), ("frosted", "low"), ("dull", "low")),
    ),
    FactorKind(name="paint", words="paint", sort="name"),
    FactorKind(
        name="wipe_down", words="wipe-down", sort="switch",
        worse=(("peeling", "low"), ("pinholes", "low"), ("patchy", "low"), ("mask-ghost", "low")),
    ),
    FactorKind(name="cured_edges", words="rest of the cut edge", sort="switch", worse=(("crazing", "low"),)),
)  # fmt: skip
BURNED: tuple[FactorName, ...] = ("scan_angle_deg", "pitch_mm")
"""What is varied in the burn and not in the paint."""


def factor_from(text: str, fault: str, worse: Worse | None = None) -> Factor:
    """``"coats=1,2,3"``, ``"wipe_down=yes,no"``, ``"lpi=300,600"`` as a factor. Raises UnreadableError.

    worse: which end is expected to do harm; what is usual for the fault where None.
    """
    name, equals, levels = text.partition("=")
    name = name.strip().casefold().replace("-", "_")
    parts = [part.strip() for part in levels.split(",") if part.strip()]
    if name == "lpi":
        name, parts = "pitch_mm", [f"{pitch_mm_from_lpi(_number(part, name)):.4f}" for part in parts]
    kind = next((one for one in KINDS.values() if one.name == name), None)
    if kind is None or not equals:
        raise UnreadableError(
            f"“{text}” is no factor.", hint=f"Write NAME=LEVEL,LEVEL with one of: {', '.join(KINDS)}."
        )
    found = [_level(kind, part) for part in parts]
    if len(set(found)) < len(found):
        raise UnreadableError(f"A level of {kind.words} is there twice.", hint="Name each level once.")
    if not LEAST_LEVELS <= len(found) <= MOST_LEVELS:
        raise UnreadableError(
            f"{kind.words} has {len(found)} levels.", hint=f"Give {LEAST_LEVELS} to {MOST_LEVELS}, parted by commas."
        )
    if kind.sort == "switch":
        found = ["no", "yes"]
    elif kind.sort != "name":
        found = sorted(found, key=float)
    usual = dict(kind.worse).get(fault, "either")
    chosen = (usual if worse is None else worse) if kind.sort != "name" else "either"
    return Factor(name=kind.name, levels=tuple(found), worse=chosen)


def worse_from(text: str) -> tuple[FactorName, Worse]:
    """``"wait_min=low"``: which end is expected to come out worse. Raises UnreadableError."""
    name, _, side = (part.strip().casefold().replace("-", "_") for part in text.partition("="))
    for kind in KINDS:
        for worse in ("low", "high", "either"):
            if (name, side) == (kind, worse):
                return kind, worse
    raise UnreadableError(f"“{text}” says no direction.", hint="Write NAME=low, NAME=high or NAME=either.")


def _level(kind: FactorKind, text: str) -> str:
    if kind.sort == "name":
        return text
    if kind.sort == "switch":
        if text.casefold() not in ("yes", "no"):
            raise UnreadableError(f"{kind.words} can't be {text}.", hint="It is yes or no.")
        return text.casefold()
    value = _number(text.removesuffix(kind.unit), kind.words)
    if not kind.least <= value <= kind.most or (kind.sort == "count" and value != int(value)):
        whole = "a whole number, " if kind.sort == "count" else ""
        raise UnreadableError(
            f"{kind.words} can't be {text}.", hint=f"Give {whole}{kind.least:g} to {kind.most:g} {kind.unit}.".rstrip()
        )
    return f"{value:g}"


def _number(text: str, what: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise UnreadableError(f"“{text}” is no number for {what}.", hint="Write it like 10.") from None
