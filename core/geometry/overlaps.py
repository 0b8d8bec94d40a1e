"""Where lines run along other lines: doubled, partly overlapping, or shared by neighbours.

All paths are flattened finely and every chord is held against those before it; what lies within the tolerance of an
earlier one over a stretch is covered by it. Curves are compared like lines, however they were drawn or cut up.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from core.geometry.path import Floats, Path, joined
from core.geometry.path_pieces import point_at, steps_of
from core.geometry.rings import geometries

SAME_LINE_MM = 0.01
"""Lines this near are the same line to any cutter."""
_LEAST_STRETCH_MM = 0.2
_FLATNESS = 0.1
"""Chord error against the tolerance."""

Indices = NDArray[np.intp]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Covered:
    """Stretches of paths that run along an earlier path (or an earlier part of their own), (n,) each.

    path, segment: which one is covered, segment counted within its path; t0, t1: share of the segment, by parameter;
    by: the path that covers it; length_mm: of the stretch; x_mm, y_mm: its middle.
    """

    path: Indices
    segment: Indices
    t0: Floats
    t1: Floats
    by: Indices
    length_mm: Floats
    x_mm: Floats
    y_mm: Floats

    def __len__(self) -> int:
        return len(self.path)


@dataclass(slots=True, kw_only=True, eq=False)
class _Chords:
    """Chords of all paths in order: ends (n, 2, 2), path, segment (counted over all), share of it at both ends."""

    ends: Floats
    path: Indices
    segment: Indices
    t: Floats
    length: Floats


def covered_stretches(paths: Sequence[Path], *, tolerance_mm: float = SAME_LINE_MM) -> Covered:
    """All stretches that run within the tolerance of something earlier, merged along each segment.

    Lines that only cross or touch are no stretch, nor is what is shorter than 0.2 mm unless it is all of its segment.
    """
    chords = _chords(paths, tolerance_mm * _FLATNESS)
    pieces = _covered_pieces(chords, tolerance_mm)
    return _merged(paths, chords, *pieces)


def _chords(paths: Sequence[Path], flatness_mm: float) -> _Chords:
    steps = steps_of(joined(list(paths)), flatness_mm)
    owner = np.repeat(np.arange(len(paths)), [len(one) for one in paths])
    return _Chords(
        ends=steps.ends,
        path=owner[steps.segment],
        segment=steps.segment,
        t=steps.t,
        length=np.hypot(*(steps.ends[:, 1] - steps.ends[:, 0]).T),
    )


def _covered_pieces(chords: _Chords, tolerance_mm: float) -> tuple[Indices, Floats, Indices, Bools]:
    """Per chord piece: chord, (from, to) as shares of the chord, covering chord, (leaves at from, leaves at to).

    "Leaves" means that there the lines part, rather than that one of them ends.
    """
    found: list[tuple[Indices, Floats, Indices, Bools]] = []
    lines = geometries(shapely.linestrings(chords.ends))
    low, high = chords.ends.min(axis=1) - tolerance_mm / 2, chords.ends.max(axis=1) + tolerance_mm / 2
    boxes = geometries(shapely.linestrings(np.stack([low, high], axis=1)))
    tree = shapely.STRtree(boxes)
    step = 20_000
    for begin in range(0, len(lines), step):
        later, earlier = tree.query(boxes[begin : begin + step])
        later = later + begin
        some = earlier < later
        found.append(_along(chords, later[some], earlier[some], tolerance_mm))
    if not found:
        return np.zeros(0, np.intp), np.zeros((0, 2)), np.zeros(0, np.intp), np.zeros((0, 2), bool)
    later, share, by, leaves = (np.concatenate(column) for column in zip(*found, strict=True))
    return later, share, by, leaves


def _along(
    chords: _Chords, later: Indices, earlier: Indices, tolerance_mm: float
) -> tuple[Indices, Floats, Indices, Bools]:
    """What of the later chords lies along the earlier ones."""
    a, along = chords.ends[later, 0], chords.ends[later, 1] - chords.ends[later, 0]
    length = chords.length[later]
    usable = (length > 1e-9) & (chords.length[earlier] > 1e-9)
    later, earlier, a, along, length = later[usable], earlier[usable], a[usable], along[usable], length[usable]
    unit = along / length[:, None]
    other = chords.ends[earlier] - a[:, None]
    place = (other * unit[:, None]).sum(axis=2)  # of the earlier one's ends along the later chord
    aside = other[..., 1] * unit[:, None, 0] - other[..., 0] * unit[:, None, 1]
    order = np.argsort(place, axis=1)
    place, aside = np.take_along_axis(place, order, 1), np.take_along_axis(aside, order, 1)
    run = place[:, 1] - place[:, 0]
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = (aside[:, 1] - aside[:, 0]) / run
        # where the distance reaches the tolerance on either side
        bound = np.stack([(-tolerance_mm - aside[:, 0]) / slope, (tolerance_mm - aside[:, 0]) / slope], axis=1)
    flat = np.abs(slope) < 1e-12
    enter = np.where(flat, -np.inf, bound.min(axis=1)) + place[:, 0]
    leave = np.where(flat, np.inf, bound.max(axis=1)) + place[:, 0]
    near = np.where(flat, np.abs(aside[:, 0]) <= tolerance_mm, True)
    start = np.maximum(np.maximum(place[:, 0], 0.0), enter)
    stop = np.minimum(np.minimum(place[:, 1], length), leave)
    # across rather than along: a short piece of a steep neighbour
    steep = np.abs(slope) > 0.35
    keep = near & (stop - start > 1e-6) & ~steep & np.isfinite(slope)
    leaves = np.column_stack(
        [enter > np.maximum(place[:, 0], 0.0) + 1e-9, leave < np.minimum(place[:, 1], length) - 1e-9]
    )
    share = np.column_stack([start / length, stop / length])
    return later[keep], share[keep], earlier[keep], leaves[keep]


def _merged(
    paths: Sequence[Path], chords: _Chords, chord: Indices, share: Floats, by: Indices, leaves: Bools
) -> Covered:
    """Pieces joined to stretches within each segment; those that only touch are dropped."""
    first = np.concatenate([[0], np.cumsum([len(path) for path in paths])]).astype(np.intp)
    if not len(chord):
        none, zero = np.zeros(0), np.zeros(0, np.intp)
        return Covered(path=zero, segment=zero, t0=none, t1=none, by=zero, length_mm=none, x_mm=none, y_mm=none)
    span = np.diff(chords.t[chord], axis=1)
    t = chords.t[chord, :1] + span * share
    segment, coverer = chords.segment[chord], chords.path[by]
    order = np.lexsort((t[:, 0], segment))
    chord, t, segment, coverer, leaves = chord[order], t[order], segment[order], coverer[order], leaves[order]
    slack = 1e-9 + 2 * SAME_LINE_MM / np.maximum(_segment_lengths(chords), 1e-9)[segment]
    # running end of what is covered so far in each segment
    reach = np.maximum.accumulate(t[:, 1] + 2.0 * segment) - 2.0 * segment
    new = np.ones(len(t), bool)
    new[1:] = (segment[1:] != segment[:-1]) | (t[1:, 0] > reach[:-1] + slack[1:])
    start = np.flatnonzero(new)
    last = np.append(start[1:], len(t)) - 1
    t0, t1 = t[start, 0], reach[last]
    seg = segment[start]
    furthest = _last_to_reach(t[:, 1], start, last)
    parts_at_both_ends = leaves[start, 0] & leaves[furthest, 1]
    lengths = _segment_lengths(chords)[seg]
    length = lengths * (t1 - t0)
    whole = (t0 < 0.01) & (t1 > 0.99)
    keep = whole | ((length > _LEAST_STRETCH_MM) & ~parts_at_both_ends)
    middle = _at(paths, first, seg, (t0 + t1) / 2)
    return Covered(
        path=chords.path[chord[start]][keep],
        segment=(seg - first[chords.path[chord[start]]])[keep],
        t0=np.where(t0 < 0.01, 0.0, t0)[keep],
        t1=np.where(t1 > 0.99, 1.0, t1)[keep],
        by=coverer[start][keep],
        length_mm=length[keep],
        x_mm=middle[keep, 0],
        y_mm=middle[keep, 1],
    )


def _last_to_reach(ends: Floats, start: Indices, last: Indices) -> Indices:
    """Index of the piece that reaches furthest in each run start..last."""
    run = np.repeat(np.arange(len(start)), last - start + 1)
    result: Indices = np.lexsort((ends, run))[last].astype(np.intp)
    return result


def _segment_lengths(chords: _Chords) -> Floats:
    return np.bincount(chords.segment, weights=chords.length).astype(float)


def _at(paths: Sequence[Path], first: Indices, segment: Indices, t: Floats) -> Floats:
    path = joined(list(paths))
    return np.array([point_at(path, int(s), float(share)) for s, share in zip(segment, t, strict=True)]).reshape(-1, 2)
