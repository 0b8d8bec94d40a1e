"""A burn of a fill that holds screened pictures: the part of its screen that this burn clears."""

from dataclasses import replace

from core.burning.beam import clearing_line, fill_verdict
from core.burning.row_offsets import held_recipe
from core.burning.run_time import fill_time_range
from core.burning.scan_rows import inset_region
from core.burning.screens.layer_screen import LayerScreen
from core.burning.screens.screened_coverage import screened_coverage
from core.burning.screens.tone_verdict import tone_chance, tone_verdict
from core.finishing.paints import Paint
from core.geometry.affine import Affine, apply_to_region, compose, inverse
from core.geometry.engine import shared
from core.geometry.region import BaseGeometry
from core.job.job import Job
from core.job.moving import moved_coverage, moved_rows
from core.job.painting.stacks import stack_stock
from core.job.plan import LayerPlan
from core.sheet.faces import turn_matrix


def screen_within(layer: LayerPlan, region: BaseGeometry) -> LayerScreen | None:
    """What of a fill's screen lies in a region of the front."""
    if layer.screen is None:
        return None
    if region is layer.region:
        return layer.screen
    return layer.screen.within(apply_to_region(inverse(layer.drawing_to_front), region))


def screened_fill(
    job: Job, layer: LayerPlan, screen: LayerScreen, region: BaseGeometry, under: tuple[Paint, ...]
) -> LayerPlan:
    """A fill with screened pictures of one burn: as it was screened, as far as it lies in the region.

    Its recipe stays, since its tones are made up for it; through paint they are judged by the stack's own doses.
    """
    machine, stack = job.machine, stack_stock(job.stock, under)
    held = held_recipe(layer.layer.recipe, machine)
    line = clearing_line(held, machine, stack)
    to_front, turn = layer.drawing_to_front, turn_matrix(job.turn, job.sheet)
    solid = shared(layer.outlines, region)
    unplaced: Affine = (*compose(turn, to_front)[:4], 0.0, 0.0)
    solid_bed = apply_to_region(compose(unplaced, inverse(to_front)), solid)
    inset = inset_region(solid_bed, held.edge_inset_mm)
    rows, figures = screened_coverage(screen, solid_bed, inset, held, machine, line)
    dx_mm, dy_mm = compose(turn, to_front)[4:]
    has_solid = not solid.is_empty
    shortest_mm = max(part.made.held.span_mm for part in screen.parts)
    return replace(
        layer,
        region=region,
        burned=solid,
        screen=screen,
        area_mm2=float(solid.area) + screen.wanted_mm2,
        verdict=tone_verdict(fill_verdict(held, machine, stack), screen, has_solid=has_solid),
        chance=tone_chance(held, machine, stack, shortest_mm=shortest_mm),
        rows=moved_rows(rows, dx_mm, dy_mm),
        coverage=moved_coverage(figures, dx_mm, dy_mm),
        time_range=fill_time_range(rows, held, machine),
    )
