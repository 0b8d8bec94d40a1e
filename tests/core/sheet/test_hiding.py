"""What finds no room clear of flaws lies where its own fill hides those of the coat; held against shapely."""

import pytest
import shapely

from core.geometry.affine import apply_to_region
from core.sheet import hiding
from core.sheet.flaws import flaws_in
from core.sheet.ground import Footprint, PlacingOptions
from core.sheet.hiding import MOST_TRIED, all_hidden, hidden_places
from core.sheet.placement import Flaw, Sheet, placement_matrix

OPTIONS = PlacingOptions(flaw_doubt_mm=0.5, angles_deg=(0.0, 90.0))


def plate(width_mm=20.0, height_mm=20.0):
    """A plate with a fill that leaves 3 mm all round."""
    whole = shapely.box(0, 0, width_mm, height_mm)
    return Footprint(burned=whole, finished=whole, cleared=shapely.box(3, 3, width_mm - 3, height_mm - 3))


def sheet(*points, width_mm=30.0, height_mm=30.0, surface="coat"):
    flaws = tuple(Flaw(kind="point", points=(at,), width_mm=2.0, surface=surface) for at in points)
    return Sheet(width_mm=width_mm, height_mm=height_mm, thickness_mm=3.0, flaws=flaws)


def at(footprint, placed):
    matrix = placement_matrix(placed.x_mm, placed.y_mm, placed.rotation_deg)
    return apply_to_region(matrix, footprint.burned), apply_to_region(matrix, footprint.cleared)


def test_a_flaw_in_the_middle_ends_up_under_the_fill():
    """A plate of 20 mm on 30 mm covers the middle wherever it lies."""
    board = sheet((15.0, 15.0))
    (placed,) = hidden_places([plate()], [], board, OPTIONS, spacing_mm=1.0)
    burned, cleared = at(plate(), placed)
    assert placed.shown_mm2 == 0.0 and shapely.box(0, 0, 30, 30).buffer(1e-5).contains(burned)
    for flaw in flaws_in(board, "coat", grown_mm=0.5):
        assert burned.intersection(flaw).difference(cleared).area == pytest.approx(0.0, abs=1e-6)


def test_no_fill_hides_a_flaw_of_the_clear_face():
    assert hidden_places([plate()], [], sheet((15.0, 15.0), surface="clear face"), OPTIONS, spacing_mm=1.0) == (None,)


def test_each_keeps_its_distance_from_the_last_and_from_what_is_laid():
    board = sheet((15.0, 15.0), (41.0, 15.0), width_mm=76.0)
    laid = shapely.box(56, 0, 76, 30)
    found = hidden_places([plate(), plate(), plate()], [laid], board, OPTIONS, spacing_mm=2.0)
    assert [one is None for one in found] == [False, False, True]
    one, two = (at(plate(), placed)[0] for placed in found[:2])
    assert one.distance(two) >= 2.0 - 1e-5 and min(one.distance(laid), two.distance(laid)) >= 2.0 - 1e-5


def test_what_found_no_place_once_is_not_tried_again(monkeypatch):
    tried = []
    place = hiding.place
    monkeypatch.setattr(hiding, "place", lambda footprint, *given, **more: tried.append(footprint) or place(
        footprint, *given, **more))  # fmt: skip
    large, small = plate(29.0, 29.0), plate()
    board = sheet((2.0, 15.0), (15.0, 2.0))
    found = hidden_places([large, large, small], [], board, OPTIONS, spacing_mm=1.0)
    assert [one is None for one in found] == [True, True, False] and tried == [large, small]


def test_the_largest_is_laid_first_and_the_order_stays_as_asked():
    board = sheet(width_mm=33.0, height_mm=20.0)
    small, large = plate(12.0, 12.0), plate(20.0, 20.0)
    found = all_hidden([small, large], board, OPTIONS, spacing_mm=1.0)
    assert None not in found and at(large, found[1])[0].distance(at(small, found[0])[0]) >= 1.0 - 1e-5
    assert all_hidden([small] * (MOST_TRIED + 1), board, OPTIONS, spacing_mm=1.0) == (None,) * (MOST_TRIED + 1)
