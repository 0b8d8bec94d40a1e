"""Reading SVG against the numbers of the specification's own example files.

Source: W3C, Scalable Vector Graphics (SVG) 2, chapters 8 (coordinate systems), 9 (paths), 10 (shapes), 13 (painting)
and appendix B.2 (elliptical arcs), with the example files triangle01, arcs01, arcs02, cubic01, quad01, polygon01,
rect02, fillrule and PreserveAspectRatio. Areas and lengths follow from the coordinates by elementary geometry unless
said otherwise.
"""

import math

import numpy as np
import pytest
import shapely

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.painting import painted_region
from core.artwork.svg import read_svg
from core.artwork.svg.path_data import parse_path
from core.artwork.svg.values import diagonal, parse_transform, parse_view_box, view_box_matrix
from core.geometry.affine import apply, compose, rotation, translation
from core.geometry.flattening import flatten, path_bounds_mm, path_length_mm
from core.geometry.path import ARC, Path, arc_points

FINE_MM = 1e-5
SHEET = 'width="1200mm" height="400mm" viewBox="0 0 1200 400"'


def path_of(text: str) -> Path:
    parsed = parse_path(text)
    assert parsed.error_at is None
    return parsed.path


def area_of(path: Path) -> float:
    """Signed, by the shoelace formula on a fine flattening."""
    (points,) = flatten(path, FINE_MM).parts()
    x, y = (points - points[0]).T
    return float(abs((x[:-1] * y[1:] - x[1:] * y[:-1]).sum() / 2))


def read_mm(body: str, attributes: str) -> Drawing:
    data = f'<svg xmlns="http://www.w3.org/2000/svg" {attributes}>{body}</svg>'.encode()
    return read_svg(data, ReadOptions())


def test_triangle01() -> None:
    text = "M 100 100 L 300 100 L 200 300 z"
    assert area_of(path_of(text)) == pytest.approx(20_000)
    assert path_length_mm(path_of(text)) == pytest.approx(200 + 2 * math.hypot(100, 200))
    drawing = read_mm(f'<path d="{text}"/>', 'width="4cm" height="4cm" viewBox="0 0 400 400"')
    assert painted_region(drawing.shapes[0], tolerance_mm=FINE_MM).area == pytest.approx(200)


@pytest.mark.parametrize(
    ("text", "area", "length"),
    [
        ("M300,200 h-150 a150,150 0 1,0 150,-150 z", 0.75 * math.pi * 150**2, 300 + 1.5 * math.pi * 150),
        ("M275,175 v-150 a150,150 0 0,0 -150,150 z", 0.25 * math.pi * 150**2, 300 + 0.5 * math.pi * 150),
    ],
)
def test_arcs01_wedges(text: str, area: float, length: float) -> None:
    path = path_of(text)
    assert area_of(path) == pytest.approx(area, rel=1e-6)
    assert path_length_mm(path) == pytest.approx(length, rel=1e-9)


@pytest.mark.parametrize(
    ("ry", "scaled", "length"),
    [
        (25, (27.9508, 27.9508), 87.8102),
        (50, (27.9132, 55.8264), 135.218),
        (75, (27.9062, 83.7187), 186.482),
        (100, (27.9038, 111.615), 239.370),
    ],
)
def test_arcs01_blips_have_their_radii_scaled_up(ry: float, scaled: tuple[float, float], length: float) -> None:
    """Clause 9.5.1 and B.2.5: chord (50, -25), radii 25 and ry, turned by -30 degrees; half turns after scaling.
    Lengths by numerical integration."""
    path = path_of(f"M650,325 a25,{ry} -30 0,1 50,-25")
    row = path.segments[0]
    assert np.hypot(*row[2:4]) == pytest.approx(scaled[0], rel=1e-5)
    assert np.hypot(*row[4:6]) == pytest.approx(scaled[1], rel=1e-5)
    assert row[0:2] == pytest.approx((675, 312.5))
    assert abs(row[7] - row[6]) == pytest.approx(math.pi)
    assert path_length_mm(path) == pytest.approx(length, rel=2e-5)


