"""``python -m tests.screenshots [all|readme|help|samples]``: pictures made through the real window, without a screen.

all: every page and dialog at four sizes in both themes, not kept in the tree; readme: the README's; help: those of the
pages of help; samples: those of an empty window. Each goes where the program has it, or to the folder named.
"""

import os
import sys
import tempfile
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from PySide6.QtWidgets import QApplication, QDialog

from app.theme.in_force import apply_theme
from app.widgets import messages
from tests.screenshots import everything, help_pages, readme, samples
from tests.windows import a_window

HELP = Path(__file__).parents[2] / "app" / "help"
KINDS = {
    "all": (everything.take, Path("out")),
    "readme": (readme.take, HELP / "screenshots"),
    "help": (help_pages.take, HELP / "pages"),
    "samples": (samples.take, HELP / "samples"),
}


class TakenAsOffered(messages.Dialogs):
    """Nobody is there to answer: every dialog is taken as it comes up."""

    def run(self, dialog: QDialog) -> bool:
        """Accept it."""
        return True


def main(kind: str, folder: Path) -> None:
    """Make all pictures of a kind."""
    app = QApplication.instance() or QApplication([])
    assert isinstance(app, QApplication)
    messages.use(TakenAsOffered())
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as home:
        os.environ["TAIN_HOME"] = home
        apply_theme(app, "light")
        with a_window(Path(home)) as window:
            window.resize(1280, 800)
            KINDS[kind][0](window, folder)


if __name__ == "__main__":
    if len(sys.argv) not in (2, 3) or sys.argv[1] not in KINDS:
        sys.exit(f"usage: python -m tests.screenshots {'|'.join(KINDS)} [OUT_DIR]")
    main(sys.argv[1], Path(sys.argv[2]) if len(sys.argv) == 3 else KINDS[sys.argv[1]][1])
