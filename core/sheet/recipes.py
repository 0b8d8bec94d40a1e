"""Recipes: how one purpose is burned on one stock by one machine."""

from dataclasses import dataclass
from typing import Literal

from core.figures import GREATEST, OtherForm, figure
from core.units import MM_PER_INCH, lpi_from_pitch_mm, pitch_mm_from_lpi

Air = Literal["off", "low", "high"]
Edges = Literal["as drawn", "compensated"]
HandsOver = Literal["outlines", "rows"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where a figure comes from, and how sure it is.

    ``kind``: "starting point", "maker's sheet", "measured", "set by hand". ``date`` ISO or empty.
    ``standard_error`` in the figure's own unit where it was fitted.
    """

    kind: str = "starting point"
    date: str = ""
    note: str = ""
    standard_error: float | None = figure(None, words="Standard error", least=0, most=GREATEST, always_kept=True)


STARTING_POINT = Origin(note="Common practice, no source; prove it on a scrap.")


LINES_PER_INCH = OtherForm(
    name="lines_per_inch",
    words="Lines per inch",
    unit="LPI",
    from_figure=lpi_from_pitch_mm,
    to_figure=pitch_mm_from_lpi,
    step=50,
    about="The pitch in another form: 25.4 mm over it",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Recipe:
    """Settings of one layer. ``pitch_mm``, ``scan_angle_deg`` and ``edge_inset_mm`` matter to fills only.

    scan_angle_deg: direction of the scan rows on the bed, 0 along x, towards +y. focus_mm: height of the focus
    above the coat, 0 on it. edge_inset_mm: how far fills are drawn in to make up for spill.
    """

    # fmt: off
    speed_mm_s: float = figure(
        words="Speed", unit="mm/s", least=0.01, most=100_000, step=5, always_said=True, bare=True,
    )
    power_pct: float = figure(
        words="Power", unit="%", least=0, most=100, always_said=True, bare=True,
    )
    passes: int = figure(
        1, words="Passes", least=1, most=99, places=0, about="How many times it is burned over",
        always_said=True, counted=("pass", "passes"), always_kept=True,
    )
    pitch_mm: float = figure(
        MM_PER_INCH / 600, words="Pitch", unit="mm", least=0.01, most=MM_PER_INCH, places=4, step=0.005,
        purposes=("fill",), about="Distance between neighbouring scan lines", always_said=True,
        other_form=LINES_PER_INCH, always_kept=True,
    )
    scan_angle_deg: float = figure(
        0.0, words="Scan angle", unit="°", least=-360, most=360, step=15, purposes=("fill",),
        about="Direction of the scan rows on the bed; 0 runs across it", always_said=True, always_kept=True,
    )
    air: Air = figure(
        "off", words="Air", about="Air jet at the nozzle", always_said=True, always_kept=True,
    )
    focus_mm: float = figure(
        0.0, words="Focus", unit="mm", least=-50, most=50, step=0.5, always_kept=True,
        about="Height of the focus above the coat; 0 is on it",
    )
    edge_inset_mm: float = figure(
        0.0, words="Edge inset", unit="mm", least=0, most=10, places=3, step=0.01, purposes=("fill",), always_kept=True,
        about="Draws fills in by this much to make up for spill",
    )
    edges: Edges = figure(
        "as drawn", words="Edges", purposes=("fill",),
        about="Compensated: outlines are moved so that what is bared ends where drawn, and the edge inset is left out",
    )
    hands_over: HandsOver = figure(
        "outlines", words="Hands over", purposes=("fill",),
        about="Rows: the scan lines themselves, for machines that take them; where they begin is then known",
    )
    origin: Origin = STARTING_POINT
    # fmt: on

    @property
    def lines_per_inch(self) -> float:
        """Scan lines an inch."""
        return MM_PER_INCH / self.pitch_mm
