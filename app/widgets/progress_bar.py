"""How far some work is."""

from PySide6.QtWidgets import QProgressBar

WHOLE = 1000


class ProgressBar(QProgressBar):
    """A bar without words that is painted with all else, once the events at hand are dealt with.

    Qt's own paints at once, and with it all of the window that waits to be painted: both faces again and again where
    several reports came in together.
    """

    def __init__(self) -> None:
        super().__init__()
        self.setRange(0, WHOLE)
        self.setTextVisible(False)

    def show_share(self, share: float) -> None:
        """Show the share that is done, 0 to 1."""
        self.setUpdatesEnabled(False)
        self.setValue(round(WHOLE * share))
        self.setUpdatesEnabled(True)
