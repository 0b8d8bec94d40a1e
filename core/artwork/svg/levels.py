"""Values over the plane as disjoint regions: what masks and see-through paint add up to."""

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.svg.drawn import NOTHING, MaskLayer, areas

_LEVELS = 128
"""Values are told apart to this part of 1, so that (nearly) equal ones are kept as one region."""


class Levels:
    """Disjoint regions (mm), each with a value 0..1; 0 elsewhere and outside ``window``."""

    def __init__(self, window: BaseGeometry | None = None) -> None:
        self._window = window
        self.regions: dict[float, BaseGeometry] = {}
        self._above: dict[float, BaseGeometry] = {}

    def paint(self, region: BaseGeometry, value: float, alpha: float) -> None:
        """Paint over what is there: ``value`` is what the paint gives where opaque."""
        if self._window is not None:
            region = areas(shapely.intersection(region, self._window))
        if region.is_empty or alpha <= 0:
            return
        self._above.clear()
        rest = region
        changed: dict[float, list[BaseGeometry]] = {}
        for old, place in self.regions.items():
            common = areas(shapely.intersection(place, region))
            if common.is_empty:
                changed.setdefault(old, []).append(place)
                continue
            changed.setdefault(old, []).append(areas(shapely.difference(place, region)))
            changed.setdefault(_level(old * (1 - alpha) + value * alpha), []).append(common)
            rest = areas(shapely.difference(rest, place))
        changed.setdefault(_level(value * alpha), []).append(rest)
        united = {level: shapely.union_all(parts) for level, parts in changed.items() if level > 0}
        self.regions = {level: region for level, region in united.items() if not region.is_empty}

    @property
    def is_soft(self) -> bool:
        """Whether there are values between 0 and 1."""
        return any(value < 1.0 for value in self.regions)

    def dim(self, mask: MaskLayer) -> None:
        """Multiply by a mask's values."""
        parts: dict[float, list[BaseGeometry]] = {}
        for level, place in self.regions.items():
            for value, through in mask.regions.items():
                parts.setdefault(_level(level * value), []).append(areas(shapely.intersection(place, through)))
        united = {level: shapely.union_all(places) for level, places in parts.items() if level > 0}
        self.regions = {level: region for level, region in united.items() if not region.is_empty}
        self._above.clear()

    def region_above(self, value: float) -> BaseGeometry:
        """Where the value is higher; what is equal within the rounding counts as higher."""
        if value not in self._above:
            parts = [place for level, place in self.regions.items() if level > value - 0.6 / _LEVELS]
            self._above[value] = shapely.union_all(parts) if parts else NOTHING
        return self._above[value]


def _level(value: float) -> float:
    return round(value * _LEVELS) / _LEVELS
