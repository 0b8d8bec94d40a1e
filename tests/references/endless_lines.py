"""What endless parallel lines count for, reckoned apart from the program: the plain sum, or its Poisson series."""

import math

import numpy as np
from numpy.typing import ArrayLike

from core.burning.dose import Floats, q_of

_NEIGHBOURS = 6
_HARMONICS = 5
_SERIES_BELOW = 1.25


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
