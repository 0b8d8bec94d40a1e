"""A job's sheet on the machine's bed: where it lies, what it must keep clear of, how it lies against the stop."""

from collections.abc import Callable

import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.bed_zones import BedZone
from core.geometry.affine import Affine, apply_to_region, compose, translation
from core.job.job import Job
from core.sheet.at_stop import AtStop, at_stop
from core.sheet.faces import turn_matrix
from core.sheet.ground import RIGHT_ANGLES_DEG, PlacingOptions
from core.sheet.placement import Sheet

Bounds = tuple[float, float, float, float]


def margin_mm(job: Job) -> float:
    """How far cuts stay off the sheet's edge: the machine's margin or the stock's, the larger."""
    return max(job.machine.edge_margin_mm, job.stock.edge_margin_mm)


def bed_offset_mm(job: Job, sheet: Sheet) -> tuple[float, float]:
    """Where the top left corner of the sheet, lying at the stop, is found on the bed."""
    down, across = job.stop_corner.split()
    x_mm = 0.0 if across == "left" else job.machine.bed_width_mm - sheet.width_mm
    y_mm = 0.0 if down == "top" else job.machine.bed_height_mm - sheet.height_mm
    return x_mm, y_mm


def bed_to_front(job: Job, sheet: Sheet) -> Affine:
    """The bed's own frame to the sheet's front frame."""
    x_mm, y_mm = bed_offset_mm(job, sheet)
    return compose(turn_matrix(job.turn, sheet), translation(-x_mm, -y_mm))


def zones_on_front(job: Job, sheet: Sheet | None = None) -> tuple[tuple[BedZone, BaseGeometry], ...]:
    """The zones of the bed that reach over the sheet, front frame."""
    sheet = sheet or job.sheet
    to_front, whole = bed_to_front(job, sheet), shapely.box(0.0, 0.0, sheet.width_mm, sheet.height_mm)
    placed = [(zone, apply_to_region(to_front, shapely.box(*zone.bounds_mm))) for zone in job.machine.zones]
    return tuple((zone, region) for zone, region in placed if shapely.intersection(region, whole).area > 0)


def closed_on(job: Job) -> Callable[[Sheet], tuple[Bounds, ...]]:
    """For any sheet that the job might lie on: the boxes of it, front frame, where the bed lets nothing be burned."""

    def closed(sheet: Sheet) -> tuple[Bounds, ...]:
        return tuple(region.bounds for _, region in zones_on_front(job, sheet))

    return closed


def placing_options(
    job: Job,
    *,
    edge_mm: float | None = None,
    angles_deg: tuple[float, ...] = RIGHT_ANGLES_DEG,
    flaw_doubt_mm: float = 0.5,
) -> PlacingOptions:
    """What a search for a place on the job's own sheet may do; ``edge_mm`` None: the margin kept free."""
    return PlacingOptions(
        edge_mm=margin_mm(job) if edge_mm is None else edge_mm,
        flaw_doubt_mm=flaw_doubt_mm,
        angles_deg=angles_deg,
        closed=closed_on(job)(job.sheet),
    )


def stop_of(job: Job) -> AtStop:
    """How the job's sheet lies against the machine's stop."""
    return at_stop(job.sheet, job.turn, job.stop_corner)
