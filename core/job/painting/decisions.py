"""What the maker decides about finishing, one function a decision: a plan or job in, a job out.

Suggested paints become the job's own with the first decision about any of them, so that nothing changes under it.
"""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from core.errors import JobError
from core.finishing.checks import check_finishing
from core.finishing.paints import BARE, Finishing, MaskOptions, Paint, Way, Workday, free_name, starting_paint
from core.finishing.ticking import StepTick, moment_of
from core.job.cautions import BURN_LATER_CAUTIONS, RUN_SHEET_GOES_ALONG
from core.job.job import Job
from core.job.painting.colouring import filled_shapes, paints_of_shapes, source_colour
from core.job.plan import Plan


def adopted(plan: Plan) -> Finishing:
    """The job's finishing with the suggested paints and each colour's paint written down."""
    finishing = plan.job.finishing
    paint_of, used = paints_of_shapes(plan)
    known = {paint.name for paint in finishing.paints}
    of_colour = dict(finishing.paint_of_colour)
    by_hand = {shape for shape, _ in finishing.paint_of}
    for shape in filled_shapes(plan):
        if shape.id not in by_hand:
            of_colour.setdefault(source_colour(shape), paint_of[shape.id])
    return replace(
        finishing,
        paints=(*finishing.paints, *(paint for paint in used if paint.name not in known)),
        paint_of_colour=tuple(sorted(of_colour.items())),
    )


def with_suggested_paints(plan: Plan) -> Job:
    """What the artwork's colours suggest, taken as it is."""
    return replace(plan.job, finishing=adopted(plan))


def with_paint_of(plan: Plan, shape_ids: Iterable[str], name: str) -> Job:
    """These shapes painted with the paint of that name, or ``BARE``. Raises JobError for a paint that is not there."""
    finishing = adopted(plan)
    if name != BARE:
        _paint_named(finishing, name)
    chosen = dict(finishing.paint_of) | dict.fromkeys(shape_ids, name)
    return _checked(plan.job, replace(finishing, paint_of=tuple(sorted(chosen.items()))))


def with_new_paint(plan: Plan, shape_ids: Iterable[str], colour: str) -> Job:
    """A new paint of that colour with starting figures, for these shapes."""
    finishing = adopted(plan)
    paint = starting_paint(free_name("new paint", [one.name for one in finishing.paints]), colour)
    finishing = replace(finishing, paints=(*finishing.paints, paint))
    chosen = dict(finishing.paint_of) | dict.fromkeys(shape_ids, paint.name)
    return _checked(plan.job, replace(finishing, paint_of=tuple(sorted(chosen.items()))))


def with_paint(plan: Plan, name: str, paint: Paint) -> Job:
    """The paint called ``name`` replaced; all that was painted with it is painted with the new one, in its place.

    Raises JobError when there is no such paint, UnreadableError when the new one makes no sense or its name is taken.
    """
    finishing = adopted(plan)
    _paint_named(finishing, name)

    def renamed(one: str) -> str:
        return paint.name if one == name else one

    return _checked(
        plan.job,
        replace(
            finishing,
            paints=tuple(
                paint if one.name == name else replace(one, backing=renamed(one.backing)) for one in finishing.paints
            ),
            paint_of_colour=tuple((colour, renamed(of)) for colour, of in finishing.paint_of_colour),
            paint_of=tuple((shape, renamed(of)) for shape, of in finishing.paint_of),
            order=tuple(renamed(one) for one in finishing.order),
        ),
    )


def with_backing(plan: Plan, name: str, backing: Paint | None) -> Job:
    """One coat of another paint behind the paint called ``name``, or none; it becomes one of the job's paints.

    Raises JobError when there is no paint of that name.
    """
    finishing = adopted(plan)
    paint = _paint_named(finishing, name)
    if backing is None:
        return with_paint(plan, name, replace(paint, backing="", backing_coats=0))
    if all(one.name != backing.name for one in finishing.paints):
        finishing = replace(finishing, paints=(*finishing.paints, backing))
    changed = replace(paint, backing=backing.name, backing_coats=max(1, paint.backing_coats))
    paints = tuple(changed if one.name == name else one for one in finishing.paints)
    return _checked(plan.job, replace(finishing, paints=paints))


def with_order(plan: Plan, names: Sequence[str]) -> Job:
    """The maker's own order of colours; none for the cheapest."""
    return replace(plan.job, finishing=replace(adopted(plan) if names else plan.job.finishing, order=tuple(names)))


def with_masks(job: Job, masks: MaskOptions) -> Job:
    """Masks cut and laid otherwise. Raises UnreadableError for a figure that makes no sense."""
    return _checked(job, replace(job.finishing, masks=masks))


def with_workday(job: Job, workday: Workday) -> Job:
    """Other hours, another start. Raises UnreadableError for a figure that makes no sense."""
    return _checked(job, replace(job.finishing, workday=workday))


def with_pieces(job: Job, pieces: int) -> Job:
    """So many pieces finished together. Raises UnreadableError for none or too many."""
    return _checked(job, replace(job.finishing, pieces=pieces))


def with_way(plan: Plan, name: str, way: Way) -> Job:
    """That colour masked, or burned later; areas that stay bare are burned last, unless the maker says otherwise."""
    finishing = adopted(plan)
    if name != BARE:
        _paint_named(finishing, name)
    ways = dict(finishing.ways) | {name: way}
    later = [one for one, how in ways.items() if how == "burn" and one != BARE]
    if later:
        ways.setdefault(BARE, "burn")
    kept = {one: how for one, how in ways.items() if later and (how == "burn" or one == BARE)}
    ticks = plan.job.cautions_ticked - {*BURN_LATER_CAUTIONS, RUN_SHEET_GOES_ALONG}
    return replace(_checked(plan.job, replace(finishing, ways=tuple(sorted(kept.items())))), cautions_ticked=ticks)


def with_step_ticked(job: Job, label: str, piece: int, at: str | None) -> Job:
    """A step of painting done at an ISO date and time, or not done after all. Raises UnreadableError."""
    others = tuple(tick for tick in job.finishing.ticks if (tick.label, tick.piece) != (label, piece))
    new = () if at is None else (StepTick(label=label, piece=piece, at=moment_of(at).isoformat(timespec="seconds")),)
    return replace(job, finishing=replace(job.finishing, ticks=(*others, *new)))


def with_bond(job: Job, *, joint: str, adhesive: str) -> Job:
    """What is bonded and with what; both "" for nothing."""
    return replace(job, finishing=replace(job.finishing, joint=joint, adhesive=adhesive))


def _paint_named(finishing: Finishing, name: str) -> Paint:
    for paint in finishing.paints:
        if paint.name == name:
            return paint
    raise JobError(f"This job has no paint called “{name}”.", hint="Choose one of its paints.")


def _checked(job: Job, finishing: Finishing) -> Job:
    check_finishing(finishing)
    return replace(job, finishing=finishing)
