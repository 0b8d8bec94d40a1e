"""Every page, every room and every dialog at four sizes in light and dark, to be looked at one by one.

Dialogs are found by pressing all that ends in "…": commands of the menus, buttons of pages and of dialogs. Beside the
single pictures lie contact sheets.
"""

import re
from collections.abc import Callable
from pathlib import Path

from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication, QDialog, QPushButton, QWidget

from app.session.samples import sample_files
from app.stages.stage import Stage
from app.theme.in_force import apply_theme
from app.widgets import messages
from app.window.main_window import MainWindow
from tests.screenshots.readme import open_sample
from tests.windows import wait_until, wait_until_settled

SIZES = ((820, 620), (1280, 800), (1920, 1080), (2560, 1440))
LOOKS = ("light", "dark")
DEEPEST = 2
NOT_PRESSED = ("open", "save", "export", "quit", "put other", "bring a book", "import")
"""What only leads to the system's own file dialogs."""
SHEET_WIDE_PX, TILE_WIDE_PX = 1920, 480


class Shown(messages.Dialogs):
    """Every dialog is handed to ``look`` and then left."""

    def __init__(self) -> None:
        self.look: Callable[[QDialog, str], None] = lambda dialog, name: None
        self.depth = 0

    def tell(self, parent, title, text, hint):  # type: ignore[no-untyped-def]
        """Nobody has to read it."""

    def ask(self, parent, title, text, hint, answers):  # type: ignore[no-untyped-def]
        """Take the way out."""
        return next((answer.key for answer in answers if answer.role == "cancel"), answers[0].key)

    def open_file(self, parent, title, folder, filters):  # type: ignore[no-untyped-def]
        """No file."""
        return ""

    def save_file(self, parent, title, path, filters):  # type: ignore[no-untyped-def]
        """No file."""
        return ""

    def choose_colour(self, parent, title, colour):  # type: ignore[no-untyped-def]
        """No colour."""
        return ""

    def run(self, dialog: QDialog) -> bool:
        """Show it, look at it, press what leads on from it."""
        dialog.show()
        self.depth += 1
        self.look(dialog, dialog.windowTitle())
        if self.depth < DEEPEST:
            press_all(dialog)
        self.depth -= 1
        dialog.hide()
        return False


def press_all(widget: QWidget) -> None:
    """Press every button of it that leads to something more."""
    for button in widget.findChildren(QPushButton):
        text = button.text().replace("&", "")
        offered = text.endswith("…") and button.isVisible() and button.isEnabled()
        if offered and not text.lower().startswith(NOT_PRESSED):
            button.click()


def take(window: MainWindow, folder: Path) -> None:
    """All of it."""
    shown = Shown()
    messages.use(shown)
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    for looks in LOOKS:
        apply_theme(app, looks)
        for size in SIZES:
            pictures = Pictures(window, folder / f"{looks}-{size[0]}x{size[1]}", QSize(*size))
            shown.look = pictures.keep_dialog
            _take_all(window, pictures)
            pictures.write_sheet(folder / f"{looks}-{size[0]}x{size[1]}.png")
            window.session.mark_saved(window.session.order, Path("shown.tain"))
            window.session.begin(type(window.session)().job)


def _take_all(window: MainWindow, pictures: "Pictures") -> None:
    window.resize(pictures.size)
    window.go_to(Stage.ARTWORK)
    settle(window)
    wait_until(lambda: window.welcome.pictures_shown)
    pictures.keep(window, "empty window")
    for key in ("rack", "recipes", "shop book"):
        window.menus.actions[key].trigger()
    open_sample(window, "crest.svg")
    for stage in Stage:
        window.rail.button(stage).click() if stage is not window.stage else None
        settle(window)
        pictures.keep(window, stage.title)
        page = window.pages[stage]
        for room in page.rooms:
            page.open_room(room)
            settle(window)
            pictures.keep(page, f"{stage.title}, {room.title}")
            press_all(room)
            page.leave_room()
        press_all(page)
        settle(window)
    for key, action in window.menus.actions.items():
        text = action.text().replace("&", "").lower()
        known = text.endswith("…") or key in ("keys", "cautions", "about")
        if known and action.isEnabled() and not text.startswith(NOT_PRESSED):
            action.trigger()
            settle(window)
    window.menus.actions["help"].trigger()
    assert window.help_reader is not None
    pictures.keep_dialog(window.help_reader, "Help")
    window.help_reader.hide()
    faulty = next(path for path in sample_files() if path.stem == "faulty-door-sign")
    open_sample(window, faulty.name)
    window.go_to(Stage.ARTWORK)
    settle(window)
    pictures.keep(window, "Artwork with findings")
    press_all(window.pages[Stage.ARTWORK])


def settle(window: MainWindow) -> None:
    """Nothing is under way any more, and what came in is shown."""
    wait_until_settled(window)
    work = (window.burn_page.advising, window.paint_page.painting, window.shop)
    wait_until(lambda: not any(one.busy for one in work))
    QApplication.processEvents()
    wait_until_settled(window)


class Pictures:
    """The pictures of one size and theme; each name once."""

    def __init__(self, window: MainWindow, folder: Path, size: QSize) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self._window, self._folder, self.size = window, folder, size
        self._taken: list[tuple[str, QImage]] = []

    def keep_dialog(self, dialog: QDialog, name: str) -> None:
        """A dialog, no larger than the screen of this size."""
        dialog.resize(dialog.size().boundedTo(self.size * 0.95))
        settle(self._window)
        self.keep(dialog, f"dialog {name}")

    def keep(self, widget: QWidget, name: str) -> None:
        """Write the picture of a widget, unless it is there."""
        if all(name != taken for taken, _ in self._taken):
            QApplication.processEvents()
            picture = widget.grab().toImage()
            picture.save(str(self._folder / f"{re.sub('[^a-z0-9]+', '-', name.lower()).strip('-')}.png"))
            self._taken.append((name, picture))

    def write_sheet(self, file: Path) -> None:
        """All of them on one sheet, small, each with its name."""
        across = SHEET_WIDE_PX // TILE_WIDE_PX
        tall = TILE_WIDE_PX * 3 // 4 + 24
        rows = -(-len(self._taken) // across)
        sheet = QImage(SHEET_WIDE_PX, rows * tall, QImage.Format.Format_RGB32)
        sheet.fill(Qt.GlobalColor.darkGray)
        painter = QPainter(sheet)
        room = QSize(TILE_WIDE_PX - 8, tall - 28)
        for number, (name, picture) in enumerate(self._taken):
            at = QPoint(number % across * TILE_WIDE_PX + 4, number // across * tall + 4)
            smooth = Qt.TransformationMode.SmoothTransformation
            small = picture.scaled(room.boundedTo(picture.size()), Qt.AspectRatioMode.KeepAspectRatio, smooth)
            painter.drawImage(at, small)
            painter.drawText(at + QPoint(0, tall - 12), name)
        painter.end()
        sheet.save(str(file))
        print(file, len(self._taken))
