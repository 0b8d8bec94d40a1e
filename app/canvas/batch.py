"""Outlines that are drawn alike, as painter paths: thinned for the zoom, culled and clipped to the view."""

import struct
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from PySide6.QtCore import QByteArray, QDataStream, Qt
from PySide6.QtGui import QPainterPath

from app.canvas.outlines import (
    BASE_TOLERANCE_MM,
    Box,
    Floats,
    Ints,
    Outlines,
    boxes_of_runs,
    clipped_rings,
    meet,
    runs_meeting,
)

LEVEL_TOLERANCE_PX = 0.4
LEVEL_COUNT = 10
SMALL_PIECE_POINTS = 24
"""Neighbours are put in one path up to this many points: fewer calls, and the rasteriser is at its best there."""
RUN_POINTS = 96
"""Longer lines are split: stroking a path takes more than linear time."""
CLIP_FROM_POINTS = 256
FAR_PX = 12_000.0
"""Beyond this many px from the view coordinates are clipped, as the rasteriser's own numbers run out."""


class Piece(NamedTuple):
    """A path to paint, in mm; the unit it (first) belongs to; how far along its line it starts, for dashes."""

    path: QPainterPath
    unit: int
    start_mm: float


class Batch:
    """Paintable outlines. Used from the drawing thread only.

    ``areas`` keeps every unit whole, for filling; without it lines are split and merged freely, for stroking.
    ``mixed`` allows small units that do not overlap to share a path.
    """

    def __init__(self, outlines: Outlines, *, areas: bool, mixed: bool = False, fill_rules: Ints | None = None) -> None:
        self._outlines, self._areas, self._mixed, self._fill_rules = outlines, areas, mixed, fill_rules
        self._thinned = {0: outlines}
        self._levels: dict[int, _Level] = {}

    @property
    def outlines(self) -> Outlines:
        """What it was made of."""
        return self._outlines

    def pieces(self, px_per_mm: float, box: Box, units: Ints | None = None) -> Iterator[Piece]:
        """Paths that meet the box, good enough for the zoom; ``units`` (sorted) restricts them to these."""
        if len(self._outlines):
            yield from self._level(level_index(px_per_mm)).pieces(px_per_mm, box, units)

    def make_ready(self, px_per_mm: float) -> None:
        """Build the paths for a zoom now, so that they need not be when it comes to it."""
        if len(self._outlines):
            self._level(level_index(px_per_mm))

    def _level(self, index: int) -> "_Level":
        if index not in self._levels:
            self._levels[index] = _Level(
                self._thinned_to(index), areas=self._areas, mixed=self._mixed, fill_rules=self._fill_rules
            )
        return self._levels[index]

    def _thinned_to(self, index: int) -> Outlines:
        if index not in self._thinned:
            # made of the nearest finer level there is, which lies off by half of this one's tolerance at most
            finer = max(known for known in self._thinned if known < index)
            self._thinned[index] = self._thinned[finer].thinned(level_tolerance_mm(index) / 2)
        return self._thinned[index]


def level_tolerance_mm(index: int) -> float:
    """How far level ``index`` may lie off."""
    return BASE_TOLERANCE_MM * 2.0**index


def level_index(px_per_mm: float) -> int:
    """The coarsest level that lies off by no more than a part of a pixel; 0 is the finest."""
    index = int(np.floor(np.log2(LEVEL_TOLERANCE_PX / (px_per_mm * BASE_TOLERANCE_MM))))
    return min(max(index, 0), LEVEL_COUNT)


