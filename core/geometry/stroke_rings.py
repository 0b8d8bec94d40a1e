"""Rings of many strokes at once, each in its own pen's space."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from core.geometry.affine import Affine
from core.geometry.dashing import dashed
from core.geometry.path import Floats, Path, joined
from core.geometry.pens import OwnSpace, own_space
from core.geometry.rings import Rings
from core.geometry.stroke import Stroke
from core.geometry.stroke_outlines import Pen, chords_of, mapped, outlines

_DASH_FINENESS = 0.1
"""Dashed lines are flattened this much finer, as chords are shorter than their curves and would shift the dashes."""

Indices = NDArray[np.intp]


def stroke_rings(paths: Sequence[Path], strokes: Sequence[Stroke], *, tolerance_mm: float) -> Rings:
    """Rings, mm, all winding positively; a group a stroke. Strokes without width or with a squashed pen give none."""
    parts: list[tuple[Floats, Indices, Indices]] = []
    alike: dict[Pen, list[int]] = {}
    spaces: dict[int, OwnSpace] = {}
    for number, (path, stroke) in enumerate(zip(paths, strokes, strict=True)):
        own = own_space(stroke.matrix)
        if own is None or not len(path) or not np.isfinite(stroke.width) or stroke.width <= 0:
            continue
        pen = Pen(cap=stroke.cap, join=stroke.join, miter_limit=stroke.miter_limit)
        if own.into is None and not stroke.dashes:
            spaces[number] = own
            alike.setdefault(pen, []).append(number)
        else:
            points, starts = _own_rings(path, stroke, own, pen, tolerance_mm)
            parts.append((points, starts, np.full(len(starts) - 1, number, np.intp)))
    for pen, numbers in alike.items():
        widths = [strokes[i].width * spaces[i].scale for i in numbers]
        parts.append(
            _rings_of_alike(
                [paths[i] for i in numbers], [strokes[i] for i in numbers], numbers, widths, pen, tolerance_mm
            )
        )
    if not parts:
        return Rings(points=np.zeros((0, 2)), starts=np.zeros(1, np.intp), group=np.zeros(0, np.intp))
    lengths = np.concatenate([np.diff(starts) for _, starts, _ in parts])
    return Rings(
        points=np.concatenate([points for points, _, _ in parts]),
        starts=np.concatenate([[0], np.cumsum(lengths)]).astype(np.intp),
        group=np.concatenate([group for _, _, group in parts]),
    )


def _rings_of_alike(
    paths: list[Path],
    strokes: list[Stroke],
    numbers: list[int],
    widths_mm: list[float],
    pen: Pen,
    tolerance_mm: float,
) -> tuple[Floats, Indices, Indices]:
    """Rings of strokes that differ in width only, their pens round in mm."""
    chords = chords_of(joined(paths), tolerance_mm)
    stroke_of_line = np.repeat(np.arange(len(paths)), [len(path.starts) for path in paths])
    if len(chords.dots):
        along = np.array([_own_x(stroke.matrix) for stroke in strokes])
        chords = replace(chords, dot_along=along[stroke_of_line[chords.dot_line]])
    half_width = np.array(widths_mm)[stroke_of_line] / 2
    points, starts, line = outlines(chords, half_width, pen, np.full(len(half_width), tolerance_mm))
    return points, starts, np.array(numbers, np.intp)[stroke_of_line[line]]


def _own_rings(path: Path, stroke: Stroke, own: OwnSpace, pen: Pen, tolerance_mm: float) -> tuple[Floats, Indices]:
    """Rings of one stroke that is dashed or whose pen is not round in mm."""
    chords = chords_of(path, tolerance_mm * (_DASH_FINENESS if stroke.dashes else 1.0))
    chords = replace(chords, dot_along=np.tile(_own_x(stroke.matrix), (len(chords.dots), 1)))
    if own.into is not None:
        chords = mapped(chords, own.into)
    if stroke.dashes:
        chords = dashed(chords, tuple(dash * own.scale for dash in stroke.dashes), stroke.dash_offset * own.scale)
    lines = len(chords.closed)
    half_width = np.full(lines, stroke.width * own.scale / 2)
    points, starts, _ = outlines(chords, half_width, pen, np.full(lines, tolerance_mm / own.stretch))
    if own.back is not None:
        points = points @ own.back
        if np.linalg.det(own.back) < 0:
            points, starts = points[::-1], (len(points) - starts[::-1]).astype(np.intp)
    return points, starts


def _own_x(matrix: Affine) -> Floats:
    """Direction of the pen's own x axis: square caps of points lie along it."""
    along = np.array([matrix[0], matrix[1]])
    return np.asarray(along / np.hypot(*along))
