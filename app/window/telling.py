"""What is said over the faces of files, the shop book and artwork on disk, and how long each of it holds."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QObject, QUrl, Signal
from PySide6.QtGui import QDesktopServices

from app.errands.files import Files
from app.errands.living import LivingArtwork, artwork_beside
from app.errands.trials import Trials
from app.errands.trouble import Trouble
from app.qt.captions import filled
from app.session.recovery import Autosave, Leftover
from app.session.session import Session
from app.session.shop import Shop
from app.widgets.banner import Banner
from core.errors import TainError
from core.job.job import Job

if TYPE_CHECKING:
    from core.burning.coupon import Coupon


class Telling(QObject):
    """Listens to what was done and says it. watched: another file on disk is followed, or none."""

    watched = Signal()

    def __init__(
        self,
        banner: Banner,
        session: Session,
        files: Files,
        living: LivingArtwork,
        shop: Shop,
        trials: Trials,
        trouble: Trouble,
    ) -> None:
        super().__init__(banner)
        self._banner, self._session, self._files, self._living = banner, session, files, living
        self._shop, self._coupons = shop, trials.coupons
        files.exported.connect(self._exported)
        files.without_book.connect(self._without_book)
        files.replaced.connect(self._followed)
        session.file_changed.connect(self._watch_artwork)
        living.changed.connect(self._changed)
        living.reread.connect(self._followed)
        living.failed.connect(self._not_reread)
        trials.coupons.opened.connect(self._coupon)
        trials.told.connect(self.of_book)
        trouble.told.connect(self.of_book)
        trials.told_with_undo.connect(lambda text, undo: self.of_book(text, action="Undo", do=undo))

    def same_job(self) -> Callable[[], bool]:
        """Asks whether the job is still this one."""
        job = self._session.job
        return lambda: self._session.job == job

    def same_artwork(self) -> Callable[[], bool]:
        """Asks whether the artwork is still this one."""
        source = self._session.job.source
        return lambda: self._session.job.source is source

    def of_book(self, text: str, *, action: str = "", do: Callable[[], object] = lambda: None) -> None:
        """What was done in the shop book; said until it is written to again or other artwork is open."""
        written, same_artwork = self._shop.written, self.same_artwork()
        holds = lambda: self._shop.written == written and same_artwork()  # noqa: E731
        self._banner.say("done", text, action=action, do=do, holds=holds)

    def open_made(self, name: str, job: Job) -> None:
        """A job that was drawn here, opened once what stood here is settled."""

        def begin() -> None:
            self._files.begin(job, unsaved=True)
            told = filled("The {name} is open as a job of its own: look at it, save it, burn it.", name=name)
            self._banner.say("done", told, holds=self.same_job())

        self._files.once_settled(begin)

    def not_kept_safe(self, error: TainError, autosave: Autosave) -> None:
        """No safety copy could be written."""
        told = filled("No safety copy could be written: {message}", message=error.message)
        self._banner.say("problem", told, hint="Save the job soon.", holds=lambda: autosave.failed)

    def recovered(self, leftover: Leftover) -> None:
        """Work that was left behind is open again."""
        told, same_artwork = f"{leftover.name} is back, with its unsaved changes.", self.same_artwork()
        self._banner.say("done", told, holds=lambda: same_artwork() and self._session.modified)

    def _without_book(self, error: TainError) -> None:
        told = filled("{message} This job begins with the starting profiles.", message=error.message)
        self._banner.say("note", told, hint=error.hint, holds=self.same_artwork())

    def _coupon(self, coupon: "Coupon") -> None:
        self._banner.say(
            "done",
            filled("Coupon {code} is open as a job: burn it like any other, then read it.", code=coupon.code),
            action="Save its sheet of looks…",
            do=lambda: self._coupons.save_looks(coupon),
            holds=self.same_job(),
        )

    def _exported(self, path: Path) -> None:
        read_back = self._session.read_back
        told = (
            filled("Exported to {path}; {words}.", path=path, words=read_back.words)
            if read_back
            else filled("Exported to {path}.", path=path)
        )
        self._banner.say(
            "done" if self._session.handed_over else "note",
            told if self._session.handed_over else filled("{told} What was changed meanwhile is not in it.", told=told),
            action="Show the folder",
            do=lambda: QDesktopServices.openUrl(QUrl.fromLocalFile(str(path.parent))),
            holds=self.same_job(),
        )

    def _watch_artwork(self) -> None:
        """Follow the file that the present artwork came from, or the one of its name beside the job."""
        source, path = self._session.job.source, self._files.artwork_path
        if source is None or (path is not None and path.name != source.name):
            path = None
        if source is not None and path is None:
            path = artwork_beside(self._session.path, source.name)
        self._living.watch(path)
        self.watched.emit()

    def _changed(self, path: Path) -> None:
        self._banner.say(
            "note",
            filled("{name} was changed on disk.", name=path.name),
            hint="What was decided about each shape stays with it.",
            action="&Read it again",
            do=self._living.read_again,
            holds=self.same_artwork(),
        )

    def _followed(self, path: Path, words: str) -> None:
        told = f"{path.name}: {words}"
        self._banner.say("done", told, action="Undo", do=self._session.undo, holds=self.same_artwork())

    def _not_reread(self, path: Path, error: TainError) -> None:
        told = filled("{name} was changed and can't be read: {message}", name=path.name, message=error.message)
        self._banner.say("problem", told, hint="The job is unchanged.", holds=self.same_artwork())
