"""Values of the DXF Reference (HEADER section, Object Coordinate Systems, LWPOLYLINE, group codes) and of the ezdxf
1.4.5 documentation (DXF Units, OCS), and geometry worked out from them by hand."""

import math
from typing import Any

import numpy as np
import pytest
from ezdxf.math import OCS, bulge_center, bulge_radius

from core.artwork.drawing import ReadOptions
from core.artwork.dxf.curves import bulge_row, plane_map, polyline_outline
from core.artwork.dxf.reading import read_dxf
from core.artwork.dxf.sizes import INSUNITS
from core.geometry.affine import apply
from core.geometry.flattening import flatten, path_length_mm
from core.geometry.path import ARC, Path, arc_points
from tests.core.artwork.dxf.made import drawn, dxf_bytes

DXF_UNITS = {
    1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 9: 0.0254, 10: 914.4, 13: 0.001, 14: 100.0,
}  # fmt: skip
"""mm per unit of $INSUNITS codes: DXF Reference, HEADER section, group 70; inch of NIST SP 811, App. B."""

ALL_UNITS_IN_M = {
    1: 0.0254, 2: 0.3048, 3: 1609.344, 4: 1e-3, 5: 1e-2, 6: 1.0, 7: 1e3, 8: 2.54e-8, 9: 2.54e-5, 10: 0.9144,
    11: 1e-10, 12: 1e-9, 13: 1e-6, 14: 0.1, 15: 10.0, 16: 100.0, 17: 1e9, 18: 149597870700.0, 19: 9.4607304725808e15,
    20: 3.085677581491367e16, 21: 1200 / 3937, 22: 100 / 3937, 23: 3600 / 3937, 24: 5280 * 1200 / 3937,
}  # fmt: skip
"""All 24 codes (ezdxf documentation, DXF Units); metre values: IAU 2012 Resolution B2 (astronomical unit), IAU 2015
Resolution B2 note 4 (parsec), light year of 365.25 days at 299 792 458 m/s; survey foot 1200/3937 m (NIST SP 811,
B.6)."""


@pytest.mark.parametrize(("code", "mm"), DXF_UNITS.items())
def test_insunits(code: int, mm: float) -> None:
    data = dxf_bytes(lambda d, m: m.add_line((0, 0), (2, 1)), units=code)
    drawing = read_dxf(data, ReadOptions(assume_units=None))
    assert (drawing.width_mm, drawing.height_mm) == pytest.approx((2 * mm, mm), rel=1e-12)


def test_all_unit_codes() -> None:
    assert {code: mm / 1000 for code, (_, mm) in INSUNITS.items()} == pytest.approx(ALL_UNITS_IN_M, rel=1e-9)


@pytest.mark.parametrize(
    ("angle_deg", "bulge"),
    [(45, 0.198912), (60, 0.267949), (90, 0.414214), (120, 0.57735), (180, 1.0), (270, 2.41421)],
)
def test_bulge_is_the_tangent_of_a_quarter_of_the_angle(angle_deg: float, bulge: float) -> None:
    """DXF Reference, LWPOLYLINE, group 42."""
    assert math.tan(math.radians(angle_deg) / 4) == pytest.approx(bulge, rel=1e-5)
    _, row = bulge_row(0, 0, 10, 0, math.tan(math.radians(angle_deg) / 4))
    assert math.degrees(row[7] - row[6]) == pytest.approx(angle_deg)


@pytest.mark.parametrize(
    ("bulge", "radius", "centre_y", "length", "area"),
    [(0.5, 6.25, 3.75, 11.5912, 17.4725), (2.0, 6.25, -3.75, 27.6787, 105.246)],
)
def test_arc_of_a_bulge(bulge: float, radius: float, centre_y: float, length: float, area: float) -> None:
    """R = c (1 + b²) / 4b, centre c (1 - b²) / 4b beside the chord's middle; checked with ezdxf's bulge_center."""
    kinds, rows, _ = polyline_outline([(0, 0, bulge), (10, 0, 0)], closed=False)
    assert kinds == [ARC]
    cx, cy, ux, uy, *_ = rows[0]
    assert (cx, cy, math.hypot(ux, uy)) == pytest.approx((5, centre_y, radius))
    centre = bulge_center((0, 0), (10, 0), bulge)
    assert (cx, cy) == pytest.approx((centre.x, centre.y))
    assert bulge_radius((0, 0), (10, 0), bulge) == pytest.approx(radius)
    path = _path(kinds, rows)
    assert path_length_mm(path) == pytest.approx(length, rel=1e-5)
    points = flatten(path, 1e-5).points
    assert abs(_shoelace(points)) == pytest.approx(area, rel=1e-4)


def test_a_bulge_above_zero_runs_counterclockwise_to_the_right_of_travel() -> None:
    """From (0, 0) to (10, 0) with bulge 1 the arc passes (5, -5)."""
    _, row = bulge_row(0, 0, 10, 0, 1.0)
    assert arc_points(np.array([row]), np.array([sum(row[6:]) / 2]))[0] == pytest.approx((5, -5))


SLOT = [(0, 0, 0), (20, 0, 1), (20, 10, 0), (0, 10, 1)]


def test_the_closed_slot() -> None:
    """Area 200 + 25 π, length 40 + 10 π."""
    shape = drawn(lambda d, m: m.add_lwpolyline(SLOT, format="xyb", close=True)).shapes[0]
    assert path_length_mm(shape.path) == pytest.approx(40 + 10 * math.pi, rel=1e-12)
    assert abs(_shoelace(flatten(shape.path, 1e-5).points)) == pytest.approx(278.54, rel=1e-5)


