"""The dose that moving beams leave, and what several hits at one place count for together.

A Gaussian beam of 1/e² radius w that burns a straight line from a to b along x leaves the dose
``D(x, y) = peak · exp(-2y²/w²) · ½[erf(√2(x-a)/w) - erf(√2(x-b)/w)]``: the time integral of the irradiance
``2P/(πw²) exp(-2r²/w²)`` (A. E. Siegman, Lasers, 1986, ch. 17). Far from its ends the last factor is 1, at an end it is
one half.

Hits at one place, by neighbouring lines or by passes, count as the q-norm ``(Σ Di^q)^(1/q)``, q = 1/(1-S): with S = 1
only the largest counts, with S = 0 all add. For N equal hits that is the incubation law ``F(N) = F(1) N^(S-1)`` of
Y. Jee, M. F. Becker, R. M. Walser, J. Opt. Soc. Am. B 5, 648 (1988). They found it for separate pulses on metal;
here it is an analogy, and the q-norm for unequal hits is our extension.

Plain functions of numbers or arrays that broadcast; nothing here knows a machine or a stock.
"""

import math
from dataclasses import dataclass

import numpy as np
import scipy  # its parts load when they are first used
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

CAREFUL_CLEARING_S = 1.0
"""The verdict's S of the coat where coat is to go: nothing adds, so that passes never turn lines into bare sheet."""
CAREFUL_SPILL_S = 0.0
"""The verdict's S of the coat where coat is to stay: all adds."""
CAREFUL_SHEET_S = 0.0
"""The verdict's S of the sheet behind the coat: all adds."""

_MOST_Q = 1e9


def line_peak_j_mm2(*, power_w: ArrayLike, speed_mm_s: ArrayLike, spot_mm: ArrayLike) -> Floats:
    """Dose on the axis of one endless line, ``P/v · √(2/π)/w``."""
    radius = np.asarray(spot_mm, float) / 2
    result: Floats = np.asarray(power_w, float) / np.asarray(speed_mm_s, float) * math.sqrt(2 / math.pi) / radius
    return result


def span_share(x_mm: ArrayLike, *, x0_mm: ArrayLike, x1_mm: ArrayLike, spot_mm: ArrayLike) -> Floats:
    """Share of the endless line's dose that a line from x0 to x1 gives at x along it, 0 to 1."""
    scale = 2 * math.sqrt(2) / np.asarray(spot_mm, float)
    x = np.asarray(x_mm, float)
    begun, ended = (scipy.special.erf(scale * (x - np.asarray(end, float))) for end in (x0_mm, x1_mm))
    result: Floats = np.maximum((begun - ended) / 2, 0.0)
    return result


def across_share(y_mm: ArrayLike, *, spot_mm: ArrayLike) -> Floats:
    """Share of the axis' dose at y across a line, ``exp(-2y²/w²)``."""
    result: Floats = np.exp(-8 * (np.asarray(y_mm, float) / np.asarray(spot_mm, float)) ** 2)
    return result


def q_of(s: ArrayLike) -> Floats:
    """The exponent q = 1/(1-S) for S from 0 to 1; very large, not infinite, at S = 1."""
    result: Floats = 1 / np.maximum(1 - np.asarray(s, float), 1 / _MOST_Q)
    return result


def combined_dose(doses: ArrayLike, *, s: ArrayLike, axis: int = 0) -> Floats:
    """What hits of these doses count for together, ``(Σ Di^q)^(1/q)`` over an axis. ``s`` broadcasts to the result."""
    hits = np.asarray(doses, float)
    largest = hits.max(axis=axis)
    q = np.expand_dims(np.broadcast_to(q_of(s), largest.shape), axis)
    shares = hits / np.expand_dims(np.where(largest > 0, largest, 1.0), axis)
    result: Floats = largest * np.maximum((shares**q).sum(axis=axis), 1.0) ** (1 - np.asarray(s, float))
    return np.where(np.asarray(s, float) == 1.0, largest, result)


def cleared_width_of_line_mm(*, peak_j_mm2: ArrayLike, clearing_dose_j_mm2: ArrayLike, spot_mm: ArrayLike) -> Floats:
    """Width that one endless line bares, ``w √(2 ln(peak/clearing))``; 0 at or below the threshold (Liu 1982)."""
    over = np.maximum(np.asarray(peak_j_mm2, float) / np.asarray(clearing_dose_j_mm2, float), 1.0)
    result: Floats = np.asarray(spot_mm, float) / 2 * np.sqrt(2 * np.log(over))
    return result


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearingLine:
    """One scan line against one coat: its spot, the dose on its axis in one pass, how often it is burned, and the
    dose that clears."""

    spot_mm: float
    peak_j_mm2: float
    clearing_dose_j_mm2: float
    passes: int = 1

    @property
    def peak_over_clearing(self) -> float:
        """Dose on the axis in one pass over the clearing dose."""
        return self.peak_j_mm2 / self.clearing_dose_j_mm2

    @property
    def cleared_width_mm(self) -> float:
        """Width that the line bares far from its ends in one pass."""
        width = cleared_width_of_line_mm(
            peak_j_mm2=self.peak_j_mm2, clearing_dose_j_mm2=self.clearing_dose_j_mm2, spot_mm=self.spot_mm
        )
        return float(width)