class _Level:
    """The pieces of one level of detail."""

    def __init__(self, outlines: Outlines, *, areas: bool, mixed: bool, fill_rules: Ints | None) -> None:
        self._areas, self._fill_rules = areas, fill_rules
        if mixed:
            outlines = _neighbours_together(outlines)
        if areas:
            firsts = np.flatnonzero(np.diff(outlines.unit, prepend=outlines.unit[0] - 1)).astype(np.intp)
            start_mm = np.zeros(len(outlines))
        else:
            outlines, start_mm = _split(outlines)
            firsts = np.arange(len(outlines), dtype=np.intp)
        if mixed:
            firsts = _small_ones_together(firsts, outlines.starts)
        self._outlines = outlines
        self._first, self._last = firsts, np.append(firsts[1:], len(outlines)).astype(np.intp)
        self._units = outlines.unit[firsts]
        self._start_mm = start_mm[firsts]
        piece_starts = np.append(outlines.starts[firsts], outlines.starts[-1])
        self._boxes = boxes_of_runs(outlines.points, piece_starts)
        self._counts = np.diff(piece_starts)
        rules = np.zeros(len(firsts), np.intp) if fill_rules is None else fill_rules[self._units]
        self._paths = painter_paths(outlines.points, outlines.starts[:-1], piece_starts, rules)

    def pieces(self, px_per_mm: float, box: Box, wanted: Ints | None) -> Iterator[Piece]:
        near = meet(self._boxes, box)
        if wanted is not None:
            near &= np.isin(self._units, wanted)
        big = _reach_px(self._boxes, box, px_per_mm) > FAR_PX
        width, height = box[2] - box[0], box[3] - box[1]
        wide = (self._boxes[:, 2] - self._boxes[:, 0] > 2 * width) | (
            self._boxes[:, 3] - self._boxes[:, 1] > 2 * height
        )
        clip = big | (wide & (self._counts > CLIP_FROM_POINTS))
        outer = (box[0] - width / 4, box[1] - height / 4, box[2] + width / 4, box[3] + height / 4)
        units, start_mm = self._units.tolist(), self._start_mm.tolist()
        for i in np.flatnonzero(near).tolist():
            if clip[i]:
                yield from self._clipped(i, outer)
            else:
                yield Piece(self._paths[i], units[i], start_mm[i])

    def _clipped(self, i: int, box: Box) -> Iterator[Piece]:
        polylines = np.arange(self._first[i], self._last[i])
        if self._areas:
            rings = clipped_rings(self._outlines.chosen(polylines), box)
            if len(rings):
                rule = 0 if self._fill_rules is None else int(self._fill_rules[self._units[i]])
                ends = np.array([0, len(rings.points)], np.intp)
                path = painter_paths(rings.points, rings.starts[:-1], ends, np.array([rule]))[0]
                yield Piece(path=path, unit=int(self._units[i]), start_mm=0.0)
            return
        points = self._outlines.points[self._outlines.starts[self._first[i]] : self._outlines.starts[self._last[i]]]
        along_mm = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        for a, b in runs_meeting(points, box):
            run, cut_mm = _ends_pulled_in(points[a:b], box)
            path = painter_paths(run, np.zeros(1, np.intp), np.array([0, b - a], np.intp), np.zeros(1, np.intp))[0]
            start_mm = float(self._start_mm[i] + along_mm[a] + cut_mm)
            yield Piece(path=path, unit=int(self._units[i]), start_mm=start_mm)


def _reach_px(boxes: Floats, box: Box, px_per_mm: float) -> Floats:
    over = np.maximum(np.array(box[:2]) - boxes[:, :2], boxes[:, 2:] - np.array(box[2:])).max(1)
    result: Floats = over * px_per_mm
    return result


def _ends_pulled_in(run: Floats, box: Box) -> tuple[Floats, float]:
    """The run with its far ends moved along their segments to the box, and by how much the start moved."""
    run = run.copy()
    start = run[0].copy()
    run[0] = _towards(run[0], run[1], box)
    run[-1] = _towards(run[-1], run[-2], box)
    return run, float(np.hypot(*(run[0] - start)))


def _towards(far: Floats, near: Floats, box: Box) -> Floats:
    """``far`` moved towards ``near`` until it lies within the box in both axes, or as far as ``near``."""
    step = near - far
    share = 0.0
    for axis, (low, high) in enumerate(((box[0], box[2]), (box[1], box[3]))):
        if far[axis] < low and step[axis] > 0:
            share = max(share, (low - far[axis]) / step[axis])
        elif far[axis] > high and step[axis] < 0:
            share = max(share, (high - far[axis]) / step[axis])
    result: Floats = far + step * min(share, 1.0)
    return result