def test_the_last_bulge_counts_only_when_closed() -> None:
    """DXF Reference, LWPOLYLINE, group 70: 1 closed, 128 linetype generation."""
    for flags, length in ((1, 40 + 10 * math.pi), (128, 40 + 5 * math.pi), (129, 40 + 10 * math.pi)):

        def build(d: Any, m: Any, flags: int = flags) -> None:
            m.add_lwpolyline(SLOT, format="xyb").dxf.flags = flags

        shape = drawn(build).shapes[0]
        assert path_length_mm(shape.path) == pytest.approx(length, rel=1e-12), flags
        assert bool(shape.path.closed[0]) == bool(flags & 1)


@pytest.mark.parametrize(
    ("extrusion", "x_axis", "y_axis"),
    [((0, 0, -1), (-1, 0), (0, 1)), ((0, 1, 0), (-1, 0), (0, 0)), ((0, 0, 1), (1, 0), (0, 1))],
)
def test_axes_of_an_object_coordinate_system(extrusion: tuple, x_axis: tuple, y_axis: tuple) -> None:
    """Arbitrary axis algorithm: Ax = Wy × N where |Nx| and |Ny| are below 1/64, else Wz × N; Ay = N × Ax."""
    matrix = plane_map(extrusion)
    assert matrix[:4] == pytest.approx((*x_axis, *y_axis), abs=1e-12)


@pytest.mark.parametrize(
    ("extrusion", "world"),
    [
        ((0, 0, -1), (-10, 5, -2)),
        ((0, 1, 0), (-10, 2, 5)),
        ((1, 1, 1), (-7.95761, 6.18453, 5.23718)),
        ((0.01, 0.01, 1), (10.0190, 5.01975, 1.84981)),
        ((0.02, 0, 1), (-4.95901, 10, 2.09958)),
    ],
)
def test_points_of_an_object_coordinate_system(extrusion: tuple, world: tuple) -> None:
    """OCS (10, 5, 2) to the world, with the library's own OCS beside it."""
    ours = apply(plane_map(extrusion, elevation=2.0), np.array([10.0, 5.0]))
    assert ours == pytest.approx(world[:2], rel=1e-5)
    theirs = OCS(extrusion).to_wcs((10, 5, 2))
    assert (theirs.x, theirs.y, theirs.z) == pytest.approx(world, rel=1e-5)
    assert 1 / 64 == 0.015625  # between the two poles tried here


def test_an_arc_seen_from_below() -> None:
    """Centre (10, 5), radius 2, 0 to 90 degrees, N (0, 0, -1): from (-12, 5) to (-10, 7) in the world."""

    def build(d: Any, m: Any) -> None:
        m.add_arc((10, 5), 2, 0, 90, dxfattribs={"extrusion": (0, 0, -1)})
        m.add_circle((0, 0), 20, dxfattribs={"layer": "frame"})  # its extents: -20 to 20

    arc = drawn(build).shapes[0]
    ends = flatten(arc.path).points[[0, -1]]
    assert ends == pytest.approx(np.array([[-12 + 20, 20 - 5], [-10 + 20, 20 - 7]]))


def test_the_slot_seen_from_below_is_mirrored() -> None:
    """x to -x, bulges to their negative: (-20, 0, -1) and (0, 10, -1); length and area stay."""

    def build(d: Any, m: Any) -> None:
        m.add_lwpolyline(SLOT, format="xyb", close=True, dxfattribs={"extrusion": (0, 0, -1)})
        mirrored = [(-x, y, -bulge) for x, y, bulge in SLOT]
        m.add_lwpolyline(mirrored, format="xyb", close=True, dxfattribs={"layer": "by hand"})

    one, other = drawn(build).shapes
    assert flatten(one.path, 0.001).points == pytest.approx(flatten(other.path, 0.001).points, abs=1e-9)
    assert path_length_mm(one.path) == pytest.approx(40 + 10 * math.pi)


def test_which_entities_lie_in_the_world_and_which_in_their_own_system() -> None:
    """LINE is in world coordinates whatever its extrusion; CIRCLE, ARC, LWPOLYLINE, HATCH and INSERT are not."""

    def build(d: Any, m: Any) -> None:
        below = {"extrusion": (0, 0, -1)}
        d.blocks.new("B").add_circle((0, 0), 1)
        m.add_line((0, 0), (100, 50), dxfattribs={"layer": "frame"})
        m.add_line((10, 20), (11, 20), dxfattribs=below)
        m.add_circle((-10, 20), 1, dxfattribs=below)
        m.add_arc((-10, 20), 1, 0, 360, dxfattribs=below)
        m.add_lwpolyline([(-10, 20), (-11, 20)], dxfattribs=below)
        m.add_hatch(dxfattribs=below).paths.add_polyline_path([(-10, 20), (-11, 20), (-11, 21)])
        m.add_blockref("B", (-10, 20), dxfattribs=below)

    shapes = drawn(build).shapes[1:]
    assert len(shapes) == 6
    for shape in shapes:
        points = flatten(shape.path).points
        assert np.abs(points - (10, 30)).max() < 1.5, shape.kind


def _path(kinds: list[int], rows: list[tuple[float, ...]]) -> Path:
    return Path(
        kinds=np.array(kinds, np.uint8),
        segments=np.array(rows, float),
        starts=np.zeros(1, np.intp),
        closed=np.zeros(1, bool),
    )


def _shoelace(points: np.ndarray) -> float:
    x, y = points.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)
