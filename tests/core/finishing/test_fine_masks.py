"""Masks of fine artwork beside the same ones looked at in full."""

import numpy as np
import pytest
import shapely
from shapely.geometry.base import BaseGeometry

from core.finishing.fine_masks import fine_area, fine_opening, is_fine
from core.finishing.masks import ground_around, grown, mask_figures, mask_opening, needed_opening
from core.finishing.paints import MaskOptions

SPECK_MM2 = 1e-6
OPTIONS = MaskOptions()


def rings(
    count: int, *, vertices: int, columns: int, cell_mm: float, least_mm: float, most_mm: float
) -> list[np.ndarray]:
    """Wavy rings in rows."""
    rng, turn = np.random.default_rng(5), np.linspace(0, 2 * np.pi, vertices, endpoint=False)
    found = []
    for number in range(count):
        radius = rng.uniform(least_mm, most_mm) * (1 + 0.15 * np.sin(rng.integers(2, 5) * turn))
        middle = np.array([number % columns, number // columns]) * cell_mm + rng.uniform(-0.6, 0.6, 2)
        found.append(middle + radius[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]))
    return found


def test_edges_are_chosen_by_fewer_vertices_and_hold_as_exactly() -> None:
    """Nothing waiting is opened, all of its own is, the knife goes as far as in full."""
    drawn = rings(60, vertices=1_000, columns=10, cell_mm=7.0, least_mm=1.0, most_mm=3.2)
    areas: list[BaseGeometry] = [shapely.MultiPolygon([(one, None) for one in drawn[first::3]]) for first in range(3)]
    assert is_fine(areas)
    own, *waiting = [fine_area(area, OPTIONS) for area in areas]
    assert shapely.get_num_coordinates(own.thin).sum() < 0.1 * shapely.get_num_coordinates(own.parts).sum()
    ground = ground_around(shapely.box(-10, -10, 80, 60), shapely.union_all(areas), OPTIONS)
    opening = fine_opening(own, waiting, ground, OPTIONS)
    rest = shapely.union_all(areas[1:])
    in_full = mask_opening(areas[0], rest, ground, OPTIONS)
    assert opening.is_valid
    assert needed_opening(areas[0], rest, OPTIONS).difference(opening).area < SPECK_MM2
    kept_off = grown(rest, OPTIONS.clearance_mm).difference(needed_opening(areas[0], rest, OPTIONS))
    assert opening.intersection(kept_off).area < SPECK_MM2
    assert opening.length == pytest.approx(in_full.length, rel=0.05)
    figures, figures_in_full = mask_figures(opening), mask_figures(in_full)
    assert figures.effort_min == pytest.approx(figures_in_full.effort_min, rel=0.1)


@pytest.mark.parametrize(("columns", "colours"), [(40, 3), (42, 3), (40, 2)])
def test_the_opening_that_looks_easiest_when_rough_is_the_easiest_of_all_drawn(columns: int, colours: int) -> None:
    """Diagonals and columns of a colour, to be opened one by one or many together: what is not best is far worse."""
    drawn = rings(160, vertices=24, columns=columns, cell_mm=6.0, least_mm=1.0, most_mm=1.8)
    areas: list[BaseGeometry] = [
        shapely.MultiPolygon([(one, None) for one in drawn[first::colours]]) for first in range(colours)
    ]
    ground = ground_around(shapely.box(-10, -10, 270, 40), shapely.union_all(areas), OPTIONS)
    own, *waiting = [fine_area(area, OPTIONS) for area in areas]
    figures = mask_figures(fine_opening(own, waiting, ground, OPTIONS))
    of_all_drawn = mask_figures(mask_opening(areas[0], shapely.union_all(areas[1:]), ground, OPTIONS))
    assert figures.effort_min == pytest.approx(of_all_drawn.effort_min, rel=0.1)


def test_pieces_finer_than_they_are_thinned_by_stay_where_they_are() -> None:
    """Specks, hairlines and necks: each a polygon still, nowhere further off than outlines may be."""
    turn = np.linspace(0, 6, 400)
    pieces: list[BaseGeometry] = [shapely.box(0, 0, 0.02, 0.02), shapely.box(1, 0, 9, 0.01)]
    for number, wide_mm in enumerate(np.linspace(0.004, 0.09, 30).tolist()):
        hairline = shapely.LineString(np.column_stack([turn, np.sin(2.2 * turn) + 5 * number + 5])).buffer(wide_mm / 2)
        pieces.append(hairline.union(shapely.Point(0, 5 * number + 5).buffer(0.5)))
    area = fine_area(shapely.MultiPolygon(pieces), OPTIONS)
    assert (shapely.get_type_id(area.thin) == shapely.GeometryType.POLYGON).all() and not shapely.is_empty(
        area.thin
    ).any()
    assert shapely.hausdorff_distance(area.thin, area.parts, densify=0.1).max() <= 0.021 * OPTIONS.least_bridge_mm


def test_specks_that_wait_among_the_pieces_stay_covered() -> None:
    around = [shapely.box(x, y, x + 2, y + 2) for x in range(0, 18, 3) for y in (0, 8)]
    own = shapely.MultiPolygon([shapely.box(-11, 0, -1, 10), *around])
    specks = shapely.MultiPolygon([shapely.box(x, 5, x + 0.02, 5.02) for x in range(1, 15, 3)])
    ground = ground_around(shapely.box(-20, -10, 30, 20), shapely.union_all([own, specks]), OPTIONS)
    opening = fine_opening(fine_area(own, OPTIONS), [fine_area(specks, OPTIONS)], ground, OPTIONS)
    assert opening.intersection(grown(specks, OPTIONS.clearance_mm)).area < SPECK_MM2
    assert own.difference(opening).area < SPECK_MM2
