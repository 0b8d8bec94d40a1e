"""A job on a piece of the rack: what it takes of the sheet, where it lies best, what of the sheet's flaws shows."""

from dataclasses import replace

import shapely

from core.burning.batches import of_batch
from core.errors import JobError
from core.geometry.affine import apply_to_region, inverse
from core.job.burned import burned_lines, cleared_region, finished_region
from core.job.cautions import RUN_SHEET_GOES_ALONG
from core.job.decisions import with_stock
from core.job.job import Job
from core.job.on_bed import placing_options
from core.job.plan import Plan
from core.progress import Progress, silent
from core.sheet.ground import Footprint, Placed, PlacingOptions
from core.sheet.offcuts import Piece, sheet_of
from core.sheet.placement import Placement
from core.sheet.placing import place
from core.sheet.stock import Stock


def job_footprint(plan: Plan) -> Footprint:
    """What the job takes of a sheet, in the drawing's own frame. Raises JobError when nothing is burned."""
    back = inverse(plan.drawing_to_front)
    finished, cleared = finished_region(plan.layers), cleared_region(plan.layers)
    lines = burned_lines(plan, "cut") + burned_lines(plan, "score")
    burned = shapely.union_all([finished, *lines, shapely.difference(cleared, finished)])
    if burned.is_empty:
        raise JobError("Nothing is burned in this job.", hint="Give it artwork with fills, cuts or scores.")
    moved = (apply_to_region(back, region) for region in (burned, finished, cleared))
    return Footprint(**dict(zip(("burned", "finished", "cleared"), moved, strict=True)))


def place_job(plan: Plan, options: PlacingOptions | None = None, *, progress: Progress = silent) -> Placed:
    """The best place of the job on its own sheet, by default with its margin kept. Raises NoRoomError, JobError."""
    coated, options = bool(plan.job.stock.coat), options or placing_options(plan.job)
    return place(job_footprint(plan), plan.job.sheet, options, has_coat=coated, progress=progress)


def with_place(job: Job, placed: Placed) -> Job:
    """The job put where the search found its best place."""
    return replace(job, placement=placement_of(placed))


def placement_of(placed: Placed) -> Placement:
    """A place that was found, as the job keeps it."""
    return Placement(x_mm=placed.x_mm, y_mm=placed.y_mm, rotation_deg=placed.rotation_deg, centred=False)


def with_piece(job: Job, piece: Piece, piece_id: str, stock: Stock) -> Job:
    """The job on a piece of the rack. ``stock`` is the piece's; where it is another one, its recipes come along.

    What was ticked about stock and film has to be looked at again.
    """
    stock = of_batch(stock, piece.batch)
    if stock != job.stock:
        job = with_stock(job, stock)
    ticked = job.cautions_ticked - {"film", RUN_SHEET_GOES_ALONG}
    return replace(job, sheet=sheet_of(piece), piece_id=piece_id, cautions_ticked=ticked)
