"""The artwork's file on disk: watched, and read again into the job when it was changed by the program that draws it."""

from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QFileSystemWatcher, QObject, QTimer, Signal

from app.qt.captions import filled
from app.session.background import Background, Question
from app.session.session import Session
from app.session.settings import Settings
from core.artwork.sources import load_source
from core.errors import TainError, UnreadableError
from core.plain_file import plain_file_bytes
from core.progress import Progress

if TYPE_CHECKING:
    from core.job.job import Job
    from core.job.rereading import Reread

PAUSE_MS = 400
"""A program that saves does so in several steps; the last of them is waited for."""


class LivingArtwork(QObject):
    """``watch(path)`` follows a file; ``read_again`` takes its newest state into the job, as one step of undo.

    changed(path): it differs from what the job holds. reread(path, words): it was read again. failed(path, error).
    """

    changed = Signal(object)
    reread = Signal(object, str)
    failed = Signal(object, object)
    busy_changed = Signal()

    def __init__(self, session: Session, settings: Settings, parent: QObject) -> None:
        super().__init__(parent)
        self._session, self._settings = session, settings
        self._question = Question(Background("artwork on disk", self))
        self._question.busy_changed.connect(self.busy_changed)
        self._path: Path | None = None
        self._watcher: QFileSystemWatcher | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self._look)

    @property
    def busy(self) -> bool:
        """Whether the file is being looked at or read."""
        return self._question.busy or self._pause.isActive()

    @property
    def path(self) -> Path | None:
        """The file that is watched."""
        return self._path

    def watch(self, path: Path | None) -> None:
        """Follow this file from now on; None: none."""
        if path == self._path:
            return
        self._path = path
        self._pause.stop()
        self._question.stop()
        if self._watcher is not None:
            self._watcher.deleteLater()
            self._watcher = None
        if path is not None:
            self._watcher = QFileSystemWatcher(self)
            self._watcher.fileChanged.connect(lambda name: self._stirred())
            self._watcher.directoryChanged.connect(lambda name: self._stirred())
            self._hold()

    def read_again(self) -> None:
        """Take the file's newest state into the job."""
        path, job = self._path, self._session.job
        if path is None or job.source is None:
            return

        def take(found: "Reread") -> None:
            if self._session.job is not job:  # it was worked on meanwhile
                self.read_again()
                return
            self._session.commit(found.job, filled("Read {name} again", name=path.name))
            self.reread.emit(path, found.words)

        self._question.ask_once(lambda progress: _reread(job, path, progress), take, self._not_read)

    def _hold(self) -> None:
        """Watch the file and its folder: many programs write another file and give it this one's name."""
        assert self._watcher is not None and self._path is not None
        wanted = [str(self._path), str(self._path.parent)]
        known = {*self._watcher.files(), *self._watcher.directories()}
        missing = [name for name in wanted if name not in known and Path(name).exists()]
        if missing:
            self._watcher.addPaths(missing)

    def _stirred(self) -> None:
        if self._path is None:  # a watcher that is to be deleted may still speak
            return
        self._hold()
        self._pause.start()

    def _look(self) -> None:
        """Whether the file differs from what the job holds; an unreadable one is on its way and stirs again."""
        path, source = self._path, self._session.job.source
        if path is None or source is None:
            return
        if self._question.busy:  # being read again is not given up for a look
            self._pause.start()
            return

        def work(progress: Progress) -> bool:
            try:
                return plain_file_bytes(path) != source.data
            except UnreadableError:
                return False

        def take(differs: bool) -> None:
            if self._session.job.source is source:
                self._found(differs)
            else:  # opened anew meanwhile
                self._look()

        self._question.ask_once(work, take)

    def _found(self, differs: bool) -> None:
        if not differs or self._path is None:
            return
        if self._settings.get("read_again"):
            self.read_again()
        else:
            self.changed.emit(self._path)

    def _not_read(self, error: TainError) -> None:
        self.failed.emit(self._path, error)


def _reread(job: "Job", path: Path, progress: Progress) -> "Reread":
    from core.job.rereading import reread

    return reread(job, load_source(path), progress=progress)


def artwork_beside(job_file: Path | None, name: str) -> Path | None:
    """The artwork's file beside the job's, where it is there."""
    beside = job_file.with_name(name) if job_file is not None else None
    return beside if beside is not None and beside.is_file() else None
