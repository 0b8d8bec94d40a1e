"""The rack: pieces of sheet in the shop book, taken for jobs, put back as what is left of them."""

from collections.abc import Collection
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import JobError, UnreadableError
from core.figures import check_figures
from core.sheet.offcuts import Piece, checked_piece, piece_region
from core.sheet.remainders import Remainders
from core.shop_book.entries import Entry
from core.shop_book.reserving import is_kept_from
from core.shop_book.store import ShopBook

KIND = "piece"
SAME_THICKNESS_MM = 0.05
"""What two calipers may differ by on the same sheet."""


def rack_pieces(book: ShopBook, *, names: Collection[str] = ()) -> tuple[tuple[str, str, Piece], ...]:
    """(id, name, piece) of the pieces on the rack that a job of one of these names may have, by name.

    Those kept for other jobs are left out.
    """
    return tuple(
        (entry.uuid, entry.name, entry.value) for entry in book.entries(KIND) if not is_kept_from(entry.value, names)
    )


def piece_named(book: ShopBook, name: str) -> Entry:
    """The piece on the rack of exactly this label, or this id: part of a label names none, since what is meant is cut.

    Raises UnreadableError.
    """
    wanted = name.strip().casefold()
    found = [entry for entry in book.entries(KIND) if wanted in (entry.uuid, entry.name.casefold())]
    if len(found) == 1:
        return found[0]
    near = ", ".join(entry.name for entry in book.entries(KIND) if wanted in entry.name.casefold())
    problem = "More than one piece is" if found else "No piece on the rack is"
    raise UnreadableError(
        f"{problem} labelled “{name}”.", hint=f"Near it: {near}." if near else "See tain rack list for all labels."
    )


def piece_of_job(book: ShopBook, piece_id: str) -> Entry:
    """The piece that a job says it lies on. Raises JobError where this shop book does not know it."""
    try:
        return book.entry(piece_id)
    except UnreadableError:
        raise JobError(
            "The piece that this job lies on is not in this shop book.", hint="Name one of yours: --piece NAME."
        ) from None


def as_thick(piece: Piece, thickness_mm: float) -> bool:
    """Whether a job for a sheet of that thickness can be cut from the piece."""
    return abs(piece.thickness_mm - thickness_mm) <= SAME_THICKNESS_MM


def held_whole(piece: Piece, taken: BaseGeometry) -> bool:
    """Whether all that is taken lies on the piece, but for a hair along its edge."""
    return not taken.is_empty and bool(shapely.buffer(piece_region(piece), _HAIR_MM).covers(taken))


_HAIR_MM = 0.01


def add_piece(book: ShopBook, name: str, piece: Piece) -> Entry:
    """Put a piece on the rack. Raises UnreadableError where it makes no sense, JobError where the name is taken."""
    if not name.strip():
        raise UnreadableError("A piece needs a label.", hint="Write what stands on it, like R7.")
    if any(entry.name.casefold() == name.casefold() for entry in book.entries(KIND)):
        raise JobError(f"There is a piece “{name}” on the rack already.", hint="Label this one otherwise.")
    piece = checked_piece(piece)
    check_figures(piece, of=name)
    return book.add(KIND, name, piece)


def put_back(book: ShopBook, piece_id: str, left: Remainders, *, job_name: str) -> tuple[Entry, ...]:
    """The piece goes, what is left of it comes, all in one transaction. Raises JobError when it is gone already."""
    with book.writing():
        old = book.entry(piece_id)
        if old.removed:
            raise JobError(f"“{old.name}” is not on the rack any more.", hint="Undo the job that took it, or choose.")
        book.remove(piece_id, note=f"used for {job_name}")
        names = _labels(book, old.name, len(left.pieces))
        return tuple(
            book.add(KIND, name, replace(piece, cut_from=piece_id), note=f"left of {old.name} by {job_name}")
            for name, piece in zip(names, left.pieces, strict=True)
        )


def undo_put_back(book: ShopBook, piece_id: str) -> Entry:
    """The piece back on the rack, what was left of it off again, in one transaction.

    Raises JobError when it was not used, or when something left of it has been used or changed since.
    """
    with book.writing():
        states = book.history(piece_id)
        if not states[0].removed or len(states) < 2:
            raise JobError(f"“{states[0].name}” is on the rack: there is nothing to undo.")
        for entry in (*book.entries(KIND), *book.entries(KIND, removed=True)):
            if entry.value.cut_from != piece_id or entry.note == _UNDONE:
                continue
            first = book.history(entry.uuid)[-1]
            if entry.removed or (entry.name, entry.value) != (first.name, first.value):
                raise JobError(
                    f"“{entry.name}”, left of “{states[0].name}”, was used or changed since.", hint="Undo that first."
                )
            book.remove(entry.uuid, note=_UNDONE)
        return book.revert(piece_id, states[1].stamp)


_UNDONE = "undone"


def _labels(book: ShopBook, name: str, count: int) -> list[str]:
    """Labels for what is left: the piece's own with a letter behind, none that is taken."""
    taken = {entry.name.casefold() for entry in book.entries(KIND)}
    labels: list[str] = []
    number = 0
    while len(labels) < count:
        label = f"{name}-{_letters(number)}"
        if label.casefold() not in taken:
            labels.append(label)
        number += 1
    return labels


def _letters(number: int) -> str:
    """a, b, ... z, aa, ab, ..."""
    text = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        text = chr(ord("a") + rest) + text
    return text
