"""What the maker decides about a picture. Plain values, kept in the job; the picture's own bytes stay untouched."""

import math
from dataclasses import dataclass, field
from typing import Literal

from core.errors import UnreadableError

Way = Literal["trace", "screen"]
Screen = Literal["lines", "dots", "grain"]
BaredIs = Literal["light", "paint", "dark"]
Background = Literal["kept", "alpha", "white"]

MOST_COLOURS = 12
LEAST_WIDTH_MM = 0.06
"""Specks narrower than this are dropped while nobody knows what the recipe clears."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ToneControls:
    """How a picture's tones are set before it is traced or screened, in this order.

    crop: left, top, right and bottom as shares of width and height. background: "alpha" or "white" is cut away and
    never burned; "kept" leaves an opaque picture as it is (what is transparent is never burned). black, white: greys,
    0 to 255, that become full black and full white; gamma: over 1 lightens the middle tones. curve: points from (0, 0)
    to (1, 1), rising in x, joined by a smooth monotone line. sharpen: how much of the difference to a blurred picture
    is added; sharpen_px: that blur's radius.
    """

    crop: tuple[float, float, float, float] = (0.0, 0.0, 1.0, 1.0)
    background: Background = "kept"
    white_from: int = 245
    black: int = 0
    white: int = 255
    gamma: float = 1.0
    curve: tuple[tuple[float, float], ...] = ((0.0, 0.0), (1.0, 1.0))
    sharpen: float = 0.0
    sharpen_px: float = 2.0
    invert: bool = False

    def check(self) -> None:
        """Raises UnreadableError where a control makes no sense."""
        left, top, right, bottom = self.crop
        numbers = (*self.crop, self.gamma, self.sharpen, self.sharpen_px, *(x for point in self.curve for x in point))
        if not all(math.isfinite(x) for x in numbers):
            raise UnreadableError("A picture's tone control is not a number.", hint="Set it anew.")
        if not (0 <= left < right <= 1 and 0 <= top < bottom <= 1):
            raise UnreadableError("The crop leaves nothing of the picture.", hint="Give shares like 0.1 and 0.9.")
        if not 0 <= self.black < self.white <= 255:
            raise UnreadableError("Black must be a darker grey than white.", hint="Give greys from 0 to 255.")
        if not 0.1 <= self.gamma <= 10 or not 0 <= self.sharpen <= 10 or not 0.3 <= self.sharpen_px <= 50:
            raise UnreadableError("A picture's tone control is out of its range.", hint="Set it anew.")
        x = [point[0] for point in self.curve]
        inside = all(0 <= value <= 1 for point in self.curve for value in point)
        if len(x) < 2 or len(x) > 32 or x[0] != 0 or x[-1] != 1 or not inside or sorted(set(x)) != x:
            raise UnreadableError("The tone curve must rise from x = 0 to x = 1.", hint="Set it anew.")


@dataclass(frozen=True, slots=True, kw_only=True)
class TraceOptions:
    """How a picture becomes outlines.

    threshold: grey, 0 to 255, below which it is filled; None finds it (Otsu). levels: so many steps of grey, each a
    fill of its own; colours: so many flat colours, each a fill of its own; 0 leaves one fill by the threshold.
    tolerance_px: how far fitted curves may lie off the grey's own contour. least_mm: specks and holes narrower
    than this are dropped; None goes by what the recipe clears.
    """

    threshold: float | None = None
    levels: int = 0
    colours: int = 0
    tolerance_px: float = 0.2
    least_mm: float | None = None

    def check(self) -> None:
        """Raises UnreadableError where an option makes no sense."""
        if self.threshold is not None and not 0 < self.threshold < 255:
            raise UnreadableError(
                f"A threshold of {self.threshold:g} parts no tones.",
                hint="Give a grey between 1 and 254, or a share like 50%.",
            )
        if not (0 <= self.colours <= MOST_COLOURS and 0 <= self.levels <= MOST_COLOURS):
            raise UnreadableError(
                f"A picture is traced in 2 to {MOST_COLOURS} colours or levels.", hint="Fewer colours trace cleaner."
            )
        if not 0.02 <= self.tolerance_px <= 5 or not 0 <= (self.least_mm or 0.0) <= 100:
            raise UnreadableError("A tracing option is out of its range.", hint="Set it anew.")


@dataclass(frozen=True, slots=True, kw_only=True)
class ScreenOptions:
    """How a picture becomes spans of bared and standing coat.

    lines_per_inch: cells (lines), dots or grains an inch; None takes what the recipe holds well. angle_deg: of the
    rows of dots against the scan rows. fit_tones: the whole range of tones is drawn into what the recipe holds,
    instead of clipped there.
    """

    kind: Screen = "lines"
    lines_per_inch: float | None = None
    angle_deg: float = 45.0
    fit_tones: bool = False

    def check(self) -> None:
        """Raises UnreadableError where an option makes no sense."""
        if self.lines_per_inch is not None and not 2 <= self.lines_per_inch <= 2540:
            raise UnreadableError(
                f"A ruling of {self.lines_per_inch:g} an inch makes no screen.", hint="Give lines an inch, like 60."
            )
        if not math.isfinite(self.angle_deg):
            raise UnreadableError("The screen's angle is not a number.", hint="Give degrees, like 45.")


BARED_LOOKS: dict[BaredIs, str] = {"light": "#f3f1ea", "paint": "#3a332d", "dark": "#15181b"}
"""What bared places of a picture look like on the finished piece, by what the maker said of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PictureOptions:
    """All decisions about a file's pictures.

    width_mm: of the whole picture before it is cropped, where the file's resolution is not to count. bared_is: what
    bared means for the look; None is not decided yet.
    """

    width_mm: float | None = None
    way: Way = "trace"
    trace: TraceOptions = field(default_factory=TraceOptions)
    screen: ScreenOptions = field(default_factory=ScreenOptions)
    tones: ToneControls = field(default_factory=ToneControls)
    bared_is: BaredIs | None = None

    def check(self) -> None:
        """Raises UnreadableError where an option makes no sense."""
        if self.width_mm is not None and not 0.1 <= self.width_mm <= 20_000:
            raise UnreadableError(
                f"A picture {self.width_mm:g} mm wide can't be engraved.", hint="Give its width in mm, like 120."
            )
        self.trace.check()
        self.screen.check()
        self.tones.check()
