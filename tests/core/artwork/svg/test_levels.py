"""Regions with a value each: paint over paint mixes by its alpha, a mask multiplies, regions stay disjoint."""

import pytest
import shapely

from core.artwork.svg.levels import Levels

LEFT, RIGHT = shapely.box(0, 0, 6, 10), shapely.box(4, 0, 10, 10)


def areas(levels: Levels) -> dict[float, float]:
    return {level: pytest.approx(region.area) for level, region in levels.regions.items()}


def test_paint_that_is_half_clear_mixes_where_it_lies_over_other():
    levels = Levels()
    levels.paint(LEFT, 1.0, 1.0)
    levels.paint(RIGHT, 1.0, 0.5)
    assert areas(levels) == {1.0: 60, 0.5: 40} and levels.is_soft
    levels.paint(LEFT, 0.0, 1.0)  # opaque and of no value: it takes away what lay there
    assert areas(levels) == {0.5: 40}
    regions = list(levels.regions.values())
    assert shapely.union_all(regions).area == pytest.approx(sum(region.area for region in regions))


def test_nothing_is_painted_outside_the_window_or_by_what_is_clear():
    levels = Levels(shapely.box(0, 0, 5, 5))
    levels.paint(LEFT, 1.0, 1.0)
    levels.paint(RIGHT, 1.0, 0.0)
    assert areas(levels) == {1.0: 25}


def test_a_mask_multiplies_and_what_is_above_a_value_holds_what_is_equal():
    levels = Levels()
    levels.paint(shapely.box(0, 0, 10, 10), 1.0, 1.0)
    mask = Levels()
    mask.paint(LEFT, 0.5, 1.0)
    mask.paint(shapely.box(6, 0, 10, 10), 1.0, 1.0)
    levels.dim(mask)
    assert areas(levels) == {0.5: 60, 1.0: 40}
    assert levels.region_above(0.5).area == pytest.approx(100) and levels.region_above(0.6).area == pytest.approx(40)
    assert levels.region_above(1.5).is_empty