@pytest.mark.parametrize(
    ("flags", "centre", "turn_deg", "length", "chord_area"),
    [
        ("0,0", (225, 75), -90, 121.106, math.pi * 5000 / 4 - 2500),
        ("0,1", (125, 125), 90, 121.106, math.pi * 5000 / 4 - 2500),
        ("1,0", (125, 125), -270, 363.317, 0.75 * math.pi * 5000 + 2500),
        ("1,1", (225, 75), 270, 363.317, 0.75 * math.pi * 5000 + 2500),
    ],
)
def test_arcs02_flags(
    flags: str, centre: tuple[float, float], turn_deg: float, length: float, chord_area: float
) -> None:
    path = path_of(f"M 125,75 a100,50 0 {flags} 100,50")
    row = path.segments[0]
    assert path.kinds.tolist() == [ARC]
    assert row[0:2] == pytest.approx(centre)
    assert math.degrees(row[7] - row[6]) == pytest.approx(turn_deg)
    assert arc_points(path.segments, path.segments[:, 7])[0] == pytest.approx((225, 125))
    assert path_length_mm(path) == pytest.approx(length, rel=1e-5)
    assert area_of(path_of(f"M 125,75 a100,50 0 {flags} 100,50z")) == pytest.approx(chord_area, rel=1e-5)


def test_radii_that_do_not_reach_are_scaled_by_the_root_of_lambda() -> None:
    """B.2.5: negative radii count as positive; Lambda 25 multiplies both radii by 5."""
    assert path_length_mm(path_of("M0,0 a-5,5 0 0 0 10,0")) == pytest.approx(5 * math.pi)
    row = path_of("M0,0 a1,2 0 0 0 10,0").segments[0]
    assert (np.hypot(*row[2:4]), np.hypot(*row[4:6])) == pytest.approx((5, 10))


def test_a_mirrored_arc_is_the_arc_with_turn_and_sweep_reversed() -> None:
    """x' = 400 - x: rotation and sweep change sign, the large-arc flag stays; twice is the same again."""
    original = path_of("M125,75 a100,50 20 1,0 100,50")
    mirror = (-1.0, 0.0, 0.0, 1.0, 400.0, 0.0)
    written = path_of("M275,75 a100,50 -20 1,1 -100,50")
    share = np.linspace(0, 1, 50)

    def points(path: Path) -> np.ndarray:
        t = path.segments[:, 6, None] + (path.segments[:, 7] - path.segments[:, 6])[:, None] * share
        return arc_points(path.segments, t)

    assert points(original.transformed(mirror)) == pytest.approx(points(written), abs=1e-9)
    assert points(original.transformed(mirror).transformed(mirror)) == pytest.approx(points(original), abs=1e-9)


def test_cubic01_and_its_smooth_successor() -> None:
    path = path_of("M100,200 C100,100 250,100 250,200 S400,300 400,200")
    first, second = path.segments.reshape(-1, 4, 2)
    weights = np.array([1, 3, 3, 1]) / 8
    assert weights @ first == pytest.approx((175, 125))
    assert weights @ second == pytest.approx((325, 275))
    assert second[1] == pytest.approx((250, 300))
    assert path_length_mm(path.subpath(0)) == pytest.approx(475.747, rel=1e-5)
    assert path_length_mm(path_of("M100,200 C100,100 250,100 250,200")) == pytest.approx(237.874, rel=1e-5)
    assert area_of(path_of("M100,200 C100,100 250,100 250,200z")) == pytest.approx(9000, rel=1e-5)


def test_quad01_and_its_smooth_successor() -> None:
    path = path_of("M200,300 Q400,50 600,300 T1000,300")
    weights = np.array([1, 3, 3, 1]) / 8
    first, second = path.segments.reshape(-1, 4, 2)
    assert weights @ first == pytest.approx((400, 175))
    assert (3 * second[1] - second[0]) / 2 == pytest.approx((800, 550))
    assert path_length_mm(path) == pytest.approx(975.542, rel=1e-5)
    assert area_of(path_of("M200,300 Q400,50 600,300z")) == pytest.approx(33_333.3, rel=1e-5)


STAR = "M 250,75 L 323,301 131,161 369,161 177,301 z"


