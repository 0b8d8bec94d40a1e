"""Pieces of the rack kept for a job until it is done or the piece is given back."""

from collections.abc import Collection
from dataclasses import replace
from pathlib import Path

from core.errors import JobError, UnreadableError
from core.job.job import Job
from core.sheet.offcuts import Piece
from core.shop_book.entries import Entry
from core.shop_book.store import ShopBook


def names_of(job: Job, path: Path | None = None) -> tuple[str, ...]:
    """What a job may be called on a reservation: by its file, or by its artwork."""
    names = [path.stem] if path is not None else []
    names += [Path(job.source.name).stem] if job.source is not None else []
    return tuple(dict.fromkeys(names))


def is_kept_from(piece: Piece, names: Collection[str]) -> bool:
    """Whether the piece is kept for another job than one of these names."""
    kept = piece.reserved_for.casefold()
    return bool(kept) and kept not in {name.casefold() for name in names}


def check_free(name: str, piece: Piece, names: Collection[str]) -> None:
    """Raises JobError where the piece is kept for another job."""
    if is_kept_from(piece, names):
        raise JobError(
            f"“{name}” is kept for {piece.reserved_for}.", hint="Give it back first: tain rack give-back, or The rack."
        )


def reserve(book: ShopBook, piece_id: str, job_name: str) -> Entry:
    """Keep the piece for a job of that name. Raises JobError where it is gone or kept for another, UnreadableError."""
    wanted = job_name.strip()
    if not wanted:
        raise UnreadableError("A piece is kept for a job of some name.", hint="Name the job.")
    with book.writing():
        entry = _on_rack(book, piece_id)
        check_free(entry.name, entry.value, (wanted,))
        kept = replace(entry.value, reserved_for=wanted)
        return book.change(piece_id, kept, note=f"kept for {wanted}")


def give_back(book: ShopBook, piece_id: str) -> Entry:
    """The piece is free for any job again. Raises JobError where it was not kept for one."""
    with book.writing():
        entry = _on_rack(book, piece_id)
        if not entry.value.reserved_for:
            raise JobError(f"“{entry.name}” is kept for no job: there is nothing to give back.")
        return book.change(piece_id, replace(entry.value, reserved_for=""), note="given back")


def _on_rack(book: ShopBook, piece_id: str) -> Entry:
    entry = book.entry(piece_id)
    if entry.removed:
        raise JobError(f"“{entry.name}” is not on the rack any more.", hint="Choose another piece.")
    return entry
