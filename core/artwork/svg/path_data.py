"""Path data to arrays (SVG 2, chapter 9): long runs of one command at once, short ones segment by segment."""

import math
import re
from dataclasses import dataclass

import numpy as np

from core.artwork.svg.limits import MAX_COMMANDS, MAX_SEGMENTS, TooMuchError
from core.artwork.svg.path_numbers import COMMA_OR_SPACE, DOUBLE_COMMA, numbers_at_once, numbers_of, plain_numbers
from core.artwork.svg.values import NUMBER
from core.geometry.path import ARC, CUBIC, EMPTY, LINE, Floats, Path

_CHUNK = re.compile(r"([MmZzLlHhVvCcSsQqTtAa])([^MmZzLlHhVvCcSsQqTtAa]*)")
_WITHOUT_STRANGERS = re.compile(r"[Mm][MmZzLlHhVvCcSsQqTtAa0-9eE+\-., \t\r\n\f]*")
_WHOLE_NUMBER = rf"((?>{NUMBER})){COMMA_OR_SPACE}"
_ARC = re.compile(rf"{_WHOLE_NUMBER * 3}([01]){COMMA_OR_SPACE}([01]){COMMA_OR_SPACE}{_WHOLE_NUMBER * 2}")

_ARGUMENTS = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}
_LONG_TEXT = 256
"""Characters of plain numbers from which numpy reads them faster than a regular expression."""

_LONG_RUN = 16
"""Segments of one command from which numpy is faster than a loop."""

_WORTH_COUNTING = 1_000_000
"""Characters from which a list of numbers is counted first."""

