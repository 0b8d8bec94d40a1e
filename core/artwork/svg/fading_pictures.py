"""Pictures to be screened behind masks that let a part through: their tones bare less there."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.svg.drawn import MaskLayer
from core.artwork.tone_map import Tones
from core.geometry.affine import apply_to_region, inverse


def faded(tones: Tones, masks: Sequence[MaskLayer]) -> Tones:
    """The tones times what all masks let through at the middle of each pixel, in the steps that the masks have."""
    wanted = tones.wanted
    for mask in masks:
        through = np.zeros(wanted.shape, np.float32)
        for value, place in mask.regions.items():
            through[_held(apply_to_region(inverse(tones.to_mm), place), wanted.shape)] = value
        wanted = wanted * through
    return replace(tones, wanted=wanted)


def shown_at_all(mask: MaskLayer) -> BaseGeometry:
    """Where a mask lets anything through."""
    return shapely.union_all(list(mask.regions.values()))


def _held(region: BaseGeometry, shape: tuple[int, int]) -> NDArray[np.bool_]:
    """Whether the middle of each pixel (row, column) lies in a region of their frame: rows cross its outlines by turns
    from outside to inside and back."""
    height, width = shape
    corners, ring = shapely.get_coordinates(shapely.get_rings(shapely.get_parts(region)), return_index=True)
    goes_on = ring[1:] == ring[:-1]
    (xa, ya), (xb, yb) = corners[:-1][goes_on].T, corners[1:][goes_on].T
    first, last = (
        np.clip(np.ceil(y - 0.5), 0, height).astype(np.intp) for y in (np.minimum(ya, yb), np.maximum(ya, yb))
    )
    edge = np.repeat(np.arange(len(first)), last - first)
    row = np.arange(len(edge)) - np.repeat(np.cumsum(last - first) - last, last - first)
    x = xa[edge] + (row + 0.5 - ya[edge]) * (xb - xa)[edge] / (yb - ya)[edge]
    crossings = np.zeros((height, width + 1), np.int32)
    np.add.at(crossings, (row, np.clip(np.ceil(x - 0.5), 0, width).astype(np.intp)), 1)
    held: NDArray[np.bool_] = np.cumsum(crossings, axis=1)[:, :width] % 2 == 1
    return held
