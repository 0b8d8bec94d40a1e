"""Filters as painted areas (Filter Effects 1), on shapes whose areas are known."""

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.painting import painted_regions
from core.artwork.svg import read_svg

SQUARE = '<rect x="20" y="20" width="40" height="40" {}/>'
WHOLE = 'filterUnits="userSpaceOnUse" x="0" y="0" width="100" height="100"'
HALF_A_CELL = 100 / 480 / 2
"""What an outline may be off by."""

SRGB = 'color-interpolation-filters="sRGB"'


def read(body: str, effect: str = "", region: str = WHOLE) -> Drawing:
    return read_svg(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
        f'<filter id="f" {region}>{effect}</filter>{body}</svg>'.encode(),
        ReadOptions(),
    )


def painted(drawing: Drawing) -> shapely.Geometry:
    regions, _ = painted_regions(drawing.shapes, tolerance_mm=0.01)
    return shapely.union_all(regions)


def codes(drawing: Drawing) -> set[str]:
    return {one.code for one in drawing.findings}


def square(effect: str, region: str = WHOLE, more: str = "") -> shapely.Geometry:
    return painted(read(SQUARE.format(f'filter="url(#f)" {more}'), effect, region))


HARD_SHADOW = '<feDropShadow dx="10" dy="6" stdDeviation="0" flood-color="black"/>'
LONG_SHADOW = (
    '<feGaussianBlur in="SourceAlpha" stdDeviation="0"/><feOffset dx="10" dy="6" result="o"/><feFlood result="c"/>'
    '<feComposite in="c" in2="o" operator="in" result="s"/>'
    '<feMerge><feMergeNode in="s"/><feMergeNode in="SourceGraphic"/></feMerge>'
)


@pytest.mark.parametrize("effect", [HARD_SHADOW, LONG_SHADOW])
def test_a_hard_shadow_is_the_shape_moved(effect: str) -> None:
    region = square(effect)
    expected = shapely.box(20, 20, 60, 60) | shapely.box(30, 26, 70, 66)
    assert region.symmetric_difference(expected).area < 2.0
    assert shapely.box(20, 20, 60, 60).difference(region).area < 1e-6  # the shape itself stays exact


def test_a_soft_shadow_counts_where_it_is_more_than_half_opaque() -> None:
    # far from corners the middle of a blurred edge stays in place
    region = square('<feDropShadow dx="30" dy="0" stdDeviation="2" flood-color="black"/>')
    edge = region.intersection(shapely.LineString([(65, 40), (100, 40)]))
    assert edge.bounds[2] == pytest.approx(90, abs=0.15)


def test_a_faint_shadow_does_not_count() -> None:
    region = square('<feDropShadow dx="30" dy="0" stdDeviation="1" flood-color="black" flood-opacity="0.4"/>')
    assert region.area == pytest.approx(1600, abs=0.5)


def test_css_drop_shadow_and_blur() -> None:
    shadow = painted(read(SQUARE.format('style="filter: drop-shadow(10px 6px 0 black)"')))
    assert shadow.symmetric_difference(shapely.box(20, 20, 60, 60) | shapely.box(30, 26, 70, 66)).area < 1.5
    blurry = painted(read(SQUARE.format('style="filter: blur(2px)"')))
    assert 1500 < blurry.area < 1600


def test_an_offset_leaves_nothing_behind() -> None:
    assert (
        square('<feOffset dx="-12" dy="30"/>').symmetric_difference(shapely.box(8, 50, 48, 90)).area < 160 * HALF_A_CELL
    )


def test_a_flood_fills_the_filter_region_and_a_subregion() -> None:
    assert square("<feFlood/>").area == pytest.approx(100 * 100, rel=1e-3)
    part = square('<feFlood x="5" y="10" width="20" height="30"/>')
    assert part.symmetric_difference(shapely.box(5, 10, 25, 40)).area < 1.0
    by_box = square("<feFlood/>", "")  # ten per cent round the element
    assert by_box.symmetric_difference(shapely.box(16, 16, 64, 64)).area < 1.0


