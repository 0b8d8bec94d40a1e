"""Screens: what a recipe holds, the parts they are made of, coverage of their bands, limits told."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from core.artwork.picture_decisions import ScreenOptions
from core.artwork.tone_map import Tones
from core.burning.dose import ClearingLine
from core.burning.scan_rows import scan_rows
from core.burning.screens.holding import held_tones
from core.burning.screens.screening import Screened, screened
from core.burning.screens.spans import clipped, region_of
from core.errors import JobError
from core.geometry.affine import IDENTITY
from tests.references.test_screened_tones import line_of


def ramp(width_mm: float = 8.0, height_mm: float = 3.0) -> Tones:
    wanted = np.linspace(0, 1, 80, dtype=np.float32)[None, :].repeat(30, axis=0)
    return Tones(wanted=wanted, to_mm=(width_mm / 80, 0.0, 0.0, height_mm / 30, 0.0, 0.0))


def made(recipe: str = "300 LPI", **options: object) -> tuple[Screened, ClearingLine]:
    line, pitch_mm = line_of(recipe)
    screen = ScreenOptions(**options)  # type: ignore[arg-type]
    return screened(ramp(), screen, line, pitch_mm=pitch_mm, drawing_to_scan=IDENTITY), line


def test_what_the_starting_recipe_holds_at_300_lines() -> None:
    line, pitch_mm = line_of("300 LPI")
    held = held_tones(line, pitch_mm=pitch_mm)
    assert held is not None
    assert held.bares_from_mm == pytest.approx(0.0643, abs=1e-4)
    assert held.most == pytest.approx(0.7476, abs=1e-4)
    assert held.bares_from_mm < held.span_mm < 0.08
    assert held.tones_at(held.finest_lines_per_inch) in (2, 3)
    assert held.tones_at(held.usual_lines_per_inch) >= 17
    weak = replace(line, peak_j_mm2=line.clearing_dose_j_mm2 * 0.9)
    assert held_tones(weak, pitch_mm=pitch_mm) is None


def test_a_ruling_that_the_recipe_does_not_hold_is_refused_with_the_finest() -> None:
    with pytest.raises(JobError, match=r"finer than this recipe holds.*at most 228"):
        made(lines_per_inch=300.0)
    line, pitch_mm = line_of("300 LPI")
    with pytest.raises(JobError, match="million cells"):
        screened(ramp(4000, 3000), ScreenOptions(), line, pitch_mm=pitch_mm, drawing_to_scan=IDENTITY)


def test_tones_are_clipped_or_fitted() -> None:
    clipped_tones, _ = made()
    assert clipped_tones.clipped_share == pytest.approx(0.25, abs=0.02)
    fitted, _ = made(fit_tones=True)
    assert fitted.clipped_share == 0.0
    assert region_of(fitted.spans, IDENTITY).area < 0.9 * region_of(clipped_tones.spans, IDENTITY).area


@pytest.mark.parametrize("kind", ["lines", "dots", "grain"])
def test_the_region_is_a_band_a_span_and_rows_run_through_each(kind: str) -> None:
    screen, _ = made(kind=kind)
    spans = screen.spans
    region = region_of(spans, IDENTITY)
    assert region.is_valid
    assert region.area == pytest.approx(float((spans.x1_mm - spans.x0_mm).sum()) * spans.pitch_mm, rel=1e-4)
    for shift in (0.0, 0.3):  # rows of any phase: half a pitch inside the top, or a little further down
        lowered = shapely.union(region, shapely.box(20, -1 - shift * spans.pitch_mm, 21, -1))
        rows = scan_rows(lowered if shift else region, pitch_mm=spans.pitch_mm, angle_deg=0.0)
        inside = rows.x1_mm < 19
        assert (rows.x1_mm - rows.x0_mm)[inside].sum() == pytest.approx((spans.x1_mm - spans.x0_mm).sum(), rel=0.02)


def test_spans_end_at_a_clip() -> None:
    screen, _ = made(lines_per_inch=60.0)
    disc = shapely.Point(5, 1.5).buffer(1.2)
    inside = region_of(clipped(screen.spans, disc), IDENTITY)
    assert inside.area == pytest.approx(region_of(screen.spans, IDENTITY).intersection(disc).area, rel=0.01)
    assert inside.difference(disc.buffer(0.06)).area < 1e-6
