"""When what is done: several pieces, one pair of hands, waits that go on by themselves.

Each piece is a chain of handwork with a least wait before each link. Of all links that could come next, the hands take
the one that can begin first; where several can, the one with the longest chain still before it, so that pieces are
masked together and sprayed together. This is list scheduling by longest remaining path (R. L. Graham, "Bounds on
multiprocessing timing anomalies", SIAM J. Appl. Math. 17 (1969) 416-429): good, not proven shortest.
"""

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal

from core.errors import UnreadableError
from core.finishing.paints import Finishing, Paint, Workday
from core.finishing.steps import PaintStep

TaskKind = Literal["mask", "coat", "backing", "peel"]
FIRST_DAY = datetime(2001, 1, 1)  # a Monday; stands for "day 1" where no date is given


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """One piece of handwork in a piece's chain.

    wait_min: least time since the end of the link before. within_min: most time since then, 0 for no limit. step is
    the colour's place in the order, from 1; coat counts from 1.
    """

    step: int
    paint: str
    kind: TaskKind
    coat: int
    duration_min: float
    wait_min: float
    within_min: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A link given its time on one piece (from 1). late: it begins after the can's latest time for the next coat."""

    piece: int
    link: Link
    start: datetime
    end: datetime
    late: bool = False

    @property
    def label(self) -> str:
        """What is done, for people: "navy, coat 2"."""
        return label_of(self.link)


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """The same handwork on several pieces, one right after the other."""

    link: Link
    pieces: tuple[int, ...]
    start: datetime
    end: datetime
    late: bool

    @property
    def label(self) -> str:
        """What is done, for people."""
        return label_of(self.link)


@dataclass(frozen=True, slots=True, kw_only=True)
class Timetable:
    """All handwork in order of time. done: when each piece has cured; dated: False where the day is only "day 1"."""

    tasks: tuple[Task, ...]
    done: tuple[datetime, ...]
    dated: bool
    notes: tuple[str, ...]

    @property
    def start(self) -> datetime:
        """When the first handwork begins."""
        return self.tasks[0].start if self.tasks else FIRST_DAY

    @property
    def end(self) -> datetime:
        """When the last piece has cured."""
        return max(self.done, default=self.start)


def timetable(steps: Sequence[PaintStep], finishing: Finishing) -> Timetable:
    """The timetable of a paint plan's steps. Raises UnreadableError when the start is no date and time."""
    start = start_of(finishing.workday)
    if not steps:
        return Timetable(tasks=(), done=(), dated=bool(finishing.workday.start), notes=())
    paints = {paint.name: paint for paint in finishing.paints}
    chain = chain_of(steps, finishing.workday, paints)
    tasks = _scheduled(chain, finishing, start)
    done = tuple(_done(tasks, piece, steps, paints) for piece in range(1, finishing.pieces + 1))
    return Timetable(
        tasks=tasks,
        done=done,
        dated=bool(finishing.workday.start),
        notes=_notes(steps, tasks),
    )


def chain_of(steps: Sequence[PaintStep], day: Workday, paints: Mapping[str, Paint]) -> tuple[Link, ...]:
    """The handwork of one piece, first to last."""
    chain: list[Link] = []
    wait_min = 0.0
    burn, cure_h = 1, 0.0
    for step in steps:
        if step.burn > burn:  # what comes before is burned through, so it has to be cured
            burn, wait_min = step.burn, max(wait_min, 60.0 * cure_h)
        cure_h = max(cure_h, step.area.paint.cure_h)
        if step.area.paint.backing_coats and step.area.paint.backing in paints:
            cure_h = max(cure_h, paints[step.area.paint.backing].cure_h)
        paint, peels = step.area.paint, step.made_by == "knife" or not step.patches.is_empty
        if peels:
            chain.append(_link(step, "mask", 1, day.mask_min, wait_min))
            wait_min = 0.0
        for coat in range(1, paint.coats + 1):
            if coat > 1:
                wait_min = paint.between_coats_min
            limit_min = paint.recoat_within_min if coat > 1 else 0.0
            chain.append(replace(_link(step, "coat", coat, day.coat_min, wait_min), within_min=limit_min))
        backing = paints.get(paint.backing)
        wait_after_min = paint.mask_after_min
        for coat in range(1, paint.backing_coats + 1 if backing else 1):
            assert backing is not None
            wait_min = paint.between_coats_min if coat == 1 else backing.between_coats_min
            chain.append(_link(step, "backing", coat, day.coat_min, wait_min))
            wait_after_min = max(paint.mask_after_min, backing.mask_after_min)
        wait_min = wait_after_min
        if peels:
            chain.append(_link(step, "peel", 1, day.peel_min, wait_min))
            wait_min = 0.0
    return tuple(chain)


