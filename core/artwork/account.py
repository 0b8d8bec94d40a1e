"""What became of all that a file holds, add by add: nothing read is lost.

Every shape has one fate; one that is an area and a line of another colour counts as two, each with its own. Areas and
lengths add up as well: what was read is what is burned, what takes no part, and what was united or dropped.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Literal

import shapely

from core.artwork.composing import LayerArtwork
from core.artwork.drawing import Drawing, Shape, SortOptions
from core.artwork.line_ids import whole_id
from core.artwork.painting import drawing_regions, painting_findings
from core.geometry.flattening import path_bounds_mm, path_length_mm
from core.purposes import LEAVE_OUT, Purpose, Suggestion

Fate = Literal["filled", "cut", "scored", "guides", "left_out", "undecided", "dropped", "unreadable"]

FATES: tuple[Fate, ...] = ("filled", "cut", "scored", "guides", "left_out", "undecided", "dropped", "unreadable")
FATE_WORDS: dict[Fate, str] = {
    "filled": "filled",
    "cut": "cut",
    "scored": "scored",
    "guides": "guides",
    "left_out": "left out",
    "undecided": "undecided",
    "dropped": "dropped as doubled",
    "unreadable": "not readable",
}
_FATE_OF: dict[Suggestion, Fate] = {
    "fill": "filled",
    "cut": "cut",
    "score": "scored",
    "guide": "guides",
    "undecided": "undecided",
    LEAVE_OUT: "left_out",
}
DOUBLED = "It lies on other lines that are burned already."
EMPTY = "It has neither area nor length: nothing of it can be burned."
MENDED = "A repair joined it to another or took it out."


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """So many with one fate for one reason; the place, of the first of them, in the drawing's frame."""

    fate: Fate
    why: str
    count: int
    shape_ids: tuple[str, ...] = ()
    x_mm: float | None = None
    y_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """shapes: how many shapes and unread things the file holds; entries: their fates.

    ``area_mm2`` and ``length_mm`` by fate, "united" (areas that other paint covers or holds back) and "dropped"
    (stretches of lines that lie on others) beside them: together they are what was read.
    """

    shapes: int = 0
    entries: tuple[Entry, ...] = ()
    area_mm2: Mapping[str, float] = field(default_factory=dict)
    length_mm: Mapping[str, float] = field(default_factory=dict)
    read_mm2: float = 0.0
    read_mm: float = 0.0

    def count(self, fate: Fate) -> int:
        """How many have that fate."""
        return sum(entry.count for entry in self.entries if entry.fate == fate)

    @property
    def read(self) -> int:
        """How many there are in all; a shape that is area and line counts twice."""
        return sum(entry.count for entry in self.entries)

    @property
    def sentence(self) -> str:
        """The account in one line."""
        told = [f"{self.count(fate):,} {FATE_WORDS[fate]}" for fate in FATES if self.count(fate)]
        both = self.read - self.shapes
        what = "1 shape" if self.shapes == 1 else f"{self.shapes:,} shapes"
        twice = f" ({both:,} of them both area and line)" if both else ""
        return f"{what} in the file{twice}: {', '.join(told)}." if told else "Nothing in the file."


def account_of(
    drawing: Drawing,
    fates: Mapping[str, tuple[Suggestion, str]],
    artworks: Iterable[tuple[Purpose, LayerArtwork]],
    options: SortOptions,
    *,
    taken_by_repairs: Iterable[Shape] = (),
) -> Account:
    """The account of a drawing with areas and lines told apart.

    fates: purpose, or the answer instead of one, and why, by shape id; artworks: what each layer burns, by purpose.
    """
    regions = drawing_regions(drawing, line_width_mm=options.line_width_mm)
    found = painting_findings(drawing, line_width_mm=options.line_width_mm)
    tangled = {shape_id: finding.message for finding in found for shape_id in finding.shape_ids}
    tally = _Tally()
    measured: dict[str, tuple[float, float]] = {}
    for purpose, artwork in artworks:
        if purpose != "guide":
            _measure(purpose, artwork, measured, tally)
    for shape, region in zip(drawing.shapes, regions, strict=True):
        answer, why = fates[shape.id]
        fate = _FATE_OF[answer]
        if shape.id in measured:
            amount, dropped = measured[shape.id]
            if shape.id in tangled:
                fate, why = "unreadable", tangled[shape.id]
            elif amount <= 0:
                fate, why = "left_out", EMPTY
            elif amount <= dropped * (1 + 1e-9):
                fate, why = "dropped", DOUBLED
        elif region.is_empty:
            tally.read_length(fate, path_length_mm(shape.path) if len(shape.path) else 0.0)
        else:
            tally.read_area(fate, float(region.area))
        tally.add(fate, why, shape)
    for shape in taken_by_repairs:
        tally.add("dropped", MENDED, shape)
    entries = [*tally.entries(), *_missing(drawing)]
    missing = sum(one.count for one in drawing.missing)
    return Account(
        shapes=len({whole_id(shape_id) for shape_id in tally.ids}) + missing,
        entries=tuple(sorted(entries, key=lambda entry: FATES.index(entry.fate))),
        area_mm2=tally.area_mm2,
        length_mm=tally.length_mm,
        read_mm2=tally.read_mm2,
        read_mm=tally.read_mm,
    )


