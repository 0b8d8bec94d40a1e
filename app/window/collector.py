"""Python's cyclic garbage collector, run on the GUI thread only.

Left alone it runs on whichever thread happens to allocate. A widget caught in a cycle of references would then be
destroyed on a worker thread, which Qt does not survive.
"""

import gc
import time

from PySide6.QtCore import QObject, QTimer

from core.collecting import lay_to_rest, wake

INTERVAL_MS = 1000
WHOLE_INTERVAL_S = 600.0


class GuiThreadCollector(QObject):
    """Collects young garbage every second and all of it every ten minutes, while started.

    All of it takes 0.4 s where 20,000 shapes are open.
    """

    def __init__(self) -> None:
        super().__init__()
        self._timer = QTimer(self)
        self._timer.setInterval(INTERVAL_MS)
        self._timer.timeout.connect(self.collect)
        self._whole_at_s = 0.0

    def start(self) -> None:
        """Take the collector over."""
        lay_to_rest()
        self._whole_at_s = time.monotonic()
        self._timer.start()

    def stop(self) -> None:
        """Give it back as it was."""
        self._timer.stop()
        wake()

    def collect(self) -> None:
        """What is due."""
        if time.monotonic() - self._whole_at_s >= WHOLE_INTERVAL_S:
            gc.collect()
            self._whole_at_s = time.monotonic()
        else:
            gc.collect(1)
