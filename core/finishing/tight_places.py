"""Places where two areas lie closer than film can bridge, and the ways out."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

SHARED_BORDER_MM = 0.02
"""Areas closer than this count as touching: it is about twice the flattening of curves."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TightPlace:
    """Where an opening's own area and one that must stay covered are too close.

    The place lies in the middle of the gap, front frame. stretch_mm: how long the two run that close. own, kept_off:
    names of the two, ``kept_off`` may be "bare".
    """

    own: str
    kept_off: str
    x_mm: float
    y_mm: float
    distance_mm: float
    stretch_mm: float
    ways_out: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbours:
    """Two pieces of two regions that are close; piece numbers count the parts of each region."""

    part: int
    other_part: int
    x_mm: float
    y_mm: float
    distance_mm: float
    stretch_mm: float


class ClosePieces:
    """Regions, asked two by two for pieces that are closer than ``within_mm``; what is worked out of one is kept."""

    def __init__(self, regions: Sequence[BaseGeometry], *, within_mm: float) -> None:
        self._within_mm = within_mm
        self._parts = [shapely.get_parts(region) for region in regions]
        self._trees = [shapely.STRtree(parts) for parts in self._parts]
        self._borders = [shapely.boundary(parts) for parts in self._parts]
        self._grown = [np.full(len(parts), None, object) for parts in self._parts]

    def between(self, region: int, other: int) -> tuple[Neighbours, ...]:
        """Each pair of pieces, one of each region (by number), that are close; nearest first."""
        parts, others = self._parts[region], self._parts[other]
        if not len(parts) or not len(others):
            return ()
        which, of_other = self._trees[other].query(parts, predicate="dwithin", distance=self._within_mm)
        lines = shapely.shortest_line(parts[which], others[of_other])
        distances = shapely.length(lines)
        near = distances < self._within_mm
        middles = shapely.get_coordinates(shapely.line_interpolate_point(lines[near], 0.5, normalized=True))
        which, of_other, distances = which[near], of_other[near], distances[near]
        around = self._around(other, of_other)
        stretches = shapely.length(shapely.intersection(self._borders[region][which], around))
        nearest_first = np.lexsort((middles[:, 1], middles[:, 0], distances)).tolist()
        return tuple(
            Neighbours(
                part=int(which[i]),
                other_part=int(of_other[i]),
                x_mm=float(middles[i, 0]),
                y_mm=float(middles[i, 1]),
                distance_mm=float(distances[i]),
                stretch_mm=float(stretches[i]),
            )
            for i in nearest_first
        )

    def _around(self, region: int, pieces: NDArray[np.intp]) -> NDArray[np.object_]:
        """All within reach of these pieces of a region."""
        grown = self._grown[region]
        met = np.unique(pieces)
        new = met[shapely.is_missing(grown[met])]
        grown[new] = shapely.buffer(self._parts[region][new], self._within_mm, quad_segs=4)
        return grown[pieces]


def ways_out(own: str, kept_off: str, distance_mm: float, *, waits: bool, kept_off_is_smaller: bool) -> tuple[str, ...]:
    """What can be done at a tight place. ``waits``: it is still to be painted (or stays bare), not just weakly hiding.

    Common practice, no source.
    """
    bare = kept_off == "bare"
    label = "the bare area" if bare else kept_off
    touching = distance_mm < SHARED_BORDER_MM
    ways = [
        f"Hard edge: cut the film on the border that {own} and {label} share, and press it down well there."
        if touching
        else f"Edge between: the mask's edge runs inside the {distance_mm:.1f} mm of standing coat, which hides it."
    ]
    if not waits:
        ways.append(f"Give {label} another coat or a backing, so that nothing shows through; then it needs no cover.")
        ways.append(f"Other order: paint {label} after {own}.")
        return tuple(ways)
    if kept_off_is_smaller and not bare:
        ways.append(f"Other order: with {label} first, its small area is an opening instead of a small piece of film.")
    ways.append(
        f"Second burn: put {label} on a layer of its own and burn it only when {own} has cured, "
        "the sheet held by two pins in the register marks so that it comes back to its place."
    )
    return tuple(ways)
