"""The datum: what ties every file of a job to the sheet, chosen once.

*part edge*: the finished part's own cut outline; film is cut to it and laid flush, and a part goes back into the
opening that it came out of. *marks*: crosses burned into the waste, met by eye. *pins*: holes through the waste, put on
pins that stand in a board. With marks and pins the outline is cut last. All places are front frame, mm.
"""

from dataclasses import dataclass
from typing import Literal

from core.figures import figure
from core.sheet.placement import FARTHEST_MM, Points

DatumKind = Literal["part edge", "marks", "pins"]
MarkBurn = Literal["scored", "cleared"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Datum:
    """What is decided about the datum. places: of the three marks or pins, empty for where there is room for them."""

    kind: DatumKind = figure("part edge", words="Datum", about="What every file of the job is laid by")
    marks_burned: MarkBurn = figure("scored", words="Marks are", about="How marks are burned into the waste")
    met_within_mm: float = figure(
        0.2, words="Marks are met within", unit="mm", least=0, most=5, step=0.05,
        about="How well a mark is met by eye; common practice, no source",
    )  # fmt: skip
    pin_mm: float = figure(4.0, words="Pins", unit="mm", least=0.5, most=50, step=0.5, about="Diameter of the pins")
    pin_clearance_mm: float = figure(
        0.05, words="Clearance of the pins", unit="mm", least=0, most=0.9, places=3, step=0.01,
        about="The holes in the sheet are so much wider than the pins",
    )  # fmt: skip
    places: Points = figure((), words="Places of the datum", unit="mm", least=-FARTHEST_MM, most=FARTHEST_MM)


PART_EDGE = Datum()
