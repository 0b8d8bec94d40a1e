"""A plan as DXF (R2010): the bed face in mm, y up, one DXF layer a layer in burn order.

Circular arcs stay arcs. Each contour is one entity, so that a receiver need join nothing: a contour that holds
other curves is an LWPOLYLINE, its curves followed within ``CURVE_TOLERANCE_MM``. Fills are the closed outlines of
their regions. A layer's settings stand in XDATA on its entry in the layer table and on nothing else; the settings
document stands in the root dictionary. The same plan gives the same bytes.
"""

import io
import json
import math
import re
import threading
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import pairwise
from typing import Any

import numpy as np
import shapely

from core.artwork.own_export import APP_ID, DOCUMENT_KEY
from core.geometry.affine import Affine, apply, apply_to_region, compose
from core.geometry.flattening import flatten, is_circular
from core.geometry.path import ARC, LINE, Floats, Path
from core.job.file_sizes import BAND_PLACES, dxf_bytes
from core.job.plan import LayerPlan, Plan
from core.job.row_lines import hands_over_rows, row_lines_mm
from core.output.settings_document import Document, burned_layers
from core.progress import Progress, part, silent
from core.sheet.faces import turn_matrix

VERSION = "R2010"
MILLIMETRES = 4
CURVE_TOLERANCE_MM = 0.002
CHUNK = 240
"""Characters of the document in one tag: strings of up to 255 are read by everything (DXF Reference, group codes)."""

_EMPTY, _TOLD_EVERY = 25_000, 200_000
"""Characters: of a drawing with nothing in it, about; after so many more it is told how far it is."""

Point = tuple[float, float, float]
"""x, y, bulge of the segment that starts here."""

_writing = threading.Lock()


def write_dxf(plan: Plan, document: Document, *, progress: Progress = silent) -> bytes:
    """The file's bytes, UTF-8."""
    with without_dates():
        drawing = _drawing(plan, document, part(progress, 0.0, 0.5))
        screens = [planned.screen for planned in plan.layers if planned.screen is not None]
        stream = _Watched(part(progress, 0.5, 1.0), expected=sum(dxf_bytes(screen) for screen in screens) + _EMPTY)
        drawing.write(stream)
    return stream.getvalue().encode("utf-8", "surrogateescape")


class _Watched(io.StringIO):
    """Text that is written piece by piece, which tells how far it is and can be stopped between any two pieces."""

    def __init__(self, progress: Progress, *, expected: int) -> None:
        super().__init__()
        self._progress, self._expected, self._written, self._told = progress, expected, 0, 0

    def write(self, text: str) -> int:
        """Write it. Raises Cancelled when the progress callback does."""
        self._written += len(text)
        if self._written - self._told >= _TOLD_EVERY:
            self._told = self._written
            self._progress(min(1.0, self._written / self._expected), "writing the drawing")
        return super().write(text)


@contextmanager
def without_dates() -> Iterator[None]:
    """Dates and random identifiers fixed, so that equal plans give equal files."""
    from ezdxf import options  # type: ignore[attr-defined]  # the library does not say so, but documents it

    with _writing:
        before = options.write_fixed_meta_data_for_testing
        options.write_fixed_meta_data_for_testing = True
        try:
            yield
        finally:
            options.write_fixed_meta_data_for_testing = before


def _drawing(plan: Plan, document: Document, progress: Progress) -> Any:
    sheet = plan.job.sheet
    from ezdxf.filemanagement import new

    drawing = new(VERSION, units=MILLIMETRES)
    drawing.appids.add(APP_ID)
    space = drawing.modelspace()
    space.reset_extents((0, 0, 0), (sheet.width_mm, sheet.height_mm, 0))
    # the library copies extents to the header only where they do not start at the origin
    drawing.header["$EXTMIN"], drawing.header["$EXTMAX"] = (0, 0, 0), (sheet.width_mm, sheet.height_mm, 0)
    space.reset_limits((0, 0), (sheet.width_mm, sheet.height_mm))
    to_bed = compose((1.0, 0.0, 0.0, -1.0, 0.0, sheet.height_mm), turn_matrix(plan.job.turn, sheet))
    names: set[str] = {"0", "defpoints"}
    for order, planned in enumerate(burned_layers(plan), start=1):
        name = _layer_name(planned.layer.name, names)
        _add_layer(drawing, name, planned, document["layers"][order - 1])
        if hands_over_rows(planned):
            _add_rows(space, name, apply(to_bed, row_lines_mm(planned, plan.job).reshape(-1, 2)))
        else:
            _add_entities(space, name, planned, to_bed, progress)
    drawing.rootdict.add_xrecord(DOCUMENT_KEY).reset([(1, chunk) for chunk in _chunks(document)])
    return drawing


