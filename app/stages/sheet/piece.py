"""Sheet: the piece at hand, a plain sheet by its size or one from the rack, which keeps the size it has."""

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from app.widgets.fields import Card, LengthField, small_button, words
from app.words.wording import size_text
from core.job.decisions import with_sheet
from core.job.job import Job
from core.sheet.placement import Sheet

if TYPE_CHECKING:
    from core.shop_book.store import Entry

LARGEST_SHEET_MM = 10_000.0

Commit = Callable[[Callable[[], Job], str, str | None], None]
"""Make a change's result the present job: (change, what for undo, merge key)."""


class PieceCard(Card):
    """``take`` asks for a piece of the rack; ``fit`` makes a plain sheet fit the artwork."""

    def __init__(self, commit: Commit, *, take: Callable[[], None], fit: Callable[[], None]) -> None:
        super().__init__("The piece")
        self._commit = commit
        self._job: Job | None = None
        self.about = words()
        self.body.addWidget(self.about)
        self.take = small_button("T&ake a piece from the rack…")
        self.take.clicked.connect(take)
        self.body.addWidget(self.take)
        self.width_field = LengthField("Sheet width", low=0.1, high=LARGEST_SHEET_MM)
        self.height_field = LengthField("Sheet height", low=0.1, high=LARGEST_SHEET_MM)
        self.thickness_field = LengthField("Sheet thickness", low=0.05, high=100.0, step=0.1)
        self.fields: dict[str, LengthField] = {
            "width_mm": self.width_field,
            "height_mm": self.height_field,
            "thickness_mm": self.thickness_field,
        }
        for (key, field), label in zip(self.fields.items(), ("&Width", "Height", "&Thickness"), strict=True):
            self.row(label, field)
            field.entered.connect(lambda value, key=key: self._resize(key, value))
        self.fit = small_button("Make the sheet fit the artwork", tip="10 mm of sheet all round what is burned")
        self.fit.clicked.connect(fit)
        self.body.addWidget(self.fit)
        self.plain = small_button("&Use a plain sheet instead", tip="A rectangle of this size, without flaws")
        self.plain.clicked.connect(self._make_plain)
        self.body.addWidget(self.plain)

    def show_job(self, job: Job, entry: "Entry | None", *, can_take: bool, can_fit: bool, inches: bool) -> None:
        """Show the job's sheet; ``entry`` is the piece of the rack that it is, where that is known."""
        self._job = job
        own = has_own_shape(job)
        self.about.setText(_about(job, entry, inches=inches))
        for key, field in self.fields.items():
            field.show_value(getattr(job.sheet, key))
            field.setEnabled(not own)
            field.setToolTip("The piece is as large as it is" if own else "")
        self.take.setEnabled(can_take)
        self.fit.setVisible(not own)
        self.fit.setEnabled(can_fit)
        self.plain.setVisible(own)

    def _resize(self, key: str, value_mm: float) -> None:
        job = self._job
        if job is not None:
            sheet = replace(job.sheet, **{key: value_mm})  # type: ignore[arg-type]  # one of the sides
            self._commit(lambda: with_sheet(job, sheet), "Size of the sheet", f"sheet {key}")

    def _make_plain(self) -> None:
        if self._job is not None:
            job = self._job
            self._commit(lambda: plain_sheet(job), "Use a plain sheet", None)


def has_own_shape(job: Job) -> bool:
    """Whether the sheet is a piece whose size nobody can choose: from the rack, or with an outline of its own."""
    return bool(job.piece_id or job.sheet.outline)


def plain_sheet(job: Job) -> Job:
    """The job on a plain rectangle of the same size, without flaws, that is no piece of the rack."""
    sheet = Sheet(width_mm=job.sheet.width_mm, height_mm=job.sheet.height_mm, thickness_mm=job.sheet.thickness_mm)
    return replace(with_sheet(job, sheet), piece_id="")


def _about(job: Job, entry: "Entry | None", *, inches: bool) -> str:
    if not job.piece_id:
        return "A piece of its own outline." if job.sheet.outline else "A plain sheet of this size."
    size = size_text(job.sheet.width_mm, job.sheet.height_mm, inches=inches)
    if entry is None:
        return f"A piece of the rack, {size}."
    if entry.removed:
        return f"“{entry.name}”, {size}. It is not on the rack any more."
    where = f" It stands at {entry.value.where}." if entry.value.where else ""
    return f"“{entry.name}” from the rack, {size}.{where}"
