"""A window that is killed in the middle of the work: `python -m tests.app.session.dying_window turn|list FILE [LIST]`.

It opens the file, changes it as told and dies once its safety copy is there, without any farewell.
"""

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

ROOT = Path(__file__).parents[3]
DIED = 9


def died(change: str, *files: Path) -> bool:
    """Whether a window of a process of its own changed the file so and died with its copy written."""
    words = [sys.executable, "-m", "tests.app.session.dying_window", change, *map(str, files)]
    return subprocess.run(words, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, timeout=100).returncode == DIED


def main(change: str, file: Path, *more: Path) -> None:
    from PySide6.QtCore import QTimer
    from PySide6.QtWidgets import QApplication

    from app.session.settings import data_folder
    from app.window.start import new_window
    from core.order.fields import Field
    from core.order.list_reading import load_list

    app = QApplication([])
    window = new_window(data_folder())
    session = window.session
    window.show()
    window.files.open(file)

    def change_it() -> bool:
        """Make the next change; False once all are made."""
        if change == "turn" and session.job.turn == "sideways":
            window.menus.actions["turn"].trigger()
            return True
        if change == "list" and session.order.is_job:
            names = load_list(more[0])
            order = replace(session.order, names=names, fields=(Field(name="name", column="Name"),))
            session.commit_order(order, "List club.csv")
            session.commit_order(replace(order, rows_off=(3,)), "Row 3 off")
            return True
        return False

    def look() -> None:
        if not session.complete or change_it():
            return
        if session.undo_label and window.autosave.file.exists() and not window.autosave.busy:
            os._exit(DIED)

    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(20)
    app.exec()


if __name__ == "__main__":
    main(sys.argv[1], *map(Path, sys.argv[2:]))
