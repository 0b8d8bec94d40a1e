"""A cause that a shop found, kept as a caution: plain data of the shop book."""

from dataclasses import dataclass
from typing import Literal

About = Literal["paint", "stock", "adhesive", "machine"]
"""What a caution is kept with."""
Relation = Literal["at most", "at least"]
ConditionFigure = Literal["wait_min", "coats", "wet_um", "cure_h", "pitch_mm"]
CONDITIONS: dict[ConditionFigure, str] = {
    "wait_min": "min between coats",
    "coats": "coats",
    "wet_um": "µm wet a coat",
    "cure_h": "h of cure",
    "pitch_mm": "mm pitch",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Condition:
    """One figure at or beyond which it came out wrong."""

    figure: ConditionFigure
    relation: Relation
    value: float

    @property
    def words(self) -> str:
        """``"at most 30 min between coats"``."""
        return f"{self.relation} {self.value:g} {CONDITIONS[self.figure]}"


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedCaution:
    """A cause that was found. about and name: of which paint, stock, adhesive or machine of the shop book.

    when: all that has to be so for it to come again; nothing for always. trial: its code, "" where none was done.
    text: the maker's own words, "" for those made of the rest. date: ISO or "".
    """

    about: About
    thing: str
    fault: str
    cause: str
    when: tuple[Condition, ...] = ()
    trial: str = ""
    text: str = ""
    date: str = ""

    @property
    def name(self) -> str:
        """The entry's name in the shop book."""
        return f"{self.thing}: {self.fault}, {self.cause}"

    @property
    def words(self) -> str:
        """In a sentence, with the trial behind it."""
        told = self.text or f"here {self.thing} showed {self.fault.replace('-', ' ')}"
        if self.when and not self.text:
            told += f" with {' and '.join(condition.words for condition in self.when)}"
        return f"{told} (trial {self.trial})" if self.trial else told
