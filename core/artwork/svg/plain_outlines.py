"""Outlines of many plain basic shapes at once: their numbers in one array, one array operation for each step.

Only what is written in the plainest way is taken; a row that is None is for ``outlines`` to judge.
"""

from collections.abc import Callable, Sequence
from itertools import pairwise, repeat

import numpy as np
from numpy.typing import NDArray

from core.artwork.svg.limits import MAX_COORDINATE_MM
from core.artwork.svg.path_data import parse_path
from core.artwork.svg.short_paths import read_short_paths
from core.artwork.svg.values import split_length
from core.geometry.affine import Affine
from core.geometry.many_paths import joined_through, moved_rows, paths_of
from core.geometry.path import ARC, LINE, Floats, Path

Flags = NDArray[np.bool_]

NUMBERS = {
    "circle": ("cx", "cy", "r"),
    "ellipse": ("cx", "cy", "rx", "ry"),
    "line": ("x1", "y1", "x2", "y2"),
    "rect": ("x", "y", "width", "height"),
}
"""Attributes that a shape taken here is written with; places may be missing, sizes may not."""

PLACES = frozenset({"cx", "cy", "x1", "y1", "x2", "y2", "x", "y"})

CHARACTERS_TOGETHER = 2_000_000
"""Characters of path data read in one go: more would take memory without being quicker."""

SEGMENTS_TOGETHER = 64
"""Paths of more segments are as quick each by itself."""

_FIRST = np.zeros(1, np.intp)
_OPEN, _CLOSED = np.zeros(1, bool), np.ones(1, bool)
for _shared in (_FIRST, _OPEN, _CLOSED):
    _shared.flags.writeable = False
_PLAIN = str.maketrans("", "", "0123456789.-")


def outlines_in_mm(tag: str, said: Sequence[tuple[str, ...]], matrices: Sequence[Affine]) -> list[Path | None]:
    """The outlines of shapes of one kind, each through its matrix: ``said`` has the ``NUMBERS`` of each, or the data
    of a path. None for what is not plain, empty, or out of range."""
    if tag == "path":
        return _paths([data.strip() for (data,) in said], matrices)
    values, good = _numbers(said)
    kinds, rows, fits = _ROWS[tag](values)
    count, each = rows.shape[:2]
    through = _matrices(matrices, np.full(count, each, np.intp))
    moved = moved_rows(np.tile(kinds, count), rows.reshape(-1, 8), through).reshape(count, each, 8)
    good &= fits & (np.abs(moved).max(axis=(1, 2)) <= MAX_COORDINATE_MM)
    closed = _OPEN if tag == "line" else _CLOSED
    paths: list[Path | None] = [*paths_of(repeat(kinds), list(moved), repeat(_FIRST), repeat(closed))]
    for i in np.flatnonzero(~good).tolist():
        paths[i] = None
    return paths


def copies_in_mm(outlines: Sequence[Path], matrices: Sequence[Affine]) -> list[Path | None]:
    """Outlines in user units, each through its matrix; None for what is out of range. None may be empty."""
    moved = joined_through(outlines, matrices).segments
    return _cut(
        moved,
        np.array([len(outline) for outline in outlines], np.intp),
        [outline.kinds for outline in outlines],
        [outline.starts for outline in outlines],
        [outline.closed for outline in outlines],
    )


def _matrices(matrices: Sequence[Affine], rows: NDArray[np.intp]) -> Floats:
    """The matrix of each row (n, 6), where each shape has so many rows."""
    first = matrices[0]
    if all(matrix is first for matrix in matrices):
        return np.broadcast_to(np.array(first), (int(rows.sum()), 6))
    return np.repeat(np.array(matrices), rows, axis=0)


def _paths(texts: list[str], matrices: Sequence[Affine]) -> list[Path | None]:
    lot_of = np.cumsum([len(text) for text in texts]) // CHARACTERS_TOGETHER
    bounds = [0, *(np.flatnonzero(np.diff(lot_of)) + 1).tolist(), len(texts)]
    return [path for a, b in pairwise(bounds) for path in _paths_of_lot(texts[a:b], matrices[a:b])]