def sessions(tasks: Sequence[Task]) -> tuple[Session, ...]:
    """Tasks put together where the same is done to one piece after the other without a break."""
    result: list[Session] = []
    for task in tasks:
        last = result[-1] if result else None
        if last is not None and last.link == task.link and last.end == task.start:
            pieces, late = (*last.pieces, task.piece), last.late or task.late
            result[-1] = replace(last, pieces=pieces, end=task.end, late=late)
        else:
            result.append(Session(link=task.link, pieces=(task.piece,), start=task.start, end=task.end, late=task.late))
    return tuple(result)


def label_of(link: Link) -> str:
    """What is done, for people."""
    return {
        "mask": f"{link.paint}: lay the mask",
        "coat": f"{link.paint}: coat {link.coat}",
        "backing": f"{link.paint}: backing, coat {link.coat}",
        "peel": f"{link.paint}: peel the mask",
    }[link.kind]


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


def _link(step: PaintStep, kind: TaskKind, coat: int, duration_min: float, wait_min: float) -> Link:
    return Link(
        step=step.number,
        paint=step.area.paint.name,
        kind=kind,
        coat=coat,
        duration_min=duration_min,
        wait_min=wait_min,
    )


def _scheduled(chain: Sequence[Link], finishing: Finishing, start: datetime) -> tuple[Task, ...]:
    """Times for the chain of every piece, one pair of hands."""
    day, count = finishing.workday, finishing.pieces
    at = [0] * count
    free = start
    ended = [start] * count
    tasks: list[Task] = []
    while any(place < len(chain) for place in at):
        begins = {
            piece: _in_hours(max(free, ended[piece] + timedelta(minutes=link.wait_min)), link.duration_min, day)
            for piece, place in enumerate(at)
            if place < len(chain)
            for link in (chain[place],)
        }
        piece = min(begins, key=lambda piece: (begins[piece], at[piece], piece))
        link = chain[at[piece]]
        end = begins[piece] + timedelta(minutes=link.duration_min)
        late = 0 < link.within_min < (begins[piece] - ended[piece]).total_seconds() / 60
        tasks.append(Task(piece=piece + 1, link=link, start=begins[piece], end=end, late=late))
        at[piece] += 1
        free = ended[piece] = end
    return tuple(tasks)


def _in_hours(moment: datetime, duration_min: float, day: Workday) -> datetime:
    """The first moment from then on at which so long a task fits into the working day."""
    midnight = moment.replace(hour=0, minute=0, second=0, microsecond=0)
    opens, closes = midnight + timedelta(hours=day.opens_h), midnight + timedelta(hours=day.closes_h)
    if moment < opens:
        return opens
    if moment + timedelta(minutes=duration_min) <= closes:
        return moment
    return opens + timedelta(days=1)


def _done(tasks: Sequence[Task], piece: int, steps: Sequence[PaintStep], paints: Mapping[str, Paint]) -> datetime:
    """When a piece may be handled: its last coats cured, backing too, and nothing left to peel."""
    own = [task for task in tasks if task.piece == piece]
    paint_of = {step.number: step.area.paint for step in steps}
    cured = []
    for task in own:
        paint = paint_of[task.link.step]
        if task.link.kind == "coat":
            cured.append(task.end + timedelta(hours=paint.cure_h))
        elif task.link.kind == "backing":
            cured.append(task.end + timedelta(hours=max(paint.cure_h, paints[paint.backing].cure_h)))
    return max(*cured, own[-1].end)


def _notes(steps: Sequence[PaintStep], tasks: Sequence[Task]) -> tuple[str, ...]:
    """What the cans say, and coats that come too late."""
    said: dict[str, list[str]] = {}
    for step in steps:
        if step.area.paint.conditions:
            said.setdefault(step.area.paint.conditions, []).append(step.area.paint.name)
    notes = [f"{', '.join(names)}: {words}" if len(said) > 1 else words for words, names in said.items()]
    for number in range(2, max((step.burn for step in steps), default=1) + 1):
        first = next(step.area.paint.name for step in steps if step.burn == number)
        notes.append(f"Burn {number} comes before {first}, once all paint before it has cured.")
    late = sorted({(task.link.step, task.link.coat, task.label) for task in tasks if task.late})
    notes += [f"{label} comes later than the can allows: abrade first, or try it on a scrap." for _, _, label in late]
    return tuple(notes)
