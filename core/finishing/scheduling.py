"""When each piece is worked at: one pair of hands, one machine, least waits, and latest times between coats.

A plan is built by putting units of work, one after the other, where they can be done first. A unit is a link of a
piece's chain, or several that a can's latest time ties together: those are placed as a whole, so that the first coat
goes on only when the second will come in time. Pieces may go in lockstep, so many at a time; a few sizes are tried
(twelve pieces of four coats with a limit of 30 min are two batches of six). Of all plans that which has fewest late
coats is taken, then the one that is done first. Small cases try every order of units; larger ones begin with the
longest remaining path (R. L. Graham, "Bounds on multiprocessing timing anomalies", SIAM J. Appl. Math. 17 (1969)
416-429) and improve it by moving units. Good, not proven shortest.
"""

import heapq
import random
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from itertools import pairwise

from core.finishing.bench_work import Chain, Link, Task
from core.finishing.busy_times import _DAY_MIN, HAIR_MIN, Times
from core.finishing.paints import Workday
from core.finishing.permutations import number_of_orders, orders

_MOST_TRIES = 60
CHANGE_MIN = 5.0
"""What it is worth not to go over to other work, in minutes of the end. Invented, no source."""
MOST_ORDERS = 1_700
"""So many orders of units are tried one by one; where there are more, they are improved by moves."""
MOST_PLACED = 6_000
"""Links placed while a better plan is looked for; large plans are taken as the first rule makes them."""


@dataclass(slots=True)
class _Group:
    """Pieces of a chain that go in lockstep. units: [from, to) of the chain's links; at: how many units are placed."""

    number: int  # of the chain
    chain: Chain
    pieces: tuple[int, ...]
    units: tuple[tuple[int, int], ...]
    rest_min: tuple[float, ...]
    at: int = 0
    ready: list[float] = field(default_factory=list)

    @property
    def is_done(self) -> bool:
        return self.at == len(self.units)


@dataclass(frozen=True, slots=True)
class _Placed:
    """A link of one piece, put somewhere."""

    piece: int
    link: int
    start: float
    duration_min: float
    late: bool


@dataclass(frozen=True, slots=True, eq=False)
class _Plan:
    placed: tuple[tuple[int, int, _Placed], ...]  # (chain, group, what)
    cost: tuple[float, float]  # late coats; when all is done, with what changes of work are worth
    order: tuple[int, ...]  # groups, in the order in which their units were placed


def schedule(
    chains: Sequence[Chain], day: Workday, start: datetime, *, change_min: float = CHANGE_MIN
) -> tuple[Task, ...]:
    """All tasks in order of time. day: working hours and how long abrading takes."""
    midnight = start.replace(hour=0, minute=0, second=0, microsecond=0)
    begin = (start - midnight).total_seconds() / 60
    if not any(chain.links for chain in chains):
        return ()
    planner = _Planner(tuple(chains), day, begin, change_min)
    best = planner.best()
    tasks = []
    for chain, _, put in best.placed:
        link = replace(planner.chains[chain].links[put.link], duration_min=put.duration_min)
        at = midnight + timedelta(minutes=put.start)
        end = midnight + timedelta(minutes=put.start + put.duration_min)
        job = planner.chains[chain].job
        tasks.append(Task(piece=put.piece + 1, link=link, start=at, end=end, late=put.late, job=job))
    return tuple(sorted(tasks, key=lambda task: (task.start, task.end)))


