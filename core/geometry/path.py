"""Paths whose curves stay curves, kept as arrays so that 100,000 segments move at once.

Each segment is one row of eight numbers:

=======  ==================================================================================
LINE     x0 y0 x1 y1 - - - -                      start and end (the rest zero)
CUBIC    x0 y0 x1 y1 x2 y2 x3 y3                  Bézier control points
ARC      cx cy ux uy vx vy t0 t1                  centre + u cos t + v sin t, t from t0 to t1, rad
=======  ==================================================================================

An ARC is any elliptical arc: (u, v) are conjugate half-diameters, so an affine map acts on centre, u and v
alone and leaves the arc exact under any matrix. It is circular when u and v are equally long and at right angles.
"""

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

from core.geometry.affine import Affine

LINE, CUBIC, ARC = 0, 1, 2

Floats = NDArray[np.float64]

_FOUR = np.arange(4)


@dataclass(frozen=True, kw_only=True, eq=False)
class Path:
    """One or more subpaths. Compared by identity; build with ``PathBuilder`` or the functions below.

    kinds: uint8 (n,); segments: float64 (n, 8); starts: intp (m,), index of each subpath's first segment,
    rising, ``starts[0] == 0``; closed: bool (m,). Segments of a subpath join end to start. A lone point is a LINE
    of length zero. A closed subpath's last segment ends at its first one's start.
    """

    kinds: NDArray[np.uint8]
    segments: Floats
    starts: NDArray[np.intp]
    closed: NDArray[np.bool_]

    def __len__(self) -> int:
        return len(self.kinds)

    @cached_property
    def start_points(self) -> Floats:
        """Start of each segment, (n, 2)."""
        return _points_at(self, first=True)

    @cached_property
    def end_points(self) -> Floats:
        """End of each segment, (n, 2)."""
        return _points_at(self, first=False)

    @cached_property
    def stops(self) -> NDArray[np.intp]:
        """Index after each subpath's last segment, (m,)."""
        return np.append(self.starts[1:], len(self.kinds)).astype(np.intp)

    def transformed(self, matrix: Affine) -> "Path":
        """This path through an affine map."""
        linear, all_four, shift = _as_arrays(matrix)
        mapped = self.segments @ all_four
        mapped += shift
        kinds = self.kinds.tobytes()
        if LINE in kinds:
            mapped[self.kinds == LINE, 4:] = 0.0
        if ARC in kinds:
            is_arc = self.kinds == ARC
            arcs = self.segments[is_arc]
            mapped[is_arc, 2:6] = (arcs[:, 2:6].reshape(-1, 2) @ linear).reshape(-1, 4)  # directions do not shift
            mapped[is_arc, 6:] = arcs[:, 6:]
        return Path(kinds=self.kinds, segments=mapped, starts=self.starts, closed=self.closed)

    def reversed(self) -> "Path":
        """The same way walked backwards (subpath order reversed too)."""
        kinds = self.kinds[::-1]
        segments = self.segments[::-1].copy()
        cubic, line, arc = kinds == CUBIC, kinds == LINE, kinds == ARC
        segments[cubic] = segments[cubic].reshape(-1, 4, 2)[:, ::-1].reshape(-1, 8)
        segments[line, :4] = segments[line][:, [2, 3, 0, 1]]
        segments[arc, 6:] = segments[arc][:, [7, 6]]
        starts = (len(kinds) - self.stops[::-1]).astype(np.intp)
        return Path(kinds=kinds, segments=segments, starts=starts, closed=self.closed[::-1])

    def subpath(self, index: int) -> "Path":
        """One subpath as a path of its own."""
        span = slice(self.starts[index], self.stops[index])
        return Path(
            kinds=self.kinds[span],
            segments=self.segments[span],
            starts=np.zeros(1, np.intp),
            closed=self.closed[index : index + 1],
        )

    def subpaths(self) -> "list[Path]":
        """All subpaths as paths of their own."""
        return [self.subpath(i) for i in range(len(self.starts))]


@lru_cache(maxsize=256)
def _as_arrays(matrix: Affine) -> tuple[Floats, Floats, Floats]:
    """The linear part (2, 2), the same for the four points of a row (8, 8): one product is much the fastest, and the
    shift (8,). Many shapes share a matrix."""
    a, b, c, d, e, f = matrix
    linear = np.array([[a, b], [c, d]])
    all_four = np.zeros((4, 2, 4, 2))
    all_four[_FOUR, :, _FOUR, :] = linear
    return linear, all_four.reshape(8, 8), np.array((e, f) * 4)


def _points_at(path: Path, *, first: bool) -> Floats:
    segments, kinds = path.segments, path.kinds
    points = segments[:, 0:2].copy()
    if not first:
        line, cubic = kinds == LINE, kinds == CUBIC
        points[line] = segments[line, 2:4]
        points[cubic] = segments[cubic, 6:8]
    arc = kinds == ARC
    if arc.any():
        points[arc] = arc_points(segments[arc], segments[arc, 6 if first else 7])
    return points


def arc_points(arcs: Floats, t: Floats) -> Floats:
    """Points of ARC rows (n, 8) at parameters (n,) or (n, k): (n, 2) or (n, k, 2)."""
    extra = (None,) * (t.ndim - 1)
    centre, u, v = (arcs[(slice(None), *extra, slice(i, i + 2))] for i in (0, 2, 4))
    result: Floats = centre + u * np.cos(t)[..., None] + v * np.sin(t)[..., None]
    return result


