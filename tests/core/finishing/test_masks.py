"""Masks on random layouts: what an opening must contain, what it must keep off, and what it may look like."""

from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry

from core.finishing.mask_effort import face_maps, faces_effort_min
from core.finishing.masks import (
    generous_outline,
    ground_around,
    grown,
    hulls_within,
    mask_figures,
    mask_opening,
    needed_opening,
    simple_cover,
    straight_film,
)
from core.finishing.paints import MaskOptions
from core.geometry.engine import united
from tests.core.finishing.layouts import boxes, regions_of

SPECK_MM2 = 1e-6
OPTIONS = MaskOptions()


def made(regions: list[BaseGeometry]) -> tuple[BaseGeometry, BaseGeometry, BaseGeometry]:
    """(own, waiting, opening) of the first colour while all others wait."""
    own, waiting = regions[0], united(regions[1:])
    ground = ground_around(shapely.box(0, 0, 60, 60), united(regions), OPTIONS)
    return own, waiting, mask_opening(own, waiting, ground, OPTIONS)


@settings(max_examples=40)
@given(boxes())
def test_an_opening_bares_its_own_area_and_nothing_that_waits(layout) -> None:
    own, waiting, opening = made(regions_of(layout, 3))
    assert opening.is_valid
    assert own.difference(opening).area < SPECK_MM2
    assert opening.intersection(waiting).area < SPECK_MM2


@settings(max_examples=40)
@given(boxes())
def test_bleed_and_clearance_hold_wherever_there_is_room_for_both(layout) -> None:
    own, waiting, opening = made(regions_of(layout, 3))
    bleed, clearance = OPTIONS.bleed_mm, OPTIONS.clearance_mm
    # 1 % for round corners, which are drawn with eight chords a quarter turn
    free = own.buffer(bleed * 0.99, quad_segs=8).difference(waiting.buffer(clearance * 1.01))
    assert free.difference(opening).area < SPECK_MM2
    # nearer to what waits than the clearance only where the gap has to be shared, so never beyond the bleed
    near = opening.intersection(waiting.buffer(clearance * 0.98, quad_segs=8))
    assert near.difference(own.buffer(bleed * 1.001, quad_segs=32)).area < 1e-4


@settings(max_examples=20)
@given(boxes())
def test_looking_only_at_what_lies_near_changes_no_opening(layout) -> None:
    regions = regions_of(layout, 3)
    own, waiting = regions[0], united(regions[1:])
    levels = [own.difference(waiting)]
    for share in (0.25, 0.5, 0.75, 1.0):
        kept_off = grown(waiting, OPTIONS.clearance_mm * share)
        levels.append(grown(own, OPTIONS.bleed_mm * share).difference(kept_off))
    whole = shapely.union_all(levels)
    assert needed_opening(own, waiting, OPTIONS).symmetric_difference(whole).area < SPECK_MM2


@given(st.floats(0.05, 2.0), st.floats(0.1, 1.0), st.floats(0.1, 1.0))
def test_a_tight_gap_is_shared_in_proportion(gap_mm: float, bleed_mm: float, clearance_mm: float) -> None:
    options = MaskOptions(bleed_mm=bleed_mm, clearance_mm=clearance_mm)
    own, waiting = shapely.box(0, 0, 20, 20), shapely.box(20 + gap_mm, 0, 40, 20)
    edge_mm = needed_opening(own, waiting, options).intersection(shapely.box(0, 9, 60, 11)).bounds[2] - 20
    ideal_mm = min(bleed_mm, gap_mm * bleed_mm / (bleed_mm + clearance_mm))
    step_mm = (bleed_mm + clearance_mm) / 4
    assert ideal_mm - step_mm < edge_mm <= bleed_mm + 1e-9
    assert gap_mm - edge_mm >= min(clearance_mm, gap_mm) / 4 - 1e-9


def test_a_shared_border_is_followed_exactly() -> None:
    _, _, opening = made([shapely.box(0, 0, 20, 20), shapely.box(20, -5, 40, 25)])
    middle = opening.intersection(shapely.box(-5, 2, 60, 18))
    assert middle.bounds[2] == pytest.approx(20.0)


@settings(max_examples=40)
@given(boxes())
def test_no_strip_of_film_too_narrow_to_hold_but_over_what_waits(layout) -> None:
    _, waiting, opening = made(regions_of(layout, 3))
    bridge = OPTIONS.least_bridge_mm
    around = opening.envelope.buffer(5 * bridge, join_style="mitre")
    film = around.difference(opening)
    held = film.buffer(-0.9 * bridge / 2).buffer(0.9 * bridge / 2, join_style="mitre")
    narrow = film.difference(held.buffer(0.02)).difference(waiting.buffer(OPTIONS.clearance_mm + bridge))
    # corners of film that point into an opening are no strips
    strips = [part for part in shapely.get_parts(narrow) if part.area > bridge * bridge]
    assert not strips


