"""The Artwork page's card about pictures made of dots: how they are taken, and how their tones are set."""

from dataclasses import replace

from PySide6.QtCore import QSignalBlocker, Qt, Signal
from PySide6.QtWidgets import QCheckBox, QSlider, QWidget

from app.qt.captions import caption, filled
from app.widgets.fields import Card, ChoiceField, LengthField, NumberField, small_button, words
from core.artwork.picture_decisions import MOST_COLOURS, PictureOptions, ToneControls

WAYS = (("Trace its outlines", "trace"), ("Screen its tones", "screen"))
FILLS: tuple[tuple[str, tuple[int, int]], ...] = (
    ("one, by the threshold", (0, 0)),
    ("2 levels of grey", (2, 0)),
    ("3 levels of grey", (3, 0)),
    *((f"{count} flat colours", (0, count)) for count in range(2, MOST_COLOURS + 1)),
)
SCREENS = (("lines along rows", "lines"), ("dots", "dots"), ("grain", "grain"))
LOOKS = (
    ("not decided yet", None),
    ("light", "light"),
    ("dark paint", "paint"),
    ("dark ground behind", "dark"),
)
BACKGROUNDS = (("kept", "kept"), ("cut away where white", "white"))


class PictureCard(Card):
    """Shows what was decided about pictures; sends whole new decisions.

    changed: (PictureOptions, label, merge key or None). compare_wanted: a look before and after is asked for.
    """

    changed = Signal(object, str, object)
    compare_wanted = Signal()

    def __init__(self) -> None:
        super().__init__("Picture")
        self._options = PictureOptions()
        self._ways = ChoiceField("How the picture is taken", WAYS)
        self._ways.chosen.connect(lambda way: self._send("Way of the picture", way=way))
        self.row("Pi&cture", self._ways)
        self._wide = LengthField("Width of the picture", low=0.1, high=20_000)
        self._wide.entered.connect(lambda mm: self._send("Width of the picture", merge="width", width_mm=mm))
        self._wide_label = self.row("Wi&dth", self._wide, help_text="How wide the whole picture is")
        self._build_trace()
        self._build_screen()
        self._build_tones()

    def _build_trace(self) -> None:
        self._fills = ChoiceField("Fills that the picture is traced to", FILLS)
        self._fills.chosen.connect(self._choose_fills)
        fills_label = self.row("&Fills", self._fills)
        self._threshold = QSlider(Qt.Orientation.Horizontal)
        self._threshold.setObjectName("picture-threshold")
        self._threshold.setRange(1, 254)
        self._threshold.setAccessibleName(caption("Threshold: greys darker than this are filled"))
        self._threshold.setTracking(True)
        self._threshold.valueChanged.connect(self._choose_threshold)
        self._threshold_label = self.row("&Threshold", self._threshold, help_text="Greys darker than this are filled")
        self._threshold_words = words(role="quiet")
        self.body.addWidget(self._threshold_words)
        find = small_button("Find the threshold", tip="The grey that parts dark from light best")
        find.clicked.connect(lambda: self._trace("Threshold found", threshold=None))
        self.body.addWidget(find)
        self._of_trace: tuple[QWidget, ...] = (fills_label, self._fills)
        self._of_threshold: tuple[QWidget, ...] = (
            self._threshold_label, self._threshold, self._threshold_words, find,
        )  # fmt: skip

    def _build_screen(self) -> None:
        self._kind = ChoiceField("Kind of screen", SCREENS)
        self._kind.chosen.connect(lambda kind: self._screen("Kind of screen", kind=kind, lines_per_inch=None))
        kind_label = self.row("&Screen", self._kind)
        self._ruling = NumberField("Ruling", unit="an inch", low=2, high=2540, step=5, places=0)
        self._ruling.entered.connect(lambda value: self._screen("Ruling", merge="ruling", lines_per_inch=value))
        ruling_label = self.row("&Ruling", self._ruling, help_text="Cells, dots or grains an inch")
        self._angle = NumberField("Angle of the dots", unit="°", low=-90, high=90, step=15, places=0)
        self._angle.entered.connect(lambda value: self._screen("Angle of the dots", merge="angle", angle_deg=value))
        self._angle_label = self.row("An&gle", self._angle, help_text="Of the rows of dots against the scan rows")
        self._fit = QCheckBox(caption("Fit all tones into what the recipe holds"))
        self._fit.setAccessibleName(self._fit.text())
        self._fit.toggled.connect(lambda on: self._screen("Tones fitted" if on else "Tones as they are", fit_tones=on))
        self.body.addWidget(self._fit)
        self._look = ChoiceField("How bared places look", LOOKS)
        self._look.chosen.connect(lambda look: self._send("Look of bared places", bared_is=look))
        look_label = self.row("Bared is", self._look, help_text="Light: light tones are bared. Else dark ones are")
        self._of_screen: tuple[QWidget, ...] = (
            kind_label, self._kind, ruling_label, self._ruling, self._angle_label, self._angle, self._fit,
            look_label, self._look,
        )  # fmt: skip

    def _build_tones(self) -> None:
        self.body.addWidget(words("Tones", role="heading"))
        self._numbers: dict[str, NumberField] = {}
        for name, label, low, high, step, places, about in (
            ("black", "Black from", 0, 254, 5, 0, "Greys up to this are black"),
            ("white", "White from", 1, 255, 5, 0, "Greys from this on are white"),
            ("gamma", "Middle tones", 0.1, 10, 0.1, 2, "Over 1 lightens them"),
            ("sharpen", "Sharpen", 0, 10, 0.25, 2, "How much edges are raised"),
        ):
            field = NumberField(label, unit="", low=low, high=high, step=step, places=places)
            field.entered.connect(lambda value, name=name, label=label: self._tone(label, name, value))
            self.row(label, field, help_text=about)
            self._numbers[name] = field
        self._curve = NumberField("Curve: half becomes", unit="%", low=1, high=99, step=5, places=0)
        self._curve.entered.connect(self._choose_curve)
        self.row("Half becomes", self._curve, help_text="The curve's middle: what a half grey comes to")
        self._crop: list[NumberField] = []
        for at, side in enumerate(("left", "top", "right", "bottom")):
            field = NumberField(filled("Cropped at the {side}", side=side), unit="%", low=0, high=99, step=5, places=1)
            field.entered.connect(lambda value, at=at: self._choose_crop(at, value))
            self.row(filled("Crop {side}", side=side), field, help_text="Share of the picture that is cut off there")
            self._crop.append(field)
        self._background = ChoiceField("Background of the picture", BACKGROUNDS)
        self._background.chosen.connect(lambda kept: self._tones("Background", background=kept))
        self.row("&Background", self._background)
        self._invert = QCheckBox(caption("Light and dark e&xchanged"))
        self._invert.setAccessibleName(caption("Light and dark exchanged"))
        self._invert.toggled.connect(lambda on: self._tones("Light and dark exchanged", invert=on))
        self.body.addWidget(self._invert)
        compare = small_button("Before and after…", tip="Side by side, at true size")
        compare.clicked.connect(self.compare_wanted)
        self.body.addWidget(compare)

    # --- showing -------------------------------------------------------------------------------------------------

    def show_options(self, options: PictureOptions, *, width_mm: float | None, ruling: float | None) -> None:
        """Show these decisions. width_mm: of a picture that is a file of its own; ruling: as the screen was made."""
        self._options = options
        self._ways.show_value(options.way)
        self._wide_label.setVisible(width_mm is not None)
        self._wide.setVisible(width_mm is not None)
        self._wide.show_value(width_mm or 100.0)
        trace, screen, tones = options.trace, options.screen, options.tones
        traces = options.way == "trace"
        self._fills.show_value((trace.levels, trace.colours))
        with QSignalBlocker(self._threshold):
            self._threshold.setValue(round(trace.threshold or 128))
        found = trace.threshold is None
        self._threshold_words.setText(
            caption("found by itself") if found else filled("grey {threshold:.0f} of 255", threshold=trace.threshold)
        )
        self._kind.show_value(screen.kind)
        self._ruling.show_value(screen.lines_per_inch or ruling or 60.0)
        self._angle.show_value(screen.angle_deg)
        self._look.show_value(options.bared_is)
        for box, on in ((self._fit, screen.fit_tones), (self._invert, tones.invert)):
            with QSignalBlocker(box):
                box.setChecked(on)
        for name, field in self._numbers.items():
            field.show_value(float(getattr(tones, name)))
        self._curve.show_value(100 * _middle(tones))
        left, top, right, bottom = tones.crop
        for field, share in zip(self._crop, (left, top, 1 - right, 1 - bottom), strict=True):
            field.show_value(100 * share)
        self._background.show_value(tones.background)
        for widget in self._of_trace:
            widget.setVisible(traces)
        for widget in self._of_threshold:
            widget.setVisible(traces and not trace.levels and not trace.colours)
        for widget in self._of_screen:
            widget.setVisible(not traces)
        for widget in (self._angle, self._angle_label):
            widget.setVisible(not traces and screen.kind == "dots")

    # --- deciding ------------------------------------------------------------------------------------------------

    def _send(self, label: str, *, merge: str | None = None, **changes: object) -> None:
        options = replace(self._options, **changes)  # type: ignore[arg-type]
        self.changed.emit(options, label, merge and f"picture-{merge}")

    def _trace(self, label: str, *, merge: str | None = None, **changes: object) -> None:
        self._send(label, merge=merge, trace=replace(self._options.trace, **changes))  # type: ignore[arg-type]

    def _screen(self, label: str, *, merge: str | None = None, **changes: object) -> None:
        self._send(label, merge=merge, screen=replace(self._options.screen, **changes))  # type: ignore[arg-type]

    def _tones(self, label: str, *, merge: str | None = None, **changes: object) -> None:
        self._send(label, merge=merge, tones=replace(self._options.tones, **changes))  # type: ignore[arg-type]

    def _tone(self, label: str, name: str, value: float) -> None:
        whole = name in ("black", "white")
        self._tones(label, merge=name, **{name: round(value) if whole else value})

    def _choose_fills(self, chosen: object) -> None:
        levels, colours = chosen if isinstance(chosen, tuple) else (0, 0)
        self._trace("Fills of the picture", levels=levels, colours=colours)

    def _choose_threshold(self, grey: int) -> None:
        self._threshold_words.setText(filled("grey {grey} of 255", grey=grey))
        self._trace("Threshold", merge="threshold", threshold=float(grey))

    def _choose_curve(self, percent: float) -> None:
        middle = percent / 100
        curve = ((0.0, 0.0), (1.0, 1.0)) if abs(middle - 0.5) < 1e-9 else ((0.0, 0.0), (0.5, middle), (1.0, 1.0))
        self._tones("Curve", merge="curve", curve=curve)

    def _choose_crop(self, at: int, percent: float) -> None:
        crop = list(self._options.tones.crop)
        crop[at] = percent / 100 if at < 2 else 1 - percent / 100
        self._tones("Crop", merge=f"crop-{at}", crop=tuple(crop))


def _middle(tones: ToneControls) -> float:
    return next((y for x, y in tones.curve if abs(x - 0.5) < 1e-9), 0.5)
