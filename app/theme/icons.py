"""The project's line icons in theme colours, sharp at any pixel density, renewed when the theme changes.

``icon("open")`` gives a QIcon that stays right: its engine renders the SVG at the size and density asked for, in the
colour its role has in the theme of that moment.
"""

import atexit
import shutil
import tempfile
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from PySide6.QtCore import QByteArray, QPointF, QRect, QRectF, QSize, Qt
from PySide6.QtGui import QBrush, QColor, QIcon, QIconEngine, QImage, QPainter, QPen, QPixmap
from PySide6.QtSvg import QSvgRenderer

from app.qt.guarded import Guarded
from app.theme.theme import burned_in, purpose_look, theme

DEFAULT_SIZE_PX = 20
SAMPLE_HEIGHT_PX = 20
APP_ICON_SIZES_PX = (16, 24, 32, 48, 64, 128, 256)
_DRAWN_SIZE = 'width="24" height="24"'
_STYLE_IMAGES = (
    ("chevron_up", "chevron-up", "text", 12),
    ("chevron_down", "chevron-down", "text", 12),
    ("chevron_up_faint", "chevron-up", "disabled", 12),
    ("chevron_down_faint", "chevron-down", "disabled", 12),
    ("tick", "tick", "on_accent", 14),
    ("tick_text", "tick", "text", 14),
    ("dash", "dash", "on_accent", 14),
    ("dot", "dot", "on_accent", 14),
)


def icon(name: str, role: str = "text") -> QIcon:
    """The icon of that name ("hand-over", "zoom-in", ...) in a colour: a field of ``Palette`` or "#rrggbb".

    Raises FileNotFoundError when no such icon was drawn.
    """
    _source(name)
    return QIcon(_LineIconEngine(name, role))


def paint_icon(painter: QPainter, box: QRect, name: str, role: str = "text") -> None:
    """Draw an icon into a rectangle, for widgets that paint themselves: no QIcon is made and thrown away for it.

    An icon with an engine of ours that lives for one stroke only has brought Qt down.
    """
    _paint_line_icon(painter, box, name, _colour(role))


def app_icon() -> QIcon:
    """The program's own icon, in its own colours, drawn at the size that is asked for."""
    return QIcon(_AppIconEngine())


def purpose_icon(purpose: str) -> QIcon:
    """A sample of how a purpose is drawn: its line pattern, or hatch for areas, on a patch of coat."""
    return QIcon(_PurposeIconEngine(purpose))


def icon_names() -> tuple[str, ...]:
    """All icons there are, but for the program's own."""
    names = (Path(item.name).stem for item in files("icons").iterdir() if item.name.endswith(".svg"))
    return tuple(sorted(name for name in names if name != "tain"))


def pixmap(name: str, role: str = "text", size_px: int = DEFAULT_SIZE_PX, density: float = 1.0) -> QPixmap:
    """The icon as a picture of ``size_px`` at a device pixel ratio."""
    picture = QPixmap.fromImage(_rendered(name, _colour(role), round(size_px * density)))
    picture.setDevicePixelRatio(density)
    return picture


def style_images() -> dict[str, str]:
    """Picture files for the style sheet, drawn anew in the colours in force: its names to paths, always the same.

    Qt draws them at the density of each screen, and again when ``QPixmapCache`` was cleared.
    """
    folder, result = _style_folder(), {}
    for key, name, role, size_px in _STYLE_IMAGES:
        path = folder / f"{key}.svg"
        sized = f'width="{size_px}" height="{size_px}"'
        path.write_text(_source(name).replace("currentColor", _colour(role)).replace(_DRAWN_SIZE, sized))
        result[key] = path.as_posix()
    return result


class _LineIconEngine(Guarded, QIconEngine):
    """Renders one line icon; disabled ones in the theme's faint colour."""

    def __init__(self, name: str, role: str) -> None:
        super().__init__()
        self._name, self._role = name, role

    def paint(self, painter: QPainter, rect: QRect, mode: QIcon.Mode, state: QIcon.State) -> None:
        """Qt: draw into a rectangle."""
        _paint_line_icon(painter, rect, self._name, self._mode_colour(mode))

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        """Qt: a picture of so many device pixels."""
        side = min(size.width(), size.height())
        return QPixmap.fromImage(_rendered(self._name, self._mode_colour(mode), side))

    def clone(self) -> QIconEngine:
        """Qt: another one just like it."""
        return _LineIconEngine(self._name, self._role)

    def _mode_colour(self, mode: QIcon.Mode) -> str:
        return _colour("disabled") if mode == QIcon.Mode.Disabled else _colour(self._role)


