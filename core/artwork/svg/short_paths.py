"""Path data of many short paths read in one go: all paths advance by one segment at a time.

What a path costs besides its numbers is paid for all of them together. Anything unusual (an arc, an exponent, a
mistake) leaves its path to ``path_data``, which alone judges; what comes out here is the same as there.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from core.geometry.path import CUBIC, LINE, Floats

LONGEST_TEXT = 4_000
"""Characters of a path that is read here; longer ones are quicker by themselves."""

_LEAST_TOGETHER = 100
"""Paths that must still be going on for one more segment of all of them to be quicker than each by itself."""

_SAME_POINT = 1e-9
"""As in ``path_data``."""

Ints = NDArray[np.intp]
Flags = NDArray[np.bool_]

_STRANGE, _SPACE, _COMMA, _DIGIT, _DOT, _SIGN, _COMMAND = range(7)
_CLASS = np.zeros(256, np.uint8)
_SIZE = np.zeros(256, np.intp)
for _letters, _class in ((b" \t\r\n\f", _SPACE), (b",", _COMMA), (b"0123456789", _DIGIT), (b".", _DOT), (b"+-", _SIGN)):
    _CLASS[list(_letters)] = _class
for _letter, _size in (("M", 2), ("L", 2), ("H", 1), ("V", 1), ("C", 6), ("S", 4), ("Q", 4), ("T", 2), ("Z", 0)):
    for _one in (_letter, _letter.lower()):
        _CLASS[ord(_one)], _SIZE[ord(_one)] = _COMMAND, _size
_TO_SPACE = bytes(32 if _CLASS[code] in (_COMMAND, _COMMA) else code for code in range(256))
_M, _L, _H, _V, _C, _S, _Q, _T, _Z = (ord(letter) for letter in "MLHVCSQTZ")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ManyPaths:
    """Paths one behind the other, as ``geometry.path`` has them; ``starts`` count from each path's own first row.

    rows, subpaths: how many of them each path has, (n,); none for one that is to be read by itself.
    """

    kinds: NDArray[np.uint8]
    segments: Floats
    rows: Ints
    starts: Ints
    closed: Flags
    subpaths: Ints


def read_short_paths(texts: Sequence[str]) -> ManyPaths:
    """The paths that these texts (``d`` attributes) draw, in user units."""
    good = np.array([len(text) <= LONGEST_TEXT for text in texts], bool)
    while True:
        chosen = np.flatnonzero(good)
        if len(chosen) < _LEAST_TOGETHER:
            return _nothing(len(texts))
        steps, faulty = _steps([texts[i] for i in chosen.tolist()])
        if steps is not None:
            faulty = steps.too_long()
            if not faulty.any():
                return _drawn(steps, chosen, len(texts))
        good[chosen[faulty]] = False


def _nothing(count: int) -> ManyPaths:
    none = np.zeros(count, np.intp)
    return ManyPaths(
        kinds=np.zeros(0, np.uint8), segments=np.zeros((0, 8)), rows=none, starts=none[:0], closed=np.zeros(0, bool),
        subpaths=none,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Steps:
    """The commands of all paths, one step for each segment. letter: in capitals; path: whose; at: where among the
    numbers its own begin; turn: how many steps of the path come before."""

    letter: NDArray[np.uint8]
    relative: Flags
    path: Ints
    at: Ints
    turn: Ints
    numbers: Floats
    count: int

    def too_long(self) -> Flags:
        """Which paths go on where too few others do, (count,)."""
        lengths = np.bincount(self.path, minlength=self.count)
        going_on = np.cumsum(np.bincount(lengths)[::-1])[::-1]
        enough = np.flatnonzero(going_on >= _LEAST_TOGETHER)
        return lengths > (int(enough[-1]) if len(enough) else 0)


def _steps(texts: list[str]) -> tuple[_Steps | None, Flags]:
    """The steps of all texts; None where some have anything unusual, and which, (n,)."""
    data = "\n".join([*texts, ""]).encode("latin-1", "replace")
    codes = np.frombuffer(data, np.uint8)
    ends = np.cumsum([len(text) + 1 for text in texts])
    classes = _CLASS[codes]
    numeric = (classes == _DIGIT) | (classes == _DOT)
    inside = np.concatenate([[False], (numeric | (classes == _SIGN))[:-1]])
    begins = (classes == _SIGN) | (numeric & ~inside)
    odd = (classes == _STRANGE) | _badly_written(classes, numeric, begins)
    written = np.flatnonzero(classes != _SPACE)
    seen = classes[written]
    odd[written[1:][(seen[1:] == _COMMA) & (seen[:-1] != _DIGIT)]] = True
    faulty = np.zeros(len(texts), bool)
    first = np.searchsorted(written, np.concatenate([[0], ends[:-1]]))
    has_any = first < np.append(first[1:], len(written))
    faulty[~has_any] = True
    faulty[has_any] |= (codes[written[first[has_any]]] & 0xDF) != _M
    commands = np.flatnonzero(classes == _COMMAND)
    before = np.cumsum(begins)[commands]
    total = int(np.count_nonzero(begins))
    path = np.searchsorted(ends, commands, side="right")
    size = _SIZE[codes[commands]]
    counts = np.diff(np.append(before, total))
    sets = counts // np.maximum(size, 1)
    wrong = np.where(size == 0, counts != 0, (counts == 0) | (sets * size != counts))
    faulty[path[wrong]] = True
    faulty[np.searchsorted(ends, np.flatnonzero(odd), side="right")] = True
    if faulty.any():
        return None, faulty
    numbers = np.fromstring(data.translate(_TO_SPACE).replace(b"-", b" -").replace(b"+", b" +").decode(), sep=" ")
    if len(numbers) != total:
        return None, np.ones(len(texts), bool)
    sets = np.where(size == 0, 1, sets)
    command = np.repeat(np.arange(len(commands)), sets)
    place = np.arange(len(command))
    again = place - np.repeat(np.cumsum(sets) - sets, sets)
    letter = codes[commands][command] & np.uint8(0xDF)
    letter[(letter == _M) & (again > 0)] = _L
    path = path[command]
    first_step = np.searchsorted(path, np.arange(len(texts)))
    steps = _Steps(
        letter=letter,
        relative=codes[commands][command] >= ord("a"),
        path=path,
        at=before[command] + again * size[command],
        turn=place - first_step[path],
        numbers=np.append(numbers, 0.0),
        count=len(texts),
    )
    return steps, faulty


def _badly_written(classes: NDArray[np.uint8], numeric: Flags, begins: Flags) -> Flags:
    """Signs and points without a digit behind them, and second points in a number (as in ``.5.5``)."""
    is_dot = classes == _DOT
    following = np.append(classes[1:], np.uint8(_SPACE))
    odd: Flags = (is_dot & (following != _DIGIT)) | ((classes == _SIGN) & (following != _DIGIT) & (following != _DOT))
    dots = np.flatnonzero(is_dot)
    if len(dots):
        number = np.cumsum(begins)[dots]
        odd[dots[1:][number[1:] == number[:-1]]] = True
    return odd


def _drawn(steps: _Steps, chosen: Ints, count: int) -> ManyPaths:
    pens = _Pens(steps)
    with np.errstate(over="ignore", invalid="ignore"):
        pens.draw_all()
    kept = np.flatnonzero(pens.used)
    owner = chosen[pens.owner[kept]]
    sound = np.isfinite(pens.rows[kept]).all(1)
    if not sound.all():
        broken = np.zeros(count, bool)
        broken[owner[~sound]] = True
        kept, owner = kept[~broken[owner]], owner[~broken[owner]]
    rows = np.bincount(owner, minlength=count).astype(np.intp)
    firsts = np.cumsum(rows) - rows
    starts = np.flatnonzero(pens.begins[kept])
    return ManyPaths(
        kinds=pens.kinds[kept],
        segments=pens.rows[kept],
        rows=rows,
        starts=starts - firsts[owner[starts]],
        closed=pens.closed[kept[starts]],
        subpaths=np.bincount(owner[starts], minlength=count).astype(np.intp),
    )


class _Pens:
    """A pen for each path, moved together. Rows stand in slots of their step, as a step draws two at most."""

    def __init__(self, steps: _Steps) -> None:
        self._steps = steps
        room = np.where(steps.letter == _M, 0, np.where(steps.letter == _Z, 2, 1))
        slots = int(room.sum())
        self._slot = np.cumsum(room) - room
        self.owner = np.repeat(steps.path, room)
        self.rows = np.zeros((slots, 8))
        self.kinds = np.full(slots, LINE, np.uint8)
        self.used, self.begins, self.closed = (np.zeros(slots, bool) for _ in range(3))
        here = np.zeros((4, steps.count, 2))
        self._at, self._began, self._cubic_control, self._quad_control = here
        self._first = np.zeros(steps.count, np.intp)
        self._drawing = np.zeros(steps.count, bool)

    def draw_all(self) -> None:
        """Go through all steps: the first of every path, then the second, and so on, letter by letter."""
        steps = self._steps
        order = np.lexsort((steps.letter, steps.turn))
        turn, letter = steps.turn[order], steps.letter[order]
        new = np.flatnonzero((turn[1:] != turn[:-1]) | (letter[1:] != letter[:-1])) + 1
        for some in np.split(order, new):
            self._draw(int(steps.letter[some[0]]), some)

    def _draw(self, letter: int, some: Ints) -> None:
        path, slot = self._steps.path[some], self._slot[some]
        at = self._at[path]
        if letter == _Z:
            self._close(path, slot)
            return
        offset = np.where(self._steps.relative[some][:, None], at, 0.0)
        places = self._places(letter, some, at, offset)
        end = places[-1]
        if letter == _M:
            self._drawing[path] = False
            self._at[path] = end
        elif len(places) == 1:
            self._line(path, slot, end)
        else:
            self._cubic(letter, path, slot, places)
            return
        self._cubic_control[path] = self._quad_control[path] = end

    def _places(self, letter: int, some: Ints, at: Floats, offset: Floats) -> list[Floats]:
        """Control points and the end of one step of some paths, each (n, 2)."""
        size = int(_SIZE[letter])
        values = self._steps.numbers[self._steps.at[some][:, None] + np.arange(size)]
        if letter in (_H, _V):
            axis = 0 if letter == _H else 1
            end = at.copy()
            end[:, axis] = values[:, 0] + offset[:, axis]
            return [end]
        places = [values[:, i : i + 2] + offset for i in range(0, size, 2)]
        path = self._steps.path[some]
        if letter == _S:
            return [2 * at - self._cubic_control[path], *places]
        if letter == _T:
            return [2 * at - self._quad_control[path], *places]
        return places

    def _begin(self, path: Ints, slot: Ints) -> None:
        fresh = ~self._drawing[path]
        path, slot = path[fresh], slot[fresh]
        self.begins[slot] = True
        self._first[path] = slot
        self._began[path] = self._at[path]
        self._drawing[path] = True

    def _line(self, path: Ints, slot: Ints, end: Floats) -> None:
        self._begin(path, slot)
        self.rows[slot, 0:2], self.rows[slot, 2:4] = self._at[path], end
        self.used[slot] = True
        self._at[path] = end

    def _cubic(self, letter: int, path: Ints, slot: Ints, places: list[Floats]) -> None:
        self._begin(path, slot)
        at, end = self._at[path], places[-1]
        if letter in (_Q, _T):
            control = places[0]
            self._cubic_control[path], self._quad_control[path] = end, control
            first, second = at + (control - at) * 2 / 3, end + (control - end) * 2 / 3
        else:
            first, second = places[:2]
            self._cubic_control[path], self._quad_control[path] = second, end
        self.rows[slot] = np.hstack([at, first, second, end])
        self.kinds[slot] = CUBIC
        self.used[slot] = True
        self._at[path] = end

    def _close(self, path: Ints, slot: Ints) -> None:
        idle = ~self._drawing[path]
        self._line(path[idle], slot[idle], self._at[path[idle]])
        at, began = self._at[path], self._began[path]
        reach = _SAME_POINT * np.maximum(1.0, np.abs(began).max(axis=1))
        open_ = (np.abs(at - began) > reach[:, None]).any(axis=1)
        self._line(path[open_], slot[open_] + 1, began[open_])
        self.closed[self._first[path]] = True
        self._at[path] = self._cubic_control[path] = self._quad_control[path] = began
        self._drawing[path] = False
