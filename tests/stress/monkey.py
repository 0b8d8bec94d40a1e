"""A monkey at the window: clicks, keys, drags, menus, dialogs over all samples and coupons, at random.

``python -m tests.stress.monkey --minutes 2 [--seed N]``. Prints what it did and what it found; the exit code is 0 only
where it found nothing. What it watches for: a crash or a hang, a fault of the program, a warning of Qt's or Python's, a
thread that outlives its window, a job that is another once it was saved and read, a plan that is another when worked
out anew, a safety copy that is not the job, and anything that moves under the pointer while it is dragged.
"""

import argparse
import faulthandler
import os
import random
import shutil
import sys
import tempfile
import threading
import time
import warnings
from collections import Counter, deque
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtCore import QtMsgType, qInstallMessageHandler
from PySide6.QtWidgets import QApplication, QDialog, QWidget

from app.session.faults import Fault
from app.session.recovery import leftovers
from app.session.samples import sample_files
from app.theme.in_force import apply_theme
from app.widgets import messages
from app.window.collector import GuiThreadCollector
from app.window.main_window import MainWindow
from app.window.start import new_window
from core.burning.coupon import COUPON_KINDS
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.job.coupon_job import coupon_job
from core.job.job import new_job
from core.job.job_file import job_file_bytes, job_from_bytes, load_job, save_job
from core.job.report import report_data
from core.sheet.stock import MIRRORED_ACRYLIC_3
from tests.stress.answers import MonkeyDialogs
from tests.stress.fresh_plan import FreshPlans, differences
from tests.stress.hands import Hands, MovedError
from tests.windows import LONGEST_LOOK_S, be_rid_of, wait_until, what_runs

HANGS_AFTER_S = 600
"""No single step takes so long, on however busy a machine."""
SETTLES_WITHIN_CPU_S = 240
"""Of this process's own work: advice on the 36 recipes of a coupon takes a minute of it."""
SETTLES_WITHIN_S = 1200
LOOK_EVERY_STEPS = 60
WINDOW_EVERY_STEPS = 900
HARMLESS_QT_LINES = ("This plugin does not support",)


@dataclass
class Figures:
    """What was done and found."""

    done: Counter[str] = field(default_factory=Counter)
    found: list[str] = field(default_factory=list)
    last: deque[str] = field(default_factory=lambda: deque(maxlen=60))
    jobs: int = 0
    plans: int = 0
    copies: int = 0
    windows: int = 0


