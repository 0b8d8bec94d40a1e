import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import UnreadableError
from core.sheet.choosing import choices
from core.sheet.flaws import flaw_region
from core.sheet.offcuts import Piece, checked_piece, outline_of, piece_region, rectangle, region_of, sheet_of
from core.sheet.placement import Flaw
from core.sheet.placing import Footprint
from core.sheet.remainders import remainders, usable_rectangles
from tests.core.sheet.boards import ODD

STOCK = "mirrored acrylic 3 mm"


def sheet(width_mm=300.0, height_mm=200.0, **more):
    return Piece(stock=STOCK, thickness_mm=3.0, outline=rectangle(width_mm, height_mm), **more)


def plate(width_mm, height_mm):
    region = shapely.box(0, 0, width_mm, height_mm)
    return Footprint(burned=region, finished=region, cleared=shapely.Polygon())


discs = st.builds(
    lambda x, y, r: shapely.Point(x, y).buffer(r), st.floats(-10, 130), st.floats(-10, 90), st.floats(1, 60)
)


@given(st.lists(discs, min_size=1, max_size=4), st.sampled_from([rectangle(120.0, 80.0), ODD]))
@settings(max_examples=40)
def test_kept_taken_and_waste_are_the_piece(taken, outline):
    piece = Piece(stock=STOCK, thickness_mm=3.0, outline=outline, price=10.0)
    left = remainders(piece, shapely.union_all(taken))
    whole = piece_region(piece).area
    assert left.kept_mm2 + left.taken.area + left.waste.area == pytest.approx(whole, rel=1e-6)
    assert shapely.union_all([*left.kept, left.taken, left.waste]).area == pytest.approx(whole, rel=1e-6)
    assert sum(part.price for part in left.pieces) == pytest.approx(10.0 * left.kept_mm2 / whole)
    for part, region in zip(left.pieces, left.kept, strict=True):
        assert piece_region(part).area == pytest.approx(region.area, rel=2e-2)


def test_figures_that_are_all_but_zero_do_no_harm():
    taken = shapely.Point(1.0, 1.7864554300743815e-254).buffer(1.0)
    left = remainders(Piece(stock=STOCK, thickness_mm=3.0, outline=ODD), taken)
    assert left.kept_mm2 + left.taken.area + left.waste.area == pytest.approx(shapely.Polygon(*ODD[:1], ODD[1:]).area)


def test_a_corner_taken_leaves_an_l_with_its_flaws():
    scratch = Flaw(kind="line", points=((250.0, 150.0), (280.0, 190.0)), noted_from="back")
    gone = Flaw(kind="point", points=((20.0, 20.0),))
    left = remainders(sheet(flaws=(scratch, gone)), shapely.box(0, 0, 100, 80))
    (offcut,) = left.pieces
    assert piece_region(offcut).area == pytest.approx(300 * 200 - 8000)
    # the scratch was noted from the back: on the front it lies at the left
    (flaw,) = offcut.flaws
    assert flaw.noted_from == "front" and flaw.points == ((50.0, 150.0), (20.0, 190.0))


def test_slugs_are_kept_and_strips_are_waste():
    ring = shapely.Point(150, 100).buffer(95).difference(shapely.Point(150, 100).buffer(60))
    left = remainders(sheet(), ring)
    assert shapely.Point(150, 100).buffer(55).within(left.kept[0].union(left.kept[-1]))
    strip = remainders(sheet(), shapely.box(2, 2, 298, 198))
    assert strip.pieces == () and strip.waste.area == pytest.approx(60000 - 296 * 196)


def test_coat_burned_off_the_rest_is_a_flaw_of_it():
    left = remainders(sheet(), shapely.box(0, 0, 100, 200), marked=shapely.box(120, 30, 140, 40))
    (flaw,) = left.pieces[0].flaws
    assert flaw.surface == "coat"
    region = flaw_region(flaw, sheet_of(left.pieces[0]))
    np.testing.assert_allclose(region.bounds, (19.95, 29.95, 40.05, 40.05), atol=0.02)


def test_usable_rectangles_do_not_overlap():
    region = region_of(ODD)
    boxes = [shapely.box(*bounds) for bounds in usable_rectangles(region)]
    assert boxes and all(region.buffer(1e-5).contains(box) for box in boxes)
    assert shapely.union_all(boxes).area == pytest.approx(sum(box.area for box in boxes))


def test_choosing_takes_the_cheapest_that_serves_and_says_what_the_others_lack():
    rack = [
        ("1", "full sheet", sheet(600.0, 300.0, price=60.0, full=True)),
        ("2", "offcut", sheet(110.0, 70.0, price=1.0)),
        ("3", "too narrow", sheet(400.0, 58.0, price=3.0)),
        ("4", "other stock", Piece(stock="clear acrylic 3 mm", thickness_mm=3.0, outline=rectangle(200.0, 200.0))),
    ]
    found = choices(rack, plate(100.0, 60.0), stock=STOCK, thickness_mm=3.0)
    assert [choice.name for choice in found] == ["offcut", "full sheet", "too narrow"]
    assert found[0].cost == pytest.approx(1.0)  # nothing worth keeping is left of it
    assert found[1].cost == pytest.approx(60.0 * 6000 / 180000, rel=1e-3)
    assert found[2].placed is None and found[2].lacks_mm == pytest.approx(1.0, abs=0.11)


def test_a_scratched_piece_comes_after_a_clean_dearer_one():
    scratch = Flaw(kind="line", points=((0.0, 30.0), (110.0, 30.0)))
    rack = [("1", "scratched", sheet(110.0, 65.0, price=1.0, flaws=(scratch,))), ("2", "clean", sheet(price=9.0))]
    found = choices(rack, plate(100.0, 60.0), stock=STOCK, thickness_mm=3.0)
    assert [choice.name for choice in found] == ["clean", "scratched"]


def test_outlines_are_checked_and_come_to_the_origin():
    piece = Piece(
        stock=STOCK,
        thickness_mm=3.0,
        outline=(((10.0, 5.0), (60.0, 5.0), (60.0, 45.0), (10.0, 45.0)),),
        flaws=(Flaw(kind="point", points=((20.0, 10.0),)), Flaw(kind="point", points=((7.0, 3.0),), noted_from="back")),
    )
    checked = checked_piece(piece)
    assert piece_region(checked).bounds == (0.0, 0.0, 50.0, 40.0)
    assert [flaw.points for flaw in checked.flaws] == [((10.0, 5.0),), ((7.0, 3.0),)]
    with pytest.raises(UnreadableError, match="crosses itself"):
        region_of((((0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)),))
    with pytest.raises(UnreadableError, match="three corners"):
        region_of((((0.0, 0.0), (10.0, 10.0)),))
    with pytest.raises(UnreadableError, match="3 places"):
        checked_piece(sheet(flaws=(Flaw(kind="patch", points=((1.0, 1.0), (2.0, 2.0))),)))


def test_rings_come_back():
    assert shapely.equals(region_of(outline_of(region_of(ODD))), region_of(ODD))
