"""Corners of SVG 1.1 and SVG 2 that files do meet, as areas in px² worked out by hand, the clause beside each."""

import math

import pytest
import shapely

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.painting import painted_regions
from core.artwork.svg import read_svg

MM_PER_PX = 25.4 / 96
FADE = '<stop offset=".5"/><stop offset=".5" stop-opacity="0"/>'


def read(body: str) -> Drawing:
    data = f'<svg xmlns="http://www.w3.org/2000/svg" width="100" height="100">{body}</svg>'
    return read_svg(data.encode(), ReadOptions(tolerance_mm=0.005))


def area_px(body: str) -> float:
    regions, findings = painted_regions(read(body).shapes, tolerance_mm=0.005)
    assert not findings
    return float(shapely.union_all(regions).area) / MM_PER_PX**2


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ('<switch><desc/><title/><rect width="20" height="10"/></switch>', 200),  # SVG 2, 5.9: what can be shown
        ('<switch><rect requiredFeatures="http://no" width="9" height="9"/><rect width="5" height="5"/></switch>', 25),
        ('<ellipse cx="50" cy="50" rx="-9" ry="20"/>', math.pi * 400),  # SVG 2, 7.4: auto goes by the other one
        ('<circle cx="50" cy="50" r="-9"/>', 0),
        ('<path d="M10 10H50V50A9 9 0 2 1 10 10z"/>', 800),  # SVG 2, 9.5.4: drawn up to the mistake
        ('<path d="M10 10L50 10-5-5-1e1.5.5.5"/>', 328.875),
        ('<path d="M10 10H50V50L 10 50, ,10 10z"/>', 1600),  # SVG 2, 9.3.9: at most one comma, between numbers
        ('<path d="M10 10H50V50 L,10 50z"/>', 800),
        ('<path d="M10,10,50,10,A,20,20,0,0,1,10,10z"/>', 0),
        ('<path d="M10,10,H50,V50,H10,"/>', 1600),  # not in the grammar either, but whole
        ('<polygon points="10,10 50,10 50,50,,10,50"/>', 800),
        ('<svg width="-5" height="20"><rect width="30" height="30"/></svg>', 600),  # SVG 2, 7.2: invalid, so auto
        ('<svg width="0" height="20"><rect width="30" height="30"/></svg>', 0),
        ('<linearGradient id="l"><stop/></linearGradient><path d="M10 50H90" stroke="url(#l)" stroke-width="5"/>', 400),
        # SVG 2, 13.5.5: a right angle's miter, cut off square at a limit of 1.2: 10² less (10 (2^.5 - 1.2))²
        ('<path d="M10 50H50V10" fill="none" stroke="#000" stroke-width="20" stroke-linejoin="miter-clip" '
         'stroke-miterlimit="1.2"/>', 1600 - 100 * (2**0.5 - 1.2) ** 2),
        ('<style>:first-child{fill:none}</style><rect width="9" height="9" fill="red"/>', 81),
        ('<style>svg:first-child{fill:none}</style><rect width="9" height="9"/>', 0),  # Selectors 4, 13.2
        ('<clipPath id="c"><use href="#s"/></clipPath><symbol id="s"><rect width="50" height="50"/></symbol>'
         '<rect width="90" height="90" clip-path="url(#c)"/>', 0),  # CSS Masking 1, 6.1: use of shapes and text only
        ('<defs><rect id="r" width="20" height="10" fill="context-fill"/></defs><use href="#r" fill="none"/>', 0),
        ('<defs><rect id="r" width="20" height="10" fill="context-fill"/></defs><use href="#r" fill="red"/>', 200),
        ('<g style="transform:scale(.5);transform-box:fill-box;transform-origin:center">'
         '<rect x="-40" y="-40" width="100" height="100"/></g>', 2500),  # CSS Transforms 1, 8
    ],
)  # fmt: skip
def test_painted_area(body: str, expected: float) -> None:
    assert area_px(body) == pytest.approx(expected, rel=0.002)


