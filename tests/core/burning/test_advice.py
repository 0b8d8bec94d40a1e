from dataclasses import replace

import pytest
import shapely
from shapely.geometry import LineString, Point, box

from core.burning.advice import angle_advice, edge_inset_figures, scan_angle_times, thin_parts
from core.burning.beam import cleared_width_mm, fill_verdict
from core.burning.machines import CO2_FLATBED
from core.burning.run_time import fill_time_s
from core.burning.scan_rows import scan_rows
from core.errors import Cancelled
from core.sheet.stock import MIRRORED_ACRYLIC_3

FILL = MIRRORED_ACRYLIC_3.fill
PLATE = box(10.0, 10.0, 80.0, 30.0)


def time_of(region, recipe, machine=CO2_FLATBED):
    rows = scan_rows(
        region, pitch_mm=recipe.pitch_mm, angle_deg=recipe.scan_angle_deg, edge_inset_mm=recipe.edge_inset_mm
    )
    return fill_time_s(rows, recipe, machine)


def test_angle_of_least_time_is_the_least_of_all_tried():
    slanted = shapely.affinity.rotate(box(0.0, 0.0, 120.0, 8.0), 25.0)
    times = scan_angle_times(slanted, FILL, CO2_FLATBED)
    assert any(abs(item.angle_deg - 25.0) < 0.2 for item in times)
    assert [item.time_s for item in times] == sorted(item.time_s for item in times)
    best = times[0]
    assert best.time_s == pytest.approx(time_of(slanted, replace(FILL, scan_angle_deg=best.angle_deg)))
    for item in times:
        exact = time_of(slanted, replace(FILL, scan_angle_deg=item.angle_deg))
        assert item.time_s == pytest.approx(exact, rel=0.05)
        assert best.time_s <= exact * 1.05
    advice = angle_advice(slanted, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    if advice.recipe:
        assert advice.time_saved_s == pytest.approx(time_of(slanted, FILL) - advice.time_s)


THIN = shapely.union_all([PLATE, LineString([(20.0, 50.0), (60.0, 80.0)]).buffer(0.02)])


def test_thin_parts_are_placed_measured_and_helped():
    (thin,) = thin_parts(THIN, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    cleared = cleared_width_mm(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert thin.width_mm == pytest.approx(0.04, rel=0.01)
    assert thin.length_mm == pytest.approx(50.0, rel=0.01)
    assert THIN.distance(Point(thin.x_mm, thin.y_mm)) == pytest.approx(0.0, abs=1e-9)
    thicker = shapely.union_all(
        [PLATE, LineString([(20.0, 50.0), (60.0, 80.0)]).buffer(0.02 + (cleared - thin.width_mm) / 2 * 1.01)]
    )
    assert thin_parts(thicker, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3) == ()
    assert fill_verdict(thin.finer, CO2_FLATBED, MIRRORED_ACRYLIC_3).verdict == "clean"
    assert cleared_width_mm(thin.finer, CO2_FLATBED, MIRRORED_ACRYLIC_3) == pytest.approx(thin.width_mm, rel=1e-6)
    sharp = replace(CO2_FLATBED, spot_mm=thin.spot_mm)
    threshold_kept = replace(FILL, power_pct=FILL.power_pct * thin.spot_mm / CO2_FLATBED.spot_mm)
    assert cleared_width_mm(threshold_kept, sharp, MIRRORED_ACRYLIC_3) == pytest.approx(thin.width_mm, rel=1e-6)
    assert f"{cleared - thin.width_mm:.3f} mm" in thin.words


def test_edge_inset_takes_much_of_the_spill_away_and_keeps_thin_parts():
    figures = edge_inset_figures(THIN, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3)
    assert figures.recipe.edge_inset_mm == pytest.approx(cleared_width_mm(FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3) / 2)
    assert figures.after.spill_mm2 < 0.6 * figures.before.spill_mm2
    assert figures.after.lost_features == figures.before.lost_features == 1
    assert figures.after.unhit_parts == 0


def test_progress_can_stop_it():
    def stop(share, doing):
        raise Cancelled

    for work in (angle_advice, thin_parts, edge_inset_figures):
        with pytest.raises(Cancelled):
            work(THIN, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3, progress=stop)


def test_empty_fills_and_senseless_settings():
    empty = shapely.Polygon()
    assert angle_advice(empty, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3).recipe is None
    assert thin_parts(empty, FILL, CO2_FLATBED, MIRRORED_ACRYLIC_3) == ()
