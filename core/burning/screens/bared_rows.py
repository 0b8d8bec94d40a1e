"""What spans of scan rows bare, as a share of their area, by the dose model where no hit helps another (S = 1).

Along a row each span bares up to a height that follows its own dose (``dose``): less near its ends, nothing where it is
too short. Between two rows the bared heights of both sides are put together. Exact across the rows, sampled along them.
"""

import math

import numpy as np
import scipy

from core.burning.dose import ClearingLine, Floats
from core.burning.screens.spans import Spans

SAMPLES_PER_RADIUS = 8


def bared_share(spans: Spans, line: ClearingLine, *, from_mm: float, to_mm: float, rows: tuple[int, int]) -> float:
    """Share of the strip between x ``from_mm`` and ``to_mm`` and between the rows first and last of ``rows``."""
    step = line.spot_mm / 2 / SAMPLES_PER_RADIUS
    count = max(8, math.ceil((to_mm - from_mm) / step))
    x = from_mm + (np.arange(count) + 0.5) * (to_mm - from_mm) / count
    heights = bared_heights_mm(spans, line, x)
    first, last = rows
    covered = covered_mm(heights, spans.pitch_mm)[first:last]
    return float(covered.mean() / spans.pitch_mm) if covered.size else 0.0  # rows further apart than the strip is high


def bared_heights_mm(spans: Spans, line: ClearingLine, x_mm: Floats) -> Floats:
    """(rows, x): how far from its axis each row bares at these evenly spaced places along it; 0 where nothing is."""
    heights = np.zeros((spans.row_count, len(x_mm)))
    ratio = line.peak_over_clearing
    if ratio <= 1 or not len(spans.row):
        return heights
    radius = line.spot_mm / 2
    step = float(x_mm[1] - x_mm[0])
    reach = 1.5 * radius  # past this no line of a sane dose bares beyond its end
    first = np.clip(np.ceil((spans.x0_mm - reach - x_mm[0]) / step), 0, len(x_mm)).astype(np.intp)
    last = np.clip(np.floor((spans.x1_mm + reach - x_mm[0]) / step) + 1, 0, len(x_mm)).astype(np.intp)
    counts = np.maximum(last - first, 0)
    span = np.repeat(np.arange(len(counts)), counts)
    at = np.arange(len(span)) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(first, counts)
    scale = math.sqrt(2) / radius
    begun = scipy.special.erf(scale * (x_mm[at] - spans.x0_mm[span]))
    ended = scipy.special.erf(scale * (x_mm[at] - spans.x1_mm[span]))
    over = ratio * (begun - ended) / 2
    high = np.where(over > 1, radius * np.sqrt(np.log(np.maximum(over, 1.0)) / 2), 0.0)
    np.maximum.at(heights, (spans.row[span], at), high)
    return heights


def band_covered_mm(heights: Floats, pitch_mm: float) -> Floats:
    """(rows, x): how much of the band one pitch high about each row is bared; as exact as ``covered_mm``."""
    half = pitch_mm / 2
    own = np.minimum(heights, half)
    result: Floats = np.zeros_like(heights)
    for side in (-1, 1):
        reach = np.zeros_like(heights)  # how far rows beyond this side reach into the half band, from its edge
        for away in range(1, 1 + math.ceil((float(heights.max(initial=0.0)) - half) / pitch_mm)):
            there = np.zeros_like(heights)
            if side < 0:
                there[away:] = heights[:-away]
            else:
                there[:-away] = heights[away:]
            np.maximum(reach, there - away * pitch_mm + half, out=reach)
        result += np.minimum(own + np.clip(reach, 0.0, half), half)
    return result


def covered_mm(heights: Floats, pitch_mm: float) -> Floats:
    """(rows - 1, x): how much of the strip between each row and the next is bared."""
    up, down = heights[:-1].copy(), heights[1:].copy()
    for away in range(1, math.ceil(float(heights.max(initial=0.0)) / pitch_mm)):
        up[away:] = np.maximum(up[away:], heights[: -1 - away] - away * pitch_mm)
        down[:-away] = np.maximum(down[:-away], heights[1 + away :] - away * pitch_mm)
    result: Floats = np.minimum(np.clip(up, 0, pitch_mm) + np.clip(down, 0, pitch_mm), pitch_mm)
    return result