@pytest.mark.parametrize(("rule", "area"), [("nonzero", 17_523.2), ("evenodd", 12_108.5)])
def test_fill_rules_on_the_star(rule: str, area: float) -> None:
    """Areas by numerical overlay of the star's five triangles and its core (5414.77)."""
    assert area_of(path_of(STAR)) == pytest.approx(22_938)
    drawing = read_mm(f'<path fill-rule="{rule}" d="{STAR}"/>', SHEET)
    assert painted_region(drawing.shapes[0], tolerance_mm=FINE_MM).area == pytest.approx(area, rel=1e-5)


@pytest.mark.parametrize(
    ("rule", "sweep", "area"),
    [
        ("nonzero", 1, math.pi * 107**2),
        ("evenodd", 1, math.pi * (107**2 - 49**2)),
        ("nonzero", 0, math.pi * (107**2 - 49**2)),
        ("evenodd", 0, math.pi * (107**2 - 49**2)),
    ],
)
def test_fill_rules_on_rings(rule: str, sweep: int, area: float) -> None:
    outer = "M 600,81 A 107,107 0 0,1 600,295 A 107,107 0 0,1 600,81 z"
    inner = f"M 600,139 A 49,49 0 0,{sweep} 600,237 A 49,49 0 0,{sweep} 600,139 z"
    drawing = read_mm(f'<path fill-rule="{rule}" d="{outer}{inner}"/>', SHEET)
    assert painted_region(drawing.shapes[0], tolerance_mm=0.001).area == pytest.approx(area, rel=1e-4)


@pytest.mark.parametrize(
    ("points", "area", "length"),
    [
        ("350,75 379,161 469,161 397,215 423,301 350,250 277,301 303,215 231,161 321,161", 18_055, 899.306),
        ("850,75 958,137.5 958,262.5 850,325 742,262.6 742,137.5", 40_505.4, 749.173),
    ],
)
def test_polygon01(points: str, area: float, length: float) -> None:
    drawing = read_mm(f'<polygon points="{points}"/>', SHEET)
    path = drawing.shapes[0].path
    assert area_of(path) == pytest.approx(area, rel=1e-5)
    assert path_length_mm(path) == pytest.approx(length, rel=1e-5)


def test_rect02_rounded_by_one_radius() -> None:
    drawing = read_mm(
        '<rect x="100" y="100" width="400" height="200" rx="50"/>',
        SHEET,
    )
    path = drawing.shapes[0].path
    assert area_of(path) == pytest.approx(80_000 - (4 - math.pi) * 2500, rel=1e-6)
    assert path_length_mm(path) == pytest.approx(800 + 2 * math.pi * 50)


def test_ellipse_turned() -> None:
    drawing = read_mm(
        '<ellipse transform="translate(900 200) rotate(-30)" rx="250" ry="100"/>',
        SHEET,
    )
    path = drawing.shapes[0].path
    x0, y0, x1, y1 = path_bounds_mm(path, FINE_MM)
    assert area_of(path) == pytest.approx(math.pi * 25_000, rel=1e-6)
    assert ((x1 - x0) / 2, (y1 - y0) / 2) == pytest.approx((222.205, 152.069), rel=1e-5)
    assert path_length_mm(path) == pytest.approx(1150.66, rel=1e-5)


