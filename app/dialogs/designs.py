"""Several designs on the piece at hand: job files beside this job, nested; each stays a job of its own."""

from pathlib import Path

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QListWidget, QWidget

from app.canvas.piece_picture import PieceLook, PiecePicture
from app.dialogs.beside import BesideDialog
from app.dialogs.foot import Foot
from app.dialogs.search_bar import SearchBar
from app.qt.captions import caption, filled
from app.session.placing import Placing, Tell
from app.widgets import messages
from app.widgets.fields import Card, LengthField, small_button
from app.words.wording import count_text
from core.errors import TainError
from core.job.copying import USUAL_SPACING_MM
from core.job.job import Job
from core.job.laid_out import DesignsLaid, designs_laid_out, with_artwork_of
from core.output.job_files import save_jobs
from core.output.opening import JOB_SUFFIX, open_job
from core.progress import Progress
from core.sheet.ground import PlacingOptions
from core.sheet.offcuts import Piece, rectangle

JOBS = "Jobs and artwork (*.tain *.svg *.dxf *.pdf);;All files (*)"


class DesignsDialog(BesideDialog):
    """``laid`` is what was laid out, this job first; accepted: this job goes to its place in it."""

    def __init__(
        self, parent: QWidget | None, placing: Placing, job: Job, options: PlacingOptions, *, name: str, inches: bool
    ) -> None:
        lead = "Other jobs beside this one on its sheet; each is then burned by itself."
        super().__init__(parent, placing, title="Several designs", lead=lead)
        self._job, self._options = job, options
        self._paths: list[Path] = []
        self.laid: DesignsLaid | None = None
        sheet = job.sheet
        outline = sheet.outline or rectangle(sheet.width_mm, sheet.height_mm)
        self._piece = Piece(stock=job.stock.name, thickness_mm=sheet.thickness_mm, outline=outline, flaws=sheet.flaws)
        self.left.addWidget(self._card(name, inches=inches))
        self.picture = PiecePicture("The piece with all designs on it", least=QSize(360, 240))
        self.right.addWidget(self.picture, 1)
        self.close_with(self._foot())
        placing.busy_changed.connect(self._show_busy)
        self._show(None)

    def _card(self, name: str, *, inches: bool) -> Card:
        card = Card("Designs")
        self.list = QListWidget()
        self.list.setAccessibleName(caption("Designs on this sheet"))
        self.list.addItem(filled("{name} (this job)", name=name))
        self.list.currentRowChanged.connect(self._row_chosen)
        card.body.addWidget(self.list, 1)
        self.add = small_button("&Add a design…", tip="A job or artwork; artwork gets this job's stock and machine")
        self.add.clicked.connect(self._add)
        self.drop = small_button("Take ou&t", "Take this design out")
        self.drop.setEnabled(False)
        self.drop.clicked.connect(self._drop)
        card.line(self.add, self.drop)
        self.spacing = LengthField("Sheet between the designs", low=0, high=200, step=0.5)
        self.spacing.show_inches(inches)
        self.spacing.show_value(USUAL_SPACING_MM)
        card.row("&Between", self.spacing)
        self.lay = small_button("Lay them &out")
        self.lay.clicked.connect(self.lay_out)
        card.body.addWidget(self.lay)
        return card

    def _foot(self) -> Foot:
        self.save = small_button("&Save as job files…", tip="Into a folder, one for each design, with its place")
        self.save.clicked.connect(self._save)
        self.search = SearchBar(self.placing, "Laying the designs out", stop="Stop", given_up=self._tell_stopped)
        foot = Foot(self, "&Put this job there", self.save, self.search, leave="Close")
        self.take = foot.main
        return foot

    # --- the list ------------------------------------------------------------------------------------------------

    def _add(self) -> None:
        folder = str(self._paths[-1].parent) if self._paths else ""
        path = messages.open_file(self, "A design", folder=folder, filters=JOBS)
        if path is not None:
            self._paths.append(path)
            self.list.addItem(path.name)
            self._show(None)

    def _row_chosen(self, row: int) -> None:
        self.drop.setEnabled(row > 0)

    def _drop(self) -> None:
        row = self.list.currentRow()
        if row > 0:
            self._paths.pop(row - 1)
            self.list.takeItem(row)
            self._show(None)

    # --- laying out ----------------------------------------------------------------------------------------------

    def lay_out(self) -> None:
        """Read the designs and nest all of them."""
        self._show(None)
        if not self._paths:
            self.told.setText(caption("Add a design first."))
            return
        job, paths, options, spacing_mm = self._job, tuple(self._paths), self._options, self.spacing.value()

        def work(progress: Progress, tell: Tell) -> DesignsLaid:
            return designs_laid_out(
                job,
                [(path.name, _design(job, path)) for path in paths],
                spacing_mm=spacing_mm,
                options=options,
                progress=progress,
            )

        self.placing.do(work, self._take, self._failed)
        self.told.setText(caption("Laying them out…"))

    def _take(self, laid: DesignsLaid) -> None:
        self._show(laid)
        self.told.setText(
            filled("{jobs} on this sheet.", jobs=count_text(len(laid.jobs), "design lies", "designs lie"))
        )

    def _failed(self, error: TainError) -> None:
        self.told.setText(str(error))

    def _show(self, laid: DesignsLaid | None) -> None:
        self.laid = laid
        burned = laid.burned if laid is not None else None
        self.picture.show_piece(PieceLook(piece=self._piece, burned=burned), "")
        self.told.setText("")
        for button in (self.save, self.take):
            button.setEnabled(laid is not None)

    def _tell_stopped(self) -> None:
        self.told.setText(caption("Stopped before all were laid."))

    def _show_busy(self) -> None:
        self.lay.setEnabled(not self.placing.busy)

    # --- saving --------------------------------------------------------------------------------------------------

    def _save(self) -> None:
        laid = self.laid
        if laid is None:
            return
        folder = messages.save_file(self, "A folder for the job files", path=str(Path.home() / "designs"), filters="")
        if folder is None:
            return
        names = [self.list.item(0).text().removesuffix(" (this job)"), *(path.stem for path in self._paths)]
        try:
            save_jobs(tuple(zip(_distinct(names), laid.jobs, strict=True)), folder)
        except TainError as error:
            self.told.setText(str(error))
        else:
            self.told.setText(
                filled(
                    "{names} in {folder}.", names=count_text(len(names), "job file is", "job files are"), folder=folder
                )
            )


def _distinct(names: list[str]) -> list[str]:
    """The names, those that come again with a number behind."""
    return [f"{name} {names[:at].count(name) + 1}" if name in names[:at] else name for at, name in enumerate(names)]


def _design(job: Job, path: Path) -> Job:
    """The job in a file, or artwork with this job's settings. Raises UnreadableError."""
    opened = open_job(path)
    return opened if path.suffix.lower() == JOB_SUFFIX else with_artwork_of(job, opened)
