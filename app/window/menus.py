"""Every command of the window: menu, words, keys, icon. What it does is bound by the window, by its key."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from PySide6.QtGui import QAction, QActionGroup, QKeySequence
from PySide6.QtWidgets import QMainWindow, QMenu

from app.qt.captions import caption, filled
from app.session.log import steps
from app.session.samples import sample_name
from app.session.session import Session
from app.session.settings import Settings
from app.stages.ready import why_not_ready
from app.stages.stage import Stage
from app.theme.icons import icon
from app.widgets.plain_text import plain_tip
from core.purposes import PURPOSES


@dataclass(frozen=True, slots=True, kw_only=True)
class Command:
    """One entry of a menu. ``choice`` names the exclusive group it belongs to; ``check`` makes it an on/off entry."""

    key: str
    text: str
    keys: str = ""
    also: str = ""
    icon: str = ""
    choice: str = ""
    check: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Submenu:
    """A menu within a menu; one without entries is filled by the window."""

    text: str
    entries: tuple[Command, ...] = ()


SEPARATOR = Command(key="", text="")
STAGE_COMMANDS = tuple(
    Command(key=f"stage {stage.value}", text=stage.title, keys=f"Ctrl+{number}", icon=stage.value)
    for number, stage in enumerate(Stage, start=1)
)

MENUS: tuple[tuple[str, tuple[Command | Submenu, ...]], ...] = (
    (
        "&File",
        (
            Command(key="open", text="&Open…", keys="Ctrl+O", icon="open"),
            Submenu(text="Open &recent"),
            Submenu(text="Open a sa&mple"),
            Command(key="read again", text="Read the artwork a&gain", keys="Ctrl+Shift+O", icon="read-again"),
            Command(key="read again itself", text="Read it again by &itself when it changes", check=True),
            Command(key="replace artwork", text="Put other art&work in this job…"),
            SEPARATOR,
            Command(key="save", text="&Save the job", keys="Ctrl+S", icon="save"),
            Command(key="save as", text="Save the job &as…", keys="Ctrl+Shift+S"),
            SEPARATOR,
            Command(key="export svg", text="&Export SVG…", keys="Ctrl+E", icon="export"),
            Command(key="export dxf", text="Export &DXF…", keys="Ctrl+Shift+E"),
            SEPARATOR,
            Command(key="quit", text="&Quit", keys="Ctrl+Q"),
        ),
    ),
    (
        "&Edit",
        (
            Command(key="undo", text="&Undo", keys="Ctrl+Z", icon="undo"),
            Command(key="redo", text="&Redo", keys="Ctrl+Shift+Z", also="Ctrl+Y", icon="redo"),
            SEPARATOR,
            Command(key="select all", text="Select &all", keys="Ctrl+A"),
            Command(
                key="select alike", text="Select all that &look like this", keys="Ctrl+Shift+A", icon="select-alike"
            ),
            Command(key="select undecided", text="Select all un&decided", keys="Ctrl+Shift+U"),
            Command(key="invert", text="&Invert the selection", keys="Ctrl+I"),
            Command(key="select none", text="Select &nothing", keys="Ctrl+Shift+D"),
        ),
    ),
    (
        "&Shapes",
        (
            Command(key="put fill", text="&Fill", keys="Ctrl+Shift+F"),
            Command(key="put cut", text="&Cut", keys="Ctrl+Shift+C"),
            Command(key="put score", text="Sco&re", keys="Ctrl+Shift+R"),
            Command(key="put guide", text="&Guide", keys="Ctrl+Shift+G"),
            SEPARATOR,
            Command(key="leave out", text="&Leave out", keys="Del", icon="leave-out"),
            Command(key="as suggested", text="&Back to suggested", keys="Ctrl+Backspace"),
            SEPARATOR,
            Command(key="turn", text="&Turn the sheet over the other way", keys="Ctrl+T"),
            Command(key="rotate", text="R&otate by a quarter turn", keys="Ctrl+R", icon="rotate"),
            Command(key="centre", text="To the &middle of the sheet", keys="Ctrl+M", icon="centre"),
        ),
    ),
    (
        "&View",
        (
            Command(key="other picture", text="&As it will look, or what is burned", keys="B", icon="look"),
            Command(key="as sent", text="As &sent, and back", keys="A", icon="artwork"),
            SEPARATOR,
            Command(key="fit", text="&Fit the artwork", keys="Ctrl+0", icon="fit"),
            Command(key="fit selection", text="Fit the se&lection", keys="Ctrl+9", icon="fit-selection"),
            Command(key="fit sheet", text="Fit the s&heet", keys="Ctrl+8", icon="fit-sheet"),
            Command(key="zoom in", text="Zoom &in", keys="Ctrl++", also="Ctrl+=", icon="zoom-in"),
            Command(key="zoom out", text="Zoom &out", keys="Ctrl+-", icon="zoom-out"),
            Command(key="loupe", text="Lo&upe", keys="L", icon="loupe", check=True),
            SEPARATOR,
            Submenu(
                text="Fa&ces",
                entries=(
                    Command(key="faces by width", text="By the &room there is", choice="faces"),
                    Command(key="faces side by side", text="Side &by side", choice="faces", icon="side-by-side"),
                    Command(key="faces stacked", text="&Stacked", choice="faces", icon="stacked"),
                ),
            ),
            Submenu(
                text="U&nits",
                entries=(
                    Command(key="units mm", text="&Millimetres", choice="units", icon="ruler"),
                    Command(key="units inch", text="In&ches", choice="units"),
                    Command(key="other units", text="&Switch mm and inches", keys="Ctrl+U"),
                ),
            ),
            Submenu(
                text="Loo&ks",
                entries=(
                    Command(key="looks system", text="As the s&ystem", choice="looks"),
                    Command(key="looks light", text="&Light", choice="looks", icon="light"),
                    Command(key="looks dark", text="Dar&k", choice="looks", icon="dark"),
                    Command(key="looks contrast", text="&High contrast", choice="looks"),
                ),
            ),
            SEPARATOR,
            Command(key="findings", text="Fin&dings", keys="F8", icon="list", check=True),
            Command(key="page", text="Pa&ge of the stage", keys="F9", icon="page-shown", check=True),
        ),
    ),
    (
        "Sta&ges",
        (
            *STAGE_COMMANDS,
            SEPARATOR,
            Command(key="next stage", text="&Next stage", keys="Ctrl+PgDown"),
            Command(key="previous stage", text="&Previous stage", keys="Ctrl+PgUp"),
            Command(key="main action", text="Press the page's main &button", keys="Ctrl+Return", also="Ctrl+Enter"),
            SEPARATOR,
            Command(key="to faces", text="Go to the &faces", keys="F6"),
            Command(key="to page", text="Go to the p&age", keys="F7"),
            SEPARATOR,
            Command(key="work out", text="&Work the job out again", keys="F5", icon="play"),
            Command(key="stop", text="S&top what is being worked out", keys="Esc", icon="stop"),
        ),
    ),
    (
        "Tr&ials",
        (
            Command(key="make coupon", text="&Make a coupon…"),
            Command(key="read coupon", text="&Read a coupon…"),
            Command(key="coupon looks", text="Save a coupon's sheet of &looks…"),
            SEPARATOR,
            Command(key="keep recipe", text="&Keep a recipe…"),
            Command(key="recipes", text="Re&cipes…"),
            SEPARATOR,
            Command(key="calibrate", text="Calibrate the run &time…"),
            SEPARATOR,
            Command(key="trials", text="&Steps and patches of trials…"),
        ),
    ),
    (
        "Sh&op",
        (
            Command(key="rack", text="The rack of s&heets and offcuts…", icon="sheet"),
            Command(key="profiles", text="M&achines and stocks…", icon="settings"),
            SEPARATOR,
            Command(key="cost", text="Cost and &quote…"),
            Command(key="proof", text="&Proof for the customer…"),
            Command(key="offer", text="&Offer…"),
            Command(key="letterhead", text="&Letterhead…"),
            SEPARATOR,
            Command(key="job done", text="&Note this job as done…", icon="done"),
            Command(key="came out wrong", text="It came out &wrong…", icon="problem"),
            SEPARATOR,
            Command(key="shop book", text="&Shop book…", icon="shop"),
            Command(key="export book", text="&Export the shop book…"),
            Command(key="import book", text="&Import into the shop book…"),
        ),
    ),
    (
        "&Help",
        (
            Command(key="help", text="&Help for this page", keys="F1", icon="help"),
            Command(key="first job", text="Your &first job, step by step"),
            Command(key="keys", text="&Keys", keys="Shift+F1"),
            Command(key="cautions", text="&Cautions of this job"),
            Command(key="about", text="&About Tain"),
        ),
    ),
)

FACES_KEYS = (
    "On the faces",
    [
        ("Walk to the shape that lies that way", "Arrow keys"),
        ("Walk through all shapes, as drawn", "Page Up and Page Down, Home, End"),
        ("Select the shape walked to", "Space"),
        ("What to do with it", "Enter or the menu key"),
        ("Look elsewhere", "Shift with arrow keys"),
        ("On to the tools and the page", "Tab"),
        ("Move the artwork by 1 mm (Sheet)", "Ctrl with arrow keys"),
        ("Move the artwork by 0.1 mm (Sheet)", "Ctrl+Shift with arrow keys"),
        ("End a flaw that is noted (Sheet), one place back", "Enter, Backspace"),
        ("Zoom in, out, fit", "+  −  0"),
        ("Give up a drag, a band or a flaw", "Esc"),
    ],
)


NEED_ARTWORK = ("save", "save as", "replace artwork", "work out")
NEED_SHAPES = (
    "fit",
    "fit sheet",
    "zoom in",
    "zoom out",
    "other picture",
    "as sent",
    "select all",
    "select undecided",
    "invert",
    "select none",
    "turn",
    "rotate",
    "centre",
)
NEED_SELECTION = (
    "fit selection",
    "select alike",
    "leave out",
    "as suggested",
    *(f"put {purpose}" for purpose in PURPOSES),
)


class Menus:
    """The menus of a window: ``actions`` by key, ``submenus`` by their text without the mnemonic."""

    def __init__(self, window: QMainWindow, does: Mapping[str, Callable[[], object]]) -> None:
        self.actions: dict[str, QAction] = {}
        self.submenus: dict[str, QMenu] = {}
        self._groups: dict[str, QActionGroup] = {}
        for title, entries in MENUS:
            menu = window.menuBar().addMenu(caption(title))
            menu.setToolTipsVisible(True)
            self._fill(menu, entries, window, does)

    def _fill(
        self,
        menu: QMenu,
        entries: tuple[Command | Submenu, ...],
        window: QMainWindow,
        does: Mapping[str, Callable[[], object]],
    ) -> None:
        for entry in entries:
            if isinstance(entry, Submenu):
                inner = menu.addMenu(caption(entry.text))
                inner.setToolTipsVisible(True)
                self.submenus[entry.text.replace("&", "")] = inner
                self._fill(inner, entry.entries, window, does)
            elif entry is SEPARATOR:
                menu.addSeparator()
            else:
                menu.addAction(self._action(window, entry, does[entry.key]))

    def _action(self, window: QMainWindow, command: Command, do: Callable[[], object]) -> QAction:
        text = caption(command.text)
        action = QAction(text, window)
        action.setObjectName(command.key)
        action.setShortcuts([QKeySequence(keys) for keys in (command.keys, command.also) if keys])
        if command.icon:
            action.setIcon(icon(command.icon))
        plain = text.replace("&", "").rstrip("…")
        action.setToolTip(plain_tip(f"{plain} ({command.keys})" if command.keys else plain))
        action.setAutoRepeat(command.key != "main action")  # a key held down leads on once
        action.setCheckable(command.check or bool(command.choice))
        if command.choice:
            group = self._groups.setdefault(command.choice, QActionGroup(window))
            group.addAction(action)
        action.triggered.connect(lambda checked=False: self._do(plain, do))
        self.actions[command.key] = action
        return action

    def _do(self, plain: str, do: Callable[[], object]) -> None:
        steps.info("Menu: %s", plain)
        do()

    def offer_files(self, settings: Settings, samples: Sequence[Path], open_file: Callable[[Path], object]) -> None:
        """Fill the menus of recent files (each time it is opened) and of samples."""
        recent = self.submenus["Open recent"]
        recent.aboutToShow.connect(lambda: _fill_recents(recent, settings, open_file))
        _fill_recents(recent, settings, open_file)
        menu = self.submenus["Open a sample"]
        for path in samples:
            menu.addAction(sample_name(path), partial(open_file, path))
        menu.setEnabled(bool(samples))

    def refresh(self, session: Session, *, file_work: bool, artwork_on_disk: bool) -> None:
        """Name what undo and redo do, and enable what makes sense now."""
        actions, plan = self.actions, session.plan
        for key, label, plain, named in (
            ("undo", session.undo_label, "&Undo", "&Undo: {what}"),
            ("redo", session.redo_label, "&Redo", "&Redo: {what}"),
        ):
            actions[key].setEnabled(label is not None)
            actions[key].setText(filled(named, what=caption(label)) if label else caption(plain))
        has_shapes = plan is not None and bool(plan.drawing.shapes)
        enabled = {
            NEED_ARTWORK: session.job.source is not None,
            NEED_SHAPES: has_shapes,
            NEED_SELECTION: has_shapes and bool(session.selection),
            ("export svg", "export dxf"): not why_not_ready(session),
            ("job done", "cost", "proof", "offer"): has_shapes and session.complete,
            ("stop",): session.busy or file_work,
            ("read again",): artwork_on_disk,
        }
        for keys, on in enabled.items():
            for key in keys:
                actions[key].setEnabled(on)


def _fill_recents(menu: QMenu, settings: Settings, open_file: Callable[[Path], object]) -> None:
    menu.clear()
    for path in settings.recents():
        menu.addAction(path.name, partial(open_file, path)).setToolTip(plain_tip(str(path)))
    if menu.isEmpty():
        menu.addAction("No files yet").setEnabled(False)


def commands_of(entries: tuple[Command | Submenu, ...]) -> tuple[Command, ...]:
    """A menu's commands, those of menus within it too."""
    found: list[Command] = []
    for entry in entries:
        if isinstance(entry, Submenu):
            found += entry.entries
        elif entry is not SEPARATOR:
            found.append(entry)
    return tuple(found)


def key_sections() -> list[tuple[str, list[tuple[str, str]]]]:
    """All keys for people: (menu, rows of (what it does, keys))."""
    sections = []
    for title, entries in MENUS:
        rows = [
            (one.text.replace("&", "").rstrip("…"), f"{one.keys} or {one.also}" if one.also else one.keys)
            for one in commands_of(entries)
            if one.keys
        ]
        if rows:
            sections.append((title.replace("&", ""), rows))
    return [*sections, FACES_KEYS]
