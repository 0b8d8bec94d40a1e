from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely
from shapely.geometry import box

from core.burning.beam import fill_verdict
from core.burning.coupon import COUPON_KINDS
from core.burning.coupons import make_coupon
from core.burning.machines import CO2_FLATBED
from core.burning.row_combs import bars_of_comb
from core.geometry.flattening import flatten
from core.job.coupon_job import LABELS, coupon_job
from core.job.prepare import prepare
from core.output.export import export_bytes
from core.sheet.stock import MIRRORED_ACRYLIC_3


@cache
def coupon(kind, **options):
    return make_coupon(kind, MIRRORED_ACRYLIC_3, CO2_FLATBED, width_mm=90.0, height_mm=60.0, **options)


@cache
def planned(made):
    return prepare(coupon_job(made))


def layers_by_name(plan):
    return {layer.layer.name.split(" ")[0]: layer for layer in plan.layers}


def label_points(plan):
    (labels,) = [layer for layer in plan.layers if layer.layer.id == LABELS]
    return np.concatenate([flatten(path).points for path in labels.paths])


@pytest.mark.parametrize("kind", COUPON_KINDS)
def test_each_patch_is_burned_where_it_is_drawn_with_its_own_recipe(kind):
    made = coupon(kind)
    plan = planned(made)
    layers = layers_by_name(plan)
    for patch in made.patches:
        layer = layers[patch.label]
        drawn = box(patch.x_mm, patch.y_mm, patch.x_mm + patch.width_mm, patch.y_mm + patch.height_mm)
        assert (layer.layer.purpose, layer.layer.recipe) == (patch.purpose, patch.recipe)
        if patch.purpose == "fill":
            if patch.comb_step_mm:
                bars = bars_of_comb(patch.x_mm, patch.width_mm, patch.comb_step_mm)
                drawn = shapely.union_all([box(a, patch.y_mm, b, patch.y_mm + patch.height_mm) for a, b in bars])
            assert layer.region.symmetric_difference(drawn).area < 1e-3
            assert layer.verdict == fill_verdict(patch.recipe, CO2_FLATBED, MIRRORED_ACRYLIC_3)
        else:
            assert len(layer.paths) == patch.strips  # the outline and the cuts between strips
            points = np.concatenate([flatten(path).points for path in layer.paths])
            assert shapely.bounds(drawn) == pytest.approx([*points.min(0), *points.max(0)], abs=1e-3)
    assert len({layer.layer.colour for layer in plan.layers}) == len(plan.layers)
    assert plan.time_s > 0
    assert not [finding for finding in plan.findings if finding.severity == "problem"]


def test_order_is_fills_then_labels_then_cuts():
    purposes = [layer.purpose for layer in coupon_job(coupon("cut-ladder")).layers]
    assert purposes == ["score", *["cut"] * (len(purposes) - 1)]
    purposes = [layer.purpose for layer in coupon_job(coupon("two-angles")).layers]
    assert purposes == [*["fill"] * (len(purposes) - 1), "score"]


def test_single_lines_come_out_as_single_rows():
    made = coupon("line-widths")
    for patch, layer in zip(made.patches, layers_by_name(planned(made)).values(), strict=False):
        rows = layer.rows
        assert len(rows.row_y_mm) == round(patch.height_mm / patch.recipe.pitch_mm)
        assert np.diff(rows.row_y_mm) == pytest.approx(patch.recipe.pitch_mm)
        assert rows.x1_mm - rows.x0_mm == pytest.approx(patch.width_mm, abs=1e-3)


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_labels_for_the_back_read_right_on_the_bed_and_those_for_the_front_on_the_front(turn):
    front = label_points(planned(coupon("pitch-ladder", read_from="front", turn=turn)))
    back = label_points(planned(coupon("pitch-ladder", read_from="back", turn=turn)))
    # the code in the head line differs; the captions below it do not
    mirrored = back * [-1, 1] + [90.0, 0] if turn == "sideways" else back * [1, -1] + [0, 60.0]
    read_front, read_back = (points[points[:, 1] > 6.0] for points in (front, mirrored))
    assert len(read_front) == len(read_back)
    assert np.sort(read_front, axis=0) == pytest.approx(np.sort(read_back, axis=0), abs=1e-3)
    assert not np.allclose(np.sort(front[front[:, 1] > 6.0], 0)[:50], np.sort(back, 0)[:50])


@pytest.mark.parametrize("suffix", [".svg", ".dxf"])
def test_a_coupon_is_exported_like_any_job(suffix):
    made = replace(coupon("pitch-ladder"))
    data = export_bytes(planned(made), suffix)
    for patch in made.patches:
        assert patch.caption.encode() in data
