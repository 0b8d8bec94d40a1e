"""Keeps a small picture of each file that was opened or saved, for the list of recent ones."""

from pathlib import Path

from PySide6.QtCore import QObject, QTimer

from app.canvas.faces_view import FacesView
from app.canvas.thumbnail import thumbnail
from app.errands.files import Files
from app.session.file_pictures import FilePictures
from app.session.samples import sample_files
from app.session.session import Session

PAUSE_MS = 200
"""What is drawn first is seen first; the small picture can wait so long."""


class KeptPictures(QObject):
    """Looks, once a file's artwork is drawn, whether its picture is kept already."""

    def __init__(self, session: Session, files: Files, faces: FacesView, pictures: FilePictures) -> None:
        super().__init__(faces)
        self._session, self._files, self._faces, self._pictures = session, files, faces, pictures
        self._kept: tuple[Path, bytes] | None = None
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.setInterval(PAUSE_MS)
        self._pause.timeout.connect(self.keep)
        faces.drawn.connect(self._pause.start)
        files.saved.connect(lambda path: self._pause.start())

    def keep(self) -> None:
        """Keep the picture of the file at hand, unless it is kept."""
        path, source = self._session.path or self._files.artwork_path, self._session.job.source
        drawn = self._faces.pictures.whole_artwork()
        if path is None or source is None or drawn is None or not self._session.current or path in sample_files():
            return
        if self._kept != (path, source.data):
            self._kept = (path, source.data)
            self._pictures.keep(path, thumbnail(drawn))
