"""Rows and coverage of a fill that holds screened pictures, alone or beside solid shapes."""

from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.baring import reach_mm
from core.burning.coverage import Coverage, coverage
from core.burning.coverage_map import MAX_PLACES, Tally
from core.burning.dose import CAREFUL_SPILL_S, ClearingLine
from core.burning.machines import Machine
from core.burning.row_offsets import as_laid
from core.burning.rows_astray import with_rows_astray
from core.burning.scan_rows import ScanRows, region_in_scan_frame
from core.burning.screens.layer_screen import LayerScreen
from core.burning.screens.tone_coverage import tone_coverage
from core.progress import Progress, part, silent
from core.sheet.recipes import Recipe


def screened_coverage(
    screen: LayerScreen,
    solid_bed: BaseGeometry,
    solid_burned_bed: BaseGeometry,
    recipe: Recipe,
    machine: Machine,
    line: ClearingLine,
    *,
    progress: Progress = silent,
) -> tuple[ScanRows, Coverage]:
    """The rows of the whole layer as laid, and what they do: tones by what they want bared, the rest as any fill.

    solid_bed: what of the layer is no picture, bed frame; solid_burned_bed: the same drawn in or compensated. Where a
    picture and a solid shape meet, each is judged by its own spans.
    """
    angle = recipe.scan_angle_deg
    rows, of_solid = screen.rows_with(region_in_scan_frame(solid_burned_bed, angle), angle)
    if recipe.hands_over == "outlines":  # rows of ours lie back by what the machine shifts them on
        rows, of_solid = as_laid(rows, recipe, machine), as_laid(of_solid, recipe, machine)
    regions = [*(one.region for one in screen.parts), region_in_scan_frame(solid_bed, angle)]
    x0, y0, x1, y1 = shapely.total_bounds(regions).tolist()
    reach = reach_mm(line, CAREFUL_SPILL_S)
    tally = Tally((x0 - reach, y0 - reach, x1 + reach, y1 + reach), pitch_mm=rows.pitch_mm)
    areas = tone_coverage(screen, rows, line, tally, progress=part(progress, 0.0, 0.6))
    solid = None
    if not solid_bed.is_empty:
        solid = coverage(solid_bed, of_solid, line, tally=tally, progress=part(progress, 0.6, 1.0))
        solid = with_rows_astray(solid, of_solid, line_error_mm=machine.line_error_mm)
    tones = Coverage(
        cleared_width_mm=line.cleared_width_mm,
        region_mm2=areas.wanted_mm2,
        left_over_mm2=areas.left_over_mm2,
        spill_mm2=areas.spill_mm2,
        doubt_mm2=areas.doubt_mm2,
        unhit_parts=0,
        thin_parts=0,
        hairlines=0,
        places=(),
        grid=tally.grid(rows.to_bed),
    )
    if solid is None:
        found = [one for one in tally.places(rows.to_bed) if one[1].kind == "left over"]
        found.sort(key=lambda pair: -pair[0])
        return rows, replace(tones, places=tuple(place for _, place in found)[:MAX_PLACES])
    if recipe.hands_over == "rows":
        solid = replace(solid, hits_all_share=1.0)
    return rows, replace(
        solid,
        region_mm2=solid.region_mm2 + tones.region_mm2,
        left_over_mm2=solid.left_over_mm2 + tones.left_over_mm2,
        spill_mm2=solid.spill_mm2 + tones.spill_mm2,
        doubt_mm2=solid.doubt_mm2 + tones.doubt_mm2,
    )
