"""When what is done: several pieces or jobs, one pair of hands, one machine, waits that go on by themselves.

Each piece is a chain of handwork and burns with a least wait before each link (``bench_work``); ``scheduling`` gives
each link its time.
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from core.errors import UnreadableError
from core.finishing.bench_work import Chain, Link, Task, TaskKind, label_of
from core.finishing.paints import BARE, Finishing, Paint, Workday
from core.finishing.scheduling import schedule
from core.finishing.steps import PaintStep

FIRST_DAY = datetime(2001, 1, 1)  # a Monday; stands for "day 1" where no date is given


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnTimes:
    """Minutes of the machine for one piece.

    burns_min: of each burn, the first one first; cut_min: of the cut where it comes last, else None. put_back_min: of
    hands, to lay the sheet on its datum before each but the first.
    """

    burns_min: tuple[float, ...]
    cut_min: float | None = None
    put_back_min: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """The same work on several pieces of a job, one right after the other."""

    link: Link
    pieces: tuple[int, ...]
    start: datetime
    end: datetime
    late: bool
    job: str = ""

    @property
    def label(self) -> str:
        """What is done, for people."""
        words = label_of(self.link, late=self.late)
        return f"{self.job}, {words}" if self.job else words


@dataclass(frozen=True, slots=True, kw_only=True)
class Timetable:
    """All work in order of time. done: when each piece has cured; dated: False where the day is only "day 1".

    rows: which piece of which job each of ``done`` is; a single job has no name.
    """

    tasks: tuple[Task, ...]
    done: tuple[datetime, ...]
    dated: bool
    notes: tuple[str, ...]
    rows: tuple[tuple[str, int], ...] = ()

    @property
    def start(self) -> datetime:
        """When the first work begins."""
        return self.tasks[0].start if self.tasks else FIRST_DAY

    @property
    def end(self) -> datetime:
        """When the last piece has cured."""
        return max(self.done, default=self.start)

    def tasks_of(self, row: int) -> tuple[Task, ...]:
        """The tasks of one row."""
        return tuple(task for task in self.tasks if (task.job, task.piece) == self.rows[row])


def timetable(steps: Sequence[PaintStep], finishing: Finishing, *, burns: BurnTimes | None = None) -> Timetable:
    """The timetable of a paint plan's steps, from the first burn's end. burns: how long later burns and the cut take.

    Raises UnreadableError when the start is no date and time.
    """
    if not steps:
        return timetable_of((), finishing.workday)
    paints = {paint.name: paint for paint in finishing.paints}
    links = chain_of(steps, finishing.workday, paints, burns)
    chain = Chain(links=links, pieces=finishing.pieces)
    return timetable_of((chain,), finishing.workday, notes=step_notes(steps))


def timetable_of(chains: Sequence[Chain], day: Workday, *, notes: Sequence[str] = ()) -> Timetable:
    """The timetable of the chains of one or several jobs, which share hands and machine. Raises UnreadableError."""
    start = start_of(day)
    tasks = schedule(chains, day, start)
    rows = tuple((chain.job, piece) for chain in chains for piece in range(1, chain.pieces + 1))
    done = dict.fromkeys(rows, start)
    for task in tasks:
        row = (task.job, task.piece)
        done[row] = max(done[row], task.end + timedelta(minutes=task.link.after_min))
    return Timetable(
        tasks=tasks,
        done=tuple(done[row] for row in rows),
        dated=bool(day.start),
        notes=(*dict.fromkeys(notes), *_late_notes(tasks)),
        rows=rows,
    )


def chain_of(
    steps: Sequence[PaintStep],
    day: Workday,
    paints: Mapping[str, Paint],
    burns: BurnTimes | None = None,
    *,
    first_burn: bool = False,
) -> tuple[Link, ...]:
    """The work on one piece, first to last. first_burn: whether the burn before all painting is part of it."""
    times = burns or BurnTimes(burns_min=())
    chain: list[Link] = [_burn_link(1, "", 0.0, times, day)] if first_burn else []
    wait_min = 0.0
    burn, cure_h = 1, 0.0
    for step in steps:
        paint, backing = step.area.paint, paints.get(step.area.paint.backing)
        if step.burn > burn:  # what comes before is burned through, so it has to be cured
            burn = step.burn
            chain.append(
                replace(_burn_link(burn, paint.name, max(wait_min, 60.0 * cure_h), times, day), step=step.number)
            )
            wait_min = 0.0
        cures_h = max(paint.cure_h, backing.cure_h if backing is not None and paint.backing_coats else 0.0)
        cure_h = max(cure_h, cures_h)
        if step.needs_film:
            chain.append(_link(step, "mask", 1, day.mask_min, wait_min))
            wait_min = 0.0
        for coat in range(1, paint.coats + 1):
            if coat > 1:
                wait_min = paint.between_coats_min
            limit_min = paint.recoat_within_min if coat > 1 else 0.0
            link = _link(step, "coat", coat, day.coat_min, wait_min)
            chain.append(replace(link, within_min=limit_min, after_min=60.0 * paint.cure_h))
        wait_after_min = paint.mask_after_min
        for coat in range(1, paint.backing_coats + 1 if backing else 1):
            assert backing is not None
            wait_min = paint.between_coats_min if coat == 1 else backing.between_coats_min
            chain.append(replace(_link(step, "backing", coat, day.coat_min, wait_min), after_min=60.0 * cures_h))
            wait_after_min = max(paint.mask_after_min, backing.mask_after_min)
        wait_min = wait_after_min
        if step.is_peeled:
            chain.append(_link(step, "peel" if step.made_by == "knife" else "film", 1, day.peel_min, wait_min))
            wait_min = 0.0
    for number in range(burn + 1, len(times.burns_min) + 1):  # what stays bare is burned last
        bare = _burn_link(number, BARE, max(wait_min, 60.0 * cure_h), times, day)
        chain.append(replace(bare, step=len(steps) + 1))
        wait_min = 0.0
    if times.cut_min is not None:
        cut = _burn_link(0, "", max(wait_min, 60.0 * cure_h), times, day)
        chain.append(replace(cut, step=len(steps) + 1))
    return tuple(chain)


def sessions(tasks: Sequence[Task]) -> tuple[Session, ...]:
    """Tasks put together where the same is done to one piece after the other without a break."""
    result: list[Session] = []
    for task in tasks:
        last = result[-1] if result else None
        same = last is not None and (last.link, last.job, last.late) == (task.link, task.job, task.late)
        if last is not None and same and last.end == task.start:
            result[-1] = replace(last, pieces=(*last.pieces, task.piece), end=task.end)
        else:
            result.append(
                Session(
                    link=task.link,
                    pieces=(task.piece,),
                    start=task.start,
                    end=task.end,
                    late=task.late,
                    job=task.job,
                )
            )
    return tuple(result)


def step_notes(steps: Sequence[PaintStep]) -> tuple[str, ...]:
    """What the cans say, and what later burns wait for."""
    said: dict[str, list[str]] = {}
    for step in steps:
        if step.area.paint.conditions:
            said.setdefault(step.area.paint.conditions, []).append(step.area.paint.name)
    notes = [f"{', '.join(names)}: {words}" if len(said) > 1 else words for words, names in said.items()]
    for number in range(2, max((step.burn for step in steps), default=1) + 1):
        first = next(step.area.paint.name for step in steps if step.burn == number)
        notes.append(f"Burn {number} comes before {first}, once all paint before it has cured.")
    return tuple(notes)


def time_text(moment: datetime, *, dated: bool, with_day: bool = True) -> str:
    """A moment for people: "Mon 3 Mar, 14:05", or "day 2, 09:10" where there is no date."""
    clock = f"{moment:%H:%M}"
    if not with_day:
        return clock
    if not dated:
        return f"day {(moment.date() - FIRST_DAY.date()).days + 1}, {clock}"
    return f"{_DAYS[moment.weekday()]} {moment.day} {_MONTHS[moment.month - 1]}, {clock}"


_DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


def start_of(day: Workday) -> datetime:
    """When work begins. Raises UnreadableError when that is no date and time."""
    if not day.start:
        return FIRST_DAY + timedelta(hours=day.opens_h)
    start = None
    with suppress(ValueError):
        start = datetime.fromisoformat(day.start)
    if start is None or not 1970 <= start.year <= 2200:
        raise UnreadableError(f"“{day.start}” is no date and time.", hint="Write it like 2026-03-02T09:00.")
    return start.replace(tzinfo=None)


def _late_notes(tasks: Sequence[Task]) -> list[str]:
    """Coats that come too late, and what to do before them."""
    late = {(task.job, task.link.step, task.link.coat): task.link for task in tasks if task.late}
    return [
        f"{f'{job}, ' if job else ''}{label_of(link)} comes later than the can allows: abrade first, "
        "wipe the dust off, and try it on a scrap."
        for (job, _, _), link in sorted(late.items(), key=lambda one: one[0])
    ]


def _link(step: PaintStep, kind: TaskKind, coat: int, duration_min: float, wait_min: float) -> Link:
    return Link(
        step=step.number,
        paint=step.area.paint.name,
        kind=kind,
        coat=coat,
        duration_min=duration_min,
        wait_min=wait_min,
    )


def _burn_link(number: int, clears: str, wait_min: float, times: BurnTimes, day: Workday) -> Link:
    """A burn, or the cut where number is 0. Burns through paint are watched, whatever the working day says."""
    burns = times.burns_min
    burn_min = (times.cut_min or 0.0) if number == 0 else burns[number - 1] if number <= len(burns) else 0.0
    put_back_min = 0.0 if number == 1 else times.put_back_min
    watched = day.watch_burns or number > 1
    return Link(
        step=0,
        paint=clears,
        kind="burn",
        coat=number,
        duration_min=put_back_min + burn_min,
        wait_min=wait_min,
        hands_min=None if watched else put_back_min,
        machine=True,
    )
