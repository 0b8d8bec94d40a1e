"""Machines: what the dose and run-time models need to know of them."""

from dataclasses import dataclass, field
from typing import Literal

from core.sheet.recipes import STARTING_POINT, Origin

WideGaps = Literal["unknown", "apart", "swept"]
"""How a machine crosses wide gaps of a row: the far parts burned apart, one after the other, or the row swept."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """One laser. Origins of single figures, where they differ from ``origin``, stand in ``figure_origins``.

    power_table: (percent, measured watts), rising; empty means a straight line up to the rated power.
    spot_mm: focused beam diameter (1/e²) at the coat. scan_acceleration_mm_s2: of the head along a scan row;
    line_acceleration_mm_s2: along cut and score lines. turn_round_s: lost at each row's end beside braking and
    speeding up. line_error_mm: how far a scan line may lie from its place (standard deviation). scan_jerk_mm_s3 and
    line_jerk_mm_s3: how fast the acceleration itself may change, along rows and along lines and jumps; 0: no limit.
    wide_gaps: until it is known, run times are a range.
    """

    name: str
    rated_power_w: float
    spot_mm: float
    max_speed_mm_s: float
    bed_width_mm: float
    bed_height_mm: float
    power_table: tuple[tuple[float, float], ...] = ()
    scan_acceleration_mm_s2: float = 10_000.0
    line_acceleration_mm_s2: float = 2_000.0
    jump_speed_mm_s: float = 500.0
    corner_deviation_mm: float = 0.01
    turn_round_s: float = 0.01
    scans_both_ways: bool = True
    line_error_mm: float = 0.003
    wavelength_um: float = 10.6
    focal_length_mm: float = 50.8
    beam_quality_m2: float = 1.2
    origin: Origin = STARTING_POINT
    figure_origins: tuple[tuple[str, Origin], ...] = ()
    wide_gaps: WideGaps = field(default="unknown", metadata={"omit_default": True})
    scan_jerk_mm_s3: float = field(default=0.0, metadata={"omit_default": True})
    line_jerk_mm_s3: float = field(default=0.0, metadata={"omit_default": True})


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
