"""What an exported file holds, as a parser that is not ours reads it: sheet, document, layers, outlines.

SVG is read with lxml and svgelements, DXF with ezdxf; nothing here knows how the files are written.
"""

import io
import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import ezdxf
import numpy as np
from lxml import etree
from svgelements import SVG, Arc, Close, CubicBezier, Group, Line, Move
from svgelements import Path as SvgPath

from core.geometry.path import Floats

SVGELEMENTS_INCH = 0.0393701
"""Inches a millimetre, as svgelements rounds it: a page of this many dots an inch has a dot a millimetre."""

FLATTENED_MM = 0.0005
ARC_SHARES = (0.25, 0.5, 0.75)

MAX_COMPARED = 200_000
"""Segments; of a file with more only some outlines are read point by point."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoundOutline:
    """One outline, mm in the file's own frame. points: ends of its segments, control points and points of arcs (SVG),
    or its polyline (DXF); None where it was only counted."""

    points: Floats | None
    closed: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoundLayer:
    """One layer in the file's order. settings: what is written on it, by the keys of the document."""

    settings: Mapping[str, str | float | int]
    colour: str
    outlines: tuple[FoundOutline, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FoundFile:
    """The whole file. y_up: its frame has its origin at the bottom left."""

    width_mm: float
    height_mm: float
    document: Any
    layers: tuple[FoundLayer, ...]
    y_up: bool


def found_in_svg(data: bytes) -> FoundFile:
    """What an SVG holds. Raises ValueError and its kin where it is not well formed or says less than it should."""
    root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=True))
    texts = [one.text or "" for one in root.iter("{urn:tain:job:1}job")]
    document = json.loads(texts[0]) if len(texts) == 1 else None
    counted = _counted_only(root)
    shown = SVG.parse(io.BytesIO(etree.tostring(root)), ppi=1 / SVGELEMENTS_INCH)
    layers = tuple(_svg_layer(group, counted) for group in shown if isinstance(group, Group))
    return FoundFile(
        width_mm=float(shown.width), height_mm=float(shown.height), document=document, layers=layers, y_up=False
    )


