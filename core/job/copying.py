"""Copies of a job on its sheet, and several jobs on one sheet: where each lies, as jobs again.

Flaws of the sheet are kept clear of first; what finds no room so lies where its own fill hides those of the coat.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import JobError
from core.geometry.affine import compose, inverse
from core.job.fitting import job_footprint, placement_of
from core.job.job import Job
from core.job.on_bed import placing_options
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.progress import Progress, silent
from core.sheet.copies import Copy, Layout, Wanted, laid_shapes, layout_of, nested, rows_and_columns
from core.sheet.flaws import flaws_in
from core.sheet.ground import Footprint, Placed, PlacingOptions, free_room
from core.sheet.hiding import all_hidden, hidden_places
from core.sheet.offcuts import sheet_region
from core.sheet.placement import Placement, Repeat, Sheet, placement_matrix

Way = Literal["rows", "nested"]

USUAL_SPACING_MM = 2.0
"""Of sheet between what neighbours burn, unless the maker says; common practice, no source."""


def copies_on_sheet(
    job: Job,
    count: int,
    *,
    way: Way = "nested",
    spacing_mm: float = USUAL_SPACING_MM,
    share_cuts: bool = False,
    options: PlacingOptions | None = None,
    better: Callable[[Layout], None] | None = None,
    progress: Progress = silent,
) -> Layout:
    """So many copies of the job's artwork on its sheet; the layout says how many found no room.

    spacing_mm: between all that neighbours burn. share_cuts: in rows, neighbours' straight sides are one cut line.
    ``better`` hears of the best so far. Raises JobError, UnreadableError, Cancelled.
    """
    options = options or placing_options(job)
    footprint = job_footprint(single_plan(job))
    room = copies_room(job.sheet, options)
    wanted = Wanted(name="", shape=footprint.burned, count=count, angles_deg=options.angles_deg)
    if way == "nested" and not share_cuts:
        layout = nested(room, [wanted], spacing_mm=spacing_mm, better=better, progress=progress)
        return _with_hiding(job, footprint, wanted, layout, room, options, spacing_mm, better, progress)
    gap_mm = -job.stock.kerf_mm if share_cuts else spacing_mm
    layouts = []
    for number, angle_deg in enumerate(options.angles_deg):
        progress(number / len(options.angles_deg), "setting rows")
        layouts.append(rows_and_columns(room, replace(wanted, angles_deg=(angle_deg,)), gap_mm=gap_mm))
    best = min(layouts, key=lambda layout: layout.rank)
    return (
        best if share_cuts else _with_hiding(job, footprint, wanted, best, room, options, spacing_mm, better, progress)
    )


def _with_hiding(
    job: Job,
    footprint: Footprint,
    wanted: Wanted,
    layout: Layout,
    room: BaseGeometry,
    options: PlacingOptions,
    spacing_mm: float,
    better: Callable[[Layout], None] | None,
    progress: Progress,
) -> Layout:
    """The layout with copies that found no room clear of the flaws, put where their fills hide those of the coat."""
    if not layout.left_over or not _can_hide(job):
        return layout
    more = hidden_places(
        [footprint] * layout.left_over,
        laid_shapes(layout, [wanted]),
        job.sheet,
        options,
        spacing_mm=spacing_mm,
        progress=progress,
    )
    found = layout_of([*layout.copies, *_copies(more)], [wanted], room)
    if found.left_over:
        anew = all_hidden([footprint] * wanted.count, job.sheet, options, spacing_mm=spacing_mm, progress=progress)
        found = min(found, layout_of(_copies(anew), [wanted], room), key=lambda one: one.left_over)
    if found.left_over < layout.left_over:
        layout = found
        if better is not None:
            better(layout)
    return layout


def _copies(found: Sequence[Placed | None]) -> list[Copy]:
    return [
        Copy(name="", x_mm=one.x_mm, y_mm=one.y_mm, rotation_deg=one.rotation_deg) for one in found if one is not None
    ]


def _can_hide(job: Job) -> bool:
    return bool(job.stock.coat) and any(flaw.surface == "coat" for flaw in job.sheet.flaws)


def with_copies(job: Job, layout: Layout) -> Job:
    """The job with its copies where the layout has them. Raises JobError where it has none."""
    if not layout.copies:
        raise JobError("Not one copy fits on this piece.", hint="Take a larger piece.")
    first, *others = layout.copies
    back = inverse(_matrix(first))
    repeats = []
    for copy in others:
        *_, x_mm, y_mm = compose(back, _matrix(copy))
        turned = math.fmod(copy.rotation_deg - first.rotation_deg + 360.0, 360.0)
        repeats.append(Repeat(x_mm=x_mm, y_mm=y_mm, rotation_deg=turned))
    return replace(job, placement=_placement(first), repeats=tuple(repeats))


def without_copies(job: Job) -> Job:
    """The job once only."""
    return replace(job, repeats=())


def jobs_on_sheet(
    jobs: Sequence[Job],
    sheet: Sheet,
    *,
    spacing_mm: float = USUAL_SPACING_MM,
    options: PlacingOptions | None = None,
    better: Callable[[Layout], None] | None = None,
    progress: Progress = silent,
) -> tuple[Job, ...]:
    """Several jobs nested on one sheet, each as a job of its own with its place on it; none over another.

    Each keeps its copies together as they are. Raises JobError when not all find room, UnreadableError, Cancelled.
    """
    options = options or placing_options(replace(jobs[0], sheet=sheet))
    footprints = [job_footprint(next(plan_steps(replace(job, sheet=sheet)))) for job in jobs]
    wanted = [
        Wanted(name=str(number), shape=footprint.burned, angles_deg=options.angles_deg)
        for number, footprint in enumerate(footprints)
    ]
    layout = nested(copies_room(sheet, options), wanted, spacing_mm=spacing_mm, better=better, progress=progress)
    places = {int(copy.name): _placement(copy) for copy in layout.copies}
    missing = [number for number in range(len(jobs)) if number not in places]
    if missing and _can_hide(replace(jobs[0], sheet=sheet)):
        more = hidden_places(
            [footprints[number] for number in missing],
            laid_shapes(layout, wanted),
            sheet,
            options,
            spacing_mm=spacing_mm,
            progress=progress,
        )
        found = zip(missing, more, strict=True)
        places |= {number: placement_of(placed) for number, placed in found if placed is not None}
        if len(places) < len(jobs):
            anew = all_hidden(footprints, sheet, options, spacing_mm=spacing_mm, progress=progress)
            whole = [placement_of(placed) for placed in anew if placed is not None]
            places = dict(enumerate(whole)) if len(whole) == len(jobs) else places
    if len(places) < len(jobs):
        raise JobError(
            f"Of {len(jobs)} designs {len(jobs) - len(places)} found no room on this piece.",
            hint="Take a larger piece.",
        )
    return tuple(replace(job, sheet=sheet, placement=places[number]) for number, job in enumerate(jobs))


def copies_room(sheet: Sheet, options: PlacingOptions) -> BaseGeometry:
    """Where copies may lie: the sheet less its edge and its flaws, both with what the options ask for."""
    room = free_room(sheet_region(sheet), options)
    flaws = [flaw for side in ("coat", "clear face") for flaw in flaws_in(sheet, side, grown_mm=options.flaw_doubt_mm)]
    room = shapely.difference(room, shapely.union_all(flaws)) if flaws else room
    if room.is_empty:
        raise JobError("Nothing of this piece is free.", hint="Take another piece.")
    return room


def single_plan(job: Job) -> Plan:
    """The geometry of the job with one copy only, its page at the sheet's corner. Raises as ``plan_steps`` does."""
    return next(plan_steps(replace(without_copies(job), placement=Placement(centred=False))))


def _matrix(copy: Copy) -> tuple[float, float, float, float, float, float]:
    return placement_matrix(copy.x_mm, copy.y_mm, copy.rotation_deg)


def _placement(copy: Copy) -> Placement:
    return Placement(x_mm=copy.x_mm, y_mm=copy.y_mm, rotation_deg=copy.rotation_deg, centred=False)
