"""Best focus and Rayleigh range from widths of lines at several heights and powers, by the dose law.

A spot out of focus is wider and weaker, so lines first widen and then vanish on either side; the narrowest line is not
always in focus. Least squares of ``W² = 2 w(z)² ln(D(z)/D_th)`` (Liu 1982, carried over to lines) with
``w(z)² = w₀² (1 + ((z - z₀)/z_R)²)`` (H. Kogelnik, T. Li, Appl. Opt. 5 (1966) 1550) over spot, best height, Rayleigh
range and clearing dose; intervals by Student's t.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from core.artwork.drawing import Finding
from core.burning.beam import Floats, power_w, rayleigh_range_mm
from core.burning.calibration import Estimate, student_t_975
from core.burning.machines import Machine
from core.errors import UnreadableError
from core.sheet.recipes import Recipe

LEAST_LINES, LEAST_HEIGHTS = 6, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class FocusFit:
    """offset_mm: best focus above the height taken for 0. spot_mm: there. m2: beam quality from range and spot."""

    offset_mm: Estimate
    rayleigh_mm: Estimate
    spot_mm: Estimate
    m2: Estimate
    findings: tuple[Finding, ...]


def fit_focus(lines: Sequence[tuple[Recipe, float]], machine: Machine) -> FocusFit:
    """The fit of (recipe, width in mm); lines that bared nothing are left out.

    Raises UnreadableError for fewer than six lines at four heights, or where no focus lies among them.
    """
    seen = [(recipe, width) for recipe, width in lines if width > 0]
    heights = np.array([recipe.focus_mm for recipe, _ in seen])
    if len(seen) < LEAST_LINES or len(set(heights.tolist())) < LEAST_HEIGHTS:
        raise UnreadableError(
            "These lines are too few to find the focus.",
            hint=f"Read at least {LEAST_LINES} lines at {LEAST_HEIGHTS} heights, and both powers.",
        )
    energies = np.array([power_w(machine, recipe.power_pct) * recipe.passes / recipe.speed_mm_s for recipe, _ in seen])
    squares = np.array([width for _, width in seen]) ** 2
    start = [
        math.log(machine.spot_mm / 2),
        float(np.median(heights)),
        math.log(_rayleigh_mm(machine)),
        math.log(0.5 * float(np.median(energies)) * math.sqrt(2 / math.pi) * 2 / machine.spot_mm),
    ]

    def apart(figures: Floats) -> Floats:
        log_w, best, log_range, log_dose = figures
        w2 = math.exp(2 * log_w) * (1 + ((heights - best) / math.exp(log_range)) ** 2)
        over = np.log(energies * math.sqrt(2 / math.pi)) - 0.5 * np.log(w2) - log_dose
        result: Floats = 1e3 * (2 * w2 * over - squares)
        return result

    found = scipy.optimize.least_squares(apart, start, x_scale=[0.1, 0.3, 0.3, 0.2], max_nfev=400)
    inside = heights.min() <= found.x[1] <= heights.max()
    if not (found.success and inside):
        raise UnreadableError(
            "No best focus lies among these heights.", hint="Burn a ladder about another height, or read more lines."
        )
    freedom = max(1, len(seen) - 4)
    slopes = np.asarray(found.jac, float)
    covariance = np.linalg.pinv(slopes.T @ slopes) * float(found.fun @ found.fun) / freedom
    factor, errors = student_t_975(freedom), np.sqrt(np.diag(covariance))
    log_m2 = math.log(math.pi / (1e-3 * machine.wavelength_um)) + 2 * found.x[0] - found.x[2]
    across = np.array([2.0, 0.0, -1.0, 0.0])
    m2_error = math.sqrt(float(across @ covariance @ across))
    return FocusFit(
        offset_mm=Estimate(
            value=float(found.x[1]),
            standard_error=float(errors[1]),
            low=float(found.x[1] - factor * errors[1]),
            high=float(found.x[1] + factor * errors[1]),
        ),
        rayleigh_mm=_exponential(float(found.x[2]), float(errors[2]), factor),
        spot_mm=_exponential(float(found.x[0]) + math.log(2), float(errors[0]), factor),
        m2=_exponential(log_m2, m2_error, factor),
        findings=_findings(seen, float(found.x[1])),
    )


def _rayleigh_mm(machine: Machine) -> float:
    return rayleigh_range_mm(
        spot_mm=machine.spot_mm, wavelength_um=machine.wavelength_um, beam_quality_m2=machine.beam_quality_m2
    )


def _exponential(mean: float, error: float, factor: float) -> Estimate:
    reach = min(factor * error, 50.0)
    value = math.exp(mean)
    return Estimate(value=value, standard_error=value * error, low=math.exp(mean - reach), high=math.exp(mean + reach))


def _findings(seen: Sequence[tuple[Recipe, float]], best_mm: float) -> tuple[Finding, ...]:
    """Where the narrowest line would have misled."""
    narrowest = min(seen, key=lambda one: one[1])[0].focus_mm
    if abs(narrowest - best_mm) < 0.3:
        return ()
    words = (
        f"The narrowest line lies at {narrowest:g} mm, the best focus at {best_mm:.2f} mm: a weak line out of focus is "
        "narrow, too."
    )
    return (Finding(code="narrowest-is-not-focus", message=words, severity="note"),)