def _measure(
    purpose: Purpose, artwork: LayerArtwork, measured: dict[str, tuple[float, float]], tally: "_Tally"
) -> None:
    """What one layer was given and what it burns; the difference was united or dropped."""
    given = sum(artwork.given)
    measured |= {
        shape_id: (amount, dropped)
        for shape_id, amount, dropped in zip(artwork.shape_ids, artwork.given, artwork.doubled, strict=True)
    }
    if purpose == "fill":
        burned_mm2 = float(shapely.area(artwork.region))
        tally.read_mm2 += given
        tally.put(tally.area_mm2, "filled", burned_mm2)
        tally.put(tally.area_mm2, "united", given - burned_mm2)
        return
    tally.read_mm += given
    tally.put(tally.length_mm, _FATE_OF[purpose], sum(path_length_mm(path) for path in artwork.paths))
    tally.put(tally.length_mm, "dropped", sum(artwork.doubled))


def _missing(drawing: Drawing) -> list[Entry]:
    """What is in the file but not among the shapes."""
    return [
        Entry(
            fate="unreadable" if one.unreadable else "left_out",
            why=f"{one.name}: {one.why}" if one.name else one.why,
            count=one.count,
            x_mm=one.x_mm,
            y_mm=one.y_mm,
        )
        for one in drawing.missing
    ]


class _Tally:
    """Sums while going over the shapes."""

    def __init__(self) -> None:
        self._groups: dict[tuple[Fate, str], list[Shape]] = {}
        self.ids: list[str] = []
        self.area_mm2: dict[str, float] = {}
        self.length_mm: dict[str, float] = {}
        self.read_mm2 = self.read_mm = 0.0

    def add(self, fate: Fate, why: str, shape: Shape) -> None:
        self._groups.setdefault((fate, why), []).append(shape)
        self.ids.append(shape.id)

    def put(self, sums: dict[str, float], key: str, amount: float) -> None:
        sums[key] = sums.get(key, 0.0) + amount

    def read_area(self, fate: Fate, amount_mm2: float) -> None:
        self.read_mm2 += amount_mm2
        self.put(self.area_mm2, fate, amount_mm2)

    def read_length(self, fate: Fate, amount_mm: float) -> None:
        self.read_mm += amount_mm
        self.put(self.length_mm, fate, amount_mm)

    def entries(self) -> list[Entry]:
        return [
            Entry(
                fate=fate,
                why=why,
                count=len(shapes),
                shape_ids=tuple(shape.id for shape in shapes),
                **_place(shapes[0]),
            )
            for (fate, why), shapes in self._groups.items()
        ]


def _place(shape: Shape) -> dict[str, float]:
    if not len(shape.path):
        return {}
    x0, y0, x1, y1 = path_bounds_mm(shape.path)
    return {"x_mm": (x0 + x1) / 2, "y_mm": (y0 + y1) / 2}


def account_data(account: Account) -> dict[str, object]:
    """The account as plain data, ready for JSON."""
    counts: dict[str, object] = {fate: account.count(fate) for fate in FATES}
    return {
        "read": account.read,
        **counts,
        "shapes": account.shapes,
        "sentence": account.sentence,
        "area_mm2": {"read": account.read_mm2, **account.area_mm2},
        "length_mm": {"read": account.read_mm, **account.length_mm},
        "entries": [
            {
                "fate": entry.fate,
                "why": entry.why,
                "count": entry.count,
                "shape_ids": list(entry.shape_ids),
                "x_mm": entry.x_mm,
                "y_mm": entry.y_mm,
            }
            for entry in account.entries
        ],
    }
