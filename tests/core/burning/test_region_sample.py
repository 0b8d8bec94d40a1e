"""Very large artwork: advice looks at a part of it that stands for all, within bounds, and gives up soon."""

import math
import time
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import affinity
from shapely.geometry import Point, box

from core.burning import recipe_advice, scan_rows
from core.burning.advice import edge_inset_figures, thin_parts
from core.burning.machines import CO2_FLATBED
from core.burning.recipe_advice import burn_time_s
from core.burning.region_sample import edge_count, sample_of
from core.burning.run_time import fill_time_s
from core.burning.scan_rows import inset_region
from core.errors import Cancelled
from core.sheet.stock import MIRRORED_ACRYLIC_3

FILL = replace(MIRRORED_ACRYLIC_3.fill, pitch_mm=0.1)


def grid_of(count, *, vertices=32, radius_mm=0.4):
    """Discs in a square grid, a quarter of them rings."""
    side = math.ceil(math.sqrt(count))
    disc = Point(0, 0).buffer(radius_mm, quad_segs=vertices // 4)
    ring = disc.difference(Point(0, 0).buffer(radius_mm / 2, quad_segs=vertices // 4))
    shapes = [ring if number % 4 == 0 else disc for number in range(count)]
    return shapely.MultiPolygon(
        [affinity.translate(shape, number % side + 1, number // side + 1) for number, shape in enumerate(shapes)]
    )


def comb(teeth):
    """One polygon with very many edges."""
    x = np.repeat(np.arange(teeth) * 0.2, 4) + np.tile([0.0, 0.0, 0.1, 0.1], teeth)
    y = np.tile([1.0, 20.0, 20.0, 1.0], teeth)
    return shapely.Polygon([(0, 0), *zip(x, y, strict=True), (teeth * 0.2, 1), (teeth * 0.2, 0)])


MIXED = shapely.MultiPolygon([affinity.translate(comb(4_000), 0, -40), *grid_of(500).geoms])


def test_small_artwork_is_looked_at_whole():
    region = grid_of(20)
    sample = sample_of(region)
    assert sample.region is region and sample.is_whole and sample.words == ""


@pytest.mark.parametrize("region", (grid_of(2_000), comb(6_000), MIXED))
def test_a_sample_lies_in_the_artwork_all_over_it_and_is_no_larger_than_asked(region):
    sample = sample_of(region, most_edges=8_000)
    assert not sample.is_whole and 5_000 < edge_count(sample.region) < 9_500
    assert sample.region.is_valid
    assert shapely.intersection(sample.region, region).area == pytest.approx(sample.region.area)
    whole, part = np.array(region.bounds), np.array(sample.region.bounds)
    assert np.abs(whole - part).max() < 0.1 * (whole[2:] - whole[:2]).max()
    assert sample.words.startswith(f"about {edge_count(sample.region):,} of {edge_count(region):,} edges")
    assert shapely.equals(sample.region, sample_of(region, most_edges=8_000).region)


def test_figures_of_the_sample_stand_for_those_of_the_whole():
    region = grid_of(2_000)
    sample = sample_of(region, most_edges=16_000)
    whole, part = (edge_inset_figures(one, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3) for one in (region, sample.region))
    for state in ("before", "after"):
        ours, theirs = getattr(part, state), getattr(whole, state)
        assert ours.left_over_pct == pytest.approx(theirs.left_over_pct, rel=0.1)
        assert ours.spill_mm2 / ours.region_mm2 == pytest.approx(theirs.spill_mm2 / theirs.region_mm2, rel=0.1)


def test_a_time_by_fewer_rows_is_that_of_all(monkeypatch):
    region = grid_of(1_000)
    rows = scan_rows.scan_rows(region, pitch_mm=0.02, angle_deg=0.0)
    recipe = replace(FILL, pitch_mm=0.02)
    exact_s = fill_time_s(rows, recipe, CO2_FLATBED)
    assert burn_time_s(region, recipe, CO2_FLATBED, progress=lambda *_: None) == pytest.approx(exact_s, rel=1e-9)
    monkeypatch.setattr(recipe_advice, "MOST_CROSSINGS", len(rows) // 2)  # a quarter of the crossings
    made = []
    real = recipe_advice.scan_rows
    monkeypatch.setattr(recipe_advice, "scan_rows", lambda *a, **k: made.append(real(*a, **k)) or made[-1])
    assert burn_time_s(region, recipe, CO2_FLATBED, progress=lambda *_: None) == pytest.approx(exact_s, rel=0.01)
    assert 2 * len(made[0]) <= 1.1 * len(rows) // 2


def test_edges_are_drawn_in_some_at_a_time_to_the_same(monkeypatch):
    region = grid_of(400)
    at_once = inset_region(region, 0.05)
    monkeypatch.setattr(scan_rows, "_POINTS_AT_ONCE", 3_000)
    told = []
    batched = inset_region(region, 0.05, progress=lambda share, doing: told.append(doing))
    assert batched.symmetric_difference(at_once).area < 1e-9 and len(told) > 4


@pytest.mark.parametrize("work", ("inset", "thin"))
def test_it_gives_up_soon_however_large_the_artwork_is(work):
    """Each stretch between two calls of progress is short, measured in processor time of all threads."""
    region = grid_of(6_000, radius_mm=0.4 if work == "inset" else 0.05)  # thin parts: only where something is slim
    stretches, last = [], [time.process_time()]

    def progress(share, doing):
        now = time.process_time()
        stretches.append(now - last[0])
        last[0] = now
        if len(stretches) > 12:
            raise Cancelled

    with pytest.raises(Cancelled):
        if work == "inset":
            inset_region(region, 0.03, progress=progress)
            edge_inset_figures(region, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, progress=progress)
        else:
            thin_parts(region, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, progress=progress)
            thin_parts(region, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, progress=progress)
    assert max(stretches) < 2.0


def test_boxes_that_touch_are_drawn_in_alike(monkeypatch):
    """Parts that meet at a corner stay a valid region."""
    region = shapely.MultiPolygon([box(x, y, x + 1, y + 1) for x in range(20) for y in range(20) if (x + y) % 2])
    at_once = inset_region(region, 0.1)
    monkeypatch.setattr(scan_rows, "_POINTS_AT_ONCE", 100)
    batched = inset_region(region, 0.1)
    assert batched.is_valid and batched.symmetric_difference(at_once).area < 1e-9
