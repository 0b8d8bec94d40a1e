"""What the masks of any order cost: handwork by colour and by what is kept off, told from faces."""

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import shapely
from shapely.geometry.base import BaseGeometry

from core.finishing.fine_masks import FineArea, fine_area, fine_cover, is_fine
from core.finishing.mask_effort import FaceMap, face_maps, faces_effort_min
from core.finishing.masks import NOTHING, Ground, generous_outline, grown, simple_cover
from core.finishing.paints import shows_through
from core.finishing.steps import Colouring, PaintArea
from core.finishing.tight_places import ClosePieces, Neighbours
from core.geometry.engine import subtracted, united
from core.job.plan import Plan
from core.job.remembering import cached
from core.progress import Progress, part

T = TypeVar("T")

_WIDEST = 12.0
"""Multiple of the least bridge within which own areas share one opening where orders are weighed."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Weighing:
    """What the steps of any order cost. Colours by number; number n stands for what is never painted.

    known_costs remembers handwork by colour and what is kept off; it fills up as orders are compared.
    """

    areas: tuple[PaintArea, ...]
    kept_clear: BaseGeometry
    fine: tuple[FineArea, ...]
    maps: tuple[FaceMap, ...]
    close: dict[tuple[int, int], tuple[Neighbours, ...]]
    known_costs: dict[tuple[int, frozenset[int]], float]

    def kept_off(self, colour: int, done: frozenset[int], still_coated: frozenset[int] = frozenset()) -> frozenset[int]:
        """What that colour must not get on: all that waits, but for what is still under its coat."""
        count = len(self.areas)
        paint = self.areas[colour].paint
        waiting = {other for other in range(count) if other != colour and other not in done}
        weak = {other for other in done if shows_through(self.areas[other].paint, paint)}
        never = set() if self.kept_clear.is_empty else {count}
        return frozenset((waiting | never) - still_coated | weak)

    def step_cost(self, colour: int, done: frozenset[int]) -> float:
        """Handwork where all is cleared in one burn."""
        return self.handwork_min(colour, self.kept_off(colour, done))

    def handwork_min(self, colour: int, kept_off: frozenset[int]) -> float:
        """Handwork at a mask that keeps a colour off these."""
        if not kept_off:
            return 0.0
        key = (colour, kept_off)
        if key not in self.known_costs:
            tight = sum(len(self.close[colour, other]) for other in kept_off)
            waiting = kept_off & self.maps[colour].colours
            self.known_costs[key] = faces_effort_min(self.maps[colour], waiting, tight_places=tight)
        return self.known_costs[key]

    def region(self, colours: frozenset[int]) -> BaseGeometry:
        """All areas of these colours."""
        return united([*(self.areas[c].region for c in colours if c < len(self.areas)), self._clear(colours)])

    def _clear(self, colours: frozenset[int]) -> BaseGeometry:
        return self.kept_clear if len(self.areas) in colours else NOTHING


def weighing_of(plan: Plan, coloured: Colouring, ground: Ground, key: Hashable, *, progress: Progress) -> Weighing:
    """Face maps and close neighbours of all colours. key: what the areas depend on."""
    masks, areas = plan.job.finishing.masks, coloured.areas
    kept_clear = coloured.bare
    if not plan.job.stock.coat:  # no coat hides paint that goes astray
        kept_clear = united([kept_clear, subtracted(coloured.outline, coloured.filled)])
    weighing = Weighing(areas=areas, kept_clear=kept_clear, fine=(), maps=(), close={}, known_costs={})
    if len(areas) == 1 and kept_clear.is_empty:
        return weighing
    regions = [*(area.region for area in areas), kept_clear]

    def work() -> Weighing:
        pieces = ClosePieces([*regions[:-1], coloured.bare], within_mm=masks.least_bridge_mm)
        close: dict[tuple[int, int], tuple[Neighbours, ...]] = {}
        for number in _each(range(len(areas)), part(progress, 0.0, 0.3)):
            close |= {(number, i): pieces.between(number, i) for i in range(len(regions)) if i != number}
        each_region = _each(regions, part(progress, 0.3, 0.4))
        fine = tuple(fine_area(region, masks) for region in each_region) if is_fine(regions) else ()
        if fine:
            covers = [fine_cover([area], masks) for area in _each(fine, part(progress, 0.4, 0.5))]
            owns: list[BaseGeometry] = [shapely.MultiPolygon(area.thin.tolist()) for area in fine]
        else:
            covers = [simple_cover(grown(region, masks.clearance_mm), ground.film, masks) for region in regions]
            owns = regions
        reach_mm = _WIDEST * masks.least_bridge_mm
        widest = [
            generous_outline(grown(own, masks.bleed_mm), ground, masks, reach_mm)
            for own in _each(owns[: len(areas)], part(progress, 0.5, 0.7))
        ]
        progress(0.7, "weighing masks")
        maps = face_maps(owns[: len(areas)], widest, covers)
        return replace(weighing, fine=fine, maps=maps, close=close)

    return replace(cached(("mask-weighing", key, masks), work), areas=areas)


def _each(things: Sequence[T], progress: Progress) -> Iterator[T]:
    """One after the other, so that it can be stopped between two."""
    for number, thing in enumerate(things):
        progress(number / len(things), "weighing masks")
        yield thing
