"""Gaussian blur as paint that fades (Filter Effects 1, feGaussianBlur: convolution with a normal distribution).

A strip of width w is covered at x from its middle by F((x + w/2) / s) - F((x - w/2) / s), F the normal distribution
function, s the standard deviation.
"""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.painting import painted_regions
from core.artwork.svg import read_svg
from core.artwork.svg.blurring import covered_parts
from core.artwork.svg.limits import BLUR_COST, MAX_BLURRED_SEGMENTS

MM_PER_PX = 25.4 / 96
DEVIATION_PX = 4.0
BLUR = f'<feGaussianBlur stdDeviation="{DEVIATION_PX}"/>'
WIDE = 'filterUnits="userSpaceOnUse" x="-500" y="-2000" width="2000" height="5000"'


def read(body: str, blur: str = BLUR, region: str = WIDE) -> Drawing:
    return read_svg(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="100" height="100"><filter id="f" {region}>{blur}</filter>'
        f"{body}</svg>".encode(),
        ReadOptions(tolerance_mm=0.005),
    )


def bounds_px(drawing: Drawing) -> list[float]:
    regions, _ = painted_regions(drawing.shapes, tolerance_mm=0.005)
    return [float(value) / MM_PER_PX for value in shapely.union_all(regions).bounds]


def width_px(width: float, opacity: float) -> float:
    """How much of a strip's width is at least half opaque, by bisection; 0 for none."""

    def opaque(x: float) -> float:
        root = DEVIATION_PX * math.sqrt(2)
        return opacity * (math.erf((x + width / 2) / root) - math.erf((x - width / 2) / root)) / 2

    if opaque(0) < 0.5:
        return 0.0
    low, high = 0.0, width
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if opaque(middle) >= 0.5 else (low, middle)
    return 2 * low


@pytest.mark.parametrize("width", [4, 6, 10, 60])
@pytest.mark.parametrize("opacity", [0.45, 0.6, 0.8, 1.0])
def test_a_strip_ends_where_it_is_half_opaque(width: float, opacity: float) -> None:
    strip = f'<rect x="{50 - width / 2}" y="-100" width="{width}" height="300" opacity="{opacity}" filter="url(#f)"/>'
    drawing = read(strip)
    expected = width_px(width, opacity)
    assert len(drawing.shapes) == (expected > 0)
    if expected:
        x0, _, x1, _ = bounds_px(drawing)
        assert x1 - x0 == pytest.approx(expected, abs=0.1)
        assert (x0 + x1) / 2 == pytest.approx(50, abs=0.02)
        assert "blur" in {one.code for one in drawing.findings}


def test_two_blurs_on_one_another_and_the_scale_count() -> None:
    half = DEVIATION_PX / math.sqrt(2) / 2
    twice = f'<feGaussianBlur stdDeviation="{half}"/>' * 2
    strip = '<g transform="scale(2)"><rect x="22.5" y="-50" width="5" height="150" opacity=".8" filter="url(#f)"/></g>'
    x0, _, x1, _ = bounds_px(read(strip, twice))
    assert x1 - x0 == pytest.approx(width_px(10, 0.8), abs=0.1)


def test_strokes_and_faint_paint_under_a_blur() -> None:
    stroke = '<path d="M50 20V80" stroke="#000" stroke-width="10" filter="url(#f)" opacity="{}"/>'
    x0, _, x1, _ = bounds_px(read(stroke.format(0.8)))
    assert x1 - x0 == pytest.approx(width_px(10, 0.8), abs=0.1)
    x0, _, x1, _ = bounds_px(read(stroke.format(0.45) * 2))  # 1 - (1 - 0.45 c)² = 1/2 at 0.45 c = 0.29289
    assert x1 - x0 == pytest.approx(width_px(10, 0.45 * 0.5 / 0.29289), abs=0.15)


def test_nothing_shows_outside_the_filter_region() -> None:
    strip = '<rect x="20" y="20" width="60" height="60" filter="url(#f)"/>'
    region = 'filterUnits="userSpaceOnUse" x="0" y="0" width="50" height="100"'
    assert bounds_px(read(strip, region=region))[2] == pytest.approx(50, abs=0.02)


def test_very_many_blurs_are_drawn_sharp_and_said() -> None:
    count = MAX_BLURRED_SEGMENTS // BLUR_COST + 5
    shapes = "".join(f'<rect x="{i % 10 * 10}" y="{i // 10}" width="8" height=".8"/>' for i in range(count))
    drawing = read(f'<g filter="url(#f)">{shapes}</g>')
    assert "too-much-blur" in {one.code for one in drawing.findings}


PLACES = st.integers(0, 1000).map(lambda n: n / 100)  # numbers next to nothing are too much for the reference
SIDES = st.integers(10, 600).map(lambda n: n / 100)


@given(st.lists(st.tuples(PLACES, PLACES, SIDES, SIDES), min_size=1, max_size=6), SIDES, SIDES)
def test_parts_of_cells_that_are_covered(boxes: list[tuple[float, float, float, float]], hole: float, d: float) -> None:
    slanted = shapely.Polygon([(hole, 0), (hole + d, 3 + hole), (0, 3 + d)])
    region = shapely.union_all([shapely.box(x, y, x + w, y + h) for x, y, w, h in boxes]).difference(slanted)
    x, y = np.linspace(-1, 17, 14), np.linspace(-0.5, 18, 12)
    cells = shapely.box(x[None, :-1], y[:-1, None], x[None, 1:], y[1:, None])
    expected = shapely.area(shapely.intersection(cells, region)) / shapely.area(cells)
    assert np.abs(covered_parts(region, x, y) - expected).max() < 1e-9


@pytest.mark.parametrize(
    "effect",
    [
        '<feTurbulence baseFrequency="0.1"/>',
        '<feGaussianBlur in="FillPaint" stdDeviation="1"/>',
        '<feOffset dx="9"/><feDisplacementMap in="SourceGraphic" scale="9"/>',
    ],
)
def test_other_effects_are_left_out_and_named(effect: str) -> None:
    drawing = read('<rect x="20" y="20" width="60" height="60" filter="url(#f)"/>', effect)
    assert bounds_px(drawing) == pytest.approx([20, 20, 80, 80], abs=0.01)
    assert "filter" in {one.code for one in drawing.findings}


@pytest.mark.parametrize("deviation", ["-1", "0", "0 0", "nonsense"])
def test_a_blur_of_nothing_changes_nothing(deviation: str) -> None:
    effect = f'<feGaussianBlur stdDeviation="{deviation}"/>'
    drawing = read('<rect x="20" y="20" width="60" height="60" filter="url(#f)"/>', effect)
    assert bounds_px(drawing) == pytest.approx([20, 20, 80, 80], abs=0.01)
