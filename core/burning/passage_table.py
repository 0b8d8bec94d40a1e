"""What stays and what is spilt beside an outline that passes strips alone, by its slope and bend: see ``passages``."""

import math
from collections.abc import Hashable
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from core.burning.baring import Baring
from core.burning.cluster_areas import cluster_areas, gap_areas
from core.burning.strips import Floats, Pieces, Spans, clusters_of

STEEPEST = 4.0
"""Largest slope of a passage, mm along the rows for each across them."""
LARGEST_BEND_SIGMAS = 1.0
"""Largest bend: what the slope changes by from one row to the next, in σ = a quarter of the spot."""
_SLOPES, _BENDS = 81, 9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PassageTable:
    """Areas of passages that begin the region, mm², (slopes, bends): slopes from 0 to STEEPEST, bends both ways."""

    largest_bend_mm: float
    left_over: Floats
    spill: Floats

    def __call__(
        self, slope: Floats, bend_mm: Floats, kinds: tuple[bool, bool] = (True, True)
    ) -> tuple[Floats, Floats]:
        """Left-over coat and spill at slopes (mm/mm) and bends; same shape. kinds: which are wanted, others are 0."""
        row = np.arctan(np.abs(slope)) * ((_SLOPES - 1) / math.atan(STEEPEST))
        column = (bend_mm / self.largest_bend_mm + 1) * ((_BENDS - 1) / 2)
        i = np.clip(row.astype(np.intp), 0, _SLOPES - 2)
        j = np.clip(column.astype(np.intp), 0, _BENDS - 2)
        row -= i
        column -= j
        at = i * _BENDS + j
        corner = ((1 - row) * (1 - column), (1 - row) * column, row * (1 - column), row * column)
        steps = (0, 1, _BENDS, _BENDS + 1)
        left_over, spill = (
            sum((share * values.ravel()[at + step] for share, step in zip(corner, steps, strict=True)), np.zeros(1))
            if wanted
            else np.zeros(len(at))
            for values, wanted in zip((self.left_over, self.spill), kinds, strict=True)
        )
        return left_over, spill


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A baring rule that equals others of the same figures."""

    figures: Hashable
    baring: Baring = field(compare=False)


@lru_cache(maxsize=32)
def table_of(rule: Rule) -> PassageTable:
    """Worked out exactly, once for each rule: in strips of their own, what is between an outline of each slope and
    bend and a level one."""
    baring = rule.baring
    lattice = baring.lattice
    pitch, slots = lattice.pitch_mm, len(lattice.slot_t)
    slopes = np.tan(np.linspace(0.0, math.atan(STEEPEST), _SLOPES)) * pitch
    largest = LARGEST_BEND_SIGMAS * baring.sigma_mm
    bends = np.linspace(-largest, largest, _BENDS)
    slope, bend = (grid.ravel() for grid in np.meshgrid(slopes, bends, indexing="ij"))
    strip = np.arange(len(slope))
    away = lattice.slot_t / pitch - 0.5
    x0 = slope[:, None] * away + bend[:, None] / 2 * (away**2 - 0.25)
    far_mm = 20 * (float(np.abs(x0).max()) + lattice.inward_mm + lattice.outward_mm)
    zero, full, far = np.zeros(len(strip)), np.full(len(strip), pitch), np.full(len(strip), far_mm)
    pieces = Pieces(
        owner=np.concatenate([strip, strip]),
        xa=np.concatenate([-slope / 2, far]),
        ta=np.concatenate([zero, zero]),
        xb=np.concatenate([slope / 2, far]),
        tb=np.concatenate([full, full]),
        sign=np.repeat([1.0, -1.0], len(strip)),
    )
    every = np.ones(x0.size, bool)
    spans = Spans(
        owner=np.repeat(strip, slots),
        slot=np.tile(np.arange(slots), len(strip)),
        x0=x0.ravel(),
        x1=np.full(x0.size, far_mm),
        begin_counts=every,
        end_counts=every,
    )
    clusters = clusters_of(pieces, spans, lattice)
    areas, gaps = cluster_areas(clusters, baring), gap_areas(clusters, baring)
    pattern = np.array([(1 << slots) - 1], np.int64)
    left_per_mm = pitch - float(baring.height_mm(pattern)[0])
    found = []
    for in_clusters, in_gaps, per_mm in (
        (areas.left_over, gaps.left_over, left_per_mm),
        (areas.spill, gaps.spill, 0.0),
    ):
        total = np.bincount(clusters.strip, in_clusters, len(strip)).astype(float)
        total += np.bincount(clusters.gaps.strip, in_gaps, len(strip)) - per_mm * far_mm
        total = total.reshape(_SLOPES, _BENDS)
        found.append(total - total[0, _BENDS // 2] / 2)  # less the far, level outline's own
    return PassageTable(largest_bend_mm=largest, left_over=found[0], spill=found[1])
