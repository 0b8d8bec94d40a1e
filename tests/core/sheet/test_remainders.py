import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.errors import UnreadableError
from core.sheet.choosing import choices
from core.sheet.flaws import flaw_region
from core.sheet.ground import Footprint, PlacingOptions
from core.sheet.offcuts import Piece, checked_piece, outline_of, piece_region, rectangle, region_of, sheet_of
from core.sheet.placement import Flaw
from core.sheet.remainders import holds_square, remainders, usable_rectangles
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
    assert sum(part.price for part in left.pieces) <= 10.0 * left.kept_mm2 / whole + 1e-9
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
    # the job stands in a corner: 540 x 300 mm can still be made of the rest
    assert found[1].cost == pytest.approx(60.0 * (1 - 540 * 300 / (600 * 300)), rel=1e-3)
    assert found[2].placed is None and found[2].lacks_mm == pytest.approx(1.0, abs=0.01)


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


def holds_square_by_trying(region, side_mm, *, angles_deg, step_mm=0.25):
    """Brute force: a square at every point of a grid, at every angle, held against the region by GEOS."""
    x0, y0, x1, y1 = region.bounds
    xs, ys = np.meshgrid(np.arange(x0, x1, step_mm), np.arange(y0, y1, step_mm))
    grown = shapely.buffer(region, step_mm)  # a grid misses a place by no more than this
    shapely.prepare(grown)
    for angle_deg in angles_deg:
        square = shapely.affinity.rotate(shapely.box(0, 0, side_mm, side_mm), angle_deg, origin=(0, 0))
        corners = shapely.get_coordinates(square)[:-1]
        near = np.ones(xs.shape, bool)
        for dx, dy in corners:
            near &= shapely.contains_xy(grown, xs + dx, ys + dy)
        for x, y in zip(xs[near], ys[near], strict=True):
            if grown.contains(shapely.affinity.translate(square, x, y)):
                return True
    return False


def test_a_square_is_held_where_erosion_by_it_leaves_something():
    slot = shapely.box(0, 0, 20.0, 90.0)  # only just as wide as the square
    assert holds_square(slot, 20.0) and not holds_square(shapely.box(0, 0, 19.999, 90.0), 20.0)
    slanted = shapely.affinity.rotate(slot, 33.0)
    assert holds_square(slanted, 20.0)
    # its largest rectangle along the axes is a long flat one; the square fits into the bulge
    lens = shapely.union(shapely.box(0, 0, 300, 12), shapely.Point(150, 6).buffer(15.0, quad_segs=64))
    assert holds_square(lens, 20.0)
    arms = shapely.union(shapely.box(0, 0, 100, 19.5), shapely.box(0, 0, 19.5, 100))
    assert not holds_square(arms, 20.0)  # an L of strips that are too narrow, though it is 3500 mm² large


@given(st.lists(st.tuples(st.floats(0, 60), st.floats(0, 60)), min_size=4, max_size=9), st.floats(8, 30))
@settings(max_examples=25, deadline=None)
def test_squares_held_are_those_that_trying_finds(corners, side_mm):
    region = shapely.MultiPoint(corners).convex_hull.difference(shapely.box(25, 25, 33, 31))
    if region.geom_type != "Polygon" or region.area < 1:
        return
    if holds_square(region, side_mm):
        assert holds_square_by_trying(region, side_mm, angles_deg=np.arange(0, 90, 3.0).tolist() + _edges_deg(region))
    else:
        assert not holds_square_by_trying(region, side_mm + 1.0, angles_deg=[0.0])


def _edges_deg(region):
    along = np.diff(shapely.get_coordinates(region), axis=0)
    return np.degrees(np.arctan2(along[:, 1], along[:, 0])).tolist()


def test_leftovers_are_worth_what_can_still_be_made_of_them():
    piece = sheet(price=60.0)
    middle = remainders(piece, shapely.box(140, 0, 160, 200))  # two halves of 140 x 200 mm
    assert [part.price for part in middle.pieces] == pytest.approx([28.0, 28.0])
    cross = remainders(piece, shapely.union(shapely.box(145, 0, 155, 200), shapely.box(0, 95, 300, 105)))
    assert sum(part.price for part in cross.pieces) == pytest.approx(60 * 4 * 145 * 95 / 60000)
    corner = remainders(piece, shapely.box(0, 0, 100, 60))  # an L: the larger of 300 x 140 and 200 x 200 mm
    assert corner.kept_price == pytest.approx(60 * 300 * 140 / 60000)
    # the leg of an L that gave no rectangle to its price is not for nothing
    ell = Piece(stock=STOCK, thickness_mm=3.0, outline=(((0, 0), (300, 0), (300, 80), (60, 80), (60, 200), (0, 200)),),
                price=10.0)  # fmt: skip
    leg = remainders(ell, shapely.box(0, 100, 60, 200))
    assert leg.kept_price == pytest.approx(10 * (1 - 6000 / (300 * 80 + 60 * 120)))


def test_offcuts_come_before_full_sheets_and_those_that_are_filled_most_first():
    rack = [
        ("1", "full", sheet(110.0, 70.0, full=True)),
        ("2", "roomy", sheet(200.0, 150.0)),
        ("3", "snug", sheet(112.0, 72.0)),
    ]
    found = choices(rack, plate(100.0, 60.0), stock=STOCK, thickness_mm=3.0)
    assert [choice.name for choice in found] == ["snug", "roomy", "full"]


@pytest.mark.parametrize(("spare_mm", "fits"), [(0.1, True), (0.01, True), (-0.05, False), (-0.67, False)])
def test_what_just_fits_fits_and_what_lacks_is_told_to_a_hundredth(spare_mm, fits):
    def disc(radius_mm):
        return shapely.Point(radius_mm, radius_mm).buffer(radius_mm, quad_segs=32)

    piece = Piece(stock=STOCK, thickness_mm=3.0, outline=outline_of(disc(100.0)))
    shape = disc(100.0 - spare_mm)
    footprint = Footprint(burned=shape, finished=shape, cleared=shapely.Polygon())
    (choice,) = choices([("1", "round", piece)], footprint, stock=STOCK, thickness_mm=3.0)
    assert (choice.placed is not None) == fits
    assert choice.lacks_mm == pytest.approx(0.0 if fits else -spare_mm, abs=0.01)


def test_an_l_that_only_just_fits_an_l():
    corners = ((0.0, 0.0), (300.0, 0.0), (300.0, 80.0), (80.0, 80.0), (80.0, 200.0), (0.0, 200.0))
    piece = Piece(stock=STOCK, thickness_mm=3.0, outline=(corners,))
    options = PlacingOptions(angles_deg=(0.0,))
    for grown_mm, fits in ((-0.03, True), (0.0, True), (0.04, False)):
        shape = shapely.buffer(shapely.Polygon(corners), grown_mm, join_style="mitre")
        footprint = Footprint(burned=shape, finished=shape, cleared=shapely.Polygon())
        (choice,) = choices([("1", "L", piece)], footprint, stock=STOCK, thickness_mm=3.0, options=options)
        assert (choice.placed is not None) == fits
        assert choice.lacks_mm == pytest.approx(0.0 if fits else grown_mm, abs=0.01)
