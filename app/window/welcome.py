"""What an empty window offers, over the faces: a place to drop a file, recent jobs and samples, a first job.

Pictures of files are looked for once the window stands, so that it comes up at once.
"""

from collections.abc import Iterable, Sequence
from functools import partial
from pathlib import Path

from PySide6.QtCore import QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QColor, QIcon, QPainter, QPaintEvent, QPen, QPixmap, QResizeEvent
from PySide6.QtWidgets import (
    QBoxLayout,
    QFrame,
    QGridLayout,
    QHBoxLayout,
    QPushButton,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from app.canvas.empty_state import SIGN_RATIO, paint_sign
from app.canvas.thumbnail import PICTURE
from app.qt.captions import caption
from app.qt.guarded import Guarded
from app.session.file_pictures import FilePictures
from app.session.samples import plain_name, sample_name
from app.session.settings import Settings
from app.theme.live_icon import live_icon
from app.theme.theme import theme
from app.widgets.fields import small_button, words
from app.widgets.plain_text import plain_tip
from app.widgets.scrolled import Scrolled

MOST_WIDE_PX = 960
GAP_PX = 12
MARGIN_PX = 24
SIGN_FROM_PX = 560
BESIDE_FROM_PX = 420
TILE = QSize(PICTURE.width() + 16, PICTURE.height() + 40)
MOST_RECENTS = 8
PICTURES_AFTER_MS = 50
"""The window is painted before pictures of files are looked for."""


class DropZone(Guarded, QFrame):
    """A dashed field to drop a file on, with the two ways to begin. Files dropped are the window's."""

    def __init__(self) -> None:
        super().__init__()
        self._wanted = False
        self.setMinimumHeight(168)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Maximum)
        row = QHBoxLayout(self)
        row.setContentsMargins(MARGIN_PX, 20, MARGIN_PX, 20)
        row.setSpacing(24)
        self._sign = _Sign()
        row.addWidget(self._sign, 0, Qt.AlignmentFlag.AlignVCenter)
        column = QVBoxLayout()
        column.setSpacing(8)
        column.addStretch(1)
        column.addWidget(words("Drop artwork here", role="title"))
        column.addWidget(words("SVG, DXF, PDF or a picture, or a Tain job: anywhere on the window.", role="quiet"))
        column.addSpacing(4)
        self.buttons = QBoxLayout(QBoxLayout.Direction.LeftToRight)
        self.buttons.setSpacing(8)
        column.addLayout(self.buttons)
        column.addStretch(1)
        row.addLayout(column, 1)

    def show_wanted(self, wanted: bool) -> None:
        """A file is held over the window, or no more."""
        if wanted != self._wanted:
            self._wanted = wanted
            self.update()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size; where it is narrow the buttons lie below each other."""
        super().resizeEvent(event)
        self._sign.setVisible(self.width() >= SIGN_FROM_PX)
        upright = self.width() < BESIDE_FROM_PX
        ways = QBoxLayout.Direction
        self.buttons.setDirection(ways.TopToBottom if upright else ways.LeftToRight)

    def minimumSizeHint(self) -> QSize:
        """Qt: the least size, as narrow as a tile: what lies side by side while there is room does not count."""
        return QSize(TILE.width(), super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """Qt: draw."""
        palette = theme().palette
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            pen = QPen(QColor(palette.accent if self._wanted else palette.border), 2.5 if self._wanted else 1.5)
            pen.setDashPattern([5.0, 4.0])
            painter.setPen(pen)
            painter.setBrush(QColor(palette.accent_soft if self._wanted else palette.surface))
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(2, 2, -2, -2), 16.0, 16.0)


class _Sign(Guarded, QWidget):
    def __init__(self) -> None:
        super().__init__()
        self.setFixedSize(round(96 * SIGN_RATIO), 96)

    def paintEvent(self, event: QPaintEvent) -> None:
        with QPainter(self) as painter:
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            paint_sign(painter, QRectF(self.rect()), theme())


class Tile(QToolButton):
    """A file as a picture with its name below."""

    def __init__(self, path: Path, name: str, about: str) -> None:
        super().__init__()
        self.path = path
        self.setProperty("role", "tile")
        self.setObjectName(f"tile {path.name}")
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextUnderIcon)
        self.setIconSize(PICTURE)
        self.setFixedSize(TILE)
        self.setText(self.fontMetrics().elidedText(name, Qt.TextElideMode.ElideMiddle, PICTURE.width()))
        self.setAccessibleName(about)
        self.setToolTip(plain_tip(about))
        self.setIcon(live_icon(PICTURE, lambda painter, room: painter.fillRect(room, QColor(theme().palette.raised))))


class Tiles(Guarded, QWidget):
    """A heading over tiles, in as many columns as there is room for; not seen while it is empty."""

    chosen = Signal(object)

    def __init__(self, heading: str, pictures: FilePictures) -> None:
        super().__init__()
        self._pictures = pictures
        self.tiles: list[Tile] = []
        column = QVBoxLayout(self)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(8)
        column.addWidget(words(heading, role="heading"))
        self._grid = QGridLayout()
        self._grid.setSpacing(GAP_PX)
        column.addLayout(self._grid)
        self._columns = 0

    def offer(self, files: Iterable[tuple[Path, str, str]]) -> None:
        """Show these: (path, name, what a screen reader says)."""
        for tile in self.tiles:
            self._grid.removeWidget(tile)
            tile.hide()
            tile.deleteLater()
        self.tiles = [Tile(*file) for file in files]
        for tile in self.tiles:
            tile.clicked.connect(partial(self._choose, tile.path))
        self.setVisible(bool(self.tiles))
        self._columns = 0
        self._lay()

    def show_pictures(self) -> None:
        """Put the files' pictures on their tiles."""
        for tile in self.tiles:
            picture = self._pictures.picture(tile.path)
            if picture is not None:
                tile.setIcon(QIcon(QPixmap.fromImage(picture)))

    def _choose(self, path: Path, checked: bool = False) -> None:
        self.chosen.emit(path)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Qt: another size."""
        super().resizeEvent(event)
        self._lay()

    def minimumSizeHint(self) -> QSize:
        """Qt: the least size, one tile wide: more columns are laid only where there is room."""
        return QSize(TILE.width(), super().minimumSizeHint().height())

    def _lay(self) -> None:
        columns = max(1, (self.width() + GAP_PX) // (TILE.width() + GAP_PX))
        if columns == self._columns:
            return
        self._columns = columns
        for number, tile in enumerate(self.tiles):
            self._grid.addWidget(tile, number // columns, number % columns)
        for column in range(self._grid.columnCount()):
            self._grid.setColumnStretch(column, 0)
        self._grid.setColumnStretch(columns, 1)


class Welcome(Scrolled):
    """open_wanted: a file dialog. first_job_wanted. chosen: this file is to be opened."""

    open_wanted = Signal()
    first_job_wanted = Signal()
    chosen = Signal(object)

    def __init__(self, settings: Settings, samples: Sequence[Path], pictures: FilePictures) -> None:
        super().__init__("Begin with a file")
        self.content.setProperty("role", "welcome")
        self._settings = settings
        self.on = self.pictures_shown = False
        self.zone = DropZone()
        self.open_button = QPushButton(caption("Open a file…"))
        self.open_button.setProperty("role", "main")
        self.open_button.setAccessibleName(caption("Open a file (Ctrl+O)"))
        self.open_button.setToolTip(caption("Open a file (Ctrl+O)"))
        self.open_button.clicked.connect(self.open_wanted)
        self.first_job = small_button("Your first job, step by step", tip="Short steps that point at the controls")
        self.first_job.setObjectName("first job")
        self.first_job.clicked.connect(self.first_job_wanted)
        self.zone.buttons.addWidget(self.open_button)
        self.zone.buttons.addWidget(self.first_job)
        self.zone.buttons.addStretch(1)
        self.recents, self.samples = Tiles("Recent", pictures), Tiles("Samples to try", pictures)
        for tiles in (self.recents, self.samples):
            tiles.chosen.connect(self.chosen)
        inner = QWidget()
        inner.setMinimumWidth(TILE.width() + 2 * 8)
        inner.setMaximumWidth(MOST_WIDE_PX)
        column = QVBoxLayout(inner)
        column.setContentsMargins(8, 8, 8, 8)
        column.setSpacing(20)
        for widget in (self.zone, self.recents, self.samples):
            column.addWidget(widget)
        column.addStretch(1)
        self.body.addWidget(inner)
        self.body.addStretch(1)
        self.samples.offer((path, plain_name(path), f"Open the sample {sample_name(path)}") for path in samples)
        self._later = QTimer(self)
        self._later.setSingleShot(True)
        self._later.timeout.connect(self._show_pictures)

    def show_on(self, on: bool) -> None:
        """Offer to begin, or get out of the way."""
        if on and not self.on:
            known = list(self._settings.recents())[:MOST_RECENTS]
            self.recents.offer((path, path.name, f"Open {path.name} again, from {path.parent}") for path in known)
            self._later.start(PICTURES_AFTER_MS)
        self.on = on
        self.setVisible(on)

    def _show_pictures(self) -> None:
        self.recents.show_pictures()
        self.samples.show_pictures()
        self.pictures_shown = True
