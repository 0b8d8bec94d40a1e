"""Spot and clearing dose learned from the widths of single lines.

Ordinary least squares. A stated error is a standard error and a 95 % interval by Student's t.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from core.artwork.drawing import Finding
from core.errors import UnreadableError
from core.geometry.path import Floats

SCATTERED_SHARE = 0.10
"""A figure whose standard error is a larger share of it is called scattered."""
NARROW_POWER_RATIO = 1.5
SENSIBLE_SPOTS_MM, SENSIBLE_DOSES_J_MM2 = (0.001, 10.0), (0.001, 1000.0)
"""Beyond these no laser and no coat lies."""

_T_975 = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228, 2.201, 2.179, 2.160, 2.145, 2.131, 2.120,
    2.110, 2.101, 2.093, 2.086, 2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimate:
    """A fitted figure with its standard error and 95 % interval, all in the figure's own unit."""

    value: float
    standard_error: float
    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class LineWidth:
    """The bared width of one single line, as seen through a loupe; 0 where the line bared nothing."""

    power_w: float
    width_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ThresholdFit:
    """What line widths tell of the spot and the coat.

    widths: the readings that were fitted, residuals_mm2: their width² less the fitted line's, in the same order.
    slope_mm2, intercept_mm2: of width² against ln(power / 1 W).
    """

    spot_mm: Estimate
    clearing_dose_j_mm2: Estimate
    threshold_power_w: float
    slope_mm2: float
    intercept_mm2: float
    r_squared: float
    widths: tuple[LineWidth, ...]
    residuals_mm2: tuple[float, ...]
    findings: tuple[Finding, ...]

    def fitted_width_mm(self, power_w: float) -> float:
        """Width that the fit gives at this power; 0 under the threshold."""
        square = self.slope_mm2 * math.log(power_w) + self.intercept_mm2 if power_w > 0 else 0.0
        return math.sqrt(max(0.0, square))


def student_t_975(freedom: int) -> float:
    """Two-sided 95 % factor of Student's t with so many degrees of freedom.

    NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.2, table; beyond 30 the expansion 26.7.5 of
    M. Abramowitz, I. Stegun, Handbook of Mathematical Functions.
    """
    if freedom <= len(_T_975):
        return _T_975[freedom - 1]
    z = 1.959964
    return z + (z**3 + z) / (4 * freedom) + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * freedom**2)


def fit_threshold(widths: Sequence[LineWidth], *, speed_mm_s: float, passes: int = 1) -> ThresholdFit:
    """Spot and clearing dose from the widths of single lines burned at one speed: width² against ln power.

    J. M. Liu, Simple technique for measurements of pulsed Gaussian-beam spot sizes, Optics Letters 7 (1982) 196,
    carried over to a line scanned at speed v: W² = 2 w² ln(P / Pth), Pth = Dth v w sqrt(pi/2). The spot is the one
    at the coat, defocus included. Lines that bared nothing are only compared with the threshold afterwards.
    Raises UnreadableError when the readings can't give a fit at all.
    """
    _check_widths(widths, speed_mm_s)
    seen = tuple(line for line in widths if line.width_mm > 0)
    if len(seen) < 3 or len({line.power_w for line in seen}) < 2:
        raise UnreadableError(
            "One power is too few for a fit."
            if len(seen) >= 3
            else "Fewer than three line widths are too few for a fit.",
            hint="Read at least three lines, better five or more, at powers that differ by half or more.",
        )
    log_power = np.log([line.power_w for line in seen])
    square_mm2 = np.array([line.width_mm for line in seen]) ** 2
    design = np.column_stack([log_power, np.ones_like(log_power)])
    (slope, intercept), covariance, residuals = _least_squares(design, square_mm2)
    if slope <= 0:
        raise UnreadableError(
            "The lines do not get wider with more power, so no spot or dose can be fitted.",
            hint="Check which line is which, and read the widths again.",
        )
    freedom = len(seen) - 2
    spread_mm2 = math.sqrt(float(residuals @ residuals) / freedom)
    covariance = covariance * spread_mm2**2
    factor = student_t_975(freedom)
    total = float(((square_mm2 - square_mm2.mean()) ** 2).sum())
    spot_mm = _spot(slope, math.sqrt(covariance[0, 0]), factor)
    dose = _clearing_dose(slope, intercept, covariance, factor, speed_mm_s / passes)
    _check_sensible(spot_mm.value, dose.value)
    fit = ThresholdFit(
        spot_mm=spot_mm,
        clearing_dose_j_mm2=dose,
        threshold_power_w=math.exp(-intercept / slope),
        slope_mm2=slope,
        intercept_mm2=intercept,
        r_squared=1.0 - float(residuals @ residuals) / total if total > 0 else 0.0,
        widths=seen,
        residuals_mm2=tuple(map(float, residuals)),
        findings=(),
    )
    return _with_findings(fit, [line for line in widths if line.width_mm == 0], design, spread_mm2)


def _least_squares(design: Floats, target: Floats) -> tuple[tuple[float, float], Floats, Floats]:
    """((slope, intercept), unscaled covariance, residuals)."""
    inverse = np.linalg.inv(design.T @ design).astype(np.float64)
    solution = np.linalg.lstsq(design, target, rcond=None)[0].astype(np.float64)
    return (float(solution[0]), float(solution[1])), inverse, target - design @ solution


