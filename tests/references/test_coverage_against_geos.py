"""Coverage against GEOS (JTS/GEOS geometry library, through shapely): every span as it is moved, all united.

With S = 1 what is bared is the union of the spans' own contours. They are drawn here with 4 x 32 chords each. Left-over
and spill are to agree within 2 % of the reference, or within 0.1 % of the area of the region.
"""

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, Polygon, box
from shapely.geometry.base import BaseGeometry

from core.burning.coverage import coverage
from core.burning.dose import ClearingLine
from core.burning.scan_rows import ScanRows, scan_rows
from tests.references.moved_spans import areas_by_geos_mm2

PITCH_MM = 25.4 / 600
SPOT_MM = 0.137


def line_of(cleared_width_mm: float, spot_mm: float = SPOT_MM) -> ClearingLine:
    """A line that bares that width far from its ends."""
    peak = float(np.exp(2 * (cleared_width_mm / spot_mm) ** 2))
    return ClearingLine(spot_mm=spot_mm, peak_j_mm2=0.19 * peak, clearing_dose_j_mm2=0.19)


def assert_agrees(region: BaseGeometry, rows: ScanRows, line: ClearingLine) -> None:
    ours = coverage(region, rows, line, clearing_s=1.0, spill_s=1.0)
    left_over, spill = areas_by_geos_mm2(region, rows, line)
    assert ours.left_over_mm2 == pytest.approx(left_over, rel=0.02, abs=1e-3 * region.area + 1e-6)
    assert ours.spill_mm2 == pytest.approx(spill, rel=0.02, abs=1e-3 * region.area + 1e-6)


def small(region: BaseGeometry) -> BaseGeometry:
    """Small enough for the reference to be quick, hundreds of spans all the same."""
    return affinity.scale(region, 0.5, 0.5, origin=(0, 0))


def letter_e() -> BaseGeometry:
    return shapely.union_all(
        [box(0, 0, 0.3, 2), box(0.3, 0, 1.2, 0.22), box(0.3, 0.91, 1.0, 1.09), box(0.3, 1.78, 1.2, 2)]
    )


def letter_s() -> BaseGeometry:
    angle = np.linspace(0.4, 1.5 * np.pi, 40)
    upper = np.column_stack([0.5 + 0.45 * np.cos(angle - 0.4), 0.5 - 0.45 * np.sin(angle - 0.4)])
    lower = np.array([1.0, 1.9]) - upper
    return shapely.linestrings(np.vstack([upper, lower[::-1]])).buffer(0.09)


SHAPES: dict[str, BaseGeometry] = {
    "rectangle": box(0.01, 0.013, 2, 1.5),
    "rectangle a hair off level": affinity.rotate(box(0, 0, 2, 1), 0.3),
    "rectangle along the steepest angle": affinity.rotate(box(0, 0, 2, 1), 37),
    "circle": Point(1, 1).buffer(1.02, quad_segs=32),
    "ring": Point(1, 1).buffer(1.0).difference(Point(1, 1).buffer(0.8)),
    "letter E": letter_e(),
    "letter S": letter_s(),
    "sliver": Polygon([(0, 0), (3, 0.02), (3, 0.06)]),
    "upright sliver": Polygon([(0, 0), (0.06, 3), (0.02, 3)]),
    "star": Polygon(
        [((1 + 0.5 * (i % 2)) * np.cos(i * 0.3), (1 + 0.5 * (i % 2)) * np.sin(i * 0.3)) for i in range(20)]
    ),
    "comb": shapely.union_all([box(0.1 * i, 0, 0.1 * i + 0.05, 1 + 0.02 * i) for i in range(20)] + [box(0, 0, 2, 0.2)]),
    "many small discs": MultiPolygon(
        [
            Point(0.3 * i, 0.3 * j).buffer(0.02 + 0.01 * ((i * 7 + j * 3) % 10), quad_segs=6)
            for i in range(8)
            for j in range(8)
        ]
    ),
    "many small squares": MultiPolygon(
        [box(0.17 * i, 0.13 * j, 0.17 * i + 0.08, 0.13 * j + 0.05) for i in range(8) for j in range(8)]
    ),
    "dust finer than the pitch": MultiPolygon(
        [box(0.05 * i, 0.05 * j, 0.05 * i + 0.02, 0.05 * j + 0.02) for i in range(12) for j in range(12)]
    ),
}


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize("angle_deg", [0.0, 90.0, 37.0])
@pytest.mark.parametrize("widths_per_pitch", [0.5, 0.98, 1.5, 2.7])
def test_left_over_and_spill(shape: str, angle_deg: float, widths_per_pitch: float) -> None:
    region = small(SHAPES[shape])
    rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=angle_deg)
    assert_agrees(region, rows, line_of(widths_per_pitch * PITCH_MM, min(SPOT_MM, 2 * widths_per_pitch * PITCH_MM)))


@pytest.mark.parametrize("shape", ["rectangle", "ring", "letter E", "sliver", "many small discs"])
def test_rows_far_closer_than_the_cleared_width(shape: str) -> None:
    rows = scan_rows(small(SHAPES[shape]), pitch_mm=PITCH_MM / 4, angle_deg=37.0)
    assert_agrees(small(SHAPES[shape]), rows, line_of(1.5 * PITCH_MM))


@pytest.mark.parametrize("shape", ["rectangle", "circle", "ring", "letter E", "letter S", "star"])
def test_rows_drawn_in_by_an_edge_inset(shape: str) -> None:
    rows = scan_rows(small(SHAPES[shape]), pitch_mm=PITCH_MM, angle_deg=0.0, edge_inset_mm=0.03)
    assert_agrees(small(SHAPES[shape]), rows, line_of(0.06))


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.too_slow])
@given(
    corners=st.lists(st.tuples(st.floats(0, 3), st.floats(0, 3)), min_size=3, max_size=12),
    holes=st.lists(st.tuples(st.floats(0, 3), st.floats(0, 3), st.floats(0.05, 0.5)), max_size=4),
    angle_deg=st.floats(0, 180),
    pitch_mm=st.floats(0.05, 0.4),
    widths_per_pitch=st.floats(0.2, 4),
    spots_per_width=st.floats(0.7, 6),
)
def test_any_region(
    corners: list[tuple[float, float]],
    holes: list[tuple[float, float, float]],
    angle_deg: float,
    pitch_mm: float,
    widths_per_pitch: float,
    spots_per_width: float,
) -> None:
    region = shapely.make_valid(Polygon(corners))
    for x, y, r in holes:
        region = region.difference(Point(x, y).buffer(r, quad_segs=4))
    region = MultiPolygon([part for part in shapely.get_parts(region).tolist() if isinstance(part, Polygon)])
    rows = scan_rows(region, pitch_mm=pitch_mm, angle_deg=angle_deg)
    if len(rows) and region.area > 0.05:
        width_mm = widths_per_pitch * pitch_mm
        assert_agrees(region, rows, line_of(width_mm, spots_per_width * width_mm))
