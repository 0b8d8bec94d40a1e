"""Coverage of a screened picture: its spans lie on the rows themselves, so that strips between rows are worked out on
points, and where there are many, drawn by lot in even steps.

Left over counts where no span alone clears (S = 1), spill where all together would (S = 0), as for every fill.
"""

import math

import numpy as np
import scipy

from core.burning.bared import reach_mm
from core.burning.coverage import Coverage
from core.burning.coverage_map import Stretches, Tally
from core.burning.dose import CAREFUL_SPILL_S, ClearingLine, Floats, across_share
from core.burning.sampled_strips import DOUBT_SIGMAS
from core.burning.scan_rows import ScanRows
from core.progress import Progress, silent

MOST_STRIPS = 200
_HEIGHTS = 8
_SAMPLES_PER_RADIUS = 5


def band_coverage(asked: ScanRows, burned: ScanRows, line: ClearingLine, *, progress: Progress = silent) -> Coverage:
    """Coverage of bands one pitch high about ``asked``'s spans, by the rows as ``burned`` (maybe shifted)."""
    pitch, rows = asked.pitch_mm, len(asked.row_y_mm)
    margin = line.spot_mm
    left, right = float(asked.x0_mm.min()) - margin, float(asked.x1_mm.max()) + margin
    step = line.spot_mm / 2 / _SAMPLES_PER_RADIUS
    x = np.arange(left, right, step)
    top, bottom = float(asked.row_y_mm[0]) - pitch / 2, float(asked.row_y_mm[-1]) + pitch / 2
    tally = Tally((left, top - margin, right, bottom + margin), pitch_mm=pitch)
    reach = max(1, math.ceil(reach_mm(line, CAREFUL_SPILL_S) / pitch))
    strips = _some_strips(rows, reach)
    per_cell = max(1, int(tally.cell_mm / step))
    sums = np.zeros((len(strips), 2))
    for number, strip in enumerate(strips.tolist()):
        progress(number / len(strips), "coverage")
        inside, bared, spilt = _strip(asked, burned, line, strip, reach, x)
        point_mm2 = step * pitch / _HEIGHTS
        weight = (rows + 2 * reach - 1) / len(strips)
        region = inside.sum(0) * point_mm2 * weight
        left_over = (inside & ~bared).sum(0) * point_mm2 * weight
        spill = (~inside & spilt).sum(0) * point_mm2 * weight
        sums[number] = left_over.sum(), spill.sum()
        begin = np.arange(0, len(x), per_cell)
        y = float(asked.row_y_mm[0]) + (strip + 0.5) * pitch
        tally.add(
            Stretches(
                y=np.full(len(begin), y),
                lo=x[begin],
                hi=np.minimum(x[begin] + per_cell * step, right),
                region=np.add.reduceat(region, begin),
                left_over=np.add.reduceat(left_over, begin),
                spill=np.add.reduceat(spill, begin),
            )
        )
    by_lot = len(strips) < rows + 2 * reach - 1
    # one strip of every few that follow each other is looked at: successive differences judge the spread
    variance = (np.diff(sums, axis=0) ** 2).sum(0) / 2 if by_lot else np.zeros(2)
    region_mm2 = asked.length_mm * pitch
    return Coverage(
        cleared_width_mm=line.cleared_width_mm,
        region_mm2=region_mm2,
        left_over_mm2=min(float(sums[:, 0].sum()), region_mm2),
        spill_mm2=float(sums[:, 1].sum()),
        doubt_mm2=float(DOUBT_SIGMAS * np.sqrt(variance).sum()),
        unhit_parts=0,
        thin_parts=0,
        hairlines=0,
        places=(),
        grid=tally.grid(asked.to_bed),
    )


def _some_strips(rows: int, reach: int) -> np.ndarray:
    """Numbers of the strips that are looked at, strip s lying between rows s and s + 1."""
    every = np.arange(-reach, rows + reach - 1)
    if len(every) <= MOST_STRIPS:
        return every
    edges = np.linspace(0, len(every), MOST_STRIPS + 1)
    chosen = edges[:-1] + np.random.default_rng(17).random(MOST_STRIPS) * np.diff(edges)
    return every[chosen.astype(np.intp)]


def _strip(
    asked: ScanRows, burned: ScanRows, line: ClearingLine, strip: int, reach: int, x: Floats
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(heights, x): what lies in a band, what a span alone bares, what all together would."""
    pitch, ratio = asked.pitch_mm, line.peak_over_clearing
    t = (np.arange(_HEIGHTS) + 0.5) / _HEIGHTS * pitch
    alone = np.zeros((_HEIGHTS, len(x)))
    together = np.zeros((_HEIGHTS, len(x)))
    inside = np.zeros((_HEIGHTS, len(x)), bool)
    for row in range(strip + 1 - reach, strip + 1 + reach):
        if not 0 <= row < len(asked.row_y_mm):
            continue
        away = t - (row - strip) * pitch
        across = across_share(away, spot_mm=line.spot_mm)[:, None]
        largest, whole = _along(burned, row, line, x)
        alone = np.maximum(alone, across * largest)
        together += across * whole
        if row in (strip, strip + 1):
            own = np.abs(away) <= pitch / 2
            inside[own] |= _on(asked, row, x)
    return inside, alone * ratio >= 1, together * ratio * line.passes >= 1


def _along(rows: ScanRows, row: int, line: ClearingLine, x: Floats) -> tuple[Floats, Floats]:
    """Share of the full dose along a row: of the strongest span at each x, and of all together."""
    part = slice(rows.row_starts[row], rows.row_starts[row + 1])
    x0, x1 = rows.x0_mm[part], rows.x1_mm[part]
    largest, whole = np.zeros(len(x)), np.zeros(len(x))
    if not len(x0):
        return largest, whole
    scale = 2 * math.sqrt(2) / line.spot_mm
    reach = 1.5 * line.spot_mm
    first, last = np.searchsorted(x, x0 - reach), np.searchsorted(x, x1 + reach)
    counts = last - first
    span = np.repeat(np.arange(len(x0)), counts)
    at = np.arange(len(span)) - np.repeat(np.cumsum(counts) - counts, counts) + np.repeat(first, counts)
    share = (scipy.special.erf(scale * (x[at] - x0[span])) - scipy.special.erf(scale * (x[at] - x1[span]))) / 2
    np.maximum.at(largest, at, share)
    whole += np.bincount(at, share, minlength=len(x))
    return largest, whole


def _on(rows: ScanRows, row: int, x: Floats) -> np.ndarray:
    part = slice(rows.row_starts[row], rows.row_starts[row + 1])
    begun, ended = (
        np.searchsorted(rows.x0_mm[part], x, side="right"),
        np.searchsorted(rows.x1_mm[part], x, side="right"),
    )
    result: np.ndarray = begun > ended
    return result