EMPTY = Path(
    kinds=np.zeros(0, np.uint8), segments=np.zeros((0, 8)), starts=np.zeros(0, np.intp), closed=np.zeros(0, bool)
)


def joined(paths: "list[Path] | tuple[Path, ...]") -> Path:
    """All subpaths of all paths in one path."""
    paths = [path for path in paths if len(path)]
    if not paths:
        return EMPTY
    if len(paths) == 1:
        return paths[0]
    offsets = np.cumsum([0] + [len(path) for path in paths[:-1]])
    return Path(
        kinds=np.concatenate([path.kinds for path in paths]),
        segments=np.concatenate([path.segments for path in paths]),
        starts=np.concatenate([path.starts + offset for path, offset in zip(paths, offsets, strict=True)]),
        closed=np.concatenate([path.closed for path in paths]),
    )


def polyline(points: Floats, *, closed: bool = False) -> Path:
    """Straight lines through points (n, 2), n >= 1; closed adds the last line back unless it is there already."""
    points = np.asarray(points, float)
    if closed and len(points) > 1 and not np.array_equal(points[0], points[-1]):
        points = np.vstack([points, points[:1]])
    if len(points) == 1:
        points = np.vstack([points, points])
    segments = np.zeros((len(points) - 1, 8))
    segments[:, 0:2], segments[:, 2:4] = points[:-1], points[1:]
    return Path(
        kinds=np.full(len(segments), LINE, np.uint8),
        segments=segments,
        starts=np.zeros(1, np.intp),
        closed=np.array([closed]),
    )


def ellipse(centre: tuple[float, float], rx: float, ry: float) -> Path:
    """A full ellipse with axes along x and y, starting at its +x end, walked towards +y."""
    row = np.array([[*centre, rx, 0.0, 0.0, ry, 0.0, 2 * np.pi]])
    return Path(kinds=np.array([ARC], np.uint8), segments=row, starts=np.zeros(1, np.intp), closed=np.ones(1, bool))


class PathBuilder:
    """Collects segments one by one; readers that work in bulk fill the arrays themselves."""

    def __init__(self) -> None:
        self._kinds: list[int] = []
        self._rows: list[tuple[float, ...]] = []
        self._starts: list[int] = []
        self._closed: list[bool] = []
        self._here: tuple[float, float] = (0.0, 0.0)
        self._began: tuple[float, float] = (0.0, 0.0)
        self._drawing = False

    def move_to(self, x: float, y: float) -> None:
        """Begin a new subpath here."""
        self._here = self._began = (x, y)
        self._drawing = False

    def line_to(self, x: float, y: float) -> None:
        """A straight line from the current point."""
        self._add(LINE, (*self._here, x, y, 0.0, 0.0, 0.0, 0.0), (x, y))

    def cubic_to(self, x1: float, y1: float, x2: float, y2: float, x: float, y: float) -> None:
        """A cubic Bézier from the current point."""
        self._add(CUBIC, (*self._here, x1, y1, x2, y2, x, y), (x, y))

    def quad_to(self, x1: float, y1: float, x: float, y: float) -> None:
        """A quadratic Bézier, raised to the cubic that is the same curve."""
        x0, y0 = self._here
        self.cubic_to(x0 + 2 / 3 * (x1 - x0), y0 + 2 / 3 * (y1 - y0), x + 2 / 3 * (x1 - x), y + 2 / 3 * (y1 - y), x, y)

    def arc(self, cx: float, cy: float, ux: float, uy: float, vx: float, vy: float, t0: float, t1: float) -> None:
        """An elliptical arc (see the module's table); moves to its start when that is not the current point."""
        x0, y0 = cx + ux * np.cos(t0) + vx * np.sin(t0), cy + uy * np.cos(t0) + vy * np.sin(t0)
        if not self._drawing:
            self.move_to(x0, y0)
        x1, y1 = cx + ux * np.cos(t1) + vx * np.sin(t1), cy + uy * np.cos(t1) + vy * np.sin(t1)
        self._add(ARC, (cx, cy, ux, uy, vx, vy, t0, t1), (float(x1), float(y1)))

    def close(self) -> None:
        """Close the subpath, with a line where its ends do not meet."""
        if not self._drawing:
            return
        if np.hypot(self._here[0] - self._began[0], self._here[1] - self._began[1]) > 1e-9:
            self.line_to(*self._began)
        self._closed[-1] = True
        self._here, self._drawing = self._began, False

    def build(self) -> Path:
        """The path so far."""
        if not self._rows:
            return EMPTY
        return Path(
            kinds=np.array(self._kinds, np.uint8),
            segments=np.array(self._rows, float),
            starts=np.array(self._starts, np.intp),
            closed=np.array(self._closed, bool),
        )

    def _add(self, kind: int, row: tuple[float, ...], end: tuple[float, float]) -> None:
        if not self._drawing:
            self._starts.append(len(self._rows))
            self._closed.append(False)
            self._began = self._here
            self._drawing = True
        self._kinds.append(kind)
        self._rows.append(row)
        self._here = end