_SAME_POINT = 1e-9
"""Ends nearer than this, relative to their size, close a subpath without a line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ParsedPath:
    """A path in user units. ``error_at`` is where in the text the first mistake stands (None: none); as SVG 2,
    9.5.4 says, the path is what comes before it."""

    path: Path
    error_at: int | None


def parse_path(text: str) -> ParsedPath:
    """The path that ``text`` (a ``d`` attribute) draws, arcs as exact ARC rows."""
    text = text.strip()
    if not text:
        return ParsedPath(path=EMPTY, error_at=None)
    refuse_endless(text)
    pen = _Pen()
    if pen.draw_all(text):
        path, whole = pen.finished()
        if whole:
            return ParsedPath(path=path, error_at=None)
    return _parsed_to_the_mistake(text)


def refuse_endless(text: str) -> None:
    """Raise TooMuchError for a list of numbers too long to be read, counted roughly beforehand."""
    if len(text) < _WORTH_COUNTING:
        return
    codes = np.frombuffer(text.encode("latin-1", errors="replace"), np.uint8)
    in_number = (codes == ord(".")) | ((codes >= ord("0")) & (codes <= ord("9")))
    numbers = int(np.count_nonzero(in_number[1:] & ~in_number[:-1]))
    commands = sum(text.count(letter) for letter in "MmZzLlHhVvCcSsQqTtAa")
    if numbers > 2 * MAX_SEGMENTS or commands > MAX_COMMANDS:
        raise TooMuchError(f"A path has more than {MAX_SEGMENTS:,} segments.", hint="Simplify its outlines.")


def _parsed_to_the_mistake(text: str) -> ParsedPath:
    pen = _Pen()
    error_at = None
    at = 0
    for match in _CHUNK.finditer(text):
        if match.start() != at:
            break
        command, arguments = match.groups()
        if not pen.began_at_all and command not in "Mm":
            break
        good = pen.draw_arcs(command, arguments) if command in "Aa" else pen.draw(command, arguments)
        at = match.end()
        if good is not None:
            error_at = match.start() + 1 + good
            break
    if error_at is None and at != len(text) and text != "none":
        error_at = at
    path, whole = pen.finished()
    return ParsedPath(path=path, error_at=error_at if whole else (error_at or 0))


class _Pen:
    """Where the path has got to, and the rows so far."""

    def __init__(self) -> None:
        self.began_at_all = False
        self._x = self._y = 0.0
        self._x0 = self._y0 = 0.0
        self._cubic_control: tuple[float, float] | None = None
        self._quad_control: tuple[float, float] | None = None
        self._drawing = False
        self._kinds: list[int] = []
        self._rows: list[tuple[float, float, float, float, float, float, float, float]] = []
        self._chunks: list[tuple[np.ndarray, Floats]] = []
        self._count = 0
        self._starts: list[int] = []
        self._closed: list[bool] = []

    def draw_all(self, text: str) -> bool:
        """Draw path data without a mistake; False as soon as there is one (what is drawn then counts for nothing)."""
        if not _WITHOUT_STRANGERS.fullmatch(text) or DOUBLE_COMMA.search(text):
            return False
        for command, arguments in _CHUNK.findall(text):
            if arguments.lstrip().startswith(","):
                return False
            upper = command.upper()
            if upper == "A":
                if self.draw_arcs(command, arguments) is not None:
                    return False
                continue
            size = _ARGUMENTS[upper]
            if len(arguments) >= _LONG_TEXT and upper not in "TZ":
                values = plain_numbers(arguments)
                if values is not None and len(values) >= _LONG_RUN * size and len(values) % size == 0:
                    self._draw_long(upper, values.reshape(-1, size), command != upper)
                    continue
            numbers = numbers_at_once(arguments)
            if size == 0:
                if numbers != []:
                    return False
                self._close()
            elif not numbers or len(numbers) % size:
                return False
            elif len(numbers) < _LONG_RUN * size or upper == "T":
                self._draw_short(upper, numbers, command != upper)
            else:
                self._draw_long(upper, np.array(numbers).reshape(-1, size), command != upper)
        return True

    def draw(self, command: str, text: str) -> int | None:
        """One command letter with its arguments. Returns where the mistake stands, if there is one."""
        tokens, error_at = numbers_of(text)
        upper = command.upper()
        size = _ARGUMENTS[upper]
        if size == 0:
            self._close()
            return None if not tokens and error_at is None else 0
        count = len(tokens) // size
        if error_at is None and (count == 0 or count * size != len(tokens)):
            error_at = len(text)
        relative = command != upper
        if count >= _LONG_RUN and upper != "T":
            values = np.array(list(map(float, tokens[: count * size]))).reshape(count, size)
            self._draw_long(upper, values, relative)
        else:
            self._draw_short(upper, list(map(float, tokens[: count * size])), relative)
        return error_at

    def draw_arcs(self, command: str, text: str) -> int | None:
        """Elliptical arcs; flags may stand without separators."""
        at = begin = len(text) - len(text.lstrip())
        relative = command == "a"
        while True:
            match = _ARC.match(text, at)
            if not match:
                break
            rx, ry, turn, large, sweep, x, y = match.groups()
            x1, y1 = float(x), float(y)
            if relative:
                x1, y1 = x1 + self._x, y1 + self._y
            self._arc(float(rx), float(ry), float(turn), large == "1", sweep == "1", x1, y1)
            at = match.end()
        self._cubic_control = self._quad_control = None
        return at if at < len(text) or at == begin else None

    def finished(self) -> tuple[Path, bool]:
        """The path, cut before the first number that is not finite; and whether it is whole."""
        self._flush()
        if not self._count:
            return EMPTY, True
        kinds, rows = self._chunks[0]
        if len(self._chunks) > 1:
            kinds = np.concatenate([kinds for kinds, _ in self._chunks])
            rows = np.concatenate([rows for _, rows in self._chunks])
        starts, closed = np.array(self._starts, np.intp), np.array(self._closed, bool)
        path = Path(kinds=kinds, segments=rows, starts=starts, closed=closed)
        if math.isfinite(np.vdot(rows, rows)):  # quicker than to ask each number; it may overflow where none is bad
            return path, True
        bad = ~np.isfinite(rows).all(1)
        if not bad.any():
            return path, True
        keep = int(np.argmax(bad))
        if keep == 0:
            return EMPTY, False
        starts = starts[starts < keep]
        closed = closed[: len(starts)].copy()
        closed[-1] = closed[-1] and (len(starts) < len(path.starts) and path.starts[len(starts)] == keep)
        return Path(kinds=kinds[:keep], segments=rows[:keep], starts=starts, closed=closed), False

    # -- segments one by one

    def _draw_short(self, upper: str, v: list[float], relative: bool) -> None:
        if upper == "M":
            for i in range(0, len(v), 2):
                x, y = (v[i] + self._x, v[i + 1] + self._y) if relative else (v[i], v[i + 1])
                if i:
                    self._line(x, y)
                else:
                    self._move(x, y)
        elif upper == "L":
            for i in range(0, len(v), 2):
                self._line(*((v[i] + self._x, v[i + 1] + self._y) if relative else (v[i], v[i + 1])))
        elif upper == "H":
            for x in v:
                self._line(x + self._x if relative else x, self._y)
        elif upper == "V":
            for y in v:
                self._line(self._x, y + self._y if relative else y)
        else:
            self._draw_short_curves(upper, v, relative)
            return
        self._cubic_control = self._quad_control = None

    def _draw_short_curves(self, upper: str, v: list[float], relative: bool) -> None:
        size = _ARGUMENTS[upper]
        for i in range(0, len(v), size):
            dx, dy = (self._x, self._y) if relative else (0.0, 0.0)
            x, y = v[i + size - 2] + dx, v[i + size - 1] + dy
            if upper == "C":
                self._cubic(v[i] + dx, v[i + 1] + dy, v[i + 2] + dx, v[i + 3] + dy, x, y)
            elif upper == "S":
                x1, y1 = self._reflected(self._cubic_control)
                self._cubic(x1, y1, v[i] + dx, v[i + 1] + dy, x, y)
            elif upper == "Q":
                self._quad(v[i] + dx, v[i + 1] + dy, x, y)
            else:
                self._quad(*self._reflected(self._quad_control), x, y)

    def _reflected(self, control: tuple[float, float] | None) -> tuple[float, float]:
        if control is None:
            return self._x, self._y
        return 2 * self._x - control[0], 2 * self._y - control[1]

    def _move(self, x: float, y: float) -> None:
        self._x = self._x0 = x
        self._y = self._y0 = y
        self._drawing = False
        self.began_at_all = True

    def _begin(self) -> None:
        self._starts.append(self._count)
        self._closed.append(False)
        self._x0, self._y0 = self._x, self._y
        self._drawing = True

    def _line(self, x: float, y: float) -> None:
        if not self._drawing:
            self._begin()
        self._kinds.append(LINE)
        self._rows.append((self._x, self._y, x, y, 0.0, 0.0, 0.0, 0.0))
        self._count += 1
        self._x, self._y = x, y

    def _cubic(self, x1: float, y1: float, x2: float, y2: float, x: float, y: float) -> None:
        if not self._drawing:
            self._begin()
        self._kinds.append(CUBIC)
        self._rows.append((self._x, self._y, x1, y1, x2, y2, x, y))
        self._count += 1
        self._x, self._y = x, y
        self._cubic_control, self._quad_control = (x2, y2), None

    def _quad(self, x1: float, y1: float, x: float, y: float) -> None:
        x0, y0 = self._x, self._y
        self._cubic(x0 + (x1 - x0) * 2 / 3, y0 + (y1 - y0) * 2 / 3, x + (x1 - x) * 2 / 3, y + (y1 - y) * 2 / 3, x, y)
        self._cubic_control, self._quad_control = None, (x1, y1)

    def _arc(self, rx: float, ry: float, turn_deg: float, large: bool, sweep: bool, x: float, y: float) -> None:
        row = arc_row(self._x, self._y, rx, ry, turn_deg, large, sweep, x, y)
        if row is None:
            self._line(x, y)
            return
        if not self._drawing:
            self._begin()
        self._kinds.append(ARC)
        self._rows.append(row)
        self._count += 1
        self._x, self._y = x, y

    def _close(self) -> None:
        if not self._drawing:
            if not self.began_at_all:
                return
            self._begin()
            self._line(self._x, self._y)
        reach = _SAME_POINT * max(1.0, abs(self._x0), abs(self._y0))
        if abs(self._x - self._x0) > reach or abs(self._y - self._y0) > reach:
            self._line(self._x0, self._y0)
        self._closed[-1] = True
        self._x, self._y = self._x0, self._y0
        self._drawing = False
        self._cubic_control = self._quad_control = None

    # -- long runs

    @np.errstate(over="ignore", invalid="ignore")  # what is not finite is cut off in ``finished``
    def _draw_long(self, upper: str, values: Floats, relative: bool) -> None:
        if upper == "M":
            self._draw_short("M", values[0].tolist(), relative)
            upper, values = "L", values[1:]
        control_before = self._cubic_control
        if upper in "HV":
            values = self._points_of_axis_run(upper, values[:, 0], relative)
            upper, relative = "L", False
        if not self._drawing:
            self._begin()
        here = np.array([self._x, self._y])
        ends = values[:, -2:]
        if relative:
            ends = np.cumsum(np.vstack([here, ends]), axis=0)[1:]
        starts = np.vstack([here, ends[:-1]])
        offset = starts if relative else np.zeros(2)
        rows = np.zeros((len(values), 8))
        rows[:, 0:2] = starts
        self._cubic_control = self._quad_control = None
        if upper == "L":
            rows[:, 2:4] = ends
        else:
            rows[:, 6:8] = ends
            if upper == "C":
                rows[:, 2:4], rows[:, 4:6] = values[:, 0:2] + offset, values[:, 2:4] + offset
            elif upper == "S":
                rows[:, 4:6] = values[:, 0:2] + offset
                rows[0, 2:4] = self._reflected(control_before)
                rows[1:, 2:4] = 2 * starts[1:] - rows[:-1, 4:6]
            else:
                control = values[:, 0:2] + offset
                rows[:, 2:4] = starts + (control - starts) * 2 / 3
                rows[:, 4:6] = ends + (control - ends) * 2 / 3
                self._quad_control = (float(control[-1, 0]), float(control[-1, 1]))
            if upper != "Q":
                self._cubic_control = (float(rows[-1, 4]), float(rows[-1, 5]))
        self._flush()
        self._chunks.append((np.full(len(rows), LINE if upper == "L" else CUBIC, np.uint8), rows))
        self._count += len(rows)
        self._x, self._y = float(ends[-1, 0]), float(ends[-1, 1])

    def _points_of_axis_run(self, upper: str, values: Floats, relative: bool) -> Floats:
        along, across = (self._x, self._y) if upper == "H" else (self._y, self._x)
        if relative:
            values = np.cumsum(np.concatenate([[along], values]))[1:]
        points = np.full((len(values), 2), across)
        points[:, 0 if upper == "H" else 1] = values
        return points

    def _flush(self) -> None:
        if self._rows:
            self._chunks.append((np.array(self._kinds, np.uint8), np.array(self._rows, float)))
            self._kinds, self._rows = [], []


def arc_row(
    x0: float, y0: float, rx: float, ry: float, turn_deg: float, large: bool, sweep: bool, x: float, y: float
) -> tuple[float, float, float, float, float, float, float, float] | None:
    """The ARC row of an SVG arc from (x0, y0) to (x, y): conversion from end points to centre, radii scaled up
    where they are too short (SVG 2, B.2.4 and B.2.5). None where the arc is a straight line (or nothing)."""
    rx, ry = abs(rx), abs(ry)
    if rx == 0.0 or ry == 0.0 or (x0 == x and y0 == y) or not math.isfinite(rx + ry + turn_deg + x + y):
        return None
    phi = math.radians(math.fmod(turn_deg, 360.0))
    cos, sin = math.cos(phi), math.sin(phi)
    if math.fmod(turn_deg, 90.0) == 0.0:
        cos, sin = round(cos), round(sin)
    dx, dy = (x0 - x) / 2, (y0 - y) / 2
    x1, y1 = (cos * dx + sin * dy) / rx, (cos * dy - sin * dx) / ry
    reach = x1 * x1 + y1 * y1
    if not math.isfinite(reach) or reach == 0.0:
        return None
    if reach > 1.0:
        rx, ry = rx * math.sqrt(reach), ry * math.sqrt(reach)
        x1, y1 = x1 / math.sqrt(reach), y1 / math.sqrt(reach)
        reach = 1.0
    root = math.sqrt(max(0.0, 1.0 / reach - 1.0)) * (-1.0 if large == sweep else 1.0)
    cx1, cy1 = root * y1, -root * x1
    centre_x = cos * rx * cx1 - sin * ry * cy1 + (x0 + x) / 2
    centre_y = sin * rx * cx1 + cos * ry * cy1 + (y0 + y) / 2
    start = math.atan2(y1 - cy1, x1 - cx1)
    end = math.atan2(-y1 - cy1, -x1 - cx1)
    if sweep and end <= start:
        end += 2 * math.pi
    elif not sweep and end >= start:
        end -= 2 * math.pi
    return (centre_x, centre_y, rx * cos, rx * sin, -ry * sin, ry * cos, start, end)


def points_of(text: str) -> tuple[Floats, bool]:
    """Points (n, 2) of a polyline's list, and whether the list was well formed."""
    refuse_endless(text)
    tokens, error_at = numbers_of(text)
    values = np.array(list(map(float, tokens[: len(tokens) // 2 * 2]))).reshape(-1, 2)
    finite = np.isfinite(values).all(1)
    return values[finite], error_at is None and len(tokens) % 2 == 0 and bool(finite.all())
