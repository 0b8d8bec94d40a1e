"""When hands and machine are free: times that are taken, within working hours."""

import bisect
import math
from dataclasses import dataclass, field

from core.finishing.bench_work import Link

_DAY_MIN = 1440.0

HAIR_MIN = 1e-6


@dataclass(slots=True)
class _Busy:
    """Stretches of time in which hands or machine are taken, sorted, none touching."""

    starts: list[float] = field(default_factory=list)
    ends: list[float] = field(default_factory=list)

    def free_from(self, at: float, length: float) -> float:
        """The first time from ``at`` on at which it is free for so long."""
        if length <= 0:
            return at
        place = bisect.bisect_right(self.starts, at + HAIR_MIN) - 1
        if place >= 0 and self.ends[place] > at + HAIR_MIN:
            at = self.ends[place]
        place += 1
        while place < len(self.starts) and self.starts[place] < at + length - HAIR_MIN:
            at = self.ends[place]
            place += 1
        return at

    def take(self, start: float, length: float) -> None:
        if length <= 0:
            return
        end = start + length
        place = bisect.bisect_left(self.starts, start)
        if place and abs(self.ends[place - 1] - start) < HAIR_MIN:
            place -= 1
            self.ends[place] = end
        else:
            self.starts.insert(place, start)
            self.ends.insert(place, end)
        if place + 1 < len(self.starts) and abs(self.starts[place + 1] - end) < HAIR_MIN:
            self.ends[place] = self.ends[place + 1]
            del self.starts[place + 1], self.ends[place + 1]

    def copy(self) -> "_Busy":
        return _Busy(starts=self.starts.copy(), ends=self.ends.copy())


@dataclass(slots=True)
class Times:
    """Hands, machine and hours, in minutes since the first day's midnight."""

    opens_min: float
    closes_min: float
    hands: _Busy = field(default_factory=_Busy)
    machine: _Busy = field(default_factory=_Busy)

    def first(self, at: float, link: Link, duration_min: float) -> float:
        """The first time from ``at`` on at which the link can be done."""
        hands_min = duration_min if link.hands_min is None else min(link.hands_min, duration_min)
        while True:
            begin = self._in_hours(at, duration_min)
            begin = self.hands.free_from(begin, hands_min)
            if link.machine:
                begin = self.machine.free_from(begin, duration_min)
            if begin == at:
                return at
            at = begin

    def take(self, start: float, link: Link, duration_min: float) -> None:
        """The link is done from then on."""
        self.hands.take(start, duration_min if link.hands_min is None else min(link.hands_min, duration_min))
        if link.machine:
            self.machine.take(start, duration_min)

    def copy(self) -> "Times":
        """The same, to be filled on its own."""
        return Times(
            opens_min=self.opens_min, closes_min=self.closes_min, hands=self.hands.copy(), machine=self.machine.copy()
        )

    def _in_hours(self, at: float, duration_min: float) -> float:
        """The first time from then on at which so long a task fits into the working day; the longest begin with it."""
        midnight = math.floor((at + HAIR_MIN) / _DAY_MIN) * _DAY_MIN
        opens, closes = midnight + self.opens_min, midnight + self.closes_min
        if at < opens:
            return opens
        if at + duration_min <= closes + HAIR_MIN or (at == opens and duration_min > self.closes_min - self.opens_min):
            return at
        return opens + _DAY_MIN
