"""What the first picture does without is loaded behind it, so that no page is waited for when it is first opened."""

import threading
from importlib import import_module

COMING = (
    "core.job.prepare",
    "app.canvas.faces_painter",
    "app.canvas.paintings",
    "app.stages.layers.page",
    "app.stages.sheet.page",
    "app.stages.burn.page",
    "app.stages.coverage",
    "app.stages.paint.page",
    "app.stages.hand_over",
)
"""In the order of the work. Loading the modules of a page may take longer than making it."""


def load_what_comes() -> threading.Thread:
    """Load it on a thread of its own, which ends with the program."""
    thread = threading.Thread(target=_load, name="what comes next", daemon=True)
    thread.start()
    return thread


def _load() -> None:
    for name in COMING:
        import_module(name)
