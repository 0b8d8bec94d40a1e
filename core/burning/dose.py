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
_NEIGHBOURS = 6
_HARMONICS = 5
_SERIES_BELOW = 1.25


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


def span_dose_j_mm2(
    x_mm: ArrayLike, y_mm: ArrayLike, *, peak_j_mm2: ArrayLike, x0_mm: ArrayLike, x1_mm: ArrayLike, spot_mm: ArrayLike
) -> Floats:
    """Dose at (x, y) of a line burned along y = 0 from x0 to x1; ``peak_j_mm2`` is that of ``line_peak_j_mm2``."""
    along = span_share(x_mm, x0_mm=x0_mm, x1_mm=x1_mm, spot_mm=spot_mm)
    result: Floats = np.asarray(peak_j_mm2, float) * along * across_share(y_mm, spot_mm=spot_mm)
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


def equal_hits_dose(dose: ArrayLike, *, hits: ArrayLike, s: ArrayLike) -> Floats:
    """What N equal hits count for, ``D N^(1-S)``."""
    result: Floats = np.asarray(dose, float) * np.asarray(hits, float) ** (1 - np.asarray(s, float))
    return result


def threshold_of_hits(dose: ArrayLike, *, hits: ArrayLike, s: ArrayLike) -> Floats:
    """The dose that each of N equal hits must have where a single one needs ``dose``, ``F(1) N^(S-1)`` (Jee 1988)."""
    result: Floats = np.asarray(dose, float) * np.asarray(hits, float) ** (np.asarray(s, float) - 1)
    return result


def sum_of_lines(share_of_pitch: ArrayLike, *, ratio: ArrayLike) -> Floats:
    """``Σ exp(-2 ((u-n) r)²)`` over all whole n: endless lines a ratio r = p/w apart, seen at u pitches from one.

    By the plain sum over the nearest lines, or by its Poisson series where lines lie close; to about 1e-12.
    """
    u, r = np.broadcast_arrays(np.asarray(share_of_pitch, float), np.asarray(ratio, float))
    u = u - np.round(u)
    wide = np.maximum(r, _SERIES_BELOW)
    direct = sum(np.exp(-2 * ((u - n) * wide) ** 2) for n in range(-_NEIGHBOURS, _NEIGHBOURS + 1))
    close = np.minimum(r, _SERIES_BELOW)
    series = np.ones_like(u)
    for k in range(1, _HARMONICS + 1):
        series = series + 2 * np.exp(-((math.pi * k / close) ** 2) / 2) * np.cos(2 * math.pi * k * u)
    result: Floats = np.where(r < _SERIES_BELOW, math.sqrt(math.pi / 2) / close * series, direct)
    return result


def hatch_dose_j_mm2(
    share_of_pitch: ArrayLike,
    *,
    peak_j_mm2: ArrayLike,
    pitch_mm: ArrayLike,
    spot_mm: ArrayLike,
    passes: ArrayLike = 1,
    s: ArrayLike,
) -> Floats:
    """What endless parallel lines, each burned ``passes`` times, count for at ``u`` pitches from one of them.

    ``peak_j_mm2``: of one line in one pass. Greatest at u = 0, least midway at u = 0.5, for every S.
    """
    u = np.asarray(share_of_pitch, float)
    u = u - np.round(u)
    s = np.asarray(s, float)
    q = q_of(s)
    ratio = np.asarray(pitch_mm, float) / (np.asarray(spot_mm, float) / 2)
    own = (u * ratio) ** 2 * 2  # the nearest line's own exponent, taken out so that a large q can't underflow
    dense = ratio * np.sqrt(q) < _SERIES_BELOW
    apart = np.maximum(ratio * np.sqrt(q), _SERIES_BELOW)
    beside = sum(
        np.exp(-2 * np.maximum((u - n) ** 2 - u**2, 0.0) * apart**2) for n in range(-_NEIGHBOURS, _NEIGHBOURS + 1)
    )
    log_sum = np.where(
        dense,
        np.log(sum_of_lines(u, ratio=np.minimum(ratio * np.sqrt(q), _SERIES_BELOW))),
        np.log(beside) - own * q,
    )
    # (passes · Σ)^(1/q), with 1/q = 1 - S exactly, so that S = 1 leaves the nearest line alone
    exponent = np.where(dense, log_sum / q, (1 - s) * (log_sum + own * q) - own)
    result: Floats = np.asarray(peak_j_mm2, float) * np.exp(exponent) * np.asarray(passes, float) ** (1 - s)
    return result


def cleared_share_of_pitch(
    *,
    peak_j_mm2: ArrayLike,
    clearing_dose_j_mm2: ArrayLike,
    pitch_mm: ArrayLike,
    spot_mm: ArrayLike,
    passes: ArrayLike = 1,
    s: ArrayLike,
) -> Floats:
    """Share of a wide fill that is bared, 0 to 1: where ``hatch_dose_j_mm2`` reaches the clearing dose."""
    figures = np.broadcast_arrays(
        *(np.asarray(one, float) for one in (peak_j_mm2, clearing_dose_j_mm2, pitch_mm, spot_mm, passes, s))
    )
    peak, clearing, pitch, spot, hits, s_ = figures

    def bared(u: Floats) -> NDArray[np.bool_]:
        dose = hatch_dose_j_mm2(u, peak_j_mm2=peak, pitch_mm=pitch, spot_mm=spot, passes=hits, s=s_)
        reached: NDArray[np.bool_] = dose >= clearing
        return reached

    low, high = np.zeros_like(peak), np.full_like(peak, 0.5)
    everywhere, nowhere = bared(high), ~bared(low)
    for _ in range(40):
        middle = (low + high) / 2
        reached = bared(middle)
        low, high = np.where(reached, middle, low), np.where(reached, high, middle)
    result: Floats = np.where(everywhere, 1.0, np.where(nowhere, 0.0, low + high))
    return result


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
