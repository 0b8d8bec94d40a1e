"""Plain entities read straight from the text of an ASCII file, as most of a large drawing is plain.

The library keeps each tag of each entity as an object; lines, arcs, circles, polylines, splines and placed blocks
without any extras need none of that. They are taken out of the ENTITIES section here; all else goes through the
library as ever.
"""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from core.artwork.dxf.splines import BSpline
from core.progress import Progress

Points = list[tuple[float, float, float]]


class PlainInsert(NamedTuple):
    """An INSERT without attributes, in the drawing's own plane: where its block stands, scaled, turned and repeated."""

    block: str
    x: float
    y: float
    x_scale: float
    y_scale: float
    rotation_deg: float
    columns: int
    rows: int
    column_spacing: float
    row_spacing: float


class Plain(NamedTuple):
    """One entity. ``geometry``: LINE x0 y0 x1 y1; CIRCLE x y r; ARC x y r start end (deg); LWPOLYLINE (points, closed);
    SPLINE a BSpline; INSERT a PlainInsert. ``order`` is its place in the section."""

    kind: str
    layer: str
    rgb: int | None
    colour_index: int
    linetype: str | None
    handle: str
    order: int
    geometry: Any


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlainPart:
    """The plain entities of a file, the text without them, and the place in the section of those left in it."""

    entities: list[Plain]
    rest: str
    order_of_handle: dict[str, int]


_SECTION = re.compile(r"(?:^|\n)[ \t]*0[ \t]*\nSECTION[ \t]*\n[ \t]*2[ \t]*\nENTITIES[ \t]*\n")
_END = re.compile(r"(?:^|\n)[ \t]*0[ \t]*\nENDSEC[ \t]*(?:\n|$)")

_COMMON = {0, 5, 100, 330, 8, 6, 62, 420, 370, 48, 39, 347, 390, 440, 410, 210, 220, 230, 999}
_CODES = {
    "LINE": _COMMON | {10, 20, 30, 11, 21, 31},
    "CIRCLE": _COMMON | {10, 20, 30, 40},
    "ARC": _COMMON | {10, 20, 30, 40, 50, 51},
    "LWPOLYLINE": _COMMON | {90, 70, 38, 10, 20, 42, 91},
    "SPLINE": _COMMON | {70, 71, 72, 73, 74, 42, 43, 44, 40, 10, 20, 30},
    "INSERT": _COMMON | {2, 10, 20, 30, 41, 42, 43, 50, 70, 71, 44, 45},
}
"""Group codes of an entity that is read here; any other sends it through the library."""

BETWEEN_REPORTS = 10_000


def plain_part(text: str, progress: Progress) -> PlainPart | None:
    """The plain entities of a file's text (lines end in a newline only), or None when there are none.

    Nothing is judged here: an entity with anything unusual stays in the rest, for the library to judge.
    """
    start = _SECTION.search(text)
    end = _END.search(text, start.end()) if start else None
    if start is None or end is None:
        return None
    lines = text[start.end() : end.start()].split("\n")
    values = lines[1::2]
    try:
        codes = list(map(int, lines[0::2]))
    except ValueError:
        return None
    if len(codes) != len(values) or not codes or codes[0] != 0:
        return None
    firsts = np.flatnonzero(np.array(codes, np.int64) == 0).tolist()
    entities: list[Plain] = []
    orders: dict[str, int] = {}
    kept: list[str] = []
    kept_from: int | None = None
    for order, (a, b) in enumerate(zip(firsts, [*firsts[1:], len(codes)], strict=True)):
        if order % BETWEEN_REPORTS == 0:
            progress(a / len(codes), "Reading lines and arcs")
        plain = _plain(codes[a:b], values[a:b], order)
        if plain is not None:
            entities.append(plain)
            if kept_from is not None:
                kept.extend(lines[2 * kept_from : 2 * a])
                kept_from = None
            continue
        if kept_from is None:
            kept_from = a
        if 5 in codes[a : a + 8]:
            orders[values[codes.index(5, a, b)].strip().upper()] = order
    if kept_from is not None:
        kept.extend(lines[2 * kept_from :])
    if not entities:
        return None
    rest = "\n".join([text[: start.end()].removesuffix("\n"), *kept]) + text[end.start() :]
    return PlainPart(entities=entities, rest=rest, order_of_handle=orders)


