"""A piece of the rack that a job was cut from: what is left of it, put back, labelled, and all of it undone."""

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from core.errors import JobError, UnreadableError, WriteError
from core.job.burned import cut_away, marked_region
from core.job.plan import Plan
from core.output.mask_files import MaskFile, write_files
from core.sheet.remainders import LEAST_SIDE_MM, Remainders, remainders

if TYPE_CHECKING:
    from core.shop_book.entries import Entry
    from core.shop_book.kinds import JobDone
    from core.shop_book.store import ShopBook


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class UsedPiece:
    """The piece as the rack has it, and what the job leaves of it."""

    entry: "Entry"
    left: Remainders


@dataclass(frozen=True, slots=True, kw_only=True)
class Noted:
    """A job that was noted: its entry, and the offcuts that came onto the rack in place of its piece."""

    job_uuid: str
    piece_id: str = ""
    offcuts: tuple[str, ...] = ()
    without_label: tuple[str, ...] = ()
    label_error: str = ""


def what_is_left(book: "ShopBook", plan: Plan, *, least_side_mm: float = LEAST_SIDE_MM) -> UsedPiece | None:
    """What the plan's job leaves of its piece; None where that is not on the rack or does not hold the job whole."""
    from core.shop_book.rack import as_thick, held_whole

    try:
        entry = book.entry(plan.job.piece_id)
    except UnreadableError:
        return None
    taken = cut_away(plan)
    thick = as_thick(entry.value, plan.job.sheet.thickness_mm)
    if entry.removed or not thick or not held_whole(entry.value, taken):
        return None
    left = remainders(
        entry.value,
        taken,
        marked=marked_region(plan),
        least_side_mm=least_side_mm,
        note=f"left of {entry.name}",
    )
    return UsedPiece(entry=entry, left=left)


def note_done(
    book: "ShopBook", plan: Plan, name: str, value: "JobDone", used: UsedPiece | None, labels: Path | None
) -> Noted:
    """Keep the job, and put what is left of its piece on the rack, all in one transaction; then write the labels.

    Raises JobError where the piece was used meanwhile, WriteError where the book can't be written.
    """
    from core.shop_book.rack import put_back

    with book.writing():
        entry = book.add("job", name, value, note=value.note)
        if used is None:
            return Noted(job_uuid=entry.uuid)
        offcuts = put_back(book, used.entry.uuid, used.left, job_name=name)
    without: tuple[str, ...] = ()
    error = ""
    if labels is not None:
        try:
            without = write_labels(offcuts, plan, labels)
        except WriteError as failed:  # the book has it all the same
            error = str(failed)
    return Noted(
        job_uuid=entry.uuid,
        piece_id=used.entry.uuid,
        offcuts=tuple(one.name for one in offcuts),
        without_label=without,
        label_error=error,
    )


def write_labels(offcuts: "tuple[Entry, ...]", plan: Plan, folder: Path) -> tuple[str, ...]:
    """A label to score for each offcut; gives the names of those that have no room for one. Raises WriteError."""
    from core.output.label_file import label_svg

    files, without = [], []
    for entry in offcuts:
        try:
            data = label_svg(entry.value, entry.name, plan.job.turn)
        except JobError:
            without.append(entry.name)
        else:
            name = re.sub(r"[^\w-]+", "-", entry.name)
            files.append(MaskFile(name=f"label-{name}.svg", data=data))
    write_files(files, folder, overwrite=True)  # asked before
    return tuple(without)


def undo_done(book: "ShopBook", noted: Noted) -> None:
    """The piece back as it was, its offcuts and the job taken out again, all in one transaction. Raises JobError."""
    from core.shop_book.rack import undo_put_back

    with book.writing():
        if noted.piece_id:
            undo_put_back(book, noted.piece_id)
        book.remove(noted.job_uuid, note="undone")
