"""A layout in less and less of the room: what found no room is added, then the strip is shrunk step by step."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from core.sheet.meetings import Meetings
from core.sheet.separating import Separating
from core.sheet.settling import Settling, Spot

MOST_FAILURES = 40
"""In a row, until a layout is taken to be as tight as it gets."""
_FIRST_SHARE, _MOST_SHARE, _LEAST_SHARE = 0.02, 0.03, 0.001
"""Of the strip's length, that it is made shorter by at a time."""


class Tightening:
    """Makes layouts of turned shapes tighter. ``going`` tells whether there is time left."""

    def __init__(
        self,
        room: tuple[float, float, float, float],
        meetings: Meetings,
        settling: Settling,
        separating: Separating,
        *,
        going: Callable[[], bool],
    ) -> None:
        """room: its bounds."""
        self._room, self._going, self._meetings = room, going, meetings
        self._settling, self._separating = settling, separating
        self._random = np.random.default_rng(1)

    def settled(self, spots: Sequence[Spot]) -> list[Spot]:
        """All shapes pushed into contact, first towards the side from which the strip is counted."""
        axis, _ = self._strip(spots)
        return self._settling.settled(spots, (axis, 1 - axis))

    def tighter(self, spots: Sequence[Spot], lost: Sequence[int]) -> Iterator[list[Spot]]:
        """Layouts with those of the shapes wanted that found no room added, then in ever shorter strips."""
        best = list(spots)
        for wanted in lost:
            more = self._with_another(best, wanted)
            if more is None:
                break
            best = more
            yield best
        share, start, failed = _FIRST_SHARE, best, 0
        axis, length_mm = self._strip(best)
        while self._going() and len(best) > 1 and failed < MOST_FAILURES:
            limit_mm = self._room[axis] + (1.0 - share) * length_mm
            found, apart = self._separating.within(start, axis=axis, limit_mm=limit_mm)
            if not apart:
                failed += 1
                share = max(0.7 * share, _LEAST_SHARE)
                start = self._swapped(found if failed % 3 else best)
                continue
            best = start = self.settled(found)
            axis, length_mm = self._strip(best)
            share, failed = min(1.5 * share, _MOST_SHARE), 0
            yield best

    def _with_another(self, spots: Sequence[Spot], wanted: int) -> list[Spot] | None:
        """One shape more, without overlap; None when that fails."""
        start = list(spots)
        for _ in range(MOST_FAILURES):
            found, apart = self._separating.with_another(start, wanted)
            if apart:
                return self.settled(found)
            if not self._going():
                return None
            start = self._swapped(spots)
        return None

    def _strip(self, spots: Sequence[Spot]) -> tuple[int, float]:
        """Along which axis the strip with the shapes is counted, and how long it is."""
        left, top, right, bottom = self._room
        own = self._meetings.bounds[[field for field, _, _ in spots]]
        x1, y1 = (own[:, 2:] + np.array([(x, y) for _, x, y in spots])).max(0).tolist()
        if (x1 - left) * (bottom - top) <= (y1 - top) * (right - left):
            return 0, x1 - left
        return 1, y1 - top

    def _swapped(self, spots: Sequence[Spot]) -> list[Spot]:
        """Two shapes, picked at random, each about where the other was."""
        now = list(spots)
        if len(now) < 2:
            return now
        one, other = self._random.choice(len(now), 2, replace=False).tolist()
        for index, (to, x, y) in ((one, now[other]), (other, now[one])):
            field = now[index][0]
            own, there = self._meetings.bounds[field], self._meetings.bounds[to]
            shift = (there[:2] + there[2:] - own[:2] - own[2:]) / 2
            now[index] = (field, x + float(shift[0]), y + float(shift[1]))
        return now