class Monkey:
    """One run, all of whose choices come from a seed."""

    def __init__(self, seed: int, folder: Path) -> None:
        self.dice = random.Random(seed)
        self.folder = folder
        self.figures = Figures()
        self.plans = FreshPlans()
        self.work = folder / "work"
        self.work.mkdir(parents=True)
        self.files = [*sample_files(), *coupon_jobs(folder / "coupons"), *_strange_files(folder)]
        self.dialogs = MonkeyDialogs(self.dice, self.files, self.work, self._play)
        self.dialogs.note = self._note
        self.hands = Hands(self.dice, self._note)
        self.window: MainWindow | None = None
        self._before: set[threading.Thread] = set()
        # what was last is known even where the process is gone
        self._log = (folder / "steps.txt").open("w", encoding="utf-8")

    # --- running -------------------------------------------------------------------------------------------------

    def run(self, seconds: float) -> Figures:
        """Play until the time is over or something was found."""
        self.plans.report(job_file_bytes(new_job()))  # its threads are there before any window's
        until = time.monotonic() + seconds
        messages.use(self.dialogs)
        qInstallMessageHandler(self._qt_says)
        warnings.showwarning = self._python_says
        steps = 0
        while time.monotonic() < until and not self.figures.found:
            self._new_window()
            for _ in range(WINDOW_EVERY_STEPS):
                if self.figures.found or time.monotonic() > until:
                    break
                steps += 1
                self._step()
                if steps % LOOK_EVERY_STEPS == 0 and not self.figures.found:
                    self._look()
            self._close_window()
        self.plans.close()
        return self.figures

    def _new_window(self) -> None:
        before = set(threading.enumerate())
        self.window = new_window(self.folder / "home")
        self.window.faults.happened.connect(self._fault)
        self.window.faults.hook()
        self.window.show()
        self.window.leaving.offer_recovery(leftovers(self.folder / "home" / "recovery"))
        self._before = before
        self.figures.windows += 1
        self._note("new window")

    def _close_window(self) -> None:
        window, self.window = self.window, None
        assert window is not None
        self._end_popups()
        self.dialogs.closing = True
        window.faults.unhook()
        be_rid_of(window)
        self.dialogs.closing = False
        left = [one.name for one in threading.enumerate() if one not in self._before]
        if left:
            self._found(f"threads outlive the window: {left}")

    def _step(self) -> None:
        faulthandler.dump_traceback_later(HANGS_AFTER_S, exit=True)
        window = self.window
        assert window is not None
        if not window.isVisible():  # it was closed by a menu or a key, as it may be
            self._close_window()
            self._new_window()
            return
        acts: list[tuple[int, Callable[[], None]]] = [
            (3, self._open),
            (10, self._menu),
            (6, self._stage),
            (24, lambda: self.hands.click(window)),
            (16, lambda: self.hands.key(window)),
            (8, lambda: self.hands.type(window)),
            (10, lambda: self.hands.drag(self._draggable())),
            (6, lambda: self.hands.drag(self.hands.any_widget(window))),
            (5, lambda: self.hands.wheel(window)),
            (4, self._undo),
            (3, self._resize),
            (4, lambda: QApplication.processEvents()),
            (2, lambda: _wait(self.dice.random() * 0.3)),
            (1, lambda: _wait(1.5)),
        ]
        act = self.dice.choices([act for _, act in acts], [weight for weight, _ in acts])[0]
        try:
            act()
            if self.dice.random() < 0.8:
                QApplication.processEvents()
            if QApplication.activePopupWidget() is not None:
                self.hands.popup()
        except MovedError as moved:
            self._found(str(moved))
        faulthandler.cancel_dump_traceback_later()

    # --- what it does --------------------------------------------------------------------------------------------

    def _open(self) -> None:
        assert self.window is not None
        own = [path for path in self.work.iterdir() if path.is_file()]
        path = self.dice.choice([*self.files, *own])
        self._note(f"open {path.name}")
        self.figures.done["files opened"] += 1
        self.window.files.open(path)

    def _menu(self) -> None:
        assert self.window is not None
        key, action = self.dice.choice(list(self.window.menus.actions.items()))
        if action.isEnabled() and (key != "quit" or self.dice.random() < 0.1):
            self._note(f"menu {key}")
            self.figures.done["menu entries"] += 1
            action.trigger()

    def _stage(self) -> None:
        assert self.window is not None
        pages = self.window.pages
        stage = self.dice.choice(list(pages))
        self._note(f"stage {stage.value}")
        self.window.go_to(stage)

    def _undo(self) -> None:
        assert self.window is not None
        for _ in range(self.dice.randrange(1, 8)):
            self.dice.choice([self.window.session.undo, self.window.session.undo, self.window.session.redo])()
        self._note("undo and redo")
        self.figures.done["undo"] += 1

    def _resize(self) -> None:
        assert self.window is not None
        self.window.resize(self.dice.randrange(720, 2000), self.dice.randrange(480, 1200))
        self._note("resize")

    def _draggable(self) -> QWidget:
        assert self.window is not None
        plots = [card.plot for card in self.window.burn_page.advice_cards.values() if card.plot.isVisible()]
        return self.dice.choice([self.window.faces, self.window.faces, *plots])

    def _play(self, dialog: QDialog) -> None:
        """With a dialog that is on the screen."""
        for _ in range(self.dice.randrange(0, 14)):
            if not dialog.isVisible() or self.figures.found:
                return
            self.dice.choice([self.hands.click, self.hands.click, self.hands.type, self.hands.key])(dialog)
            if QApplication.activePopupWidget() is not None:
                self.hands.popup()
            QApplication.processEvents()
        self.figures.done["dialogs"] += 1

    # --- what it looks at ----------------------------------------------------------------------------------------

    def _look(self) -> None:
        window = self.window
        assert window is not None
        if not window.isVisible():
            return
        self._end_popups()
        self._settle("settled", lambda: window.settled, lambda: ", ".join(window.under_way))
        session = window.session
        if self.figures.found or not window.isVisible():
            return
        data = job_file_bytes(session.job)
        if job_from_bytes(data, name="a.tain") != session.job:
            self._found("the job is another once it was saved and read")
        self.figures.jobs += 1
        if session.job.source is not None and not session.stopped:
            assert session.plan is not None or session.error is not None, "nothing was worked out"
            here = report_data(session.plan) if session.plan is not None else session.error.message  # type: ignore[union-attr]
            found = differences(here, self.plans.report(data))
            if found:
                self._found("the plan is another when worked out anew: " + "; ".join(found[:4]))
            self.figures.plans += 1
        if session.modified:
            self._settle("copied", lambda: not window.autosave.busy)
            if not self.figures.found and load_job(window.autosave.file) != session.job:
                self._found("the safety copy is not the job")
            self.figures.copies += 1

    def _settle(self, what: str, done: Callable[[], bool], under_way: Callable[[], str] = lambda: "") -> None:
        """Wait by the work that is done, not by the clock: others may have the machine."""
        faulthandler.cancel_dump_traceback_later()
        last_s, worked_s = time.process_time(), 0.0

        def ended() -> bool:
            nonlocal last_s, worked_s
            now_s = time.process_time()
            worked_s, last_s = worked_s + min(now_s - last_s, LONGEST_LOOK_S), now_s  # such clocks leap, too
            return done() or bool(self.figures.found) or worked_s > SETTLES_WITHIN_CPU_S

        try:
            wait_until(ended, within_ms=SETTLES_WITHIN_S * 1000)
            if not done() and not self.figures.found:
                self._found(f"not {what} after {SETTLES_WITHIN_CPU_S} s of work: {under_way()}\n{what_runs()}")
        except TimeoutError as error:
            self._found(f"not {what} within {SETTLES_WITHIN_S} s: {under_way()}\n{error}")

    def _end_popups(self) -> None:
        while (popup := QApplication.activePopupWidget()) is not None:
            popup.close()
        QApplication.processEvents()

    def _fault(self, fault: Fault) -> None:
        self._found(fault.report)

    def _qt_says(self, kind: QtMsgType, context: object, line: str) -> None:
        if kind not in (QtMsgType.QtDebugMsg, QtMsgType.QtInfoMsg) and not line.startswith(HARMLESS_QT_LINES):
            self._found(f"Qt says: {line}")

    def _python_says(self, message: Warning | str, category: type[Warning], name: str, line: int, *_: object) -> None:
        """A figure that overflowed or is none is a fault, even where the work went on."""
        self._found(f"Python says: {name}:{line}: {category.__name__}: {message}")

    def _found(self, what: str) -> None:
        if not self.figures.found and self.window is not None:  # what it was found with is kept beside
            (self.folder / "found.tain").write_bytes(job_file_bytes(self.window.session.job))
        self.figures.found.append(what)

    def _note(self, what: str) -> None:
        self.figures.last.append(what)
        self.figures.done["steps"] += 1
        print(what, file=self._log, flush=True)


