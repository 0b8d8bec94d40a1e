"""The tones of a picture that is to be screened: how much of each place shall be bared."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.geometry.affine import Affine


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tones:
    """The share of each pixel that shall be bared: ``wanted`` (h, w) float32, 0 to 1. to_mm: pixels to the drawing."""

    wanted: NDArray[np.float32]
    to_mm: Affine

    @property
    def px_mm(self) -> float:
        """Side of a pixel, mm (of a square of its area)."""
        a, b, c, d = self.to_mm[:4]
        return float(np.sqrt(abs(a * d - b * c)))

    @property
    def deepest_grey(self) -> str:
        """The grey of its deepest tones, "#rrggbb": what one paint has to look like to show them. The hundredth part
        that is deepest counts, so that single pixels do not."""
        step = max(1, math.isqrt(self.wanted.size // _LOOKED_AT))
        grey = round(255 * (1 - float(np.percentile(self.wanted[::step, ::step], 99))))
        return f"#{grey:02x}{grey:02x}{grey:02x}"


_LOOKED_AT = 40_000
