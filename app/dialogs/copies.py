"""Copies of the artwork on the piece at hand: how many, how they lie; the best layout so far can be taken."""

from typing import TYPE_CHECKING

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QCheckBox, QWidget

from app.canvas.piece_picture import PieceLook, PiecePicture
from app.dialogs.beside import BesideDialog
from app.dialogs.foot import Foot
from app.dialogs.search_bar import SearchBar
from app.qt.captions import caption, filled
from app.session.placing import Placing, Tell
from app.widgets.fields import Card, ChoiceField, LengthField, NumberField, small_button
from app.words.wording import percent_text, size_text
from core.errors import TainError
from core.job.copying import USUAL_SPACING_MM
from core.job.job import Job
from core.job.laid_out import LaidOut, copies_laid_out
from core.progress import Progress
from core.sheet.ground import PlacingOptions
from core.sheet.offcuts import Piece, rectangle

if TYPE_CHECKING:
    from core.job.copying import Way
    from core.sheet.copies import Layout

WAYS = (("nested", "nested"), ("in rows and columns", "rows"))
MOST = 500


class CopiesDialog(BesideDialog):
    """``layout_found`` is the best layout found so far, None for none yet."""

    def __init__(
        self, parent: QWidget | None, placing: Placing, job: Job, options: PlacingOptions, *, inches: bool
    ) -> None:
        lead = (
            "The same piece several times on this sheet: all copies are burned, cut and painted as one job. They keep"
            " clear of every flaw and of the edge, and turn as the Sheet page allows."
        )
        super().__init__(parent, placing, title="Copies", lead=lead)
        self._job, self._options, self._inches = job, options, inches
        self.layout_found: Layout | None = None
        sheet = job.sheet
        self._piece = Piece(
            stock=job.stock.name,
            thickness_mm=sheet.thickness_mm,
            outline=sheet.outline or rectangle(sheet.width_mm, sheet.height_mm),
            flaws=sheet.flaws,
        )
        self.left.addWidget(self._card())
        self.left.addStretch(1)
        self.picture = PiecePicture("The piece with the copies on it", least=QSize(360, 240))
        self.right.addWidget(self.picture, 1)
        self.close_with(self._foot())
        placing.busy_changed.connect(self._show_busy)
        self._show(None)
        self.told.setText(
            filled("Nothing is laid out yet. Say how many, then “{replace}”.", replace=self.lay.text().replace("&", ""))
        )

    def _card(self) -> Card:
        card = Card()
        self.count = NumberField("How many", low=1, high=MOST, places=0)
        self.count.show_value(max(2, 1 + len(self._job.repeats)))
        self.way = ChoiceField("How they lie", WAYS)
        self.spacing = LengthField("Sheet between neighbours", low=0, high=200, step=0.5)
        self.spacing.show_inches(self._inches)
        self.spacing.show_value(USUAL_SPACING_MM)
        self.share = QCheckBox(caption("Neighbours s&hare a cut line"))
        self.share.setToolTip(caption("For straight sides, in rows: one cut parts both"))
        card.row("Ho&w many", self.count)
        card.row("They &lie", self.way)
        card.row("&Between", self.spacing, help_text="Sheet left between what neighbours burn")
        card.body.addWidget(self.share)
        self.lay = small_button("Lay them &out")
        self.lay.clicked.connect(self.lay_out)
        card.body.addWidget(self.lay)
        self.way.chosen.connect(lambda way: self._way_chosen())
        self.share.toggled.connect(lambda on: self.spacing.setEnabled(not on))
        self._way_chosen()
        return card

    def _foot(self) -> Foot:
        self.search = SearchBar(self.placing, "Laying the copies out", stop="&Stop", given_up=self._tell_stopped)
        foot = Foot(self, "&Take this layout", self.search)
        self.take = foot.main
        return foot

    def _way_chosen(self) -> None:
        rows = WAYS[max(0, self.way.currentIndex())][1] == "rows"
        self.share.setEnabled(rows)
        if not rows:
            self.share.setChecked(False)

    # --- laying out ----------------------------------------------------------------------------------------------

    def lay_out(self) -> None:
        """Look for a layout; each that is better is shown."""
        self._show(None)
        self.told.setText(caption("Laying them out…"))
        job, options, count, spacing_mm = self._job, self._options, round(self.count.value()), self.spacing.value()
        way: Way = "rows" if WAYS[max(0, self.way.currentIndex())][1] == "rows" else "nested"
        share_cuts = self.share.isChecked()

        def work(progress: Progress, tell: Tell) -> LaidOut:
            return copies_laid_out(
                job,
                count,
                way=way,
                spacing_mm=spacing_mm,
                share_cuts=share_cuts,
                options=options,
                progress=progress,
                tell=tell,
            )

        self.placing.do(work, self._take, self._failed, better=self._show)

    def _take(self, found: LaidOut) -> None:
        self._show(found)
        self.told.setText(layout_words(found.layout, inches=self._inches))

    def _tell_stopped(self) -> None:
        if self.layout_found is None:
            self.told.setText(caption("Stopped before anything was found."))
        else:
            self.told.setText(
                filled("Stopped. {layout_words}", layout_words=layout_words(self.layout_found, inches=self._inches))
            )

    def _failed(self, error: TainError) -> None:
        self.told.setText(str(error))

    def _show(self, found: LaidOut | None) -> None:
        """Show a layout, the best so far."""
        self.layout_found = found.layout if found is not None else None
        self.take.setEnabled(found is not None and bool(found.layout.copies))
        said = layout_words(found.layout, inches=self._inches) if found is not None else ""
        burned = found.burned if found is not None else None
        self.picture.show_piece(PieceLook(piece=self._piece, burned=burned), said)
        self.told.setText(filled("Best so far: {said}", said=said) if said else "")

    def _show_busy(self) -> None:
        self.lay.setEnabled(not self.placing.busy)


def layout_words(layout: "Layout", *, inches: bool) -> str:
    """How many lie, how close, in what box."""
    laid = len(layout.copies)
    left = f", {layout.left_over} found no room" if layout.left_over else ""
    box = size_text(layout.width_mm, layout.height_mm, inches=inches)
    return f"{laid} laid{left}. They take up {box}, {percent_text(layout.density)} of it filled."
