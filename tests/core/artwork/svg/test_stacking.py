"""See-through paint: where it adds up to more paint than ground. Opacities are worked out by hand with "over" (CSS
Compositing and Blending 1, 5.1: 1 - (1 - a)(1 - b)); group opacity counts on the group as a whole (SVG 2, 3.5)."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import ReadOptions
from core.artwork.painting import painted_regions
from core.artwork.svg import read_svg
from core.artwork.svg.compositing import area_above

MM_PER_PX = 25.4 / 96


def area_px(body: str, defs: str = "") -> float:
    """Painted area of a drawing of 100 by 100 px, in px²."""
    data = f'<svg xmlns="http://www.w3.org/2000/svg" width="100" height="100"><defs>{defs}</defs>{body}</svg>'
    drawing = read_svg(data.encode(), ReadOptions(tolerance_mm=0.005))
    regions, findings = painted_regions(drawing.shapes, tolerance_mm=0.005)
    assert not findings
    return float(shapely.union_all(regions).area) / MM_PER_PX**2


def rect(opacity: float, x: float = 0, width: float = 60, more: str = "") -> str:
    return f'<rect x="{x}" y="10" width="{width}" height="80" fill-opacity="{opacity!r}" {more}/>'


def fade(name: str, first: float, last: float, more: str = "") -> str:
    """A gradient from left to right over the page."""
    return (
        f'<linearGradient id="{name}" gradientUnits="userSpaceOnUse" x1="0" x2="100" {more}>'
        f'<stop stop-opacity="{first}"/><stop offset="1" stop-opacity="{last}"/></linearGradient>'
    )


@pytest.mark.parametrize(("opacity", "painted"), [(0.49, 0), (0.5, 1), (0.49999997, 0), (0.51, 1)])
@pytest.mark.parametrize("written", ["fill-opacity", "opacity", "group"])
def test_half_is_painted_and_less_is_not(opacity: float, painted: int, written: str) -> None:
    shape = {
        "fill-opacity": rect(opacity),
        "opacity": rect(1.0, more=f'opacity="{opacity!r}"'),
        "group": f'<g opacity="{opacity!r}">{rect(1.0)}{rect(1.0)}</g>',
    }[written]
    assert area_px(shape) == pytest.approx(4800 * painted, abs=1)


def test_two_together_are_painted_where_they_overlap() -> None:
    assert area_px(rect(0.3) + rect(0.3, x=40)) == pytest.approx(20 * 80, abs=1)  # 1 - 0.7² = 0.51
    assert area_px(rect(0.29) + rect(0.29, x=40)) == 0  # 1 - 0.71² = 0.496


def test_the_opacity_of_a_group_counts_once() -> None:
    inner = rect(0.7) + rect(0.7, x=40)
    assert area_px(f'<g opacity=".6">{inner}</g>') == pytest.approx(20 * 80, abs=1)  # 0.6 (1 - 0.3²) = 0.546
    assert area_px(f'<g opacity=".54">{inner}</g>') == 0  # 0.491; one by one they would come to 0.61
    assert area_px(f'<g opacity=".7"><g opacity=".8">{inner}</g></g>') == pytest.approx(20 * 80, abs=1)  # 0.51
    assert area_px(f'<g opacity=".3">{inner}</g>' * 2) == pytest.approx(0, abs=1)  # 1 - (1 - 0.273)² = 0.471
    assert area_px(f'<g opacity=".33">{inner}</g>' * 2) == pytest.approx(20 * 80, abs=1)  # 1 - (1 - 0.3003)² = 0.51


def test_gradients_on_one_another_end_where_they_add_up_to_half() -> None:
    page = '<rect width="100" height="100" fill="url(#a)"/>'
    # 1 - (1 - (1 - x) / 2)² = 1/2 at x = √2 - 1
    assert area_px(page * 2, fade("a", 0.5, 0)) == pytest.approx(100 * 100 * (math.sqrt(2) - 1), rel=2e-3)
    # 1 - x (1 - x), each from 0 to 1 the other way, is above one half everywhere
    other = page.replace("#a", "#b")
    assert area_px(page + other, fade("a", 1, 0) + fade("b", 0, 1)) == pytest.approx(100 * 100, rel=1e-3)
    # a fade over 0.4: 1 - 0.6 x = 1/2 at x = 5/6
    assert area_px(page + '<rect width="100" height="100" opacity=".4"/>', fade("a", 1, 0)) == pytest.approx(
        100 * 100 * 5 / 6, rel=2e-3
    )


def test_round_gradients_on_one_another() -> None:
    stops = '<stop stop-opacity=".5"/><stop offset="1" stop-opacity="0"/>'
    defs = f'<radialGradient id="a" gradientUnits="userSpaceOnUse" cx="50" cy="50" r="50">{stops}</radialGradient>'
    page = '<rect width="100" height="100" fill="url(#a)"/>'
    assert area_px(page * 2, defs) == pytest.approx(math.pi * (50 * (math.sqrt(2) - 1)) ** 2, rel=5e-3)


@pytest.mark.parametrize("spread", ["repeat", "reflect"])
def test_repeated_gradients_on_one_another(spread: str) -> None:
    defs = fade("a", 0, 0.5, f'spreadMethod="{spread}"').replace('x2="100"', 'x2="25"')
    page = '<rect width="100" height="100" fill="url(#a)"/>'
    # 1 - (1 - x / 2)² reaches 1/2 at x = 2 - √2, in each of four bands
    assert area_px(page * 2, defs) == pytest.approx(100 * 100 * (math.sqrt(2) - 1), rel=2e-2)


def test_a_soft_mask_counts_on_what_it_masks_as_a_whole() -> None:
    grey = '<mask id="m" mask-type="alpha" style="mask-type:alpha"><rect width="100" height="100" opacity=".4"/></mask>'
    solid = rect(1.0)
    assert area_px(f'<g mask="url(#m)">{solid}{solid}</g>', grey) == 0  # 0.4
    assert area_px(f'<g mask="url(#m)">{solid}</g>' * 2, grey) == pytest.approx(4800, abs=1)  # 1 - 0.6² = 0.64


def test_what_is_clipped_away_masks_nothing() -> None:
    defs = (
        '<clipPath id="c"><rect x="90" width="5" height="5"/></clipPath><mask id="m">'
        '<rect width="50" height="50" fill="#fff"/><rect y="20" width="50" height="9" clip-path="url(#c)"/></mask>'
    )
    assert area_px('<rect width="100" height="100" mask="url(#m)"/>', defs) == pytest.approx(2500, abs=1)


@settings(max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 8), st.integers(1, 9), st.integers(1, 49)), min_size=1, max_size=8))
def test_strips_add_up_as_their_opacities_say(strips: list[tuple[int, int, int]]) -> None:
    body = "".join(rect(alpha / 100, x=10 * x, width=10 * min(width, 10 - x)) for x, width, alpha in strips)
    expected = 0
    for place in range(10):
        seen = math.prod(1 - alpha / 100 for x, width, alpha in strips if x <= place < x + width)
        expected += 1 - seen > 0.5
    assert area_px(body) == pytest.approx(expected * 800, abs=1)


@given(st.integers(2, 9), st.integers(2, 9), st.data())
def test_the_outline_through_samples_parts_high_from_low(across: int, down: int, data: st.DataObject) -> None:
    tenths = data.draw(st.lists(st.integers(0, 10), min_size=across * down, max_size=across * down))
    values = np.array(tenths).reshape(down, across) / 10
    x, y = np.arange(across) * 1.5, np.arange(down) * 0.7
    region = area_above(values, x, y, 0.5)
    places = shapely.points(*np.meshgrid(x, y))
    if region is None:
        assert (values < 0.5).all()
        return
    assert region.is_valid
    assert (shapely.intersects(shapely.buffer(region, 1e-4), places) == (values >= 0.5)).all()