@pytest.mark.parametrize(("gain", "shown"), [("0.4", False), ("0.6", True)])
def test_a_colour_matrix_on_alpha(gain: str, shown: bool) -> None:
    values = f"1 0 0 0 0  0 1 0 0 0  0 0 1 0 0  0 0 0 {gain} 0"
    assert square(f'<feColorMatrix values="{values}"/>').area == pytest.approx(
        1600 if shown else 0, abs=160 * HALF_A_CELL
    )


@pytest.mark.parametrize(("operator", "side"), [("dilate", 46), ("erode", 34)])
def test_morphology_grows_and_shrinks(operator: str, side: float) -> None:
    assert square(f'<feMorphology operator="{operator}" radius="3"/>').area == pytest.approx(side**2, rel=0.02)


def test_a_mask_made_with_a_filter_lets_through_what_it_paints() -> None:
    mask = f'<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="100" height="100">{SQUARE}</mask>'
    flood = f'<feFlood flood-color="white" x="40" y="0" width="60" height="100" {SRGB}/>'
    body = mask.format('fill="#fff" filter="url(#f)"') + '<g mask="url(#m)"><rect width="100" height="100"/></g>'
    drawing = read(body, flood)
    assert painted(drawing).symmetric_difference(shapely.box(40, 0, 100, 100)).area < 1.5
    assert not drawing.missing


def test_luminance_to_alpha_in_a_mask() -> None:
    window = 'maskUnits="userSpaceOnUse" x="0" y="0" width="100" height="100"'
    mask = f'<mask id="m" mask-type="alpha" {window}><g filter="url(#f)">'
    two = '<rect width="50" height="100" fill="#fff"/><rect x="50" width="50" height="100" fill="#000"/></g></mask>'
    body = mask + two + '<g mask="url(#m)"><rect width="100" height="100"/></g>'
    region = painted(read(body, f'<feColorMatrix type="luminanceToAlpha" {SRGB}/>'))
    assert region.symmetric_difference(shapely.box(0, 0, 50, 100)).area < 1.5


def test_clip_and_opacity_of_the_element_come_after_its_filter() -> None:
    clip = '<clipPath id="k"><rect width="65" height="100"/></clipPath>'
    region = painted(read(clip + SQUARE.format('filter="url(#f)" clip-path="url(#k)"'), HARD_SHADOW))
    assert region.bounds[2] == pytest.approx(65)
    assert square(HARD_SHADOW, more='opacity="0.4"').is_empty


def test_all_shapes_of_a_filtered_group_are_accounted_for() -> None:
    body = f'<g filter="url(#f)">{SQUARE.format("")}<circle cx="70" cy="70" r="5"/><path d="M1 1h9v9z"/></g>'
    for effect in ('<feOffset dx="3"/>', HARD_SHADOW):
        drawing = read(body, effect)
        assert not drawing.missing
        assert "filtered" in codes(drawing)


def test_a_filter_turned_with_its_element() -> None:
    turned = painted(read(SQUARE.format('filter="url(#f)" transform="rotate(30 40 40)"'), '<feOffset dx="10"/>'))
    way = math.radians(30)
    assert turned.centroid.x == pytest.approx(40 + 10 * math.cos(way), abs=0.1)
    assert turned.centroid.y == pytest.approx(40 + 10 * math.sin(way), abs=0.1)
    assert turned.area == pytest.approx(1600, rel=0.01)


@settings(max_examples=8)
@given(st.integers(-15, 15), st.integers(-15, 15))
def test_moving_keeps_the_area(dx: int, dy: int) -> None:
    region = square(f'<feOffset dx="{dx}" dy="{dy}"/>')
    assert region.area == pytest.approx(1600, rel=0.005)
    assert (region.centroid.x, region.centroid.y) == pytest.approx((40 + dx, 40 + dy), abs=0.05)