def _spot(slope: float, slope_error: float, factor: float) -> Estimate:
    """Spot = 2 w = sqrt(2 slope), its interval that of the slope."""
    value = math.sqrt(2 * slope)
    return Estimate(
        value=value,
        standard_error=slope_error / value,
        low=math.sqrt(2 * max(0.0, slope - factor * slope_error)),
        high=math.sqrt(2 * (slope + factor * slope_error)),
    )


def _clearing_dose(slope: float, intercept: float, covariance: Floats, factor: float, speed_mm_s: float) -> Estimate:
    """Dth = sqrt(2/pi) Pth / (v w), its interval taken on ln Dth, which is nearer to normal."""
    half_width_mm = math.sqrt(slope / 2)
    dose = math.sqrt(2 / math.pi) * math.exp(-intercept / slope) / (speed_mm_s * half_width_mm)
    gradient = np.array([intercept / slope**2 - 0.5 / slope, -1.0 / slope])
    error = math.sqrt(float(gradient @ covariance @ gradient))
    reach = min(factor * error, 700.0)
    return Estimate(value=dose, standard_error=dose * error, low=dose * math.exp(-reach), high=dose * math.exp(reach))


def _check_sensible(spot_mm: float, dose_j_mm2: float) -> None:
    for name, value, unit, (least, most) in (
        ("a spot", spot_mm, "mm", SENSIBLE_SPOTS_MM),
        ("a clearing dose", dose_j_mm2, "J/mm²", SENSIBLE_DOSES_J_MM2),
    ):
        if not least <= value <= most:
            raise UnreadableError(
                f"These widths would mean {name} of {value:.1g} {unit}, which can't be.",
                hint="They hardly grow with the power, or far too fast: check which line is which; read again.",
            )


def _check_widths(widths: Sequence[LineWidth], speed_mm_s: float) -> None:
    if not (math.isfinite(speed_mm_s) and speed_mm_s > 0):
        raise UnreadableError(f"A speed of {speed_mm_s:g} mm/s makes no line.", hint="Give a speed above zero.")
    for line in widths:
        if not (math.isfinite(line.power_w) and line.power_w > 0):
            raise UnreadableError(f"A power of {line.power_w:g} W makes no line.", hint="Give a power above zero.")
        if not (math.isfinite(line.width_mm) and line.width_mm >= 0):
            raise UnreadableError(
                f"{line.width_mm:g} mm at {line.power_w:g} W is no width.", hint="Give mm; 0 where nothing was bared."
            )


def _with_findings(fit: ThresholdFit, missing: list[LineWidth], design: Floats, spread_mm2: float) -> ThresholdFit:
    """The fit with what is doubtful about it in words."""
    findings: list[Finding] = []
    powers_w = [line.power_w for line in fit.widths]
    if max(powers_w) < NARROW_POWER_RATIO * min(powers_w):
        findings.append(
            _warning("powers-too-close", f"All lines lie between {min(powers_w):g} and {max(powers_w):g} W; "
                     "powers further apart would pin the figures down.")
        )  # fmt: skip
    for name, figure in (("spot", fit.spot_mm), ("clearing dose", fit.clearing_dose_j_mm2)):
        if figure.standard_error > SCATTERED_SHARE * figure.value:
            share = figure.standard_error / figure.value
            findings.append(
                _warning("scattered-readings", f"The readings scatter: the {name} is known only to {100 * share:.0f} % "
                         "(one standard error). Read more lines.")
            )  # fmt: skip
    findings += _odd_readings(fit, design, spread_mm2)
    for line in dict.fromkeys(missing):
        if fit.fitted_width_mm(line.power_w) > 0.25 * fit.spot_mm.value:
            findings.append(
                _warning("line-missing", f"At {line.power_w:g} W nothing was bared, where the other lines foretell "
                         f"{fit.fitted_width_mm(line.power_w):.3f} mm.")
            )  # fmt: skip
    if len(fit.widths) < 5:
        findings.append(_note("few-readings", f"Only {len(fit.widths)} lines were read; five or more are better."))
    return replace(fit, findings=tuple(findings))


def _odd_readings(fit: ThresholdFit, design: Floats, spread_mm2: float) -> list[Finding]:
    """Readings whose externally studentised residual is beyond twice Student's 95 % factor."""
    count = len(fit.widths)
    if count < 5 or spread_mm2 <= 0:
        return []
    leverage = np.einsum("ij,jk,ik->i", design, np.linalg.inv(design.T @ design), design)
    inside = np.array(fit.residuals_mm2) / (spread_mm2 * np.sqrt(np.maximum(1 - leverage, 1e-12)))
    left = np.maximum(count - 2 - inside**2, 1e-12)
    deleted = inside * np.sqrt((count - 3) / left)
    return [
        _warning("odd-reading", f"The line at {line.power_w:g} W, {line.width_mm:.3f} mm wide, lies off the others, "
                 f"which foretell {fit.fitted_width_mm(line.power_w):.3f} mm: look at it again.")
        for line, size in zip(fit.widths, np.abs(deleted), strict=True)
        if size > 2 * student_t_975(count - 3)
    ]  # fmt: skip


def _warning(code: str, message: str) -> Finding:
    return Finding(code=code, message=message)


def _note(code: str, message: str) -> Finding:
    return Finding(code=code, message=message, severity="note")
