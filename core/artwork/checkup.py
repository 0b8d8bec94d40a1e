"""What is wrong with a drawing, with a place for each finding and a repair where it can be mended safely."""

from core.artwork.drawing import Drawing, Finding
from core.progress import Progress, silent


def check_drawing(
    drawing: Drawing, *, cleared_width_mm: float, kerf_mm: float, progress: Progress = silent
) -> tuple[Finding, ...]:
    """All findings about the drawing, in its frame."""
    return ()
