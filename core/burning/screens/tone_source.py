"""A picture's wanted tones seen from the scan frame: averages over cells along rows."""

import math
from dataclasses import dataclass, replace

import numpy as np
import scipy
from numpy.typing import NDArray

from core.artwork.tone_map import Tones
from core.burning.dose import Floats
from core.geometry.affine import Affine, apply, compose, inverse

Greys = NDArray[np.float32]
_MOST_SAMPLES = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToneSource:
    """wanted: (h, w), shares 0 to 1; to_px: scan frame to pixels; bounds_mm: x0, y0, x1, y1 of the picture there."""

    wanted: Greys
    to_px: Affine
    bounds_mm: tuple[float, float, float, float]
    px_mm: float

    @property
    def area_mm2(self) -> float:
        """Of the whole picture."""
        a, b, c, d = self.to_px[:4]
        return float(self.wanted.size / abs(a * d - b * c))

    def on_lattice(self, y_mm: float, pitch_mm: float) -> "ToneSource":
        """The same within bounds that begin and end so many pitches from a height."""
        x0, y0, x1, y1 = self.bounds_mm
        first = math.floor((y0 - y_mm) / pitch_mm + 1e-6)
        last = max(first + 1, math.ceil((y1 - y_mm) / pitch_mm - 0.5))
        return replace(self, bounds_mm=(x0, y_mm + first * pitch_mm, x1, y_mm + last * pitch_mm))

    def cell_means(self, x_mm: Floats, y_mm: Floats, *, width_mm: float | Floats, height_mm: float) -> Greys:
        """Means over cells of that size about each place; x_mm, y_mm of one shape, the result's; 0 off the picture.

        width_mm: of all, or of each.
        """
        across = _samples(float(np.max(width_mm)) / self.px_mm)
        down = _samples(height_mm / self.px_mm)
        total = np.zeros(x_mm.shape, np.float32)
        for i in range(across):
            for j in range(down):
                dx = ((i + 0.5) / across - 0.5) * width_mm
                dy = ((j + 0.5) / down - 0.5) * height_mm
                total += self.at(x_mm + dx, y_mm + dy)
        return total / np.float32(across * down)

    def at(self, x_mm: Floats, y_mm: Floats) -> Greys:
        """The wanted share at places, linear between the pixels' centres."""
        a, b, c, d, e, f = self.to_px
        column = (a * x_mm + c * y_mm + e).astype(np.float32)
        row = (b * x_mm + d * y_mm + f).astype(np.float32)
        height, width = self.wanted.shape
        inside = (column >= 0) & (column <= width) & (row >= 0) & (row <= height)
        found = scipy.ndimage.map_coordinates(
            self.wanted, [row.ravel() - 0.5, column.ravel() - 0.5], order=1, mode="nearest", output=np.float32
        )
        result: Greys = np.where(inside, found.reshape(column.shape), np.float32(0))
        return result


def tone_source(tones: Tones, from_drawing: Affine) -> ToneSource:
    """The tones, with ``from_drawing`` mapping the drawing into the scan frame."""
    to_scan = compose(from_drawing, tones.to_mm)
    height, width = tones.wanted.shape
    corners = apply(to_scan, np.array([[0, 0], [width, 0], [width, height], [0, height]], float))
    (x0, y0), (x1, y1) = corners.min(0), corners.max(0)
    return ToneSource(
        wanted=tones.wanted,
        to_px=inverse(to_scan),
        bounds_mm=(float(x0), float(y0), float(x1), float(y1)),
        px_mm=tones.px_mm,
    )


def uniform_source(share: float, *, width_mm: float, height_mm: float) -> ToneSource:
    """A patch of one tone."""
    return ToneSource(
        wanted=np.full((2, 2), share, np.float32),
        to_px=(2 / width_mm, 0.0, 0.0, 2 / height_mm, 0.0, 0.0),
        bounds_mm=(0.0, 0.0, width_mm, height_mm),
        px_mm=max(width_mm, height_mm),
    )


def _samples(cell_px: float) -> int:
    return int(min(_MOST_SAMPLES, max(1, math.ceil(cell_px))))