def _chunks(document: Document) -> Iterator[str]:
    """The document's JSON in pieces of plain ASCII that begin and end with no space.

    A plus sign after a letter U or M would be taken for one of DXF's own escapes, so it is escaped.
    """
    text = json.dumps(document, ensure_ascii=True, allow_nan=False)
    text = text.replace("U+", "U\\u002b").replace("M+", "M\\u002b")
    while text:
        end = min(CHUNK, len(text))
        while 1 < end < len(text) and " " in text[end - 1 : end + 1]:
            end -= 1
        yield text[:end]
        text = text[end:]


def _layer_name(wanted: str, taken: set[str]) -> str:
    """A name that DXF allows (DXF Reference, symbol table names) and no other layer has."""
    base = re.sub(r"[<>/\\\":;?*|=`,'\x00-\x1f\x7f\ud800-\udfff]", "-", wanted).strip()[:200] or "Layer"
    name, number = base, 2
    while name.casefold() in taken:
        name, number = f"{base} {number}", number + 1
    taken.add(name.casefold())
    return name


def _add_layer(drawing: Any, name: str, planned: LayerPlan, settings: Document) -> None:
    from ezdxf.colors import rgb2int

    red, green, blue = (int(planned.layer.colour[i : i + 2], 16) for i in (1, 3, 5))
    layer = drawing.layers.add(
        name, color=_nearest_index(red, green, blue), true_color=rgb2int((red, green, blue)), linetype="Continuous"
    )
    layer.set_xdata(APP_ID, list(_xdata(settings)))


_IF_THERE = frozenset({"lines_moved_for_kerf_mm"})


def _xdata(settings: Document) -> Iterator[tuple[int, Any]]:
    """Key and value by turns, as the settings document names them: strings, reals and whole numbers."""
    plain = {key: settings[key] for key in ("order", "id", "name", "purpose", *_IF_THERE & settings.keys())}
    plain |= {key: value for key, value in settings["recipe"].items() if not isinstance(value, dict)}
    for key, value in plain.items():
        yield 1000, key
        if isinstance(value, int):
            yield 1071, int(value)
        elif isinstance(value, float):
            yield 1040, value
        else:
            yield 1000, _short_ascii(str(value))


def _short_ascii(text: str) -> str:
    return text.encode("ascii", "replace").decode().replace("\n", " ").replace("\r", " ")[:CHUNK]


def _nearest_index(red: int, green: int, blue: int) -> int:
    """The colour index for receivers that know no true colours."""
    from ezdxf.colors import aci2rgb

    palette = np.array([aci2rgb(index) for index in range(1, 256)])
    return 1 + int(np.argmin(((palette - (red, green, blue)) ** 2).sum(1)))


def _add_entities(space: Any, name: str, planned: LayerPlan, to_bed: Affine, progress: Progress) -> None:
    attributes = {"layer": name}
    if planned.layer.purpose == "fill":
        bands = apply(to_bed, planned.bands_mm).round(BAND_PLACES).tolist()
        for number, corners in enumerate(bands):
            if not number % 2_000:
                progress(number / len(bands), "writing outlines")
            space.add_lwpolyline(corners, format="xy", close=True, dxfattribs=attributes)
        for ring in _rings(shapely.get_parts(apply_to_region(to_bed, planned.outlines))):
            space.add_lwpolyline([(x, y, 0.0) for x, y in ring], format="xyb", close=True, dxfattribs=attributes)
        return
    for path in planned.paths:
        for subpath in path.transformed(to_bed).subpaths():
            add_subpath(space, subpath, attributes)


def _add_rows(space: Any, name: str, ends: Floats) -> None:
    for a, b, c, d in ends.reshape(-1, 4).tolist():
        space.add_line((a, b), (c, d), dxfattribs={"layer": name})


def _rings(parts: Iterable[Any]) -> Iterator[list[tuple[float, float]]]:
    for one in parts:
        if isinstance(one, shapely.Polygon) and not one.is_empty:
            for ring in (one.exterior, *one.interiors):
                yield shapely.get_coordinates(ring)[:-1].tolist()


