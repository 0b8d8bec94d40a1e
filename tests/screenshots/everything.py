"""Every page, every room, every dialog and every message at four sizes in light and dark, to be looked at one by one.

Dialogs are found by pressing all that ends in "…": commands of the menus, buttons of pages and of dialogs; once with a
shop book as it begins and once with one that was worked with (``filled_shop``). What only files bring about is asked
of files made for it (``questions``). Each is taken at every size. Beside the single pictures lie contact sheets.
"""

import re
from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QPoint, QSize, Qt
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication, QDialog, QMessageBox, QPushButton, QWidget

from app.session.samples import sample_files
from app.stages.stage import Stage
from app.theme.in_force import apply_theme
from app.widgets import messages
from app.window.main_window import MainWindow
from tests.screenshots.filled_shop import fill
from tests.screenshots.questions import ask_all
from tests.screenshots.readme import open_sample
from tests.windows import wait_until, wait_until_settled

SIZES = ((820, 620), (1280, 800), (1920, 1080), (2560, 1440))
LOOKS = ("light", "dark")
DEEPEST = 2
NOT_PRESSED = ("open", "save", "export", "quit", "put other", "bring a book", "import", "outline from")
"""What only leads to the system's own file dialogs."""
SHEET_WIDE_PX, TILE_WIDE_PX = 1920, 480


class Shown(messages.Dialogs):
    """Every dialog and message is taken at all sizes and then left."""

    def __init__(self, pictures: "Pictures", prefix: str) -> None:
        self._pictures, self._depth, self._prefix = pictures, 0, prefix

    def tell(self, parent, title, text, hint):  # type: ignore[no-untyped-def]
        """Take it; nobody has to read it."""
        self._take_box(messages.told_box(parent, title, text, hint), f"message {title}")

    def ask(self, parent, title, text, hint, answers):  # type: ignore[no-untyped-def]
        """Take it, and take the way out."""
        self._take_box(messages.asked_box(parent, title, text, hint, answers)[0], f"question {title}, {text}")
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
        """Show it, take it, press what leads on from it."""
        dialog.show()
        self._depth += 1
        self._pictures.keep_dialog(dialog, f"dialog {self._prefix}{dialog.windowTitle()}")
        if self._depth < DEEPEST:
            press_all(dialog)
        self._depth -= 1
        dialog.done(0)
        return False

    def _take_box(self, box: QMessageBox, name: str) -> None:
        box.show()
        self._pictures.keep_dialog(box, name)
        box.hide()
        box.deleteLater()


def press_all(widget: QWidget) -> None:
    """Press every button of it that leads to something more, and each that asks whether to remove something."""
    for button in widget.findChildren(QPushButton):
        text = button.text().replace("&", "")
        leads_on = text.endswith("…") or text == "Remove"
        if leads_on and button.isVisible() and button.isEnabled() and not text.lower().startswith(NOT_PRESSED):
            button.click()


def take(window: MainWindow, folder: Path, looks: Sequence[str] = LOOKS) -> None:
    """All of it, in each of the looks."""
    app = QApplication.instance()
    assert isinstance(app, QApplication)
    taken = {look: Pictures(window, folder, look) for look in looks}
    for worked_with in (False, True):
        if worked_with:
            fill(window, lambda: settle(window))
        for look, pictures in taken.items():
            apply_theme(app, look)
            messages.use(Shown(pictures, "in use, " if worked_with else ""))
            _take_all(window, pictures, "in use, " if worked_with else "")
            if worked_with:
                ask_all(window, folder, lambda: settle(window))
            _forget(window)
    for pictures in taken.values():
        pictures.write_sheets()


def _forget(window: MainWindow) -> None:
    window.session.mark_saved(window.session.order, Path("shown.tain"))
    window.session.begin(type(window.session)().job)


