"""Things that SVG 2 lets stand in more places than SVG 1.1 did, and what parts of a text may not have."""

import pytest
import shapely

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.painting import painted_regions
from core.artwork.svg import read_svg
from core.artwork.svg.conditions import condition_holds
from core.artwork.svg.document import Node


def read(body: str) -> Drawing:
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">'
    return read_svg(f"{head}{body}</svg>".encode(), ReadOptions())


def painted(body: str) -> shapely.Geometry:
    regions, _ = painted_regions(read(body).shapes, tolerance_mm=0.005)
    return shapely.union_all(regions)


def same(region: shapely.Geometry, expected: shapely.Geometry) -> bool:
    return region.symmetric_difference(expected).area < 1e-3 * max(expected.area, 1)


TURNED = 'transform="scale(2)" transform-origin="{}"'
SQUARE = '<rect x="45" y="45" width="10" height="10"{}/>'


@pytest.mark.parametrize(("origin", "box"), [("center", (40, 40, 60, 60)), ("0 0", (90, 90, 110, 110))])
def test_transform_origin_on_a_clip_path(origin: str, box: tuple[float, ...]) -> None:
    clip = f'<clipPath id="k" {TURNED.format(origin)}>{SQUARE.format("")}</clipPath>'
    region = painted(clip + '<rect width="100" height="100" clip-path="url(#k)"/>')
    assert same(region, shapely.box(*box) & shapely.box(0, 0, 100, 100))


def test_transform_origin_on_a_clip_path_fitted_to_its_element() -> None:
    clip = '<clipPath id="k" clipPathUnits="objectBoundingBox" transform="scale(2)" transform-origin="center">'
    region = painted(
        clip + '<rect x=".25" y=".25" width=".25" height=".25"/></clipPath>'
        '<rect x="20" y="20" width="40" height="40" clip-path="url(#k)"/>'
    )
    assert same(region, shapely.box(20, 20, 40, 40))


def test_transform_origin_on_patterns_and_gradients() -> None:
    pattern = (
        '<pattern id="p" patternUnits="userSpaceOnUse" width="100" height="100" patternTransform="scale(2)"'
        f' transform-origin="center">{SQUARE.format("")}</pattern>'
    )
    assert same(painted(pattern + '<rect width="100" height="100" fill="url(#p)"/>'), shapely.box(40, 40, 60, 60))
    half = '<stop offset=".5"/><stop offset=".5" stop-opacity="0"/>'
    turned = f'<linearGradient id="g" gradientTransform="rotate(180)" transform-origin="center">{half}</linearGradient>'
    region = painted(turned + '<rect width="100" height="100" fill="url(#g)"/>')
    assert same(region, shapely.box(50, 0, 100, 100))


def test_context_paint_through_use_is_fitted_to_the_use() -> None:
    fade = '<linearGradient id="g"><stop offset=".5"/><stop offset=".5" stop-opacity="0"/></linearGradient>'
    parts = '<g id="s" fill="context-fill"><rect width="10" height="10"/><rect x="30" width="10" height="10"/></g>'
    region = painted(f'{fade}<defs>{parts}</defs><use href="#s" fill="url(#g)"/>')
    assert same(region, shapely.box(0, 0, 10, 10))  # the left half of both together


def test_context_paint_in_markers() -> None:
    marker = (
        '<marker id="m" markerUnits="userSpaceOnUse" markerWidth="8" markerHeight="8" refX="4" refY="4">'
        '<rect width="8" height="8" fill="context-stroke"/></marker>'
    )
    line = '<path d="M20 20H60" stroke="{}" stroke-width="1" marker-start="url(#m)"/>'
    assert painted(marker + line.format("black")).area == pytest.approx(64 + 36, rel=1e-3)
    assert painted(marker + line.format("rgb(0 0 0 / .2)")).is_empty


@pytest.mark.parametrize(("inner", "outer", "shown"), [(".8", ".8", True), (".7", ".7", False), ("1", ".6", True)])
def test_masks_on_masks_multiply(inner: str, outer: str, shown: bool) -> None:
    masks = (
        f'<mask id="a"><rect width="100" height="100" fill="#fff" fill-opacity="{inner}"/></mask>'
        f'<mask id="b" mask-type="alpha" mask="url(#a)"><rect width="100" height="100" fill-opacity="{outer}"/></mask>'
    )
    assert painted(masks + '<rect width="10" height="10" mask="url(#b)"/>').is_empty is not shown


TEXT = '<text x="10" y="50" font-size="30" font-family="sans-serif">A<tspan {}>B</tspan>C</text>'


@pytest.mark.parametrize(
    "attribute", ['transform="scale(3)"', 'clip-path="url(#k)"', 'mask="url(#k)"', 'filter="url(#k)"', 'opacity=".1"']
)
def test_what_has_no_effect_on_parts_of_a_text(attribute: str) -> None:
    plain = painted(TEXT.format(""))
    assert not plain.is_empty
    assert same(painted('<clipPath id="k"/>' + TEXT.format(attribute)), plain)


def test_letters_are_kerned_across_elements_and_sizes_may_differ() -> None:
    whole = painted('<text x="10" y="50" font-size="30" font-family="sans-serif">AVA</text>')
    parts = painted('<text x="10" y="50" font-size="30" font-family="sans-serif">A<tspan fill="red">V</tspan>A</text>')
    assert same(parts, whole)


def test_lines_that_run_downwards() -> None:
    across = painted('<text x="50" y="10" font-size="20" font-family="sans-serif">AVEL</text>').bounds
    down = painted(
        '<text x="50" y="10" font-size="20" font-family="sans-serif" writing-mode="vertical-rl">AVEL</text>'
    ).bounds
    assert down[3] - down[1] == pytest.approx(across[2] - across[0], rel=0.02)  # turned with the line
    assert down[2] - down[0] == pytest.approx(across[3] - across[1], rel=0.02)
    assert down[0] < 50 < down[2] and down[1] >= 9


def test_text_on_all_subpaths_of_a_path() -> None:
    line = '<path id="l" d="M10 20H22M10 60H90" fill="none"/>'
    text = '<text font-size="10" font-family="sans-serif"><textPath href="#l">MMMM</textPath></text>'
    region = painted(line + text)
    assert region.bounds[1] < 20 < region.bounds[3] and region.bounds[3] > 50


def test_bolder_and_lighter_go_by_the_weight_around() -> None:
    drawing = '<g font-weight="{}" font-family="sans-serif" font-size="20"><text y="50" font-weight="{}">ME</text></g>'
    assert same(painted(drawing.format(400, "bolder")), painted(drawing.format(400, "700")))
    assert same(painted(drawing.format(700, "lighter")), painted(drawing.format(700, "400")))


def test_direction_is_overridden() -> None:
    plain = painted('<text x="10" y="50" font-size="20" font-family="sans-serif">OH</text>')
    turned = painted(
        '<text x="10" y="50" font-size="20" font-family="sans-serif"><tspan unicode-bidi="bidi-override"'
        ' direction="rtl">HO</tspan></text>'
    )
    assert same(turned, plain)


@pytest.mark.parametrize(
    ("languages", "drawn"),
    [("en", True), ("en-GB", True), ("de, en", True), ("de", False), ("eng", False), ("", False), (None, True)],
)
def test_the_one_language_rule(languages: str | None, drawn: bool) -> None:
    attributes = {} if languages is None else {"systemLanguage": languages}
    assert condition_holds(Node("g", attributes, None, 1)) is drawn