def test_rem_is_the_font_size_of_the_root() -> None:
    """CSS Values 4, 6.1.1; em on the root element itself is the same size."""
    drawing = read_svg(
        b'<svg xmlns="http://www.w3.org/2000/svg" width="10em" height="5rem" font-size="20">'
        b'<g font-size="7"><rect width="2rem" height="1em"/></g></svg>',
        ReadOptions(),
    )
    assert drawing.width_mm == pytest.approx(200 * MM_PER_PX)
    assert drawing.height_mm == pytest.approx(100 * MM_PER_PX)
    regions, _ = painted_regions(drawing.shapes, tolerance_mm=1)
    assert [value / MM_PER_PX for value in regions[0].bounds] == pytest.approx([0, 0, 40, 7])


def test_transform_box_turns_about_the_shape_itself() -> None:
    turned = 'style="transform:rotate(90deg);transform-box:fill-box;transform-origin:50% 50%"'
    regions, _ = painted_regions(read(f'<rect x="30" y="60" width="40" height="20" {turned}/>').shapes, tolerance_mm=1)
    assert [value / MM_PER_PX for value in regions[0].bounds] == pytest.approx([40, 50, 60, 90])


@pytest.mark.parametrize(
    ("attributes", "expected"),
    [
        ('x2=".5" spreadMethod="nonsense"', 2500),  # lacuna value pad: one edge, a quarter along
        ('gradientTransform="scale(0)"', 5000),  # a transform that can't be undone is left out of account
    ],
)
def test_gradients_with_odd_attributes(attributes: str, expected: float) -> None:
    gradient = f'<linearGradient id="l" {attributes}>{FADE}</linearGradient>'
    assert area_px(f'{gradient}<rect width="100" height="100" fill="url(#l)"/>') == pytest.approx(expected, rel=0.01)


def test_a_focal_circle_around_the_end_circle_fills_outwards() -> None:
    """SVG 2, 14.2.3: radius falls from fr = 50 to r = 30, so the first half of the stops lies outside 40."""
    gradient = (
        f'<radialGradient id="l" gradientUnits="userSpaceOnUse" cx="50" cy="50" r="30" fr="50">{FADE}</radialGradient>'
    )
    assert area_px(f'{gradient}<rect width="100" height="100" fill="url(#l)"/>') == pytest.approx(
        10_000 - math.pi * 1600, rel=0.01
    )


def test_a_focus_outside_makes_a_cone() -> None:
    """SVG 2, 14.2.3: from a point 50 away, tangents to a circle of 30; beyond them nothing is painted."""
    gradient = (
        '<radialGradient id="l" gradientUnits="userSpaceOnUse" cx="70" cy="50" r="30" fx="20" fy="50">'
        "<stop/><stop offset='1' stop-opacity='.9'/></radialGradient>"
    )
    half = math.asin(30 / 50)
    cone = 80 * 80 * math.tan(half)
    above_the_page = (80 * math.tan(half) - 50) ** 2 / math.tan(half)
    painted = area_px(f'{gradient}<rect width="100" height="100" fill="url(#l)"/>')
    assert painted == pytest.approx(cone - above_the_page, rel=0.01)


@pytest.mark.parametrize("cap", ["butt", "round", "square"])
@pytest.mark.parametrize(("dashes", "offset"), [("5 0", 0), ("5 0 0 0", 2), ("10 5", 1000), ("10 10", 1e6)])
def test_dashes_that_end_where_the_line_turns(cap: str, dashes: str, offset: float) -> None:
    stroke = f'stroke="#000" stroke-width="4" stroke-linecap="{cap}" stroke-dasharray="{dashes}"'
    drawn = area_px(f'<path d="M10 50h20v0h20" {stroke} stroke-dashoffset="{offset}"/>')
    end = {"butt": 0.0, "round": math.pi * 2, "square": 8.0}[cap]  # half a pen
    count, length = {"5 0": (1, 40), "5 0 0 0": (1, 40), "10 5": (3, 30 - 5), "10 10": (2, 20)}[dashes]
    assert drawn == pytest.approx(4 * length + 2 * end * count, rel=0.02)
