"""The line above the faces while the loupe is on: how large, in what paint, and what is seen in words."""

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QFrame, QHBoxLayout, QSlider, QToolButton, QVBoxLayout

from app.canvas.loupe import LEAST, MOST, Loupe
from app.qt.captions import caption
from app.theme.icons import icon
from app.widgets.fields import ChoiceField, NumberField, words
from app.widgets.plain_text import plain_label
from app.words.wording import unbroken
from core.finishing.paints import STARTING_PAINTS
from core.job.job import Job


class LoupeBar(QFrame):
    """put_away: the loupe is to go."""

    put_away = Signal()

    def __init__(self, loupe: Loupe) -> None:
        super().__init__()
        self.setProperty("role", "plate")
        self._loupe = loupe
        column = QVBoxLayout(self)
        column.setContentsMargins(12, 4, 8, 4)
        column.setSpacing(4)
        layout = QHBoxLayout()
        layout.setSpacing(8)
        column.addLayout(layout)
        layout.addWidget(plain_label("Loupe"))
        self.slider = QSlider(Qt.Orientation.Horizontal)
        self.slider.setAccessibleName(caption("Magnification of the loupe"))
        self.slider.setRange(round(LEAST), round(MOST))
        self.slider.setMinimumWidth(48)
        self.slider.setMaximumWidth(140)
        self.slider.valueChanged.connect(self._magnify)
        self.times = NumberField("Magnification", unit="×", low=LEAST, high=MOST, step=10, places=0)
        self.times.entered.connect(self._magnify)
        layout.addWidget(self.slider, 1)
        layout.addWidget(self.times)
        self.paint = ChoiceField("Paint seen from the front")
        self.paint.setToolTip(caption("What is painted on the back where the coat is gone"))
        self.paint.chosen.connect(lambda colour: loupe.show_paint(colour))
        self.paint.setMinimumWidth(120)
        layout.addWidget(self.paint, 2)
        self.words = words(role="quiet")
        self.words.setAccessibleName(caption("What the loupe shows"))
        away = QToolButton()
        away.setIcon(icon("cancel"))
        away.setAccessibleName(caption("Put the loupe away"))
        away.setToolTip(caption("Put the loupe away (L)"))
        away.clicked.connect(self.put_away)
        layout.addWidget(away)
        column.addWidget(self.words)
        loupe.seen_changed.connect(self._show_words)
        self._magnify(loupe.magnification)
        self.hide()

    def show_job(self, job: Job) -> None:
        """Offer the job's paints and the usual ones."""
        paints = {paint.name: paint.colour for paint in (*job.finishing.paints, *STARTING_PAINTS)}
        chosen = self._loupe.paint_colour
        self.paint.offer([("No paint", None), *((f"Painted {name}", colour) for name, colour in paints.items())])
        if chosen is not None and chosen not in paints.values():
            self._loupe.show_paint(None)
        self.paint.show_value(self._loupe.paint_colour)

    def _magnify(self, times: float) -> None:
        self._loupe.show_magnification(times)
        with QSignalBlocker(self.slider):
            self.slider.setValue(round(times))
        self.times.show_value(times)

    def _show_words(self) -> None:
        self.words.setText(unbroken(self._loupe.words))
