"""Sheet: the piece at hand, a plain sheet by its size or one from the rack, which keeps the size it has."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from PySide6.QtCore import QSize, Qt
from PySide6.QtWidgets import QHBoxLayout, QSizePolicy, QToolButton, QVBoxLayout

from app.canvas.piece_picture import PieceLook, PiecePicture, piece_icon
from app.qt.captions import caption, filled
from app.widgets.fields import Card, LengthField, small_button, words
from app.widgets.plain_text import plain_tip
from app.words.wording import count_text, size_text
from core.job.decisions import with_sheet
from core.job.job import Job
from core.sheet.offcuts import Piece, piece_region, rectangle
from core.sheet.placement import Sheet

if TYPE_CHECKING:
    from core.shop_book.entries import Entry

LARGEST_SHEET_MM = 10_000.0
PICTURE = QSize(96, 64)
TILE = QSize(72, 44)
MOST_TILES = 3
MOST_LETTERS = 14

Commit = Callable[[Callable[[], Job], str, str | None], None]
"""Make a change's result the present job: (change, what for undo, merge key)."""


class PieceCard(Card):
    """``take(id)`` asks for a piece of the rack, that one first; ``fit`` makes a plain sheet fit the artwork."""

    def __init__(self, commit: Commit, *, take: Callable[[str], None], fit: Callable[[], None]) -> None:
        super().__init__("The piece")
        self._commit, self._take = commit, take
        self._job: Job | None = None
        self._offered: tuple[tuple[str, str, Piece], ...] = ()
        self.picture = PiecePicture("The piece, front up", least=PICTURE)
        self.picture.setFixedWidth(PICTURE.width())
        self.about = words()
        self.take = small_button("R&ack…", "Take a piece from the rack…", tip="Take a piece from the rack")
        self.take.clicked.connect(lambda: take(""))
        self.fit = small_button("Fit", "Make the sheet fit the artwork", tip="10 mm of sheet round what is burned")
        self.fit.clicked.connect(fit)
        self.plain = small_button("Plain", "Use a plain sheet", tip="A rectangle of this size, without flaws")
        self.plain.clicked.connect(self._make_plain)
        head, column, buttons = QHBoxLayout(), QVBoxLayout(), QHBoxLayout()
        for button in (self.take, self.fit, self.plain):
            buttons.addWidget(button)
        column.addWidget(self.about, 1)
        column.addLayout(buttons)
        for layout in (head, column, buttons):
            layout.setSpacing(8)
        head.addWidget(self.picture)
        head.addLayout(column, 1)
        self.body.addLayout(head)
        self._tiles = [self._tile(place) for place in range(MOST_TILES)]
        self.line(*self._tiles)
        self.width_field = LengthField("Sheet width", low=0.1, high=LARGEST_SHEET_MM)
        self.height_field = LengthField("Sheet height", low=0.1, high=LARGEST_SHEET_MM)
        self.thickness_field = LengthField("Sheet thickness", low=0.05, high=100.0, step=0.1)
        self.fields: dict[str, LengthField] = {
            "width_mm": self.width_field,
            "height_mm": self.height_field,
            "thickness_mm": self.thickness_field,
        }
        labels = ("&Width", "Height", "&Thickness")
        self.beside(*((label, field, "") for label, field in zip(labels, self.fields.values(), strict=True)))
        for key, field in self.fields.items():
            field.entered.connect(lambda value, key=key: self._resize(key, value))

    def show_job(self, job: Job, entry: "Entry | None", *, can_take: bool, can_fit: bool, inches: bool) -> None:
        """Show the job's sheet; ``entry`` is the piece of the rack that it is, where that is known."""
        self._job = job
        own = has_own_shape(job)
        self.about.setText(_about(job, entry, inches=inches))
        self.picture.show_piece(PieceLook(piece=piece_of(job)), self.about.text())
        for key, field in self.fields.items():
            field.show_value(getattr(job.sheet, key))
            field.setEnabled(not own)
            field.setToolTip(caption("The piece is as large as it is") if own else "")
        self.take.setEnabled(can_take)
        self.fit.setVisible(not own)
        self.fit.setEnabled(can_fit)
        self.plain.setVisible(own)

    def offer(self, pieces: "Sequence[tuple[str, str, Piece]]", *, inches: bool) -> None:
        """Pieces of the rack that the job could go on, as pictures: (id, label, piece), the fittest first."""
        offered = tuple(pieces[:MOST_TILES])
        if offered == self._offered:
            return
        self._offered = offered
        for place, tile in enumerate(self._tiles):
            tile.setVisible(place < len(offered))
            if place < len(offered):
                _, name, piece = offered[place]
                _, _, width_mm, height_mm = piece_region(piece).bounds
                size = size_text(width_mm, height_mm, inches=inches)
                flaws = f", {count_text(len(piece.flaws), 'flaw', 'flaws')}" if piece.flaws else ""
                tile.setIcon(piece_icon(PieceLook(piece=piece), self.font(), size=TILE))
                tile.setText(f"{name[:MOST_LETTERS]}\n{size.removesuffix(' mm')}")
                tile.setAccessibleName(
                    filled("Onto {name} of the rack, {size}{flaws}", name=name, size=size, flaws=flaws)
                )
                tile.setToolTip(plain_tip(tile.accessibleName()))

    def _tile(self, place: int) -> QToolButton:
        tile = QToolButton()
        tile.setProperty("role", "tile")
        tile.setAccessibleName(filled("Piece {place} of the rack", place=place + 1))
        tile.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
        tile.setIconSize(TILE)
        tile.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        tile.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        tile.clicked.connect(lambda: self._take(self._offered[place][0]))
        tile.hide()
        return tile

    def _resize(self, key: str, value_mm: float) -> None:
        job = self._job
        if job is not None:
            sheet = replace(job.sheet, **{key: value_mm})  # type: ignore[arg-type]  # one of the sides
            self._commit(lambda: with_sheet(job, sheet), "Size of the sheet", f"sheet {key}")

    def _make_plain(self) -> None:
        if self._job is not None:
            job = self._job
            self._commit(lambda: plain_sheet(job), "Use a plain sheet", None)


def piece_of(job: Job) -> Piece:
    """The job's sheet as a piece, to be drawn."""
    sheet = job.sheet
    outline = sheet.outline or rectangle(sheet.width_mm, sheet.height_mm)
    return Piece(stock=job.stock.name, thickness_mm=sheet.thickness_mm, outline=outline, flaws=sheet.flaws)


def that_could_serve(
    pieces: Sequence[tuple[str, str, Piece]], job: Job, width_mm: float, height_mm: float
) -> list[tuple[str, str, Piece]]:
    """Of the rack's pieces those of the job's stock whose box holds so much either way, the smallest first."""
    found = []
    for one in pieces:
        if one[2].stock != job.stock.name or one[0] == job.piece_id:
            continue
        _, _, wide, high = piece_region(one[2]).bounds
        if min(wide, high) >= min(width_mm, height_mm) and max(wide, high) >= max(width_mm, height_mm):
            found.append((wide * high, one))
    return [one for _, one in sorted(found, key=lambda pair: (pair[0], pair[1][1]))]


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
