"""What reading one file may cost: everything is counted before it is worked out."""

from core.artwork.svg.limits import (
    BLUR_COST,
    MAX_BLURRED_SEGMENTS,
    MAX_COPIES,
    MAX_FILTERS,
    MAX_MARKERS,
    MAX_REGION_SEGMENTS,
    MAX_SEGMENTS,
    REGION_COST,
    TooMuchError,
)
from core.progress import Progress, silent


class Budget:
    """Counts what is met and made, and says now and then how far the reading is. Raises TooMuchError past a bound."""

    def __init__(self, element_count: int, *, progress: Progress = silent) -> None:
        self._element_count = element_count
        self._progress = progress
        self._visits = 0
        self._segments = 0
        self._region_segments = 0
        self._blurred_segments = 0
        self._markers = 0
        self._filters = 0

    def visit(self) -> None:
        """One element met."""
        self._visits += 1
        if self._visits > 2 * self._element_count + MAX_COPIES:
            raise TooMuchError(
                f"The SVG file shows copies of its parts more than {MAX_COPIES:,} times.",
                hint="Expand its copies where the artwork was made, or simplify it.",
            )
        if self._visits % 256 == 0:
            share = self._visits / max(self._element_count, self._visits + 1)
            self._progress(0.2 + 0.8 * share, "Reading the artwork")

    def visit_together(self, count: int) -> None:
        """So many elements met at once."""
        self._visits += count - 1
        self.visit()
        self._progress(0.2 + 0.8 * self._visits / max(self._element_count, self._visits + 1), "Reading the artwork")

    def draw(self, segments: int) -> None:
        """An outline of so many segments."""
        self._segments += segments
        if self._segments > MAX_SEGMENTS:
            raise TooMuchError(f"The artwork has more than {MAX_SEGMENTS:,} segments.", hint="Simplify its outlines.")

    def spend(self, segments: int) -> None:
        """Segments that a region is computed from."""
        self._region_segments += segments + REGION_COST
        if self._region_segments > MAX_REGION_SEGMENTS:
            raise TooMuchError(
                "The clips, masks and patterns of the SVG file ask for too much work.",
                hint="Apply them where the artwork was made and export it again.",
            )
        self._progress(0.5, "Working out clips and masks")

    def mark(self) -> None:
        """One marker."""
        self._markers += 1
        if self._markers > MAX_MARKERS:
            raise TooMuchError(f"The artwork has more than {MAX_MARKERS:,} markers.", hint="Simplify its outlines.")

    def allows_filter(self) -> bool:
        """Whether one more element may be filtered; past the bound it is left as it is."""
        self._filters += 1
        self._progress(0.5, "Working out filters")
        return self._filters <= MAX_FILTERS

    def allows_blur(self, segments: int) -> bool:
        """Whether an outline of so many segments may be blurred; past the bound it is left as it is."""
        self._blurred_segments += segments + BLUR_COST
        if self._blurred_segments > MAX_BLURRED_SEGMENTS:
            return False
        self._progress(0.5, "Working out blurred paint")
        return True
