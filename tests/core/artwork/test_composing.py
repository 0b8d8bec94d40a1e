"""Layers put together from small drawings written as SVG, 1 unit = 1 mm."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from core.artwork.composing import LayerArtwork, compose_layers
from core.artwork.drawing import Drawing, Finding, ReadOptions, SortOptions
from core.artwork.sorting.deciding import sort_shapes
from core.artwork.svg import read_svg
from core.geometry.path import ARC
from core.job.job import standard_layers
from core.sheet.stock import MIRRORED_ACRYLIC_3

# a circle loses at most its circumference times the flattening tolerance, 0.01 mm
LINE = 'fill="none" stroke="#000" stroke-width=".1"'


def drawn(body: str) -> Drawing:
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="60mm" viewBox="0 0 100 60">'
    return read_svg(f"{head}{body}</svg>".encode(), ReadOptions())


def composed(
    body: str, overrides: dict[str, str] | None = None, **options: object
) -> tuple[dict[str, LayerArtwork], tuple[Finding, ...]]:
    drawing, how = drawn(body), SortOptions(**options)
    layer_of = {one.shape_id: one.purpose for one in sort_shapes(drawing, how)} | (overrides or {})
    return compose_layers(drawing, layer_of, standard_layers(MIRRORED_ACRYLIC_3), how)


def codes(findings: tuple[Finding, ...]) -> list[str]:
    return [finding.code for finding in findings]


def test_overlapping_fills_burn_once():
    artwork, _ = composed('<rect x="10" y="10" width="20" height="10"/><rect x="20" y="10" width="20" height="10"/>')
    assert artwork["fill"].region.area == pytest.approx(300)


@given(st.lists(st.tuples(st.integers(0, 80), st.integers(0, 50), st.integers(1, 20)), min_size=1, max_size=8))
def test_the_fill_is_the_union_of_its_parts(squares):
    body = "".join(f'<rect x="{x}" y="{y}" width="{side}" height="{side}" fill="#123"/>' for x, y, side in squares)
    union = shapely.union_all([shapely.box(x, y, x + side, y + side) for x, y, side in squares])
    region = composed(body)[0]["fill"].region
    assert region.is_valid
    assert region.symmetric_difference(union).area < 1e-6


def test_a_knock_out_keeps_the_coat_and_is_asked_about():
    body = '<rect x="10" y="10" width="40" height="40"/><circle cx="30" cy="30" r="5" fill="#fff"/>'
    disc = math.pi * 25
    artwork, findings = composed(body)
    assert artwork["fill"].region.area == pytest.approx(1600 - disc, abs=0.01 * 10 * math.pi)
    assert "white-over-dark" in codes(findings)
    assert composed(body, white_keeps=True)[0]["fill"].region.area == pytest.approx(
        1600 - disc, abs=0.01 * 10 * math.pi
    )
    assert "white-over-dark" not in codes(composed(body, white_keeps=True)[1])
    assert composed(body, white_keeps=False)[0]["fill"].region.area == pytest.approx(1600)


def test_paint_over_a_knock_out_is_cleared_again():
    body = (
        '<rect x="10" y="10" width="40" height="40"/><circle cx="30" cy="30" r="10" fill="#fff"/>'
        '<circle cx="30" cy="30" r="5" fill="#c00"/>'
    )
    kept = math.pi * (100 - 25)
    assert composed(body)[0]["fill"].region.area == pytest.approx(1600 - kept, abs=0.01 * 30 * math.pi)


def test_doubled_lines_burn_once_with_a_finding():
    square = f'<rect x="10" y="10" width="20" height="20" {LINE}/>'
    artwork, findings = composed(square * 2)
    assert sum(length(path) for path in artwork["cut"].paths) == pytest.approx(80)
    assert "lines-burned-once" in codes(findings)


def test_a_shared_border_burns_once():
    body = f'<rect x="10" y="10" width="20" height="20" {LINE}/><rect x="30" y="10" width="20" height="20" {LINE}/>'
    artwork, findings = composed(body)
    assert sum(length(path) for path in artwork["cut"].paths) == pytest.approx(140)
    assert "lines-burned-once" in codes(findings)


def test_a_fill_across_a_cut_is_reported_at_its_place():
    body = f'<rect x="10" y="10" width="60" height="40" {LINE}/><rect x="60" y="20" width="20" height="10"/>'
    finding = next(finding for finding in composed(body)[1] if finding.code == "fill-across-cut")
    assert finding.x_mm == pytest.approx(70, abs=1)
    assert 20 <= finding.y_mm <= 30


def test_a_fill_outside_every_cut_is_reported():
    body = f'<rect x="10" y="10" width="30" height="40" {LINE}/><rect x="60" y="20" width="20" height="10"/>'
    assert "fill-outside-cut" in codes(composed(body)[1])


def test_a_sound_plate_has_nothing_to_report():
    body = f'<rect x="1" y="1" width="98" height="58" {LINE}/><rect x="60" y="20" width="20" height="10"/>'
    assert composed(body)[1] == ()


def test_arcs_stay_arcs_on_a_cut_layer():
    (path,) = composed(f'<circle cx="30" cy="30" r="5" {LINE}/>')[0]["cut"].paths
    assert set(path.kinds.tolist()) == {ARC}
    assert length(path) == pytest.approx(10 * math.pi)


def test_a_filled_shape_put_on_the_cut_layer_is_cut_along_its_outline():
    drawing = drawn('<rect x="10" y="10" width="20" height="10"/>')
    artwork, _ = composed('<rect x="10" y="10" width="20" height="10"/>', {drawing.shapes[0].id: "cut"})
    assert artwork["fill"].region.is_empty
    assert sum(length(path) for path in artwork["cut"].paths) == pytest.approx(60)


def test_a_line_put_on_the_fill_layer_fills_what_it_goes_round():
    body = f'<rect x="10" y="10" width="20" height="10" {LINE}/>'
    artwork, _ = composed(body, {drawn(body).shapes[0].id: "fill"})
    assert artwork["fill"].region.area == pytest.approx(200, rel=0.02)


def test_shapes_left_out_take_no_part():
    body = '<rect x="10" y="10" width="20" height="10"/>'
    artwork, _ = composed(body, {drawn(body).shapes[0].id: "leave out"})
    assert all(layer.region.is_empty and not layer.paths for layer in artwork.values())


def length(path: object) -> float:
    from core.geometry.flattening import path_length_mm

    return path_length_mm(path)  # type: ignore[arg-type]


def test_an_area_next_to_nothing_outside_a_cut_is_not_told_as_none():
    body = f'<rect x="10" y="10" width="30" height="40" {LINE}/><rect x="60" y="20" width="0.1" height="0.1"/>'
    finding = next(finding for finding in composed(body)[1] if finding.code == "fill-outside-cut")
    assert "(under 0.1 mm²)" in finding.message