@settings(max_examples=40)
@given(boxes())
def test_every_opening_has_a_reason(layout) -> None:
    own, _, opening = made(regions_of(layout, 3))
    assert all(part.intersects(own) for part in shapely.get_parts(opening))


def test_with_nothing_waiting_near_areas_share_one_simple_opening() -> None:
    marks = [shapely.box(x, y, x + 1, y + 6) for x in range(0, 30, 3) for y in (0, 8)]
    own = united(marks)
    _, _, opening = made([own, shapely.box(100, 100, 110, 110)])
    figures = mask_figures(opening)
    assert (figures.openings, figures.islands) == (1, 0)
    assert shapely.get_num_coordinates(opening) <= 9
    assert figures.cut_length_mm < own.length / 2


def test_an_enclosed_area_that_waits_is_an_island_of_film() -> None:
    ring = shapely.Point(30, 30).buffer(20).difference(shapely.Point(30, 30).buffer(8))
    _, waiting, opening = made([ring, shapely.Point(30, 30).buffer(5)])
    figures = mask_figures(opening)
    assert (figures.openings, figures.islands) == (1, 1)
    assert opening.distance(waiting) >= OPTIONS.clearance_mm - 0.02


def test_no_areas_no_opening() -> None:
    ground = ground_around(shapely.box(0, 0, 9, 9), shapely.box(1, 1, 2, 2), OPTIONS)
    assert mask_opening(shapely.MultiPolygon(), shapely.box(1, 1, 2, 2), ground, OPTIONS).is_empty


@settings(max_examples=25)
@given(boxes(colours=4))
def test_handwork_told_from_faces_is_that_of_the_plain_overlay(layout) -> None:
    """The face map against the mask it stands for, overlaid afresh: outline length, openings, islands."""
    regions = regions_of(layout, 4)
    own = regions[0]
    assume(own.area > 0.1)
    ground = ground_around(shapely.box(0, 0, 60, 60), united(regions), OPTIONS)
    covers = [simple_cover(grown(region, OPTIONS.clearance_mm), ground.film, OPTIONS) for region in regions]
    widest = generous_outline(grown(own, OPTIONS.bleed_mm), ground, OPTIONS, 24.0)
    faces = face_maps([own], [widest], covers)[0]
    for size in range(4):
        for waiting in combinations((1, 2, 3), size):
            film = united([covers[i].difference(own) for i in waiting])
            parts = shapely.get_parts(widest.difference(film))
            opening = united([part for part in parts if part.intersection(own).area > SPECK_MM2])
            told = faces_effort_min(faces, waiting, tight_places=0)
            figures = mask_figures(opening)
            # small pieces are told by another measure of size, worth 0.5 min each at most
            assert abs(told - figures.effort_min) <= 0.5 * (figures.openings + figures.islands) + 0.05


def test_fewer_colours_waiting_never_means_more_outline_in_the_face_map() -> None:
    own = shapely.box(0, 0, 40, 40).difference(shapely.box(15, 15, 25, 25))
    faces = face_maps([own], [shapely.box(-1, -1, 41, 41)], [own, shapely.box(15, 15, 25, 25)])[0]
    assert np.isclose(faces.area_mm2.sum(), 42 * 42)
    assert faces_effort_min(faces, (1,), tight_places=0) > faces_effort_min(faces, (), tight_places=0)


@settings(max_examples=30)
@given(boxes(colours=1, most=14), st.sampled_from([0.4, 1.2, 3.0, 9.0]))
def test_hulls_go_round_what_hangs_together_by_gaps_within_reach(layout, reach_mm: float) -> None:
    """Beside the plain way: grow all by half the reach, and see what has run together."""
    needed = regions_of(layout, 1)[0]
    for slack in (0.999, 1.001):
        joined = shapely.get_parts(needed.buffer(slack * reach_mm / 2, quad_segs=32))
        own = shapely.get_parts(needed)
        found = [shapely.convex_hull(shapely.MultiPolygon([p for p in own if p.intersects(one)])) for one in joined]
        if {hull.wkb for hull in map(shapely.normalize, found)} == {
            hull.wkb for hull in map(shapely.normalize, hulls_within(needed, reach_mm))
        }:
            return
    raise AssertionError("other hulls")


def test_film_with_very_many_holes_keeps_what_lies_in_them():
    """A plate with sixty holes, a disc in each: as by one offset of them all, but for how corners are drawn."""
    places = [shapely.Point(10 + 20 * (n % 10), 10 + 20 * (n // 10)) for n in range(60)]
    plate = shapely.box(0, 0, 200, 120).difference(shapely.union_all([place.buffer(8) for place in places]))
    waiting = shapely.MultiPolygon([plate, *(place.buffer(4) for place in places)])
    film = straight_film(waiting, OPTIONS)
    offset = waiting.buffer(-0.75 * OPTIONS.least_bridge_mm, quad_segs=2).simplify(0.35 * OPTIONS.least_bridge_mm)
    assert all(film.covers(place) for place in places)
    assert film.symmetric_difference(offset).area < 0.03 * offset.area
