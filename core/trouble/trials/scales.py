"""Scales that patches are judged on. The standards' steps stand here from memory, shortened in our own words.

Their titles: ISO 4628 Paints and varnishes, evaluation of degradation of coatings: part 2 degree of blistering, part 4
degree of cracking, part 5 degree of flaking; ISO 2409 Paints and varnishes, cross-cut test. The standards win.
"""

from dataclasses import dataclass
from typing import Literal

from core.errors import UnreadableError

ScaleName = Literal["look", "cracking", "blistering", "flaking", "cross-cut", "fill"]
FROM_MEMORY = "steps from memory, in our own words; the standard wins"


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Grades from none to most; faulty: from which on a patch counts as faulty unless the trial says otherwise."""

    name: ScaleName
    title: str
    grades: tuple[str, ...]
    faulty: int
    source: str
    words: tuple[str, ...] = ()

    def grade_from(self, text: str) -> int:
        """A number or a word as a grade. Raises UnreadableError."""
        wanted = text.strip().casefold()
        if wanted.isdecimal() and len(wanted) < 4 and int(wanted) < len(self.grades):
            return int(wanted)
        if wanted in self.words:
            return self.words.index(wanted)
        known = ", ".join(self.words) if self.words else f"0 to {len(self.grades) - 1}"
        raise UnreadableError(f"“{text}” is no grade of {self.title}.", hint=f"It is one of {known}.")


_NUMBER = ("none that can be made out", "very few", "few, small but plain in number", "a moderate number",
           "a considerable number", "a dense pattern")  # fmt: skip

SCALES: dict[ScaleName, Scale] = {
    scale.name: scale
    for scale in (
        Scale(
            name="look", title="clean, slight, bad", grades=("nothing to see", "seen when looked for", "seen at once"),
            faulty=1, source="common practice, no source", words=("clean", "slight", "bad"),
        ),
        Scale(
            name="cracking", title="ISO 4628-4, quantity of cracks", grades=_NUMBER, faulty=2,
            source=f"ISO 4628-4, degree of cracking; {FROM_MEMORY}",
        ),
        Scale(
            name="blistering", title="ISO 4628-2, quantity of blisters", grades=_NUMBER, faulty=2,
            source=f"ISO 4628-2, degree of blistering, by its pictures; {FROM_MEMORY}",
        ),
        Scale(
            name="flaking", title="ISO 4628-5, flaked area",
            grades=("none", "about 0.1 % of the area", "about 0.3 %", "about 1 %", "about 3 %", "about 15 %"),
            faulty=2, source=f"ISO 4628-5, degree of flaking; {FROM_MEMORY}",
        ),
        Scale(
            name="cross-cut", title="ISO 2409, cross-cut",
            grades=("edges smooth, no square detached", "flakes at the crossings, not over 5 %",
                    "along edges and crossings, 5 to 15 %", "in ribbons and squares, 15 to 35 %",
                    "in ribbons and whole squares, 35 to 65 %", "more than that"),
            faulty=2, source=f"ISO 2409, classification 0 to 5; {FROM_MEMORY}",
        ),
        Scale(
            name="fill", title="look of a fill",
            grades=("clean", "lines of coat stay", "frosted", "nothing bared"), faulty=1,
            source="as coupons are read", words=("clean", "leaves lines", "frosts", "not reached"),
        ),
    )
}  # fmt: skip
_FILL_LOOKS: dict[str, tuple[int, ...]] = {"scan-lines": (1, 3), "frosted": (2,)}
"""Which grades of a fill's look are the fault."""
_OF_FAULT: dict[str, ScaleName] = {
    "cracked": "cracking", "peeling": "flaking", "joint-blisters": "blistering", "scan-lines": "look",
}  # fmt: skip


def scale_named(text: str) -> Scale:
    """The scale of that name. Raises UnreadableError."""
    for name, scale in SCALES.items():
        if name == text.strip().casefold():
            return scale
    raise UnreadableError(f"“{text}” is no scale.", hint=f"It is one of {', '.join(SCALES)}.")


def scale_of(fault: str, *, bare: bool = False) -> Scale:
    """The scale that fits a fault: a standard's where there is one; bared patches are judged as fills are."""
    return SCALES["fill" if bare and fault in _FILL_LOOKS else _OF_FAULT.get(fault, "look")]


def severity(scale: ScaleName, fault: str, grade: int) -> int:
    """How bad a grade is: itself, but for looks of a fill, which have no order: then 1 for the fault's own look."""
    if scale != "fill":
        return grade
    return int(grade in _FILL_LOOKS.get(fault, (1, 2, 3)))