def _take_all(window: MainWindow, pictures: "Pictures", prefix: str) -> None:
    _forget(window)
    window.go_to(Stage.ARTWORK)
    settle(window)
    wait_until(lambda: window.welcome.pictures_shown)
    pictures.keep_window(f"{prefix}empty window")
    for key in ("rack", "recipes", "shop book"):
        window.menus.actions[key].trigger()
        settle(window)
    open_sample(window, "crest.svg")
    for stage in Stage:
        window.go_to(stage)
        settle(window)
        pictures.keep_window(f"{prefix}{stage.title}")
        page = window.pages[stage]
        for room in page.rooms:
            page.open_room(room)
            settle(window)
            pictures.keep_window(f"{prefix}{stage.title}, {room.title}", part=page)
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
    assert window.guidance.reader is not None
    pictures.keep_dialog(window.guidance.reader, f"dialog {prefix}Help")
    window.guidance.reader.hide()
    faulty = next(path for path in sample_files() if path.stem == "faulty-door-sign")
    open_sample(window, faulty.name)
    window.go_to(Stage.ARTWORK)
    settle(window)
    pictures.keep_window(f"{prefix}Artwork with findings")
    press_all(window.pages[Stage.ARTWORK])


def settle(window: MainWindow) -> None:
    """Nothing is under way any more, and what came in is shown."""
    wait_until_settled(window)
    work = (window.burn_page.advising, window.paint_page.painting, window.shop)
    wait_until(lambda: not any(one.busy for one in work))
    QApplication.processEvents()
    wait_until_settled(window)


class Pictures:
    """The pictures of one theme, each at all sizes; each name once."""

    def __init__(self, window: MainWindow, folder: Path, look: str) -> None:
        self._window, self._folder, self._look = window, folder, look
        self._taken: dict[str, list[tuple[str, QImage]]] = {}
        self._names: set[str] = set()

    def keep_dialog(self, dialog: QDialog, name: str) -> None:
        """A dialog as large as it comes, no larger than the screen of each size."""
        if name in self._names:
            return
        self._names.add(name)
        settle(self._window)
        usual = dialog.size()
        for size in (QSize(*one) for one in SIZES):
            dialog.resize(usual.boundedTo(size * 0.95))
            self._keep(dialog, name, size)
        dialog.resize(usual)

    def keep_window(self, name: str, part: QWidget | None = None) -> None:
        """The window at each size, or a part of it."""
        if name in self._names:
            return
        self._names.add(name)
        for size in (QSize(*one) for one in SIZES):
            self._window.resize(size)
            settle(self._window)
            if not self._window.pages[self._window.stage].isVisible():
                self._window.menus.actions["page"].trigger()
                settle(self._window)
            self._keep(part or self._window, name, size)
        self._window.resize(1280, 800)
        settle(self._window)

    def _keep(self, widget: QWidget, name: str, size: QSize) -> None:
        QApplication.processEvents()
        picture = widget.grab().toImage()
        sized = f"{self._look}-{size.width()}x{size.height()}"
        folder = self._folder / sized
        folder.mkdir(parents=True, exist_ok=True)
        picture.save(str(folder / f"{re.sub('[^a-z0-9]+', '-', name.lower()).strip('-')[:80]}.png"))
        self._taken.setdefault(sized, []).append((name, _small(picture)))

    def write_sheets(self) -> None:
        """For each size all of them on one sheet, small, each with its name."""
        across = SHEET_WIDE_PX // TILE_WIDE_PX
        tall = TILE_WIDE_PX * 3 // 4 + 24
        for sized, taken in self._taken.items():
            sheet = QImage(SHEET_WIDE_PX, -(-len(taken) // across) * tall, QImage.Format.Format_RGB32)
            sheet.fill(Qt.GlobalColor.darkGray)
            painter = QPainter(sheet)
            for number, (name, small) in enumerate(taken):
                at = QPoint(number % across * TILE_WIDE_PX + 4, number // across * tall + 4)
                painter.drawImage(at, small)
                painter.drawText(at + QPoint(0, tall - 12), name)
            painter.end()
            file = self._folder / f"{sized}.png"
            sheet.save(str(file))
            print(file, len(taken))


def _small(picture: QImage) -> QImage:
    room = QSize(TILE_WIDE_PX - 8, TILE_WIDE_PX * 3 // 4 - 4)
    picture.setDevicePixelRatio(1.0)
    return picture.scaled(
        room.boundedTo(picture.size()), Qt.AspectRatioMode.KeepAspectRatio, Qt.TransformationMode.SmoothTransformation
    )