def merged(plain: PlainPart, others: Sequence[Any]) -> list[Any]:
    """Plain entities and the library's, in the file's order; one without a known place follows the one before it."""
    places: list[tuple[int, Any]] = []
    last = -1
    for entity in others:
        last = plain.order_of_handle.get((entity.dxf.handle or "").upper(), last)
        places.append((last, entity))
    return [
        entity for _, entity in sorted([*((p.order, p) for p in plain.entities), *places], key=lambda pair: pair[0])
    ]


def _plain(codes: list[int], values: list[str], order: int) -> Plain | None:
    kind = values[0].strip()
    known = _CODES.get(kind)
    if known is None:
        return None
    if 1001 in codes:  # what other programs hang on an entity
        cut = codes.index(1001)
        codes, values = codes[:cut], values[:cut]
    if not known.issuperset(codes):
        return None
    fields = dict(zip(codes, values, strict=True))
    try:
        if 210 in fields and not _points_up(fields):
            return None
        geometry = _GEOMETRY[kind](fields, codes, values)
        rgb = fields.get(420)
        if geometry is None:
            return None
        return Plain(
            kind, fields.get(8, "0").strip() or "0", None if rgb is None else int(rgb), int(fields.get(62, 256)),
            fields[6].strip() if 6 in fields else None, fields.get(5, "").strip(), order, geometry,
        )  # fmt: skip
    except (ValueError, LookupError):
        return None


def _points_up(fields: dict[int, str]) -> bool:
    return (float(fields[210]), float(fields[220]), float(fields[230])) == (0.0, 0.0, 1.0)


def _line(fields: dict[int, str], codes: list[int], values: list[str]) -> tuple[float, ...]:
    return float(fields[10]), float(fields[20]), float(fields[11]), float(fields[21])


def _circle(fields: dict[int, str], codes: list[int], values: list[str]) -> tuple[float, ...] | None:
    radius = float(fields[40])
    return (float(fields[10]), float(fields[20]), radius) if radius > 0 else None


def _arc(fields: dict[int, str], codes: list[int], values: list[str]) -> tuple[float, ...] | None:
    radius = float(fields[40])
    if not radius > 0:
        return None
    return float(fields[10]), float(fields[20]), radius, float(fields[50]), float(fields[51])


def _lwpolyline(fields: dict[int, str], codes: list[int], values: list[str]) -> tuple[Points, bool]:
    points: Points = []
    for code, value in zip(codes, values, strict=True):
        if code == 10:
            points.append((float(value), 0.0, 0.0))
        elif code == 20:
            points[-1] = (points[-1][0], float(value), 0.0)
        elif code == 42:
            points[-1] = (*points[-1][:2], float(value))
    return points, bool(int(fields.get(70, "0")) & 1)


def _spline(fields: dict[int, str], codes: list[int], values: list[str]) -> BSpline | None:
    def numbers(wanted: int) -> list[float]:
        return [float(value) for code, value in zip(codes, values, strict=True) if code == wanted]

    xs, ys = numbers(10), numbers(20)
    if not xs or len(xs) != len(ys) or int(fields.get(70, "0")) & 4:
        return None
    return BSpline(degree=int(fields[71]), control=np.column_stack([xs, ys]), knots=np.array(numbers(40)))


def _insert(fields: dict[int, str], codes: list[int], values: list[str]) -> PlainInsert | None:
    name = fields[2].strip()
    if not name or "\\" in name or "^" in name:  # coded characters are the library's to tell
        return None
    insert = PlainInsert(
        name,
        float(fields[10]),
        float(fields[20]),
        float(fields.get(41, 1.0)),
        float(fields.get(42, 1.0)),
        float(fields.get(50, 0.0)),
        int(fields.get(70, 1)),
        int(fields.get(71, 1)),
        float(fields.get(44, 0.0)),
        float(fields.get(45, 0.0)),
    )
    # the library puts 1 for a scale or count that makes no sense
    usual = insert.x_scale and insert.y_scale and insert.columns > 0 and insert.rows > 0
    return insert if usual and float(fields.get(43, 1.0)) else None


_GEOMETRY: dict[str, Callable[[dict[int, str], list[int], list[str]], Any]] = {
    "LINE": _line,
    "CIRCLE": _circle,
    "ARC": _arc,
    "LWPOLYLINE": _lwpolyline,
    "SPLINE": _spline,
    "INSERT": _insert,
}
