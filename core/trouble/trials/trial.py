"""A trial as plain data, and its document: versioned like a job's, kept as a file and in the shop book."""

import hashlib
import json
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

from core.burning.machines import Machine
from core.burning.patches import BurnedPiece, Label, Patch, Side
from core.errors import UnreadableError
from core.finishing.paints import Paint, Workday
from core.foreign_json import read_json
from core.job.as_data import from_data, newer, to_data
from core.plain_file import plain_file_bytes
from core.sheet.placement import Turn
from core.sheet.stock import Stock
from core.trouble.trials.factors import Factor
from core.trouble.trials.scales import ScaleName

VERSION = 1
_MOST_BYTES = 8 * 1024 * 1024
_LETTERS = "23456789ABCDEFGHJKMNPQRTUVWXYZ"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialPatch:
    """One patch: where it lies and how it is burned, its block, the level of each factor, its turn in the work.

    piece: on which offcut, from 1; patches added later lie on another one.
    """

    patch: Patch
    block: int
    levels: tuple[str, ...]
    turn: int
    piece: int = 1

    @property
    def label(self) -> str:
        """What stands beside it: "A1"."""
        return self.patch.label


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """The grade of one patch. A patch with two that differ is contradicted, and counts once one is taken back."""

    patch: str
    grade: int
    read: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepDone:
    """A step that was ticked. at: ISO date and time."""

    key: str
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Trial:
    """One trial. fault: what is looked for; limit: from which grade on a patch is faulty; both fixed before.

    paint: None where bared patches themselves are judged. sizes_mm: of the offcuts. titles: the line at their head.
    extended: how many times patches were added after it was read. workday: when hands are there.
    """

    code: str
    made: str
    fault: str
    job: str
    stock: Stock
    machine: Machine
    paint: Paint | None
    factors: tuple[Factor, ...]
    repeats: int
    seed: int
    scale: ScaleName
    limit: int
    read_from: Side
    turn: Turn
    sizes_mm: tuple[tuple[float, float], ...]
    titles: tuple[Label, ...]
    captions: tuple[Label, ...]
    patches: tuple[TrialPatch, ...]
    workday: Workday = field(default_factory=Workday)
    marks: tuple[Mark, ...] = ()
    ticks: tuple[StepDone, ...] = ()
    extended: int = 0

    @property
    def name(self) -> str:
        """Its name in the shop book."""
        return self.code

    @property
    def about(self) -> str:
        """What it is about, in a few words."""
        what = self.paint.name if self.paint is not None else self.stock.name
        return f"{what}: {self.seen} by {' and '.join(factor.kind.words for factor in self.factors)}"

    @property
    def seen(self) -> str:
        """What is looked for, in a word or two."""
        return self.fault.replace("-", " ") or "faulty"

    def piece(self, number: int) -> BurnedPiece:
        """The offcut of that number, from 1."""
        own = tuple(one for one in self.patches if one.piece == number)
        labels = {one.label for one in own}
        width_mm, height_mm = self.sizes_mm[number - 1]
        return BurnedPiece(
            code=self.code if number == 1 else f"{self.code}-{number}",
            width_mm=width_mm,
            height_mm=height_mm,
            read_from=self.read_from,
            turn=self.turn,
            stock=self.stock,
            machine=self.machine,
            patches=tuple(one.patch for one in own),
            labels=(self.titles[number - 1], *(one for one in self.captions if one.text in labels)),
        )

    def patch(self, label: str) -> TrialPatch:
        """The patch of that label. Raises UnreadableError."""
        wanted = label.strip().upper()
        for one in self.patches:
            if one.label == wanted:
                return one
        known = ", ".join(one.label for one in self.patches)
        raise UnreadableError(f"Trial {self.code} has no patch {label}.", hint=f"It has {known}.")

    def grades(self) -> dict[str, int]:
        """The grade of every patch that is read and not contradicted."""
        found: dict[str, set[int]] = {}
        for mark in self.marks:
            found.setdefault(mark.patch, set()).add(mark.grade)
        return {one.label: next(iter(found[one.label])) for one in self.patches if len(found.get(one.label, ())) == 1}

    @property
    def contradicted(self) -> tuple[str, ...]:
        """Patches with grades that differ."""
        given = {(mark.patch, mark.grade) for mark in self.marks}
        return tuple(one.label for one in self.patches if sum(label == one.label for label, _ in given) > 1)


def with_mark(trial: Trial, label: str, grade: int | None, *, read: str = "") -> Trial:
    """The trial with a grade of a patch; None takes back what was marked. Raises UnreadableError for no such patch."""
    own = trial.patch(label).label
    if grade is None:
        return replace(trial, marks=tuple(mark for mark in trial.marks if mark.patch != own))
    if any((mark.patch, mark.grade) == (own, grade) for mark in trial.marks):
        return trial
    return replace(trial, marks=(*trial.marks, Mark(patch=own, grade=grade, read=read)))


def with_code(trial: Trial) -> Trial:
    """The trial with its code, a digest of all that it holds, before its titles."""
    digest = hashlib.sha256(json.dumps(to_data(replace(trial, code="")), sort_keys=True).encode()).digest()
    number = int.from_bytes(digest[:8], "big")
    code = ""
    for _ in range(5):
        number, rest = divmod(number, len(_LETTERS))
        code += _LETTERS[rest]
    titles = tuple(replace(title, text=f"{code} {title.text}".strip()) for title in trial.titles)
    return replace(trial, code=code, titles=titles)


def trial_bytes(trial: Trial) -> bytes:
    """The trial's document."""
    content = {"tain_trial": VERSION, "trial": to_data(trial)}
    return json.dumps(content, ensure_ascii=False, indent=1, allow_nan=False).encode()


def trial_from_bytes(data: bytes, *, name: str) -> Trial:
    """The trial in a document. Raises UnreadableError, also for one written by a newer version."""
    content = read_json(data, what=f"The trial in {name}", most_bytes=_MOST_BYTES)
    return _checked(_current(content, name), name)


def load_trial(path: Path) -> Trial:
    """Read a trial's document. Raises UnreadableError."""
    return trial_from_bytes(plain_file_bytes(path, most_bytes=_MOST_BYTES), name=path.name)


def _current(content: Any, name: str) -> dict[str, Any]:
    version = content.get("tain_trial") if isinstance(content, dict) else None
    if not isinstance(version, int) or isinstance(version, bool) or version < 1 or "trial" not in content:
        raise UnreadableError(f"{name} is no trial of Tain.")
    if version > VERSION:
        raise UnreadableError(
            f"{name} was written by a newer Tain (trial version {version}; this one reads up to {VERSION}).",
            hint="Open it with that version.",
        )
    if strange := content.keys() - {"tain_trial", "trial"}:
        raise newer(f"The trial in {name}", strange)
    return dict(content)


def _checked(content: dict[str, Any], name: str) -> Trial:
    what = f"The trial in {name}"
    trial = from_data(Trial, content["trial"], what=what)
    labels = [one.label for one in trial.patches]
    whole = (
        labels
        and len(set(labels)) == len(labels)
        and trial.factors
        and len(trial.titles) == len(trial.sizes_mm)
        and all(1 <= one.piece <= len(trial.sizes_mm) for one in trial.patches)
        and all(
            len(one.levels) == len(trial.factors)
            and all(level in factor.levels for level, factor in zip(one.levels, trial.factors, strict=True))
            for one in trial.patches
        )
        and {mark.patch for mark in trial.marks} <= set(labels)
    )
    if not whole:
        raise UnreadableError(f"{what} can't be understood: its patches do not go together.")
    return trial
