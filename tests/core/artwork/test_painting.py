"""Regions of fills and strokes: areas that are known, and what must hold for any path."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork import painting
from core.artwork.drawing import Drawing, Shape
from core.artwork.painting import (
    drawing_regions,
    filled_region,
    painted_region,
    painted_regions,
    region_tolerance_mm,
    stroke_region,
)
from core.geometry.affine import apply_to_region, rotation, scaling
from core.geometry.engine import shared, subtracted, united
from core.geometry.path import EMPTY, Path, PathBuilder, ellipse, joined, polyline
from core.geometry.stroke import Stroke

FINE_MM = 1e-4


def square(x: float, y: float, side: float) -> Path:
    return polyline(np.array([[x, y], [x + side, y], [x + side, y + side], [x, y + side]]), closed=True)


def pen(width: float, **options: object) -> Stroke:
    matrix = options.get("matrix", (1.0, 0.0, 0.0, 1.0, 0.0, 0.0))
    mean = abs(matrix[0] * matrix[3] - matrix[1] * matrix[2]) ** 0.5
    return Stroke(colour="#000000", width=width, width_mm=width * mean, **options)


def random_path(seed: int, *, closed: bool = False) -> Path:
    random = np.random.default_rng(seed)
    builder = PathBuilder()
    for _ in range(random.integers(1, 3)):
        builder.move_to(*(random.random(2) * 50))
        for _ in range(random.integers(1, 6)):
            if random.random() < 0.5:
                builder.line_to(*(random.random(2) * 50))
            else:
                builder.cubic_to(*(random.random(6) * 50))
        if closed:
            builder.close()
    return builder.build()


LINE = polyline(np.array([[0, 0], [10, 0.0]]))
CORNER = polyline(np.array([[0, 0], [10, 0], [10, 10.0]]))


# ---- fills


def test_an_open_subpath_fills_as_if_closed():
    path = polyline(np.array([[0, 0], [10, 0], [10, 10.0]]))
    assert filled_region(path, "nonzero", tolerance_mm=0.01).area == pytest.approx(50)


@pytest.mark.parametrize(
    "path", [EMPTY, LINE, polyline(np.array([[1.0, 1.0]])), polyline(np.array([[0, 0], [5, 0], [0, 0.0]]), closed=True)]
)
def test_what_has_no_area_fills_nothing(path):
    assert filled_region(path, "nonzero", tolerance_mm=0.01).is_empty


def test_a_subpath_that_is_not_finite_is_left_out():
    broken = polyline(np.array([[0, 0], [np.nan, 5], [5, 5.0]]), closed=True)
    assert filled_region(joined([broken, square(0, 0, 2)]), "nonzero", tolerance_mm=0.01).area == pytest.approx(4)


def test_holes_within_islands_within_holes():
    nested = joined([square(i, i, 20 - 2 * i) for i in range(5)])
    expected = 400 - 324 + 256 - 196 + 144
    assert filled_region(nested, "evenodd", tolerance_mm=0.01).area == pytest.approx(expected)
    assert filled_region(nested, "nonzero", tolerance_mm=0.01).area == pytest.approx(400)


def test_nearly_doubled_points_do_no_harm():
    points = np.array([[0, 0], [10, 0], [10 + 1e-12, 1e-13], [10, 10], [0, 10], [1e-14, 1e-13]])
    assert filled_region(polyline(points, closed=True), "nonzero", tolerance_mm=0.01).area == pytest.approx(100)


@given(seed=st.integers(0, 2**32 - 1))
def test_regions_are_valid_and_evenodd_lies_within_nonzero(seed):
    path = random_path(seed)
    nonzero, evenodd = (filled_region(path, rule, tolerance_mm=0.05) for rule in ("nonzero", "evenodd"))
    assert nonzero.is_valid and evenodd.is_valid
    assert subtracted(evenodd, nonzero).area < 1e-6
    assert evenodd.area <= nonzero.area + 1e-9


@given(seed=st.integers(0, 2**32 - 1))
def test_walking_backwards_fills_the_same(seed):
    path = random_path(seed)
    there, back = (filled_region(p, "nonzero", tolerance_mm=0.05) for p in (path, path.reversed()))
    assert shapely.symmetric_difference(there, back).area < 1e-3 + 1e-3 * there.length


# ---- strokes


@pytest.mark.parametrize(("cap", "area"), [("butt", 20.0), ("round", 20 + math.pi), ("square", 24.0)])
def test_caps(cap, area):
    assert stroke_region(LINE, pen(2, cap=cap), tolerance_mm=FINE_MM).area == pytest.approx(area, rel=1e-4)


@pytest.mark.parametrize(("join", "area"), [("miter", 41.0), ("bevel", 40.5), ("round", 40 + math.pi / 4)])
def test_joins(join, area):
    # two arms of 10 x 2 that share a 1 x 1 corner, and what the join adds outside
    assert stroke_region(CORNER, pen(2, join=join), tolerance_mm=FINE_MM).area == pytest.approx(area - 1, rel=1e-4)


@pytest.mark.parametrize("degrees", [5, 20, 28, 30, 60, 90, 150])
@pytest.mark.parametrize("limit", [1.0, 4.0, 10.0])
def test_a_mitre_over_the_limit_becomes_a_bevel(degrees, limit):
    """SVG 2, 13.5.5: mitred while 1 / sin(half the angle) does not pass the limit, bevelled beyond."""
    half = math.radians(degrees) / 2
    path = polyline(50 * np.array([[math.cos(2 * half), math.sin(2 * half)], [0, 0], [1, 0]]))
    region = stroke_region(path, pen(2, join="miter", miter_limit=limit), tolerance_mm=FINE_MM)
    direction = -np.array([math.cos(half), math.sin(half)])
    reach = (shapely.get_coordinates(region) @ direction).max()
    expected = 1 / math.sin(half) if 1 / math.sin(half) <= limit else math.sin(half)
    assert reach == pytest.approx(expected, abs=2e-3)


@pytest.mark.parametrize(("cap", "area"), [("butt", 0.0), ("round", math.pi), ("square", 4.0)])
@pytest.mark.parametrize("closed", [False, True])
def test_a_point_shows_its_caps_only(cap, area, closed):
    point = polyline(np.array([[3.0, 4.0]]), closed=closed)
    region = stroke_region(point, pen(2, cap=cap), tolerance_mm=FINE_MM)
    assert region.area == pytest.approx(area, rel=1e-3)
    if area:
        assert region.centroid.coords[0] == pytest.approx((3, 4), abs=1e-6)


def test_closed_outlines_have_joins_and_no_caps():
    closed = stroke_region(square(0, 0, 10), pen(2, cap="square"), tolerance_mm=FINE_MM)
    assert closed.area == pytest.approx(144 - 64)
    assert len(closed.interiors) == 1


@pytest.mark.parametrize("width", [1.0, 19.9, 20.0, 30.0])
def test_stroke_of_a_circle(width):
    region = stroke_region(ellipse((2, 3), 10, 10), pen(width), tolerance_mm=0.001)
    inner = max(10 - width / 2, 0)
    assert region.area == pytest.approx(math.pi * ((10 + width / 2) ** 2 - inner**2), rel=2e-4)


def test_a_squashed_pen_is_squashed():
    """A circle of radius 5 with a pen 2 wide, drawn twice as wide: an ellipse with an uneven stroke."""
    matrix = (2.0, 0.0, 0.0, 1.0, 0.0, 0.0)
    region = stroke_region(ellipse((0, 0), 10, 5), pen(2, matrix=matrix), tolerance_mm=0.001)
    assert region.area == pytest.approx(2 * math.pi * (36 - 16), rel=1e-3)
    assert region.bounds == pytest.approx((-12, -6, 12, 6), abs=0.01)


@pytest.mark.parametrize(
    "matrix", [(0, 0, 0, 0, 0, 0), (1, 0, 0, 0, 0, 0), (1, 1, 1, 1, 0, 0), (math.nan, 0, 0, 1, 0, 0)]
)
def test_a_pen_squashed_to_a_line_paints_nothing(matrix):
    assert stroke_region(LINE, pen(2, matrix=tuple(map(float, matrix))), tolerance_mm=0.01).is_empty


@given(
    cap=st.sampled_from(["butt", "round", "square"]),
    join=st.sampled_from(["miter", "round", "bevel"]),
    seed=st.integers(0, 2**32 - 1),
    width=st.floats(0.2, 20),
    angle_deg=st.floats(0, 360),
)
def test_strokes_turn_and_mirror_with_their_path(cap, join, seed, width, angle_deg):
    path = random_path(seed)
    for matrix in (rotation(angle_deg), (-1.0, 0.0, 0.0, 1.0, 0.0, 0.0)):
        moved_after = apply_to_region(matrix, stroke_region(path, pen(width, cap=cap, join=join), tolerance_mm=0.02))
        options = {"cap": cap, "join": join, "matrix": matrix}
        moved_before = stroke_region(path.transformed(matrix), pen(width, **options), tolerance_mm=0.02)
        assert moved_before.is_valid
        difference = shapely.symmetric_difference(moved_after, moved_before)
        assert shapely.buffer(difference, -0.05).is_empty


@settings(max_examples=40)  # of some 40 ms
@given(seed=st.integers(0, 2**32 - 1), width=st.floats(0.2, 20))
def test_round_strokes_against_the_buffer_of_geos(seed, width):
    path = random_path(seed)
    region = stroke_region(path, pen(width, cap="round", join="round"), tolerance_mm=0.01)
    # chord by chord: around a whole line GEOS simplifies hollow bends first, and is off by over 2 % of the distance
    chords = [shapely.linestrings(np.stack([points[:-1], points[1:]], axis=1)) for points in _parts(path)]
    buffers = shapely.buffer(np.concatenate(chords), width / 2, quad_segs=32)
    difference = shapely.symmetric_difference(region, shapely.union_all(buffers))
    assert shapely.buffer(difference, -0.02).is_empty


def _parts(path: Path) -> list[np.ndarray]:
    from core.geometry.flattening import flatten

    return flatten(path, 0.003).parts()


@given(seed=st.integers(0, 2**32 - 1), closed=st.booleans())
def test_wider_strokes_contain_narrower_ones(seed, closed):
    path = random_path(seed, closed=closed)
    options = {"cap": "round", "join": "round"}
    narrow, wide = (stroke_region(path, pen(width, **options), tolerance_mm=0.01) for width in (1.0, 2.0))
    assert subtracted(narrow, shapely.buffer(wide, 0.02)).area < 1e-6
    assert narrow.area <= wide.area


@pytest.mark.parametrize("width", [0.0, -1.0, math.nan, math.inf])
def test_widths_that_make_no_sense_paint_nothing(width):
    stroke = Stroke(colour="#000000", width=width, width_mm=0.0)
    assert stroke_region(LINE, stroke, tolerance_mm=0.01).is_empty


def test_butt_ends_of_curves_are_square_to_the_curve():
    """A quarter circle of radius 10, flattened coarsely: its ends lie on the axes all the same."""
    arc = PathBuilder()
    arc.arc(0, 0, 10, 0, 0, 10, 0.0, math.pi / 2)
    region = stroke_region(arc.build(), pen(6), tolerance_mm=0.1)
    assert region.bounds[0] == pytest.approx(0, abs=1e-9)
    assert region.bounds[1] == pytest.approx(0, abs=1e-9)
    assert region.area == pytest.approx(math.pi / 4 * (13**2 - 7**2), rel=0.01)


# ---- dashes


def dashed(*dashes: float, offset: float = 0.0, cap: str = "butt") -> Stroke:
    return pen(1, dashes=dashes, dash_offset=offset, cap=cap)


@pytest.mark.parametrize(
    ("dashes", "offset", "spans"),
    [
        ((4.0, 2.0), 0.0, [(0, 4), (6, 10)]),
        ((4.0, 2.0), 1.0, [(0, 3), (5, 9)]),
        ((4.0, 2.0), -1.0, [(1, 5), (7, 10)]),
        ((3.0,), 0.0, [(0, 3), (6, 9)]),
        ((1.0, 1.0, 2.0), 0.0, [(0, 1), (2, 4), (5, 6), (8, 9)]),
        ((20.0, 1.0), 0.0, [(0, 10)]),
        ((0.0, 0.0), 0.0, [(0, 10)]),
        ((-1.0, 2.0), 0.0, [(0, 10)]),
        ((1e-9, 1e-9), 0.0, [(0, 10)]),
    ],
)
def test_dashes(dashes, offset, spans):
    """SVG 2, 13.5.6: an odd list is doubled; a sum of nothing or a negative length means solid, as does too fine."""
    region = stroke_region(LINE, dashed(*dashes, offset=offset), tolerance_mm=0.01)
    found = sorted(part.bounds[::2] for part in shapely.get_parts(region))
    assert np.array(found) == pytest.approx(np.array(spans, float), abs=1e-6)


def test_dots_are_dashes_of_no_length_with_caps():
    dots = stroke_region(LINE, dashed(0, 3, cap="round"), tolerance_mm=FINE_MM)
    assert sorted(part.centroid.x for part in dots.geoms) == pytest.approx([0, 3, 6, 9], abs=1e-3)
    assert dots.area == pytest.approx(4 * math.pi / 4, rel=1e-3)


def test_the_last_dash_of_a_closed_line_runs_on_into_the_first():
    region = stroke_region(square(0, 0, 10), dashed(5, 5, offset=2.5), tolerance_mm=0.01)
    # 5 mm dashes centred on the corners, the one at the start included
    assert len(region.geoms) == 4
    assert {round(part.area, 6) for part in region.geoms} == {5.0}


def test_dashes_on_a_curve_have_their_length_along_it():
    region = stroke_region(ellipse((0, 0), 10, 10), dashed(math.pi, math.pi), tolerance_mm=0.01)
    assert len(region.geoms) == 10
    assert [part.area for part in region.geoms] == pytest.approx([math.pi] * 10, rel=2e-3)


# ---- shapes


def shape(**options: object) -> Shape:
    return Shape(id="s", kind="path", path=square(0, 0, 10), **options)


def test_fill_and_stroke_are_united():
    region = painted_region(shape(fill="#000000", stroke=pen(2)), tolerance_mm=0.01)
    assert (region.geom_type, region.area) == ("Polygon", pytest.approx(144))


def test_thin_strokes_are_left_out_when_asked():
    both = shape(fill="#808080", stroke=pen(2))
    assert painted_region(both, tolerance_mm=0.01, line_width_mm=2.0).area == pytest.approx(100)
    assert painted_region(both, tolerance_mm=0.01, line_width_mm=1.9).area == pytest.approx(144)
    assert painted_region(shape(stroke=pen(2)), tolerance_mm=0.01, line_width_mm=2.0).is_empty


def test_a_thin_stroke_in_the_colour_of_its_fill_widens_it():
    both = shape(fill="#000000", stroke=pen(0.2))
    assert painted_region(both, tolerance_mm=0.01, line_width_mm=0.3).area == pytest.approx(10.2**2)


def test_clips_hold_and_areas_win():
    clip = shapely.box(-100, -100, 5, 100)
    assert painted_region(shape(fill="#000000", clip=clip), tolerance_mm=0.01).area == pytest.approx(50)
    area = shapely.box(0, 0, 1, 1)
    assert painted_region(shape(fill="#000000", area=area), tolerance_mm=0.01).equals(area)


def test_many_shapes_at_once_give_what_each_gives_alone():
    random = np.random.default_rng(3)
    shapes = [
        Shape(
            id=str(seed),
            kind="path",
            path=random_path(seed, closed=bool(seed % 2)),
            fill="#000000" if seed % 3 else None,
            fill_rule="evenodd" if seed % 4 == 0 else "nonzero",
            stroke=pen(float(random.random() * 3)) if seed % 5 else None,
        )
        for seed in range(40)
    ]
    regions, findings = painted_regions(shapes, tolerance_mm=0.02)
    assert findings == ()
    for one, region in zip(shapes, regions, strict=True):
        assert region.equals_exact(painted_region(one, tolerance_mm=0.02), 1e-9)


def test_a_hopeless_shape_is_named_and_the_others_still_come(monkeypatch):
    monkeypatch.setattr("core.geometry.engine.MAX_CROSSINGS", 2000)
    tangle = polyline(np.random.default_rng(1).random((1_600, 2)) * 100, closed=True)
    shapes = [shape(fill="#000000"), replace(shape(fill="#000000"), id="t", path=tangle)]
    regions, findings = painted_regions(shapes, tolerance_mm=0.01)
    assert regions[0].area == pytest.approx(100)
    assert regions[1].is_empty
    assert [(finding.code, finding.shape_ids) for finding in findings] == [("too-tangled", ("t",))]


# ---- regions together


@given(seed=st.integers(0, 2**32 - 1))
def test_union_is_idempotent_and_no_larger_than_the_sum(seed):
    regions = [filled_region(random_path(seed + i), "nonzero", tolerance_mm=0.05) for i in range(3)]
    whole = united(regions)
    assert whole.is_valid
    assert whole.area <= sum(region.area for region in regions) + 1e-6
    assert whole.area >= max(region.area for region in regions) - 1e-6
    assert united([whole, *regions]).area == pytest.approx(whole.area, rel=1e-6)
    assert whole.area == pytest.approx(shapely.union_all(regions).area, rel=1e-5)


@given(seed=st.integers(0, 2**32 - 1))
def test_what_is_shared_and_what_is_left_make_up_the_whole(seed):
    a, b = (filled_region(random_path(seed + i), "evenodd", tolerance_mm=0.05) for i in range(2))
    assert subtracted(a, b).area + shared(a, b).area == pytest.approx(a.area, rel=1e-6, abs=1e-6)


def test_the_union_of_nothing_is_nothing():
    assert united([]).is_empty
    assert united([shapely.MultiPolygon()]).is_empty


@pytest.mark.parametrize(
    ("size_mm", "tolerance_mm"),
    [((300, 200), 0.01), ((6.35, 6.35), 6.35e-4), ((0, 0), 1e-4), ((math.nan, 1), 0.01), ((90e3, 60e3), 0.3)],
)
def test_small_drawings_are_flattened_finer_and_buildings_coarser(size_mm, tolerance_mm):
    assert region_tolerance_mm(*size_mm) == pytest.approx(tolerance_mm)


def test_scaling_a_pen_scales_its_area():
    path = CORNER.transformed(scaling(3, 3))
    small = stroke_region(CORNER, pen(2), tolerance_mm=FINE_MM).area
    assert stroke_region(path, pen(2, matrix=scaling(3, 3)), tolerance_mm=FINE_MM).area == pytest.approx(9 * small)


def test_another_line_width_works_out_thin_strokes_only(monkeypatch):
    thin = replace(shape(stroke=pen(0.2)), id="thin")
    drawing = Drawing(shapes=(shape(fill="#000000"), thin), width_mm=10, height_mm=10, units_from="mm")
    whole = drawing_regions(drawing)
    asked, real = [], painting.painted_regions
    monkeypatch.setattr(
        painting, "painted_regions", lambda shapes, **rest: asked.append(shapes) or real(shapes, **rest)
    )
    lines = drawing_regions(drawing, line_width_mm=0.3)
    assert asked == [[thin]]
    assert lines[0] is whole[0]
    assert lines[1].is_empty and not whole[1].is_empty