def add_subpath(space: Any, path: Path, attributes: dict[str, Any]) -> None:
    """One entity: LINE, CIRCLE, ARC or ELLIPSE where the subpath is just that, else an LWPOLYLINE."""
    if len(path) == 1 and path.kinds[0] == ARC:
        _add_arc(space, path.segments[0], attributes)
        return
    points, closed = _polyline_points(path)
    if len(points) == 2 and not closed and points[0][2] == 0.0:
        space.add_line(points[0][:2], points[1][:2], dxfattribs=attributes)
    elif len(points) > 1:
        space.add_lwpolyline(points, format="xyb", close=closed, dxfattribs=attributes)


def _add_arc(space: Any, row: Floats, attributes: dict[str, Any]) -> None:
    centre, u, v, (t0, t1) = row[0:2], row[2:4], row[4:6], row[6:8]
    left_handed = u[0] * v[1] - u[1] * v[0] < 0
    if left_handed:
        v, t0, t1 = -v, -t0, -t1
    start, end = sorted((float(t0), float(t1)))  # DXF arcs run counterclockwise
    full = end - start > math.tau - 1e-9
    if not is_circular(row[None])[0]:
        _add_ellipse(space, centre, u, v, (start, end), attributes)
    elif full:
        space.add_circle(centre, float(np.hypot(*u)), dxfattribs=attributes)
    else:
        at_zero = math.atan2(u[1], u[0])
        degrees = [math.degrees(at_zero + t) % 360.0 for t in (start, end)]
        space.add_arc(centre, float(np.hypot(*u)), *degrees, dxfattribs=attributes)


def _add_ellipse(
    space: Any, centre: Floats, u: Floats, v: Floats, span: tuple[float, float], attributes: dict[str, Any]
) -> None:
    """Conjugate half-diameters turned into the axes: at parameter s both stand at right angles."""
    s = math.atan2(2 * float(u @ v), float(u @ u - v @ v)) / 2
    major, minor = u * math.cos(s) + v * math.sin(s), v * math.cos(s) - u * math.sin(s)
    ratio = float(np.hypot(*minor) / np.hypot(*major))
    start, end = span[0] - s, span[1] - s
    if end - start > math.tau - 1e-9:
        start, end = 0.0, math.tau
    space.add_ellipse((*centre, 0.0), (*major, 0.0), max(ratio, 1e-6), start, end, dxfattribs=attributes)


def _polyline_points(path: Path) -> tuple[list[Point], bool]:
    """Vertices of one subpath; curves that are no circles as chords. A closed one does not repeat its start."""
    points: list[Point] = []
    for index in range(len(path)):
        kind, row = path.kinds[index], path.segments[index]
        if kind == LINE:
            points.append((float(row[0]), float(row[1]), 0.0))
        elif kind == ARC and is_circular(row[None])[0]:
            points.extend(_bulged(row))
        else:
            chords = flatten(_segment(path, index), CURVE_TOLERANCE_MM).points[:-1]
            points.extend((x, y, 0.0) for x, y in chords.tolist())
    closed = bool(path.closed[0])
    if not closed:
        points.append((*path.end_points[-1].tolist(), 0.0))
    return _without_repeats(points, closed), closed


def _bulged(row: Floats) -> Iterator[Point]:
    """A circular arc in pieces of at most half a turn: bulge = tan(angle / 4), above zero counterclockwise."""
    centre, u, v = row[0:2], row[2:4], row[4:6]
    t0, sweep = float(row[6]), float(row[7] - row[6])
    pieces = max(1, math.ceil(abs(sweep) / math.pi - 1e-9))
    bulge = math.tan(sweep / pieces / 4) * (1.0 if u[0] * v[1] - u[1] * v[0] > 0 else -1.0)
    for piece in range(pieces):
        t = t0 + sweep * piece / pieces
        x, y = (centre + u * math.cos(t) + v * math.sin(t)).tolist()
        yield x, y, bulge


def _without_repeats(points: list[Point], closed: bool) -> list[Point]:
    """Points that differ from the one before: a segment without length burns nothing."""
    kept = [
        point for point, following in pairwise(points) if point[2] != 0.0 or math.dist(point[:2], following[:2]) > 1e-9
    ]
    if points and not (closed and kept and points[-1][2] == 0.0 and math.dist(points[-1][:2], kept[0][:2]) <= 1e-9):
        kept.append(points[-1])
    return kept


def _segment(path: Path, index: int) -> Path:
    return Path(
        kinds=path.kinds[index : index + 1],
        segments=path.segments[index : index + 1],
        starts=np.zeros(1, np.intp),
        closed=np.zeros(1, bool),
    )