@pytest.mark.parametrize(
    ("box", "size", "fit", "matrix"),
    [
        ("0 0 30 40", (50, 30), "xMinYMin meet", (0.75, 0.75, 0, 0)),
        ("0 0 30 40", (50, 30), "xMidYMid meet", (0.75, 0.75, 13.75, 0)),
        ("0 0 30 40", (50, 30), "xMaxYMax meet", (0.75, 0.75, 27.5, 0)),
        ("0 0 30 40", (50, 30), "xMinYMin slice", (5 / 3, 5 / 3, 0, 0)),
        ("0 0 30 40", (50, 30), "xMidYMid slice", (5 / 3, 5 / 3, 0, -18.3333)),
        ("0 0 30 40", (50, 30), "xMaxYMax slice", (5 / 3, 5 / 3, 0, -36.6667)),
        ("0 0 30 40", (30, 60), "xMidYMin meet", (1, 1, 0, 0)),
        ("0 0 30 40", (30, 60), "xMidYMid", (1, 1, 0, 10)),
        ("0 0 30 40", (30, 60), "xMidYMax meet", (1, 1, 0, 20)),
        ("0 0 30 40", (30, 60), "xMidYMid slice", (1.5, 1.5, -7.5, 0)),
        ("0 0 30 40", (30, 60), "xMaxYMid slice", (1.5, 1.5, -15, 0)),
        ("0 0 1500 1000", (300, 200), "none", (0.2, 0.2, 0, 0)),
        ("0 0 1500 1000", (150, 200), "none", (0.1, 0.2, 0, 0)),
        ("-50 -20 200 100", (100, 100), None, (0.5, 0.5, 25, 35)),
    ],
)
def test_view_box(box: str, size: tuple[float, float], fit: str | None, matrix: tuple[float, ...]) -> None:
    parsed = parse_view_box(box)
    assert parsed is not None
    a, b, c, d, e, f = view_box_matrix(parsed, *size, fit)
    assert (a, d, e, f) == pytest.approx(matrix, rel=1e-5)
    assert (b, c) == (0, 0)


def test_arcs01_on_its_sheet_in_mm() -> None:
    """120 x 52.5 mm, viewBox 0 0 1200 400, default fit: scale 0.1, 6.25 mm down."""
    drawing = read_mm(
        '<rect x="100" y="0" width="10" height="10"/>', 'width="12cm" height="5.25cm" viewBox="0 0 1200 400"'
    )
    assert (drawing.width_mm, drawing.height_mm) == pytest.approx((120, 52.5))
    assert path_bounds_mm(drawing.shapes[0].path) == pytest.approx((10, 6.25, 11, 7.25))


def test_units_and_percentages() -> None:
    """8.9: 1 % of the diagonal measure of 4000 x 2000 is 31.62; an inch is 96 px."""
    assert 0.01 * diagonal((4000, 2000)) == pytest.approx(31.6228, rel=1e-5)
    drawing = read_mm('<rect width="1in" height="1px"/>', 'width="192" height="96"')
    assert drawing.width_mm == pytest.approx(50.8)
    assert path_bounds_mm(drawing.shapes[0].path) == pytest.approx((0, 0, 25.4, 25.4 / 96))


def test_nested_transforms() -> None:
    """8.4: translate(50, 90) rotate(-45) translate(130, 160) moves the origin to (255.06, 111.21)."""
    parts = compose(compose(translation(50, 90), rotation(-45)), translation(130, 160))
    parsed = parse_transform("translate(50,90) rotate(-45) translate(130,160)")
    assert parsed == pytest.approx(parts)
    assert apply(parts, np.zeros(2)) == pytest.approx((255.061, 111.213), rel=1e-5)
    drawing = read_mm(
        '<g transform="translate(50,90)"><g transform="rotate(-45)"><g transform="translate(130,160)">'
        '<path d="M0 0h1v1z"/></g></g></g>',
        'width="400mm" height="400mm" viewBox="0 0 400 400"',
    )
    assert drawing.shapes[0].path.start_points[0] == pytest.approx((255.061, 111.213), rel=1e-5)


def test_a_quarter_circle_by_a_cubic_is_as_near_as_is_known() -> None:
    """kappa = 4/3 tan(pi/8): the radius is off by at most 2.7253e-4 (numerically)."""
    k = 4 / 3 * math.tan(math.pi / 8)
    assert k == pytest.approx(0.552285, abs=1e-6)
    path = path_of(f"M1 0C1 {k} {k} 1 0 1")
    points = flatten(path, 1e-7).points
    assert np.abs(np.hypot(*points.T) - 1).max() == pytest.approx(2.7253e-4, rel=1e-3)


def test_area_of_the_annulus_is_found_in_mm() -> None:
    drawing = read_mm(
        '<circle cx="20" cy="20" r="8" fill="none" stroke="black" stroke-width="4"/>',
        'width="40mm" height="40mm" viewBox="0 0 40 40"',
    )
    region = painted_region(drawing.shapes[0], tolerance_mm=1e-4)
    assert region.area == pytest.approx(math.pi * (100 - 36), rel=1e-4)
    assert not shapely.intersects(region, shapely.Point(20, 20))
