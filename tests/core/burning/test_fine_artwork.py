"""Fine artwork: areas beside smooth outlines read off a table, strips and clusters drawn by lot, offsets in bands.

Held against the exact way, which ``tests/references`` holds against the dose itself.
"""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import MultiPolygon, Point, box

import core.burning.coverage as coverage_module
import core.burning.coverage_bands as coverage_bands
import core.burning.lost_features as lost_features
import core.burning.sampled_strips as sampled_strips
from core.burning.coverage import Coverage, coverage
from core.burning.coverage_map import MAX_PLACES
from core.burning.dose import ClearingLine
from core.burning.lost_features import lost_places, polygons_of, thin_stretches
from core.burning.scan_rows import scan_rows

LINE = ClearingLine(spot_mm=0.137, peak_j_mm2=0.2912, clearing_dose_j_mm2=0.19)
PITCH_MM = 25.4 / 600


def wavy(count: int, seed: int) -> MultiPolygon:
    """Blobs of 3 mm with 90 corners, and a bar close by each."""
    random, turn = np.random.default_rng(seed), np.linspace(0, 2 * np.pi, 90, endpoint=False)
    blobs = []
    for number in range(count):
        waves = np.arange(2, 8)
        size, phase = random.normal(size=len(waves)) / waves, random.uniform(0, 2 * np.pi, len(waves))
        radius = 1.2 + 0.1 * (size[:, None] * np.cos(waves[:, None] * turn + phase[:, None])).sum(0)
        blob = shapely.Polygon(radius[:, None] * np.column_stack([np.cos(turn), np.sin(turn)]))
        bar = affinity.rotate(box(1.6, -1, 1.75, 1), random.uniform(0, 90), origin=(0, 0))
        blobs += [affinity.translate(one, 5 * (number % 4), 5 * (number // 4)) for one in (blob, bar)]
    return MultiPolygon([blob for blob in blobs if blob.is_valid])


SHAPES = {
    "blobs and bars": wavy(12, 1),
    "circles of few corners": MultiPolygon([Point(3 * i, 0.7 * i).buffer(1.3, quad_segs=6) for i in range(12)]),
    "rings": MultiPolygon([Point(4 * i, 0).buffer(1.8).difference(Point(4 * i, 0).buffer(1.5)) for i in range(8)]),
    "a wedge with specks": MultiPolygon(
        [shapely.Polygon([(0, 0), (9, 0.3), (0, 6)]), *(box(6, 3 + i, 6.02, 3.02 + i) for i in range(5))]
    ),
}


def exact_and_fast(monkeypatch, region, angle_deg, **settings) -> tuple[Coverage, Coverage]:
    rows = scan_rows(region, pitch_mm=settings.pop("pitch_mm", PITCH_MM), angle_deg=angle_deg)
    monkeypatch.setattr(coverage_module, "FINE_SPANS", 10**9)
    exact = coverage(region, rows, LINE, **settings)
    monkeypatch.setattr(coverage_module, "FINE_SPANS", 1)
    return exact, coverage(region, rows, LINE, **settings)


@pytest.mark.parametrize("shape", SHAPES)
@pytest.mark.parametrize(
    ("angle_deg", "pitch_mm", "s"), [(0, PITCH_MM, 0.0), (31, 0.03, 0.0), (90, 0.1, 1.0), (17, 0.06, 0.8)]
)
def test_the_table_tells_what_the_exact_way_does(monkeypatch, shape, angle_deg, pitch_mm, s):
    region = SHAPES[shape]
    exact, fast = exact_and_fast(monkeypatch, region, angle_deg, pitch_mm=pitch_mm, clearing_s=s, spill_s=s)
    assert fast.left_over_mm2 == pytest.approx(exact.left_over_mm2, rel=0.02, abs=1e-3 * region.area)
    assert fast.spill_mm2 == pytest.approx(exact.spill_mm2, rel=0.02, abs=1e-3 * region.area)
    assert fast.doubt_mm2 == exact.doubt_mm2 == 0.0


def test_straight_outlines_are_told_as_well_as_the_exact_rule_integrates(monkeypatch):
    region = MultiPolygon([affinity.rotate(box(0, 0, 8, 4), 20)])
    exact, fast = exact_and_fast(monkeypatch, region, 0.0)
    assert fast.left_over_mm2 == pytest.approx(exact.left_over_mm2, rel=5e-3)
    assert fast.spill_mm2 == pytest.approx(exact.spill_mm2, rel=5e-3)


def test_the_map_stays_the_map(monkeypatch):
    """Where half of a cell or more is to keep its coat; the share of a sliver beside the fill means little."""
    region = SHAPES["blobs and bars"]
    exact, fast = exact_and_fast(monkeypatch, region, 0.0)
    assert np.abs(fast.grid.left_over_share - exact.grid.left_over_share).mean() < 0.01
    rows, columns = np.indices(fast.grid.spill_share.shape)
    a, _, _, d, e, f = fast.grid.to_bed
    cells = shapely.box(a * columns + e, d * rows + f, a * (columns + 1) + e, d * (rows + 1) + f)
    coated = 1 - shapely.area(shapely.intersection(cells, region)) / fast.grid.cell_mm**2 > 0.5
    assert (exact.grid.spill_share[coated] > 0.02).sum() > 100
    assert np.abs(fast.grid.spill_share - exact.grid.spill_share)[coated].mean() < 0.01
    assert np.abs(fast.grid.spill_share - exact.grid.spill_share)[coated].max() < 0.15


def test_what_is_drawn_by_lot_is_off_by_no_more_than_it_says(monkeypatch):
    region = SHAPES["blobs and bars"]
    frame = box(-3, -3, 20, 15).difference(box(-2.8, -2.8, 19.8, 14.8))
    region = MultiPolygon([*region.geoms, frame])
    exact, _ = exact_and_fast(monkeypatch, region, 0.0)
    for crossings, clusters in ((1500, 1500), (10**9, 150), (1500, 150)):
        for name in ("MOST_CROSSINGS", "MOST_FOR_SPILL"):
            monkeypatch.setattr(sampled_strips, name, crossings)
        monkeypatch.setattr(sampled_strips, "MOST_CLUSTERS", clusters)
        _, drawn = exact_and_fast(monkeypatch, region, 0.0)
        assert 0 < drawn.doubt_mm2 < 0.5 * (exact.left_over_mm2 + exact.spill_mm2)
        off = abs(drawn.left_over_mm2 - exact.left_over_mm2) + abs(drawn.spill_mm2 - exact.spill_mm2)
        assert off <= drawn.doubt_mm2 + 0.01 * exact.left_over_mm2


@pytest.mark.parametrize("shift_mm", [0.0, 0.013])
def test_what_is_drawn_of_much_fine_artwork_is_told_closely(monkeypatch, shift_mm):
    """By the lot alone, without what areas go with, the doubt was 0.2 of the spill."""
    region = affinity.translate(wavy(24, 3), 0, shift_mm)
    exact, _ = exact_and_fast(monkeypatch, region, 0.0)
    for name in ("MOST_CROSSINGS", "MOST_FOR_SPILL"):
        monkeypatch.setattr(sampled_strips, name, 800)
    monkeypatch.setattr(sampled_strips, "MOST_CLUSTERS", 300)
    _, drawn = exact_and_fast(monkeypatch, region, 0.0)
    assert 0 < drawn.doubt_mm2 < 0.08 * exact.spill_mm2
    off = abs(drawn.left_over_mm2 - exact.left_over_mm2) + abs(drawn.spill_mm2 - exact.spill_mm2)
    assert off <= drawn.doubt_mm2 + 0.006 * exact.spill_mm2


def test_what_of_the_spill_is_drawn_leaves_the_left_over_coat_and_the_fills_of_the_map_alone(monkeypatch):
    region = wavy(24, 3)
    _, whole = exact_and_fast(monkeypatch, region, 0.0)
    monkeypatch.setattr(sampled_strips, "MOST_FOR_SPILL", 800)
    _, drawn = exact_and_fast(monkeypatch, region, 0.0)
    assert 0 == whole.doubt_mm2 < drawn.doubt_mm2
    assert drawn.left_over_mm2 == whole.left_over_mm2
    assert np.array_equal(drawn.grid.left_over_share, whole.grid.left_over_share)
    spilt = whole.grid.spill_share > 0
    assert np.corrcoef(drawn.grid.spill_share[spilt], whole.grid.spill_share[spilt])[0, 1] > 0.6


def test_thin_stretches_of_a_great_polygon_are_found_band_by_band(monkeypatch):
    hairs = [box(2 * i, 0, 2 * i + 0.05, 3) for i in range(12)]
    web = shapely.union_all([box(0, -1, 26, 0), box(0, 3, 26, 4), *hairs])
    plain = thin_stretches(polygons_of(web), cleared_width_mm=0.08)
    monkeypatch.setattr(lost_features, "VERTICES_AT_ONCE", 20)
    monkeypatch.setattr(lost_features, "_VERTICES_A_BAND", 10)
    banded = thin_stretches(polygons_of(web), cleared_width_mm=0.08)
    assert len(banded) == len(plain) == 12
    assert shapely.area(banded).sum() == pytest.approx(shapely.area(plain).sum(), rel=1e-6)


@pytest.mark.parametrize("angle_deg", range(0, 180, 20))
def test_thin_stretches_of_a_round_body_are_found_however_they_lie(angle_deg):
    """A hair, a neck between two bodies, and a sharp spike, against the opening of the whole by GEOS."""
    width = 0.08
    disc = Point(0, 0).buffer(3, quad_segs=60)
    other = affinity.translate(disc, 7)
    neck, hair = box(2.9, -0.035, 4.1, 0.035), box(-0.02, 2.9, 0.02, 3.6)
    spike = shapely.Polygon([(-2.9, 0.12), (-6.0, 0.0), (-2.9, -0.12)])
    whole = affinity.rotate(shapely.union_all([disc, other, neck, hair, spike]), angle_deg, origin=(0, 0))
    found = thin_stretches(polygons_of(whole), cleared_width_mm=width)
    half = width / 2
    core = whole.buffer(-half, join_style="mitre", mitre_limit=5.0)
    rest = shapely.get_parts(whole.difference(core.buffer(1.001 * half, join_style="mitre", mitre_limit=5.0)))
    rest = rest[shapely.length(rest) / 2 > 3 * width]
    assert len(found) == len(rest) == 3
    assert np.sort(shapely.area(found)) == pytest.approx(np.sort(shapely.area(rest)), rel=1e-3)


def test_bands_of_any_size_come_to_the_same(monkeypatch):
    region = SHAPES["blobs and bars"]
    monkeypatch.setattr(coverage_module, "FINE_SPANS", 1)
    rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=0.0)
    told, steps = [], []
    for members in (500, 10_000_000):
        monkeypatch.setattr(coverage_bands, "MEMBERS_AT_ONCE", members)
        shares: set[float] = set()
        told.append(coverage(region, rows, LINE, progress=lambda share, _, shares=shares: shares.add(share)))
        steps.append(len(shares))
    small, large = told
    assert steps[0] > 20 > steps[1]
    assert small.left_over_mm2 == pytest.approx(large.left_over_mm2, rel=1e-9)
    assert small.doubt_mm2 == large.doubt_mm2 == 0
    assert small.spill_mm2 == pytest.approx(large.spill_mm2, rel=1e-6)  # alike clusters are worked out once a band
    np.testing.assert_allclose(small.grid.spill_share, large.grid.spill_share, atol=1e-4)


def test_rows_that_do_not_know_their_edges_or_know_others_come_to_the_same(monkeypatch):
    """Whoever hands rows over may have made them from other edges, as where the fill was drawn in."""
    region = SHAPES["blobs and bars"]
    monkeypatch.setattr(coverage_module, "FINE_SPANS", 1)
    rows = scan_rows(region, pitch_mm=PITCH_MM, angle_deg=31.0)
    assert rows.edge.shape == (2, len(rows))
    told = [
        coverage(region, replace(rows, edge=edge), LINE)
        for edge in (rows.edge, None, rows.edge[:, ::-1], rows.edge + 1, rows.edge + 10**6)
    ]
    for one in told[1:]:
        assert (one.left_over_mm2, one.spill_mm2) == (told[0].left_over_mm2, told[0].spill_mm2)
        np.testing.assert_array_equal(one.grid.spill_share, told[0].grid.spill_share)


KITE = [(-0.051, -0.009), (0.021, 0.039), (0.033, -0.008), (0.013, -0.03)]
CHIP = [(-0.055, -0.015), (-0.05, -0.009), (0.019, 0.045), (0.034, -0.012), (0.033, -0.03)]
NECK = [
    *[(-0.087, -0.105), (-0.07, -0.085), (-0.065, -0.076), (0.049, 0.07), (0.034, 0.03), (0.099, 0.102)],
    *[(0.342, 0.315), (0.35, 0.321), (0.35, -0.35), (-0.168, -0.35), (-0.2, -0.309), (-0.169, -0.35)],
    *[(-0.234, -0.35), (-0.218, -0.306)],
]


@pytest.mark.parametrize("points", [KITE, CHIP, NECK])
def test_what_one_row_and_one_column_cross_is_found(points):
    """Bits of curves that cross themselves: no chord has one like it in the row beside it."""
    polygon = np.array([shapely.Polygon(points)], object)
    half = 0.0633 / 2
    core = polygon[0].buffer(-half, join_style="mitre", mitre_limit=5.0)
    rest = shapely.get_parts(polygon[0].difference(core.buffer(1.001 * half, join_style="mitre", mitre_limit=5.0)))
    rest = rest[(shapely.length(rest) / 2 > 3 * 0.0633) | core.is_empty]
    found = thin_stretches(polygon, cleared_width_mm=0.0633)
    assert len(found) == len(rest) == 1
    assert found[0].area == pytest.approx(rest[0].area, rel=1e-6)


def test_artwork_without_slim_chords_is_not_offset(monkeypatch):
    """Many vertices, as those of few are offset in no time."""
    rings = [Point(4 * i, 0).buffer(1.8, quad_segs=60).difference(Point(4 * i, 0).buffer(1.5)) for i in range(3)]
    monkeypatch.setattr(lost_features.shapely, "buffer", None)
    assert len(thin_stretches(np.array(rings, object), cleared_width_mm=0.08)) == 0


def test_long_plain_shapes_are_not_crossed_by_thousands_of_chords(monkeypatch):
    """A stripe 600 mm long has four corners, and 15,000 columns would run through it."""
    looked_at = []
    plainly = lost_features.slim_chords
    monkeypatch.setattr(
        lost_features, "slim_chords", lambda edges, **rest: looked_at.append(rest["some"]) or plainly(edges, **rest)
    )
    stripes = MultiPolygon([box(0, j, 600, j + width) for j, width in enumerate((0.2, 0.05, 0.2))])
    found = thin_stretches(polygons_of(stripes), cleared_width_mm=0.08)
    assert [one.area for one in found] == pytest.approx([30.0])
    assert not np.any(looked_at)


def test_places_are_made_of_the_largest_lost_parts_alone():
    sizes = np.random.default_rng(5).permutation(np.linspace(0.01, 0.05, MAX_PLACES + 100))
    lost = np.array([box(i, 0, i + size, size) for i, size in enumerate(sizes.tolist())], object)
    places = lost_places(lost, "{width} by {length}")
    assert [place.area_mm2 for place in places] == pytest.approx(np.sort(sizes**2)[::-1][:MAX_PLACES])
