"""Machines and stocks changed by hand, kept in the shop book: all or nothing, each state before it kept, too."""

import itertools
import re
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Literal, TypeVar

from core.burning.machines import CO2_FLATBED, Machine
from core.burning.unknowns import MOST_SHARE, S_BOUNDS, with_figure
from core.errors import UnreadableError
from core.figures import check_figure, figures_of
from core.sheet.recipes import STARTING_POINT, Origin, Recipe
from core.sheet.stock import MIRRORED_ACRYLIC_3, PVC_3, Stock
from core.shop_book.profile_figures import check_profile

if TYPE_CHECKING:
    from core.shop_book.entries import Entry
    from core.shop_book.store import ShopBook

ProfileKind = Literal["machine", "stock"]
Profile = TypeVar("Profile", bound=Machine | Stock)

_CHLORINATED = re.compile(r"\b(?:u?pvc|pvdc|vinyl)\b|chlor", re.I)


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileEdit:
    """A machine or stock as it shall stand. ``uuid`` empty: a new one; ``based_on``: the stamp of what was edited."""

    kind: ProfileKind
    uuid: str
    based_on: str
    value: Machine | Stock


def new_profile(kind: ProfileKind, taken: Collection[str]) -> Machine | Stock:
    """A machine or stock to fill in: the usual starting profile's figures under a free name."""
    if kind == "machine":
        return replace(CO2_FLATBED, name=free_name("New machine", taken))
    return replace(MIRRORED_ACRYLIC_3, name=free_name("New stock", taken), origin=STARTING_POINT)


def copy_of(profile: Profile, taken: Collection[str]) -> Profile:
    """The same figures, with where they come from, under a free name."""
    return replace(profile, name=free_name(f"{profile.name}, copy", taken))


def free_name(name: str, taken: Collection[str]) -> str:
    """The name, with a number where it is taken."""
    if name not in taken:
        return name
    return next(trial for number in itertools.count(2) if (trial := f"{name} {number}") not in taken)


def with_origin(profile: Profile, name: str, origin: Origin) -> Profile:
    """A machine or stock with where one figure comes from."""
    return replace(profile, figure_origins=tuple({**dict(profile.figure_origins), name: origin}.items()))


def by_hand(recipe: Recipe, *, date: str) -> Recipe:
    """The recipe as one that was set by hand on that ISO date."""
    return replace(recipe, origin=Origin(kind="set by hand", date=date))


def guarded(profile: Profile) -> Profile:
    """A stock that names itself a chlorinated plastic is refused, whatever else it says; all else stays as it is."""
    if not isinstance(profile, Stock) or profile.refused or not _CHLORINATED.search(f"{profile.name} {profile.kind}"):
        return profile
    codes = tuple(dict.fromkeys((*profile.caution_codes, *PVC_3.caution_codes)))
    return replace(profile, refused=PVC_3.refused, caution_codes=codes, cut=None)


def keep_profiles(book: "ShopBook", edits: Sequence[ProfileEdit], *, over_others: bool = False) -> None:
    """Write all edits, or none.

    Raises UnreadableError for figures that make no sense or a name that is taken, StaleEntryError for one that was
    changed elsewhere since (unless ``over_others``: the other state then stays in its history), WriteError.
    """
    with book.writing():
        for edit in edits:
            check_profile(edit.value)
            name = edit.value.name.strip()
            if any(other.name == name and other.uuid != edit.uuid for other in book.entries(edit.kind)):
                raise UnreadableError(f"The shop book has a {edit.kind} “{name}” already.", hint="Give another name.")
            value = guarded(replace(edit.value, name=name))
            if edit.uuid:
                book.change(edit.uuid, value, note="edited", based_on=None if over_others else edit.based_on)
            else:
                book.add(edit.kind, name, value)


def set_figure(book: "ShopBook", entry: "Entry", figure_name: str, figure: float, origin: Origin) -> None:
    """Give one figure of a machine or stock another value. Raises UnreadableError for none or no sense."""
    figures = {one.name: one for one in figures_of(type(entry.value)) if one.kind == "number"}
    if figure_name not in figures:
        raise UnreadableError(f"{entry.name} has no figure {figure_name}.", hint=f"It has {', '.join(figures)}.")
    check_figure(figures[figure_name], figure, of=entry.name)
    error = origin.standard_error
    most = 1.0 if figure_name in S_BOUNDS else MOST_SHARE * abs(figure)
    if error is not None and not 0 <= error <= most:
        raise UnreadableError(
            f"A standard error of {error:g} makes no sense for {figure_name} of {figure:g}.",
            hint=f"Give 0 to {most:g}.",
        )
    value = with_figure(entry.value, figure_name, figure, origin)
    check_profile(value)
    book.change(entry.uuid, value, note=origin.note or f"{figure_name} {figure:g}")
