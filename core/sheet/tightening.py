"""A layout in less and less of the room: what found no room is added, then the strip is shrunk step by step."""

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from core.sheet.meetings import Meetings
from core.sheet.separating import Separating
from core.sheet.settling import Settling, Spot

MOST_FAILURES = 400
"""In a row, until a layout is taken to be as tight as it gets."""
TURNS = 6
"""Of these trials one may put shapes elsewhere; the others push apart what two shapes changed about overlap."""
_EVEN_SHARE, _EVEN_TRIALS = 0.004, 4
_ROW_SHARE = 0.25
"""Of a shape's extent, that the next row begins behind the one before."""
_FIRST_SHARE, _MOST_SHARE, _LEAST_SHARE = 0.02, 0.02, 0.001
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
        if len({self._meetings.fields[field].wanted for field, _, _ in best}) == 1:
            for evener in self._even(best):
                best = evener
                yield best
        share, start, last, failed = _FIRST_SHARE, best, best, 0
        axis, length_mm = self._strip(best)
        while self._going() and len(best) > 1 and failed < MOST_FAILURES:
            quick = failed % TURNS > 0
            if quick:
                start = self._swapped(best)
            limit_mm = self._room[axis] + (1.0 - share) * length_mm
            found, apart = self._separating.within(start, axis=axis, limit_mm=limit_mm, rearranged=not quick)
            if not apart:
                failed += 1
                if failed % TURNS == 0:
                    share = 0.7 * share if share > _LEAST_SHARE else _FIRST_SHARE
                    start = self._swapped(last if failed % (3 * TURNS) else best)
                elif not quick:
                    last = found
                continue
            best = start = self.settled(found)
            axis, length_mm = self._strip(best)
            share, failed = min(1.5 * share, _MOST_SHARE), 0
            yield best

    def _even(self, spots: Sequence[Spot]) -> Iterator[list[Spot]]:
        """Shorter strips with as many shapes in each row, or one more, spread out from end to end."""
        axis, length_mm = self._strip(spots)
        share = _EVEN_SHARE
        for _ in range(_EVEN_TRIALS):
            if not self._going():
                return
            limit_mm = self._room[axis] + (1.0 - share) * length_mm
            start = self._spread(spots, axis, limit_mm)
            found, apart = self._separating.within(start, axis=axis, limit_mm=limit_mm, rearranged=False)
            if apart:
                yield self.settled(found)
            share = 1.5 * share if apart else 0.5 * share

    def _spread(self, spots: Sequence[Spot], axis: int, limit_mm: float) -> list[Spot]:
        """The rows across the strip with as even numbers as can be, evenly spread, every other one half a place on."""
        own = self._meetings.bounds[[field for field, _, _ in spots]]
        begins = own[:, axis] + np.array([spot[1 + axis] for spot in spots])
        order = np.argsort(begins, kind="stable")
        ahead = np.diff(begins[order])
        rows = 1 + int((ahead > _ROW_SHARE * (own[:, 2 + axis] - own[:, axis]).min()).sum())
        near, far = self._room[1 - axis], self._room[3 - axis]
        last = limit_mm - float((own[:, 2 + axis] - own[:, axis]).max())
        result = list(spots)
        for row, members in enumerate(np.array_split(order, rows)):
            breadth = float((own[members, 3 - axis] - own[members, 1 - axis]).max())
            full = len(members) > len(spots) // rows
            pitch = (far - near - breadth) / max(len(members) - (1.0 if full else 0.5), 1.0)
            along = self._room[axis] + (last - self._room[axis]) * row / max(rows - 1, 1)
            for number, index in enumerate(members.tolist()):
                across = near + (number + (0.5 if row % 2 and not full else 0.0)) * pitch
                place = [0.0, 0.0]
                place[axis] = float(along - own[index, axis])
                place[1 - axis] = float(across - own[index, 1 - axis])
                result[index] = (spots[index][0], *place)
        return result

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
        """Two shapes, picked at random, each about where the other was; like shapes turned anyhow."""
        now = list(spots)
        if len(now) < 2:
            return now
        one, other = self._random.choice(len(now), 2, replace=False).tolist()
        fields = self._meetings.fields
        wanted = fields[now[one][0]].wanted
        if wanted == fields[now[other][0]].wanted:
            alike = [field.number for field in fields if field.wanted == wanted]
            now[one] = (int(self._random.choice(alike)), *now[one][1:])
        for index, (to, x, y) in ((one, now[other]), (other, now[one])):
            field = now[index][0]
            own, there = self._meetings.bounds[field], self._meetings.bounds[to]
            shift = (there[:2] + there[2:] - own[:2] - own[2:]) / 2
            now[index] = (field, x + float(shift[0]), y + float(shift[1]))
        return now