def _paths_of_lot(texts: list[str], matrices: Sequence[Affine]) -> list[Path | None]:
    many = read_short_paths(texts)
    drawn = np.flatnonzero(many.rows)
    paths: list[Path | None] = [None] * len(texts)
    if len(drawn):
        spans = _spans(many.subpaths[drawn])
        made = _cut(
            moved_rows(many.kinds, many.segments, _matrices(matrices, many.rows)),
            many.rows[drawn],
            [many.kinds[a:b] for a, b in _spans(many.rows[drawn])],
            [many.starts[a:b] for a, b in spans],
            [many.closed[a:b] for a, b in spans],
        )
        for i, path in zip(drawn.tolist(), made, strict=True):
            paths[i] = path
    short: list[tuple[int, Path]] = []
    for i in np.flatnonzero(many.rows == 0).tolist():
        parsed = parse_path(texts[i])
        if parsed.error_at is not None or not len(parsed.path):
            continue
        if len(parsed.path) <= SEGMENTS_TOGETHER:
            short.append((i, parsed.path))
            continue
        long = parsed.path.transformed(matrices[i])
        paths[i] = long if np.abs(long.segments).max() <= MAX_COORDINATE_MM else None
    if short:
        made = copies_in_mm([path for _, path in short], [matrices[i] for i, _ in short])
        for (i, _), path in zip(short, made, strict=True):
            paths[i] = path
    return paths


def _cut(
    segments: Floats,
    rows: NDArray[np.intp],
    kinds: list[NDArray[np.uint8]],
    starts: list[NDArray[np.intp]],
    closed: list[Flags],
) -> list[Path | None]:
    """Paths of so many rows each (one at least), None for what is out of range."""
    spans = _spans(rows)
    paths: list[Path | None] = [*paths_of(kinds, [segments[a:b] for a, b in spans], starts, closed)]
    farthest = np.maximum.reduceat(np.abs(segments).max(axis=1), [a for a, _ in spans])
    for i in np.flatnonzero(~(farthest <= MAX_COORDINATE_MM)).tolist():
        paths[i] = None
    return paths


def _spans(lengths: NDArray[np.intp]) -> list[tuple[int, int]]:
    stops = np.cumsum(lengths).tolist()
    return list(zip([0, *stops], stops, strict=False))


def _numbers(said: Sequence[tuple[str, ...]]) -> tuple[Floats, Flags]:
    """The lengths in user units (n, k), and which rows hold nothing but plain ones."""
    flat = [text for row in said for text in row]
    shape = (len(said), len(said[0]))
    if not "".join(flat).translate(_PLAIN):
        try:
            return np.array(list(map(float, flat))).reshape(shape), np.ones(len(said), bool)
        except ValueError:
            pass  # some is no number
    parts = [split_length(text) for text in flat]
    plain = [part[0] if part is not None and part[1] in ("", "px") else np.nan for part in parts]
    values = np.array(plain).reshape(shape)
    return values, np.asarray(np.isfinite(values).all(axis=1))


Rows = tuple[NDArray[np.uint8], Floats, Flags]
"""Kinds of each shape's rows, (k,); the rows, (n, k, 8); which shapes are fit to be drawn, (n,)."""


def _lines(values: Floats) -> Rows:
    rows = np.zeros((len(values), 1, 8))
    rows[:, 0, :4] = values
    return np.array([LINE], np.uint8), rows, np.ones(len(values), bool)


def _circles(values: Floats) -> Rows:
    return _ellipses(values[:, [0, 1, 2, 2]])


def _ellipses(values: Floats) -> Rows:
    rows = np.zeros((len(values), 1, 8))
    rows[:, 0, [0, 1, 2, 5]] = values
    rows[:, 0, 7] = 2 * np.pi
    return np.array([ARC], np.uint8), rows, np.asarray((values[:, 2:] > 0).all(axis=1))


def _rectangles(values: Floats) -> Rows:
    x0, y0, width, height = values.T
    x1, y1 = x0 + width, y0 + height
    corners = np.stack([x0, y0, x1, y0, x1, y1, x0, y1, x0, y0], axis=1).reshape(-1, 5, 2)
    rows = np.zeros((len(values), 4, 8))
    rows[:, :, 0:2], rows[:, :, 2:4] = corners[:, :-1], corners[:, 1:]
    return np.full(4, LINE, np.uint8), rows, (width > 0) & (height > 0) & (x1 > x0) & (y1 > y0)


_ROWS: dict[str, Callable[[Floats], Rows]] = {
    "circle": _circles,
    "ellipse": _ellipses,
    "line": _lines,
    "rect": _rectangles,
}
