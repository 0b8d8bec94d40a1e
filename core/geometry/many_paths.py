"""Many paths moved at once: what each path would cost by itself is paid for all of them together."""

from collections import deque
from collections.abc import Iterable, Sequence
from itertools import repeat

import numpy as np
from numpy.typing import NDArray

from core.geometry.affine import Affine
from core.geometry.path import ARC, LINE, Floats, Path


def joined_through(paths: Sequence[Path], matrices: Sequence[Affine]) -> Path:
    """All subpaths of all paths in one path, each path through the matrix that stands beside it. None may be empty."""
    rows = np.array([len(path) for path in paths], np.intp)
    subpaths = np.array([len(path.starts) for path in paths], np.intp)
    firsts = np.cumsum(rows) - rows
    kinds = np.concatenate([path.kinds for path in paths])
    segments = np.concatenate([path.segments for path in paths])
    return Path(
        kinds=kinds,
        segments=moved_rows(kinds, segments, np.repeat(np.array(matrices, float), rows, axis=0)),
        starts=np.concatenate([path.starts for path in paths]) + np.repeat(firsts, subpaths),
        closed=np.concatenate([path.closed for path in paths]),
    )


def moved_rows(kinds: NDArray[np.uint8], segments: Floats, matrices: Floats) -> Floats:
    """Segment rows (n, 8) of these kinds, each through its own matrix (n, 6)."""
    a, b, c, d, e, f = matrices.T
    x, y = segments[:, 0::2], segments[:, 1::2]
    moved = np.empty_like(segments)
    moved[:, 0::2] = a[:, None] * x + c[:, None] * y
    moved[:, 1::2] = b[:, None] * x + d[:, None] * y
    is_arc = kinds == ARC
    moved[is_arc, 6:] = segments[is_arc, 6:]
    moved[:, 0] += e
    moved[:, 1] += f
    shifted = ~is_arc  # of an arc only the centre is a place
    if shifted.all():
        moved[:, 2::2] += e[:, None]
        moved[:, 3::2] += f[:, None]
    elif shifted.any():
        moved[shifted, 2::2] += e[shifted, None]
        moved[shifted, 3::2] += f[shifted, None]
    moved[kinds == LINE, 4:] = 0.0
    return moved


def paths_of(
    kinds: Iterable[NDArray[np.uint8]],
    segments: Sequence[Floats],
    starts: Iterable[NDArray[np.intp]],
    closed: Iterable[NDArray[np.bool_]],
) -> list[Path]:
    """A path of each row of these columns, field by field: by the thousand that takes half the time."""
    paths = list(map(object.__new__, repeat(Path, len(segments))))
    for name, values in (("kinds", kinds), ("segments", segments), ("starts", starts), ("closed", closed)):
        deque(map(object.__setattr__, paths, repeat(name), values), maxlen=0)
    return paths