class _AppIconEngine(Guarded, QIconEngine):
    """Renders the program's icon."""

    def paint(self, painter: QPainter, rect: QRect, mode: QIcon.Mode, state: QIcon.State) -> None:
        """Qt: draw into a rectangle."""
        QSvgRenderer(QByteArray(_bytes("tain"))).render(painter, QRectF(rect))

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        """Qt: a picture of so many device pixels."""
        picture = QPixmap(size)
        picture.fill(Qt.GlobalColor.transparent)
        with QPainter(picture) as painter:
            self.paint(painter, QRect(0, 0, size.width(), size.height()), mode, state)
        return picture

    def availableSizes(self, mode: QIcon.Mode = QIcon.Mode.Normal, state: QIcon.State = QIcon.State.Off) -> list[QSize]:
        """Qt: what a desktop may ask for."""
        return [QSize(side, side) for side in APP_ICON_SIZES_PX]

    def clone(self) -> QIconEngine:
        """Qt: another one just like it."""
        return _AppIconEngine()


class _PurposeIconEngine(Guarded, QIconEngine):
    """Draws a purpose's sample in the theme of the moment."""

    def __init__(self, purpose: str) -> None:
        super().__init__()
        self._purpose = purpose

    def paint(self, painter: QPainter, rect: QRect, mode: QIcon.Mode, state: QIcon.State) -> None:
        """Qt: draw into a rectangle."""
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        look, canvas = purpose_look(self._purpose), theme().canvas
        patch = QRectF(rect).adjusted(1.5, 1.5, -1.5, -1.5)
        ground = burned_in(theme()) if look.hatched else canvas.coat_deep
        painter.setPen(QPen(QColor(look.colour if look.hatched else canvas.sheet_edge), 1.0))
        painter.setBrush(QBrush(QColor(ground)))
        painter.drawRoundedRect(patch, 2.0, 2.0)
        painter.setPen(QPen(QColor(canvas.bared), 1.0) if look.hatched else sample_pen(self._purpose))
        inner = patch.adjusted(2.0, 0.0, -2.0, 0.0)
        heights = (0.25, 0.5, 0.75) if look.hatched else (0.5,)
        for share in heights:
            y = round(patch.top() + share * patch.height()) + 0.5
            painter.drawLine(QPointF(inner.left(), y), QPointF(inner.right(), y))
        painter.restore()

    def pixmap(self, size: QSize, mode: QIcon.Mode, state: QIcon.State) -> QPixmap:
        """Qt: a picture of so many device pixels; a large one is taken for one of a denser screen."""
        scale = max(1, round(size.height() / SAMPLE_HEIGHT_PX))
        picture = QPixmap(size)
        picture.fill(Qt.GlobalColor.transparent)
        with QPainter(picture) as painter:
            painter.scale(scale, scale)
            self.paint(painter, QRect(0, 0, round(size.width() / scale), round(size.height() / scale)), mode, state)
        return picture

    def clone(self) -> QIconEngine:
        """Qt: another one just like it."""
        return _PurposeIconEngine(self._purpose)


def sample_pen(purpose: str) -> QPen:
    """The pen of a purpose at sample size: shorter dashes than on the sheet, so that a few fit."""
    look = purpose_look(purpose)
    pen = QPen(QColor(look.colour), look.width_px)
    dashes = {"long dash": (4.0, 2.0), "dotted": (1.0, 2.0), "dash dot": (3.0, 1.5, 1.0, 1.5)}.get(look.line)
    if dashes:
        pen.setDashPattern(dashes)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    return pen


def _colour(role: str) -> str:
    return role if role.startswith("#") else getattr(theme().palette, role)


def _paint_line_icon(painter: QPainter, box: QRect, name: str, colour: str) -> None:
    side = min(box.width(), box.height())
    target = QRectF(0, 0, side, side)
    target.moveCenter(QRectF(box).center())
    painter.drawImage(target, _rendered(name, colour, round(side * painter.device().devicePixelRatioF())))


@lru_cache(maxsize=1024)
def _rendered(name: str, colour: str, side_px: int) -> QImage:
    # images, not pixmaps: these may outlive the application
    picture = QImage(max(side_px, 1), max(side_px, 1), QImage.Format.Format_ARGB32_Premultiplied)
    picture.fill(Qt.GlobalColor.transparent)
    with QPainter(picture) as painter:
        QSvgRenderer(QByteArray(_source(name).replace("currentColor", colour).encode())).render(painter)
    return picture


@lru_cache(maxsize=256)
def _source(name: str) -> str:
    return _bytes(name).decode()


def _bytes(name: str) -> bytes:
    return (_drawings() / f"{name.replace(' ', '-')}.svg").read_bytes()


@lru_cache(maxsize=1)
def _drawings() -> Traversable:
    return files("icons")


@lru_cache(maxsize=1)
def _style_folder() -> Path:
    folder = Path(tempfile.mkdtemp(prefix="tain-look-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder
