"""The dose from row to row against the figures of the verdict, and against the closed form at a row and midway."""

import math
from dataclasses import replace

import pytest

from core.burning.across_rows import ROWS_SHOWN, dose_across_rows
from core.burning.beam import fill_verdict
from core.job.job import new_job


@pytest.mark.parametrize("lpi", [150, 300, 600])
def test_it_is_what_the_verdict_goes_by(lpi):
    job = new_job()
    fill = next(layer for layer in job.layers if layer.purpose == "fill")
    recipe = replace(fill.recipe, pitch_mm=25.4 / lpi)
    across, verdict = dose_across_rows(recipe, job.machine), fill_verdict(recipe, job.machine, job.stock)
    assert across.y_mm[-1] == pytest.approx(ROWS_SHOWN * 25.4 / lpi)
    assert across.nearest_j_mm2.max() == pytest.approx(verdict.line_peak_dose_j_mm2)
    assert across.together_j_mm2.max() == pytest.approx(verdict.peak_dose_j_mm2)
    assert across.together_j_mm2[:-1].mean() == pytest.approx(verdict.mean_dose_j_mm2)
    bared = float((across.nearest_j_mm2[:-1] >= job.stock.clearing_dose_j_mm2).mean())
    assert bared == pytest.approx(min(1.0, verdict.cleared_width_mm / recipe.pitch_mm), abs=0.03)
    midway = verdict.line_peak_dose_j_mm2 * math.exp(-2 * (recipe.pitch_mm / verdict.spot_mm) ** 2)
    assert across.nearest_j_mm2.min() == pytest.approx(midway)