def _neighbours_together(outlines: Outlines) -> Outlines:
    """Units sorted so that those in one path lie close together: by square cells, row by row."""
    unit_count = int(outlines.unit[-1]) + 1
    boxes = outlines.unit_boxes(unit_count)
    boxes = np.nan_to_num(boxes)
    centres = (boxes[:, :2] + boxes[:, 2:]) / 2
    extent = float(np.ptp(centres, axis=0).max()) or 1.0
    cells = np.floor(centres / (extent / 24))
    rank = np.empty(unit_count, np.intp)
    rank[np.lexsort((cells[:, 0], cells[:, 1]))] = np.arange(unit_count)
    order = np.argsort(rank[outlines.unit], kind="stable").astype(np.intp)
    sorted_ones = outlines.chosen(order)
    return Outlines(points=sorted_ones.points, starts=sorted_ones.starts, unit=rank[sorted_ones.unit])


def _small_ones_together(firsts: Ints, starts: Ints) -> Ints:
    """First polylines of pieces again, with neighbours of few points joined."""
    points_before = starts[firsts]
    big = np.diff(np.append(points_before, starts[-1])) > SMALL_PIECE_POINTS
    new = np.ones(len(firsts), bool)
    new[1:] = (np.diff(points_before // SMALL_PIECE_POINTS) > 0) | big[1:] | big[:-1]
    result: Ints = firsts[new]
    return result


def _split(outlines: Outlines) -> tuple[Outlines, Floats]:
    """Long polylines as runs that share their end points, and how far along its polyline each run starts."""
    counts = np.diff(outlines.starts)
    run_counts = np.maximum(1, -(-(counts - 1) // (RUN_POINTS - 1)))
    line = np.repeat(np.arange(len(outlines)), run_counts)
    nth = np.arange(len(line)) - np.repeat(np.cumsum(run_counts) - run_counts, run_counts)
    first = outlines.starts[:-1][line] + nth * (RUN_POINTS - 1)
    last = np.minimum(first + RUN_POINTS, outlines.starts[1:][line])
    starts = np.concatenate([[0], np.cumsum(last - first)]).astype(np.intp)
    index = np.arange(starts[-1]) + np.repeat(first - starts[:-1], last - first)
    along_mm = np.cumsum(np.hypot(*np.diff(outlines.points, axis=0, prepend=outlines.points[:1]).T))
    runs = Outlines(points=outlines.points[index], starts=starts, unit=outlines.unit[line])
    return runs, along_mm[first] - along_mm[outlines.starts[:-1][line]]


def painter_paths(points: Floats, subpaths: Ints, piece_starts: Ints, fill_rules: Ints) -> list[QPainterPath]:
    """Painter paths of runs of points, through Qt's own stream format, as a million calls of lineTo take seconds.

    subpaths: indices of points that begin a subpath; piece_starts (k + 1,): path i holds the points
    ``piece_starts[i]:piece_starts[i + 1]``; fill_rules (k,): 0 odd-even, 1 winding.
    """
    # the stream, big-endian: element count, elements (type, x, y), start of the current subpath, fill rule
    element = np.zeros(len(points), np.dtype([("type", ">i4"), ("x", ">f8"), ("y", ">f8")]))
    element["type"] = 1
    element["type"][subpaths] = 0
    element["x"], element["y"] = points.T
    size, body = element.itemsize, element.tobytes()
    parts: list[bytes] = []
    for start, end, rule in zip(
        piece_starts[:-1].tolist(), piece_starts[1:].tolist(), fill_rules.tolist(), strict=True
    ):
        parts += (struct.pack(">i", end - start), body[start * size : end * size], struct.pack(">ii", 0, rule))
    stream = QDataStream(QByteArray(b"".join(parts)))
    paths = []
    for _ in fill_rules:
        path = QPainterPath()
        stream >> path
        paths.append(path)
    return paths


WINDING = int(Qt.FillRule.WindingFill.value)