def _counted_only(root: etree._Element) -> dict[str, int]:
    """Empties paths of a large file beyond what is compared; how many outlines each holds, by a mark left on it."""
    paths = list(root.iter("{*}path"))
    sizes = [sum(map((path.get("d") or "").count, "LHVCAZ")) for path in paths]
    total = sum(sizes)
    counted: dict[str, int] = {}
    if total <= MAX_COMPARED:
        return counted
    every = -(-total // MAX_COMPARED)
    for number, path in enumerate(paths):
        if number % every and path.getprevious() is not None:
            path.set("id", f"counted-{number}")
            data = path.get("d") or ""
            counted[f"counted-{number}"] = data.count("M")
            path.set("d", "M0 0L1 0" + ("Z" if data.endswith("Z") else ""))
    return counted


def _svg_layer(group: Any, counted: Mapping[str, int]) -> FoundLayer:
    attributes = group.values["attributes"]
    own = {key.split("}")[1]: value for key, value in attributes.items() if key.startswith("{urn:tain:job:1}")}
    settings = {"name" if key == "layer" else key.replace("-", "_"): value for key, value in own.items()}
    painted = attributes.get("stroke") if attributes.get("fill") == "none" else attributes.get("fill")
    outlines: list[FoundOutline] = []
    for path in group.select(lambda element: isinstance(element, SvgPath)):
        count = counted.get(str(path.id))
        if count is not None:
            outlines += [FoundOutline(points=None, closed=True)] * count
        else:
            outlines += _svg_outlines(path)
    return FoundLayer(settings=settings, colour=str(painted), outlines=tuple(outlines))


def _svg_outlines(path: Iterable[Any]) -> Iterator[FoundOutline]:
    points: list[Any] = []
    closed = False
    for segment in path:
        if isinstance(segment, Move):
            if points:
                yield FoundOutline(points=_as_array(points), closed=closed)
            points, closed = [segment.end], False
        elif isinstance(segment, Close):
            closed = True
            if segment.start != segment.end:
                points.append(segment.end)
        elif isinstance(segment, CubicBezier):
            points += [segment.control1, segment.control2, segment.end]
        elif isinstance(segment, Arc):
            points += [*(segment.point(share) for share in ARC_SHARES), segment.end]
        elif isinstance(segment, Line):
            points.append(segment.end)
        else:
            raise ValueError(f"a segment of an unknown kind: {type(segment).__name__}")
    if points:
        yield FoundOutline(points=_as_array(points), closed=closed)


def _as_array(points: Iterable[Any]) -> Floats:
    return np.array([(point.x, point.y) for point in points], float)


def found_in_dxf(data: bytes) -> FoundFile:
    """What a DXF holds. Raises ValueError and its kin, and the library's own errors."""
    drawing: Any = ezdxf.read(io.StringIO(data.decode("utf-8", "surrogateescape")))  # type: ignore[attr-defined]
    record = drawing.rootdict.get("TAIN_JOB")
    document = json.loads("".join(tag.value for tag in record.tags if tag.code == 1)) if record is not None else None
    entities = list(drawing.modelspace())
    every = -(-sum(len(one) if one.dxftype() == "LWPOLYLINE" else 1 for one in entities) // MAX_COMPARED)
    by_layer: dict[str, list[FoundOutline]] = {}
    for number, entity in enumerate(entities):
        outline = _dxf_outline(entity) if number % max(1, every) == 0 else FoundOutline(points=None, closed=True)
        by_layer.setdefault(entity.dxf.layer, []).append(outline)
    known = [layer for layer in drawing.layers if layer.has_xdata("TAIN")]
    layers = [_dxf_layer(layer, by_layer.pop(layer.dxf.name, [])) for layer in known]
    if by_layer:
        raise ValueError(f"lines on layers without settings: {', '.join(sorted(by_layer))}")
    units = drawing.header.get("$INSUNITS")
    if units != 4:
        raise ValueError(f"units {units} instead of millimetres")
    width_mm, height_mm = drawing.header["$EXTMAX"][:2]
    return FoundFile(width_mm=width_mm, height_mm=height_mm, document=document, layers=tuple(layers), y_up=True)


def _dxf_layer(layer: Any, outlines: list[FoundOutline]) -> FoundLayer:
    tags = [tag.value for tag in layer.get_xdata("TAIN") if tag.code != 1001]
    settings = dict(zip(tags[::2], tags[1::2], strict=True))
    red, green, blue = layer.rgb or (0, 0, 0)
    return FoundLayer(
        settings=settings,
        colour=f"#{red:02x}{green:02x}{blue:02x}",
        outlines=tuple(outlines),
    )


def _dxf_outline(entity: Any) -> FoundOutline:
    kind = entity.dxftype()
    if kind == "LINE":
        return FoundOutline(points=_as_array([entity.dxf.start, entity.dxf.end]), closed=False)
    if kind == "LWPOLYLINE":
        return FoundOutline(points=_polyline(entity), closed=bool(entity.closed))
    if kind in ("CIRCLE", "ARC", "ELLIPSE"):
        points = _as_array(entity.flattening(FLATTENED_MM))
        closed = kind == "CIRCLE" or bool(np.hypot(*(points[0] - points[-1])) < 1e-6)
        return FoundOutline(points=points, closed=closed)
    raise ValueError(f"an entity of an unknown kind: {kind}")


def _polyline(entity: Any) -> Floats:
    if not entity.has_arc:
        points = np.array(entity.get_points("xy"), float).reshape(-1, 2)
        return np.vstack([points, points[:1]]) if entity.closed else points
    here = np.array(entity[0][:2], float)
    parts = []
    for part in map(_piece, entity.virtual_entities()):
        if np.hypot(*(part[0] - here)) > np.hypot(*(part[-1] - here)):
            part = part[::-1]  # arcs run counterclockwise, whichever way the polyline goes
        parts.append(part)
        here = part[-1]
    return np.vstack(parts)


def _piece(piece: Any) -> Floats:
    if piece.dxftype() == "LINE":
        return _as_array([piece.dxf.start, piece.dxf.end])
    return _as_array(piece.flattening(FLATTENED_MM))
