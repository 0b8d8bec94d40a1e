"""Cut lines moved by half the kerf, so that what is cut out keeps its drawn size: parts outwards, holes inwards.

Outlines of lines and circular arcs stay such, whole circles too; others follow their parallel within 0.003 mm.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.composing import LayerArtwork
from core.artwork.drawing import Finding
from core.burning.nesting import parents_of
from core.geometry.flattening import flatten, is_circular
from core.geometry.parallel import parallel_outline
from core.geometry.path import ARC, Path, ellipse, polyline
from core.job.job import Layer
from core.sheet.kerf import offset

FLATNESS_MM = 0.002


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Line:
    """A cut line: its layer, itself, whether a hole is inside it, and which line it lies in, or -1."""

    layer: Layer
    path: Path
    is_hole: bool
    parent: int


def with_kept_size(
    artworks: Mapping[str, LayerArtwork], layers: Sequence[Layer], *, kerf_mm: float
) -> tuple[dict[str, LayerArtwork], tuple[Finding, ...]]:
    """The artwork with the lines of all layers that keep their size moved for that kerf; drawing frame.

    Open lines stay, since nothing tells which side of them is kept. Holes no wider than the kerf go.
    """
    moved: dict[str, list[Path]] = {layer.id: [] for layer in layers if keeps_size(layer)}
    lines = _lines(artworks, layers)
    still, lost = [], []
    for line in lines:
        if line.layer.id not in moved:
            continue
        if not line.path.closed.all():
            still.append(line.path)
            moved[line.layer.id].append(line.path)
            continue
        outlines = list(moved_outline(line.path, -kerf_mm / 2 if line.is_hole else kerf_mm / 2))
        moved[line.layer.id] += outlines
        if not outlines:
            lost.append(line.path)
    findings = [*_finding("kerf-open-lines", still), *_finding("kerf-lost-holes", lost)]
    findings += _finding("kerf-too-near", _too_near(lines, kerf_mm))
    return {**artworks, **{id_: replace(artworks[id_], paths=tuple(paths)) for id_, paths in moved.items()}}, tuple(
        findings
    )


def keeps_size(layer: Layer) -> bool:
    """Whether the layer's lines are moved for the kerf."""
    return layer.keep_size and layer.purpose == "cut"


def moved_outline(path: Path, distance_mm: float) -> Iterator[Path]:
    """A closed line moved outwards (inwards below zero): one outline, more where it comes apart, or none."""
    radius = _circle_radius(path)
    if radius is not None:
        if radius + distance_mm > 0:
            yield ellipse(tuple(path.segments[0, 0:2].tolist()), radius + distance_mm, radius + distance_mm)
        return
    region = offset(shapely.make_valid(shapely.Polygon(flatten(path, FLATNESS_MM).points)), distance_mm)
    exact = parallel_outline(path, distance_mm)
    if exact is not None and _alike(exact, region):
        yield exact
        return
    for ring in shapely.get_rings(shapely.get_parts(region)):
        yield polyline(shapely.get_coordinates(ring), closed=True)


def _alike(path: Path, region: BaseGeometry) -> bool:
    """Whether an outline goes round just that region, but for the error of chords."""
    inside = shapely.Polygon(flatten(path, FLATNESS_MM).points)
    return inside.is_valid and shapely.symmetric_difference(inside, region).area <= 2 * FLATNESS_MM * region.length


def _circle_radius(path: Path) -> float | None:
    """The radius of a full circle, None for any other outline."""
    arcs = path.segments
    if not (path.kinds == ARC).all() or not is_circular(arcs).all():
        return None
    radius = np.hypot(arcs[:, 2], arcs[:, 3])
    whole = abs(float((arcs[:, 7] - arcs[:, 6]).sum()))
    same = np.ptp(arcs[:, 0:2], axis=0).max() < 1e-6 and np.ptp(radius) < 1e-6
    return float(radius[0]) if same and abs(whole - 2 * np.pi) < 1e-6 else None


def _lines(artworks: Mapping[str, LayerArtwork], layers: Sequence[Layer]) -> list[_Line]:
    """All cut lines, told outline from hole by how many others they lie in."""
    owned = [(layer, path) for layer in layers if layer.purpose == "cut" for path in artworks[layer.id].paths]
    parents = parents_of([path for _, path in owned])
    is_hole = []
    for parent in parents:
        depth = 0
        while parent >= 0:
            depth, parent = depth + 1, parents[parent]
        is_hole.append(depth % 2 == 1)
    return [
        _Line(layer=layer, path=path, is_hole=hole, parent=parent)
        for (layer, path), hole, parent in zip(owned, is_hole, parents, strict=True)
    ]


def _too_near(lines: Sequence[_Line], kerf_mm: float) -> list[Path]:
    """Outlines of parts that stand nearer than the kerf to another part, or to the hole they lie in."""
    closed = [number for number, line in enumerate(lines) if line.path.closed.all()]
    if not closed:
        return []
    rings = [shapely.LineString(flatten(lines[number].path).points) for number in closed]
    pairs = shapely.STRtree(rings).query(rings, predicate="dwithin", distance=kerf_mm - 0.01)
    near = {}
    for one, other in zip(*(np.array(closed, np.intp)[side].tolist() for side in pairs), strict=True):
        side_by_side = one != other and lines[one].parent == lines[other].parent
        if not lines[one].is_hole and (side_by_side or lines[one].parent == other):
            near[one] = lines[one].path
    return list(near.values())


_WORDS = {
    "kerf-open-lines": (
        "{count} open cut line(s) stay as drawn: nothing tells which side of them is kept. Close them, or cut this "
        "layer as drawn."
    ),
    "kerf-lost-holes": "{count} hole(s) are no wider than the kerf and are left out. Draw them larger.",
    "kerf-too-near": "{count} part(s) stand nearer than the kerf to another: they come out too small. Part them.",
}


def _finding(code: str, paths: Sequence[Path]) -> list[Finding]:
    if not paths:
        return []
    x, y = paths[0].start_points[0].tolist()
    return [Finding(code=code, message=_WORDS[code].format(count=len(paths)), x_mm=x, y_mm=y)]
