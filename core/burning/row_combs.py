"""Combs that find how late the beam follows the head and how far rows of the two directions lie apart.

A patch is one row, or two, each broken by gaps; in every gap stands a scored line, which runs across the rows and so is
not shifted by any delay. From pair to pair the gaps lie a step further from their lines. The pair whose line stands in
the middle of its gap tells by how much the row was shifted; the middle of a gap does not depend on how far rows clear
beyond their ends. At a speed v the first row lies off by v times the delay, the second by the offset less that, as in
``row_offsets``.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from core.artwork.drawing import Finding
from core.burning.calibration import Estimate, student_t_975
from core.errors import UnreadableError

PAIRS = 11
GAP_MM = 0.4
"""Wide enough for a scored line with coat on either side of it."""
BOTH_WAY_STEP_MM, DELAY_STEP_MM = 0.04, 0.02
PAIR_ERROR = 0.35
"""Standard deviation of a pair told, in pairs; our own guess: the next one is told from it most of the time."""
FAR_ERRORS = 3.0

Stretch = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class RowShift:
    """How far one row lay off along +x of the bed, mm, at a speed; second: of the row that runs back."""

    label: str
    speed_mm_s: float
    shift_mm: float
    step_mm: float
    second: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RowShiftFit:
    """both_way_offset_mm: None where no second rows were read."""

    beam_delay_ms: Estimate
    both_way_offset_mm: Estimate | None
    findings: tuple[Finding, ...]


def lines_of_comb(x_mm: float, width_mm: float) -> tuple[float, ...]:
    """Where along a patch its scored lines stand."""
    return tuple(x_mm + width_mm * (number + 0.5) / PAIRS for number in range(PAIRS))


def bars_of_comb(x_mm: float, width_mm: float, step_mm: float) -> tuple[Stretch, ...]:
    """The stretches of a patch that are burned, from gap to gap."""
    middle = PAIRS // 2
    gaps = [line + (number - middle) * step_mm for number, line in enumerate(lines_of_comb(x_mm, width_mm))]
    begins = [x_mm, *(gap + GAP_MM / 2 for gap in gaps)]
    ends = [*(gap - GAP_MM / 2 for gap in gaps), x_mm + width_mm]
    return tuple(zip(begins, ends, strict=True))


def fit_row_shifts(shifts: Sequence[RowShift]) -> RowShiftFit:
    """Beam delay, and the offset between directions where second rows were read; least squares over all rows.

    An error is that of the pairs told, or what the rows scatter where that is more; intervals of 95 %. Raises
    UnreadableError where the rows can't tell what is asked.
    """
    both = any(one.second for one in shifts)
    if not shifts or (both and len({one.speed_mm_s for one in shifts}) < 2 and all(one.second for one in shifts)):
        raise UnreadableError(
            "Second rows at one speed alone can't tell delay and offset apart.", hint="Read first rows, too."
        )
    design = np.array(
        [[(-1 if one.second else 1) * one.speed_mm_s / 1000, *([float(one.second)] if both else [])] for one in shifts]
    )
    errors = PAIR_ERROR * np.array([one.step_mm for one in shifts])
    scaled = design / errors[:, None]
    target = np.array([one.shift_mm for one in shifts]) / errors
    figures, *_ = np.linalg.lstsq(scaled, target, rcond=None)
    left = target - scaled @ figures
    freedom = len(shifts) - design.shape[1]
    scatter = math.sqrt(float(left @ left) / freedom) if freedom else 0.0
    factor = student_t_975(freedom) if scatter > 1 else 1.96
    spreads = np.sqrt(np.diag(np.linalg.inv(scaled.T @ scaled))) * max(1.0, scatter)
    found = [
        Estimate(value=value, standard_error=spread, low=value - factor * spread, high=value + factor * spread)
        for value, spread in zip(figures.tolist(), spreads.tolist(), strict=True)
    ]
    findings = tuple(
        Finding(
            code="odd-reading",
            message=f"Patch {one.label}: its {'second' if one.second else 'first'} row does not fit the others. "
            "Look again which pair lines up.",
        )
        for one, off in zip(shifts, np.abs(left).tolist(), strict=True)
        if off > FAR_ERRORS
    )
    return RowShiftFit(beam_delay_ms=found[0], both_way_offset_mm=found[1] if both else None, findings=findings)