class _Planner:
    """Tries sizes of lockstep and orders of units."""

    def __init__(self, chains: tuple[Chain, ...], day: Workday, begin: float, change_min: float) -> None:
        self.chains, self._day, self._begin, self._change_min = chains, day, begin, change_min
        self._left = MOST_PLACED
        self._units = [self._keepable(number) for number in range(len(chains))]
        self._left = MOST_PLACED
        self._links = sum(len(chain.links) * chain.pieces for chain in chains)

    def best(self) -> _Plan:
        """The best that is found."""
        size, best = 1, self._by_rule(1)
        for other in self._sizes():
            if self._left < self._links:
                break
            tried = self._by_rule(other)
            if tried.cost < best.cost:
                size, best = other, tried
        counts = [(len(units), chain.pieces) for units, chain in zip(self._units, self.chains, strict=True)]
        if number_of_orders(counts) <= MOST_ORDERS:
            return min([best, *(self._in_order(order, 1) for order in orders(counts))], key=_cost)
        if size > 1:
            best = self._improved(best, size, until=self._left // 2)
        alone = self._by_rule(1)
        return min([best, self._improved(alone, 1, until=0)], key=_cost)

    def _keepable(self, number: int) -> tuple[tuple[int, int], ...]:
        """Units of a chain; what can't be kept in time even by one piece on a free day is taken link by link."""
        chain = self.chains[number]
        opens = self._day.opens_h * 60
        units: list[tuple[int, int]] = []
        for first, last in _units(chain.links):
            alone = _Group(number, chain, (0,), ((first, last),), (0.0,), ready=[opens])
            if last - first == 1 or self._block(alone, self._times(), first, last) is not None:
                units.append((first, last))
            else:
                units += [(link, link + 1) for link in range(first, last)]
        return tuple(units)

    def _sizes(self) -> list[int]:
        """Pieces in lockstep worth trying: no more than a latest time lets through."""
        most = max(chain.pieces for chain in self.chains)
        for chain in self.chains:
            for link in chain.links:
                if link.has_limit and link.duration_min > 0 and link.within_min >= link.wait_min:
                    most = min(most, int((link.within_min + HAIR_MIN) // link.duration_min) + 1)
        counts = {-(-chain.pieces // number) for chain in self.chains for number in range(1, chain.pieces + 1)}
        return sorted((size for size in counts if 1 < size <= most), reverse=True)

    def _groups(self, size: int) -> list[_Group]:
        groups = []
        for number, chain in enumerate(self.chains):
            units, rest = self._units[number], _rests(chain.links)
            for first in range(0, chain.pieces, size):
                pieces = tuple(range(first, min(first + size, chain.pieces)))
                ready = [self._begin] * len(pieces)
                groups.append(
                    _Group(
                        number=number,
                        chain=chain,
                        pieces=pieces,
                        units=units,
                        rest_min=tuple(rest[unit[0]] for unit in units),
                        ready=ready,
                    )
                )
        return groups

    def _times(self) -> Times:
        return Times(opens_min=self._day.opens_h * 60, closes_min=self._day.closes_h * 60)

    def _by_rule(self, size: int) -> _Plan:
        """What can begin first comes first; of those, the one with most still before it."""
        groups, times = self._groups(size), self._times()
        waiting = [(min(group.ready), -group.rest_min[0], number) for number, group in enumerate(groups) if group.units]
        heapq.heapify(waiting)
        placed: list[tuple[int, _Placed]] = []
        order = []
        while waiting:
            bound, rest, number = heapq.heappop(waiting)
            group = groups[number]
            put = self._unit(group, times)
            begins = min(one.start for one in put)
            if begins > bound + HAIR_MIN and waiting and (begins, rest, number) > waiting[0]:
                heapq.heappush(waiting, (begins, rest, number))
                continue
            self._settle(group, put, times)
            placed += [(number, one) for one in put]
            order.append(number)
            if not group.is_done:
                heapq.heappush(waiting, (min(group.ready), -group.rest_min[group.at], number))
        return self._made(groups, placed, order)

    def _in_order(self, order: Sequence[int], size: int) -> _Plan:
        """Units in this order of groups, each where it can be done first."""
        groups, times = self._groups(size), self._times()
        placed: list[tuple[int, _Placed]] = []
        for number in order:
            put = self._unit(groups[number], times)
            self._settle(groups[number], put, times)
            placed += [(number, one) for one in put]
        return self._made(groups, placed, order)

    def _improved(self, plan: _Plan, size: int, *, until: int) -> _Plan:
        """Units moved to another place in the order, as long as the budget lasts and there may be a better plan."""
        chance = random.Random(1)
        best, least = plan, self._least_end()
        while self._left - self._links >= until and len(best.order) > 2 and best.cost > (0.0, least):
            order = list(best.order)
            one = order.pop(chance.randrange(len(order)))
            order.insert(chance.randrange(len(order) + 1), one)
            tried = self._in_order(order, size)
            if tried.cost <= best.cost:
                best = tried
        return best

    def _least_end(self) -> float:
        """No plan is done before the longest chain would be if it were alone."""
        ends = []
        for chain in self.chains:
            alone = _Planner((replace(chain, pieces=1),), self._day, self._begin, self._change_min)
            ends.append(alone._by_rule(1).cost[1])
        return max(ends)

    def _made(self, groups: Sequence[_Group], placed: Sequence[tuple[int, _Placed]], order: Sequence[int]) -> _Plan:
        done: dict[tuple[int, int], float] = {}
        late = 0
        told = []
        for number, one in placed:
            chain = groups[number].chain
            end = one.start + one.duration_min + chain.links[one.link].after_min
            key = (groups[number].number, one.piece)
            done[key] = max(done.get(key, 0.0), end)
            late += one.late
            told.append((key[0], number, one))
        end = max(done.values(), default=0.0) + self._change_min * _changes(told)
        cost = (float(late), round(end, 4))
        return _Plan(tuple(told), cost, tuple(order))

    def _settle(self, group: _Group, put: Sequence[_Placed], times: Times) -> None:
        for one in put:
            times.take(one.start, group.chain.links[one.link], one.duration_min)
            place = one.piece - group.pieces[0]
            group.ready[place] = one.start + one.duration_min
        group.at += 1

    # --- one unit ------------------------------------------------------------------------------------------------

    def _unit(self, group: _Group, times: Times) -> list[_Placed]:
        """The next unit of a group, where it can be done first, with all its latest times kept if they can be."""
        first, last = group.units[group.at]
        if last - first > 1:
            kept = self._block(group, times, first, last)
            if kept is not None:
                return kept
        self._left -= (last - first) * len(group.pieces)
        return self._loose(group, times, first, last)

    def _block(self, group: _Group, times: Times, first: int, last: int) -> list[_Placed] | None:
        """Links that latest times tie together; None where those can't be kept.

        Where one comes too late, the one before is put off by as much and all are placed anew, so bounds only grow.
        """
        links, count = group.chain.links, len(group.pieces)
        bounds = [[0.0] * count for _ in range(first, last)]
        bounds[0] = [ready + links[first].wait_min for ready in group.ready]
        latest = max(bounds[0]) + 3 * _DAY_MIN + sum(link.wait_min for link in links[first:last]) * 2
        for _ in range(_MOST_TRIES):
            self._left -= (last - first) * count
            put = self._placed_block(group, times, first, last, bounds)
            kept = True
            for row in range(1, last - first):
                limit_min = links[first + row].within_min
                for place, before in enumerate(put[row - 1]):
                    over = put[row][place].start - before.start - before.duration_min - limit_min
                    if over > HAIR_MIN:
                        kept = False
                        bounds[row - 1][place] = before.start + over
            if kept:
                return [one for row in put for one in row]
            if max(max(row) for row in bounds) > latest:
                return None
        return None

    def _placed_block(
        self, group: _Group, times: Times, first: int, last: int, bounds: Sequence[Sequence[float]]
    ) -> list[list[_Placed]]:
        times = times.copy()
        links = group.chain.links
        put: list[list[_Placed]] = []
        for row in range(last - first):
            link = links[first + row]
            session = []
            before = 0.0
            for place, piece in enumerate(group.pieces):
                at = max(bounds[row][place], before)
                if row:
                    earlier = put[row - 1][place]
                    at = max(at, earlier.start + earlier.duration_min + link.wait_min)
                start = times.first(at, link, link.duration_min)
                times.take(start, link, link.duration_min)
                before = start
                session.append(_Placed(piece, first + row, start, link.duration_min, False))
            put.append(session)
        return put

    def _loose(self, group: _Group, times: Times, first: int, last: int) -> list[_Placed]:
        """Link by link, each as soon as it can be; one that comes too late is abraded first."""
        times = times.copy() if last - first > 1 or len(group.pieces) > 1 else times
        links, ready = group.chain.links, group.ready.copy()
        put = []
        alone = last - first == 1 and len(group.pieces) == 1
        for number in range(first, last):
            link = links[number]
            for place, piece in enumerate(group.pieces):
                start = times.first(ready[place] + link.wait_min, link, link.duration_min)
                duration = link.duration_min
                late = link.has_limit and start - ready[place] > link.within_min + HAIR_MIN
                if late:
                    duration += self._day.abrade_min
                    start = times.first(ready[place] + link.wait_min, link, duration)
                if not alone:
                    times.take(start, link, duration)
                ready[place] = start + duration
                put.append(_Placed(piece, number, start, duration, late))
        return put


def _changes(placed: Sequence[tuple[int, int, _Placed]]) -> int:
    """How often hands go over to other work."""
    works = [(chain, one.link) for chain, _, one in sorted(placed, key=lambda put: put[2].start)]
    return sum(before != after for before, after in pairwise(works))


def _cost(plan: _Plan) -> tuple[float, float]:
    return plan.cost


def _units(links: Sequence[Link]) -> tuple[tuple[int, int], ...]:
    """Links tied together by a latest time that can be kept, as [from, to)."""
    units: list[tuple[int, int]] = []
    for number, link in enumerate(links):
        if units and link.has_limit and link.within_min >= link.wait_min:
            units[-1] = (units[-1][0], number + 1)
        else:
            units.append((number, number + 1))
    return tuple(units)


def _rests(links: Sequence[Link]) -> tuple[float, ...]:
    """From each link on: the least time until the piece is done."""
    rests = [0.0] * len(links)
    rest = 0.0
    for number in reversed(range(len(links))):
        link = links[number]
        rest = max(rest + link.duration_min, link.duration_min + link.after_min)
        rests[number] = rest
        rest += link.wait_min
    return tuple(rests)
