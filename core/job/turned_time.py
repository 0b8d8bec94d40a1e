"""What turning a job does to its run time, without working out its coverage again: for placing, which may turn it."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from core.burning.run_time import NO_TIME, TimeRange, exactly, fill_time_range, lines_time_s
from core.burning.scan_rows import scan_rows
from core.geometry.affine import apply_to_region, compose, rotation
from core.job.plan import LayerPlan, Plan
from core.sheet.faces import turn_matrix

TRIAL_ROWS = 400
"""Rows that stand for all where there are more: time goes as one over the pitch."""
AS_QUICK_SHARE = 0.005
"""Angles whose times differ by less than this share are alike: that is what the rows left out may be off by."""


def time_if_turned(plan: Plan, by_deg: float) -> TimeRange:
    """Run time with the artwork turned by so much from how the plan has it, on the front, wherever it then lies.

    Scan rows keep their direction on the bed, so fills take another time; lines take the same, but for the way to the
    first one. Half a turn changes nothing. The plan may still be without coverage: then lines count in the order they
    stand in.
    """
    return sum((_layer_time(plan, layer, by_deg) for layer in plan.layers), NO_TIME)


def time_if_at(plan: Plan, rotation_deg: float) -> TimeRange:
    """As ``time_if_turned``, for an angle of the placement instead of one from how the plan has it."""
    return time_if_turned(plan, rotation_deg - plan.job.placement.rotation_deg)


def quickest_angles(plan: Plan, angles_deg: Sequence[float]) -> tuple[float, ...]:
    """Those of the angles (of the placement) at which the job runs quickest, all that are as good as the best."""
    times = {angle: time_if_at(plan, angle).best_s for angle in angles_deg}
    least_s = min(times.values(), default=0.0)
    return tuple(angle for angle, time_s in times.items() if time_s <= least_s * (1 + AS_QUICK_SHARE))


def _layer_time(plan: Plan, planned: LayerPlan, by_deg: float) -> TimeRange:
    job, layer = plan.job, planned.layer
    if layer.purpose == "guide":
        return NO_TIME
    if layer.purpose != "fill":
        if plan.complete:
            return planned.time_range
        return exactly(lines_time_s(planned.paths, layer.recipe, job.machine))
    if planned.region.is_empty:
        return NO_TIME
    half_turns = math.isclose(by_deg / 180.0, round(by_deg / 180.0), abs_tol=1e-9)
    if plan.complete and half_turns:
        return planned.time_range
    bed = apply_to_region(compose(turn_matrix(job.turn, job.sheet), rotation(by_deg)), planned.region)
    pitch_mm = max(layer.recipe.pitch_mm, _across_mm(bed, layer.recipe.scan_angle_deg) / TRIAL_ROWS)
    rows = scan_rows(
        bed, pitch_mm=pitch_mm, angle_deg=layer.recipe.scan_angle_deg, edge_inset_mm=layer.recipe.edge_inset_mm
    )
    few = fill_time_range(rows, replace(layer.recipe, pitch_mm=pitch_mm), job.machine)
    times = pitch_mm / layer.recipe.pitch_mm
    return TimeRange(least_s=few.least_s * times, most_s=few.most_s * times)


def _across_mm(region: shapely.Geometry, angle_deg: float) -> float:
    angle = math.radians(angle_deg)
    return float(np.ptp(shapely.get_coordinates(region) @ np.array([-math.sin(angle), math.cos(angle)])))