def coupon_jobs(folder: Path) -> list[Path]:
    """A coupon of every kind there is, as a job file."""
    folder.mkdir(parents=True)
    made = []
    for kind in COUPON_KINDS:
        path = folder / f"{kind}.tain"
        save_job(coupon_job(make_coupon(kind, MIRRORED_ACRYLIC_3, CO2_FLATBED)), path)
        made.append(path)
    return made


def _strange_files(folder: Path) -> list[Path]:
    """What people open by mistake."""
    damaged = folder / "damaged.tain"
    damaged.write_bytes(b"PK\x03\x04 no job")
    empty = folder / "empty.svg"
    empty.write_bytes(b"")
    text = folder / "letter.dxf"
    text.write_text("Dear guest house,\n", "utf-8")
    return [damaged, empty, text]


def _wait(seconds: float) -> None:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        QApplication.processEvents()
        time.sleep(0.005)


def main(words: list[str]) -> int:
    """Play, say what was done and found."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--minutes", type=float, default=2.0)
    parser.add_argument("--seed", type=int, default=None, help="the same choices again, as far as threads allow")
    options = parser.parse_args(words)
    seed = options.seed if options.seed is not None else random.randrange(1 << 31)
    folder = Path(tempfile.mkdtemp(prefix="monkey-"))
    os.environ["TAIN_HOME"] = str(folder / "home")
    faulthandler.enable()
    app = QApplication([])
    app.setQuitOnLastWindowClosed(False)
    apply_theme(app, "light")
    collector = GuiThreadCollector()
    collector.start()
    print(f"seed {seed}, in {folder}", flush=True)
    began = time.monotonic()
    figures = Monkey(seed, folder).run(60.0 * options.minutes)
    collector.stop()
    told = ", ".join(f"{count} {what}" for what, count in sorted(figures.done.items()))
    print(f"{(time.monotonic() - began) / 60:.1f} minutes: {told}")
    print(
        f"{figures.windows} windows; {figures.jobs} jobs read back, {figures.plans} plans worked out anew, "
        f"{figures.copies} safety copies read"
    )
    if figures.found:
        print(
            "\nThe last steps:",
            *figures.last,
            f"\nFOUND (the job is {folder / 'found.tain'}):",
            *figures.found,
            sep="\n",
        )
        return 1
    print("nothing was found")
    shutil.rmtree(folder, ignore_errors=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
