"""Machines: what the dose and run-time models need to know of them."""

from dataclasses import dataclass, field
from typing import Literal

from core.burning.bed_zones import BedZone
from core.burning.power_table import check_power_table
from core.figures import figure
from core.sheet.recipes import STARTING_POINT, Origin

WideGaps = Literal["unknown", "apart", "swept"]
"""How a machine crosses wide gaps of a row: the far parts burned apart, one after the other, or the row swept."""


Side = Literal["unknown", "left", "right", "top", "bottom"]
"""Of the bed, as it is looked at from above."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One laser. Origins of single figures, where they differ from ``origin``, stand in ``figure_origins``.

    power_table: (percent, measured watts), rising; empty means a straight line up to the rated power.
    spot_mm: focused beam diameter (1/e²) at the coat. scan_acceleration_mm_s2: of the head along a scan row;
    line_acceleration_mm_s2: along cut and score lines. turn_round_s: lost at each row's end beside braking and
    speeding up. line_error_mm: how far a scan line may lie from its place, power_error_pct: the power from what is set,
    focus_error_mm: the focus from its height (standard deviations). focus_offset_mm: how far above the height taken
    for 0 the focus really is. scan_jerk_mm_s3 and line_jerk_mm_s3: how fast the acceleration itself may change, along
    rows and along lines and jumps; 0: no limit. wide_gaps: until it is known, run times are a range. beam_delay_ms,
    both_way_offset_mm and least_row_step_mm: see ``row_offsets``. zones: clamps and guides of the bed. The margin
    at the edge is common practice, no source.
    """

    # fmt: off
    name: str
    rated_power_w: float = figure(
        words="Rated power", unit="W", least=0.1, most=100_000, group="Beam",
        about="At 100 %, where no power table says otherwise",
    )
    spot_mm: float = figure(
        words="Spot", unit="mm", least=0.001, most=10, places=4, step=0.005, group="Beam",
        about="Diameter of the focused beam at the coat (1/e²)",
    )
    max_speed_mm_s: float = figure(
        words="Greatest speed", unit="mm/s", least=0.1, most=100_000, step=10, group="Movement",
    )
    bed_width_mm: float = figure(words="Bed width", unit="mm", least=1, most=100_000, step=10, group="Bed")
    bed_height_mm: float = figure(words="Bed height", unit="mm", least=1, most=100_000, step=10, group="Bed")
    power_table: tuple[tuple[float, float], ...] = ()
    scan_acceleration_mm_s2: float = figure(
        10_000.0, words="Acceleration of rows", unit="mm/s²", least=1, most=10_000_000, step=100, places=1,
        group="Movement", about="Of the head along a scan row", always_kept=True,
    )
    line_acceleration_mm_s2: float = figure(
        2_000.0, words="Acceleration of lines", unit="mm/s²", least=1, most=10_000_000, step=100, places=1,
        group="Movement", about="Along cut and score lines", always_kept=True,
    )
    jump_speed_mm_s: float = figure(
        500.0, words="Speed between lines", unit="mm/s", least=0.1, most=100_000, step=10, group="Movement",
        about="With the beam off", always_kept=True,
    )
    corner_deviation_mm: float = figure(
        0.01, words="Corner rounding", unit="mm", least=0.0001, most=10, places=4, step=0.005,
        group="Movement", about="How far a path may leave a corner, which sets the speed there",
        always_kept=True,
    )
    turn_round_s: float = figure(
        0.01, words="Row turn-round", unit="s", least=0, most=60, places=4, step=0.001, group="Movement",
        about="Lost at each row's end beside braking and speeding up", always_kept=True,
    )
    scans_both_ways: bool = figure(True, words="Scans both ways", group="Movement", always_kept=True)
    line_error_mm: float = figure(
        0.003, words="Line placement error", unit="mm", least=0, most=10, places=4, step=0.001,
        group="Movement", about="How far a scan line may lie from its place (standard deviation)",
        always_kept=True,
    )
    wavelength_um: float = figure(
        10.6, words="Wavelength", unit="µm", least=0.1, most=20, places=3, step=0.1, group="Beam",
        about="10.6 for CO2", always_kept=True,
    )
    focal_length_mm: float = figure(
        50.8, words="Focal length", unit="mm", least=1, most=2_000, group="Beam", always_kept=True,
    )
    beam_quality_m2: float = figure(
        1.2, words="Beam quality M²", unit="", least=1, most=1_000, step=0.1, group="Beam",
        about="1 is the best there can be", always_kept=True,
    )
    origin: Origin = STARTING_POINT
    figure_origins: tuple[tuple[str, Origin], ...] = ()
    wide_gaps: WideGaps = figure(
        "unknown", words="Wide gaps in a row", group="Movement",
        about="Far parts of a row burned apart, or the whole row swept; while unknown, run times are a range",
    )
    scan_jerk_mm_s3: float = figure(
        0.0, words="Jerk of rows", unit="mm/s³", least=0, most=1e12, step=10_000, places=0, group="Movement",
        about="How fast the acceleration of rows may change; 0 for no limit",
    )
    line_jerk_mm_s3: float = figure(
        0.0, words="Jerk of lines", unit="mm/s³", least=0, most=1e12, step=10_000, places=0, group="Movement",
        about="The same along lines and on the way between them; 0 for no limit",
    )
    power_error_pct: float = figure(
        3.0, words="Power error", unit="%", least=0, most=50, places=1, step=0.5, group="Beam",
        about="How far the power may lie from what is set (standard deviation)",
    )
    focus_error_mm: float = figure(
        0.3, words="Focus error", unit="mm", least=0, most=20, step=0.05, group="Beam",
        about="How far the focus may lie from its height (standard deviation)",
    )
    focus_offset_mm: float = figure(
        0.0, words="Focus offset", unit="mm", least=-20, most=20, step=0.05, group="Beam",
        about="How far above the height taken for 0 the focus really is",
    )
    beam_delay_ms: float = figure(
        0.0, words="Beam delay", unit="ms", least=-50, most=50, places=4, step=0.005, group="Movement",
        about="How late the beam follows the head along a row",
    )
    both_way_offset_mm: float = figure(
        0.0, words="Both-way offset", unit="mm", least=-10, most=10, places=4, step=0.005, group="Movement",
        about="How far rows that run back lie off the others along the row",
    )
    least_row_step_mm: float = figure(
        0.0, words="Least row step", unit="mm", least=0, most=1, places=4, step=0.005, group="Movement",
        about="Row distances are whole numbers of it; 0 for any distance",
    )
    draws_to: Side = figure(
        "unknown", words="Extraction draws to", group="Bed", about="The side of the bed that smoke is drawn to",
    )
    edge_margin_mm: float = figure(
        2.0, words="Margin at the sheet's edge", unit="mm", least=0, most=100, step=0.5, group="Bed",
        about="Cuts stay this far off the edge of a sheet; the stock's margin counts where it is larger",
    )
    zones: tuple[BedZone, ...] = field(default=(), metadata={"omit_default": True})
    # fmt: on

    def check_whole(self) -> None:
        """Raises UnreadableError where the power table makes no sense."""
        check_power_table(self.power_table)


CO2_FLATBED = Machine(
    name="CO2 flatbed 100 W",
    rated_power_w=100.0,
    spot_mm=0.137,
    max_speed_mm_s=1000.0,
    bed_width_mm=900.0,
    bed_height_mm=600.0,
)
"""The starting profile: invented so that 600 LPI at 800 mm/s and 20 % is clean and 300 LPI is not."""

CO2_DESKTOP = Machine(
    name="CO2 desktop 40 W",
    rated_power_w=40.0,
    spot_mm=0.15,
    max_speed_mm_s=500.0,
    bed_width_mm=400.0,
    bed_height_mm=300.0,
    scan_acceleration_mm_s2=5_000.0,
    line_acceleration_mm_s2=1_000.0,
    jump_speed_mm_s=200.0,
    turn_round_s=0.02,
)
"""A starting profile for small machines; invented, to be proven like the other."""

STARTING_MACHINES: tuple[Machine, ...] = (CO2_FLATBED, CO2_DESKTOP)
