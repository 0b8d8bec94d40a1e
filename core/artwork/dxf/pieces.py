"""What DXF entities come to before blocks are placed: outlines with a pen, in the units and frame of their block.

Here y still runs up and lengths are in drawing units; ``placing`` turns the whole drawing over at its end.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.geometry.affine import IDENTITY, Affine
from core.geometry.path import ARC, CUBIC, Path

BY_LAYER, BY_BLOCK = "by layer", "by block"

Row = tuple[float, float, float, float, float, float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pen:
    """How pieces are drawn; one pen serves all that look alike.

    colour: "#rrggbb", BY_LAYER or BY_BLOCK; linetype likewise, or a name. width: of a stroke, drawing units, 0 for a
    hairline. loose: a bare line whose ends may be chained to others'.
    """

    kind: str
    layer: str
    colour: str
    linetype: str = BY_LAYER
    filled: bool = False
    fill_rule: Literal["nonzero", "evenodd"] = "evenodd"
    width: float = 0.0
    loose: bool = True


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """Pieces that are drawn one after another. Piece i owns subpaths ``firsts[i]:firsts[i + 1]`` of the path."""

    path: Path
    pens: tuple[Pen, ...]
    handles: tuple[str, ...]
    firsts: NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Insert:
    """A block placed once or in a grid: copy (row, column) stands ``row * row_step + column * column_step`` further.

    clip: corners, in the block's own frame, of the polygon outside which nothing of it shows. annotation: the kind of
    entity (DIMENSION) that the block draws, empty for a block of artwork.
    """

    block: str
    matrix: Affine = IDENTITY
    rows: int = 1
    columns: int = 1
    row_step: tuple[float, float] = (0.0, 0.0)
    column_step: tuple[float, float] = (0.0, 0.0)
    layer: str = "0"
    colour: str = BY_LAYER
    linetype: str = BY_LAYER
    handle: str = ""
    clip: tuple[tuple[float, float], ...] = ()
    annotation: str = ""

    @property
    def copies(self) -> int:
        """How often the block is placed."""
        return max(self.rows, 1) * max(self.columns, 1)


class RunBuilder:
    """Collects pieces row by row; ``take`` gives them as arrays and starts anew."""

    def __init__(self) -> None:
        self._clear()

    def begin(self, pen: Pen, handle: str) -> None:
        """Start a piece; the subpaths added from here are its own."""
        self._firsts.append(len(self._starts))
        self._pens.append(pen)
        self._handles.append(handle)

    def line(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """An open subpath of one line."""
        self._starts.append(len(self._rows))
        self._closed.append(False)
        self._kinds.append(0)
        self._rows.append((x0, y0, x1, y1, 0.0, 0.0, 0.0, 0.0))

    def subpath(self, kinds: list[int], rows: list[Row], *, closed: bool, matrix: Affine = IDENTITY) -> None:
        """A subpath through the matrix; nothing is added when it has no rows."""
        if not rows:
            return
        self._starts.append(len(self._rows))
        self._closed.append(closed)
        self._kinds.extend(kinds)
        if matrix != IDENTITY:
            rows = [_moved(kind, row, matrix) for kind, row in zip(kinds, rows, strict=True)]
        self._rows.extend(rows)

    def path(self, path: Path) -> None:
        """All subpaths of a path."""
        offset = len(self._rows)
        self._starts.extend((path.starts + offset).tolist())
        self._closed.extend(path.closed.tolist())
        self._kinds.extend(path.kinds.tolist())
        self._rows.extend(map(tuple, path.segments.tolist()))

    def undo_piece(self, mark: tuple[int, int, int]) -> None:
        """Drop what was added since the mark: an entity that failed half way leaves nothing."""
        pieces, subpaths, rows = mark
        del self._firsts[pieces:], self._pens[pieces:], self._handles[pieces:]
        del self._starts[subpaths:], self._closed[subpaths:], self._kinds[rows:], self._rows[rows:]

    def mark(self) -> tuple[int, int, int]:
        """Where the builder stands, for ``undo_piece``."""
        return len(self._pens), len(self._starts), len(self._rows)

    def take(self) -> Run | None:
        """The pieces so far, or None when there are none."""
        if not self._rows:
            self._clear()
            return None
        run = Run(
            path=Path(
                kinds=np.array(self._kinds, np.uint8),
                segments=np.array(self._rows, float),
                starts=np.array(self._starts, np.intp),
                closed=np.array(self._closed, bool),
            ),
            pens=tuple(self._pens),
            handles=tuple(self._handles),
            firsts=np.array([*self._firsts, len(self._starts)], np.intp),
        )
        self._clear()
        return run

    def _clear(self) -> None:
        self._kinds: list[int] = []
        self._rows: list[Row] = []
        self._starts: list[int] = []
        self._closed: list[bool] = []
        self._firsts: list[int] = []
        self._pens: list[Pen] = []
        self._handles: list[str] = []


def _moved(kind: int, row: Row, matrix: Affine) -> Row:
    a, b, c, d, e, f = matrix
    x0, y0, x1, y1, x2, y2, x3, y3 = row
    if kind == ARC:
        return (
            a * x0 + c * y0 + e, b * x0 + d * y0 + f, a * x1 + c * y1, b * x1 + d * y1,
            a * x2 + c * y2, b * x2 + d * y2, x3, y3,
        )  # fmt: skip
    start = (a * x0 + c * y0 + e, b * x0 + d * y0 + f, a * x1 + c * y1 + e, b * x1 + d * y1 + f)
    if kind == CUBIC:
        return (*start, a * x2 + c * y2 + e, b * x2 + d * y2 + f, a * x3 + c * y3 + e, b * x3 + d * y3 + f)
    return (*start, 0.0, 0.0, 0.0, 0.0)
