"""Jobs that serve another job: stops for its sheet or its blanks, its backing plate, the opening it is let into."""

import math
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import JobError, UnreadableError
from core.geometry.affine import apply_to_region, translation
from core.job.burned import cleared_region, cut_away, inside_cuts
from core.job.drawn_job import drawn_job
from core.job.job import Job
from core.job.plan import Plan
from core.sheet.backers import Backer
from core.sheet.drawn import Drawn
from core.sheet.faces import turned_corner
from core.sheet.kerf import opening_for
from core.sheet.laid_datum import LaidDatum
from core.sheet.nest_play import nest_play
from core.sheet.offcuts import sheet_region
from core.sheet.play import Play, PlayShown, play_shown
from core.sheet.stock import Stock
from core.sheet.stops import PinHoles, corner_stop, nest, pin_holes


def corner_stop_job(job: Job, stock: Stock, *, arm_mm: float = 80.0, width_mm: float = 20.0) -> Job:
    """An angle of that stock for the corner of the job's sheet that meets the machine's stop. Raises JobError."""
    corner = turned_corner(job.stop_corner, job.turn)
    drawn = corner_stop(corner, arm_mm=arm_mm, width_mm=width_mm)
    return drawn_job(drawn, stock=stock, machine=job.machine, turn=job.turn)


def nest_job(
    plan: Plan,
    stock: Stock,
    *,
    clearance_mm: float = 0.2,
    frame_mm: float = 15.0,
    finger_mm: float = 16.0,
    count: int = 1,
) -> Job:
    """A frame of that stock that holds ready-cut blanks of the job's outline. Raises JobError, UnreadableError."""
    drawn = nest(_outline(plan), clearance_mm=clearance_mm, frame_mm=frame_mm, finger_mm=finger_mm, count=count)
    return drawn_job(drawn, stock=stock, machine=plan.job.machine, turn=plan.job.turn)


def pin_jobs(plan: Plan, stock: Stock, *, pin_mm: float, clearance_mm: float = 0.05) -> tuple[PinHoles, Job, Job]:
    """Where pins go, the job that cuts their holes into the job's own sheet, and the one for the board they stand in.

    Both lie as the job's sheet lies. Raises JobError where there is no room, or the sheet must not be cut.
    """
    sheet = plan.job.sheet
    if plan.datum is not None and plan.datum.kind == "pins":
        return _pins_in(plan, _pins_of_datum(plan.datum), stock)
    burned = shapely.union_all([cut_away(plan), cleared_region(plan.layers)])
    return _pins_in(plan, pin_holes(sheet_region(sheet), burned, pin_mm=pin_mm, clearance_mm=clearance_mm), stock)


def _pins_of_datum(laid: LaidDatum) -> PinHoles:
    """The very pins that the job's other files have."""
    first, second, third = laid.places
    held, _, key = (hole.diameter_mm for hole in laid.holes)
    return PinHoles(places=(first, second, third), pin_mm=laid.datum.pin_mm, hole_mm=held, key_hole_mm=key)


def _pins_in(plan: Plan, pins: PinHoles, stock: Stock) -> tuple[PinHoles, Job, Job]:
    job, sheet = plan.job, plan.job.sheet
    holes = Drawn(name="pin holes", width_mm=sheet.width_mm, height_mm=sheet.height_mm, holes=pins.holes)
    in_sheet = replace(
        drawn_job(holes, stock=job.stock, machine=job.machine, turn=job.turn), sheet=sheet, piece_id=job.piece_id
    )
    board = pins.board(sheet.width_mm, sheet.height_mm)
    return pins, in_sheet, drawn_job(board, stock=stock, machine=job.machine, turn=job.turn)


def blank_play(plan: Plan, clearance_mm: float) -> Play:
    """How far a blank of the job's outline can lie off in its nest. Raises JobError."""
    return nest_play(_outline(plan), clearance_mm)


def slivers_shown(plan: Plan, play: Play) -> PlayShown:
    """What shows of the job's bared areas when their second pass lies as far off as that, the worst way."""
    return play_shown(cleared_region(plan.layers), play)


def backer_job(plan: Plan, plate: Backer, stock: Stock) -> Job:
    """The job that cuts a backing plate of that stock and scores its lines on the face that meets the upper piece.

    So the plate lies with that face up: what the bed shows is what is seen from the front. Raises JobError.
    """
    return _face_up(plan.job, stock, "backer", plate.region, plate.lines)


def opening_job(plan: Plan, stock: Stock, *, clearance_mm: float = 0.1, frame_mm: float = 15.0) -> Job:
    """A plate of that stock with an opening that the job's piece goes into: below zero a press fit. It lies front up.

    The piece itself must keep its size (``with_keep_size``). Raises JobError, UnreadableError.
    """
    if not (math.isfinite(frame_mm) and frame_mm > 0):
        raise UnreadableError(f"A frame {frame_mm:g} mm wide can't be.", hint="Give a number above zero, like 15.")
    opening = opening_for(_outline(plan), clearance_mm)
    x0, y0, x1, y1 = opening.bounds
    plate = shapely.box(x0 - frame_mm, y0 - frame_mm, x1 + frame_mm, y1 + frame_mm)
    return _face_up(plan.job, stock, "opening", shapely.difference(plate, opening), shapely.MultiLineString())


def _outline(plan: Plan) -> BaseGeometry:
    """What the job cuts out, front frame. Raises JobError when its cut lines go round nothing."""
    inside = inside_cuts(plan.layers)
    if inside.is_empty:
        raise JobError("This job cuts nothing out.", hint="Give it a closed cut line.")
    return inside


def _face_up(job: Job, stock: Stock, name: str, region: BaseGeometry, lines: BaseGeometry) -> Job:
    """A job whose bed face shows these as they are seen from the front."""
    x0, y0, x1, y1 = region.bounds
    move = translation(-x0, -y0)
    drawn = Drawn(
        name=name,
        width_mm=x1 - x0,
        height_mm=y1 - y0,
        kept=apply_to_region(move, region),
        scores=apply_to_region(move, lines),
    )
    return drawn_job(drawn, stock=stock, machine=job.machine, turn=job.turn, face_up=True)
