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
from core.findings import Severity
from core.geometry.affine import Affine, apply_to_region
from core.geometry.flattening import DEFAULT_TOLERANCE_MM, flatten, is_circular
from core.geometry.parallel import parallel_outline
from core.geometry.path import ARC, Path, ellipse, polyline
from core.job.job import Layer
from core.sheet.kerf import lost_slots, offset

FLATNESS_MM = 0.002
TOUCHING_MM = 0.01


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

    Open lines stay, since nothing tells which side of them is kept. Holes and slots no wider than the kerf go. Parts
    that share a line are a problem: one cut can't leave both their size.
    """
    moved: dict[str, list[Path]] = {layer.id: [] for layer in layers if keeps_size(layer)}
    lines = _lines(artworks, layers)
    shared = _shared(lines)
    still, lost, slots = [], [], []
    for line in lines:
        if line.layer.id not in moved:
            continue
        if not line.path.closed.all():
            if line.path not in shared:
                still.append(line.path)
            moved[line.layer.id].append(line.path)
            continue
        away_mm = -kerf_mm / 2 if line.is_hole else kerf_mm / 2
        outlines = list(moved_outline(line.path, away_mm))
        slots += [line.path] * len(lost_slots(_inside(line.path), away_mm))
        moved[line.layer.id] += outlines
        if not outlines:
            lost.append(line.path)
    findings = [*_finding("kerf-open-lines", still), *_finding("kerf-lost-holes", lost)]
    findings += _finding("kerf-lost-slots", slots)
    findings += _finding("kerf-shared-lines", shared, kerf_mm=kerf_mm, severity="problem")
    findings += _finding("kerf-too-near", _too_near(lines, kerf_mm))
    findings += _finding("hole-at-the-edge", _touching(lines))
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
    region = offset(_inside(path), distance_mm)
    exact = parallel_outline(path, distance_mm)
    if exact is not None and _alike(exact, region):
        yield exact
        return
    for ring in shapely.get_rings(shapely.get_parts(region)):
        yield polyline(shapely.get_coordinates(ring), closed=True)


def _inside(path: Path) -> BaseGeometry:
    """What one closed line goes round."""
    return shapely.make_valid(shapely.Polygon(flatten(path, FLATNESS_MM).points))


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


def _shared(lines: Sequence[_Line]) -> list[Path]:
    """Open lines that begin and end on one closed outline: the rest of parts that share a line.

    A line that two parts share is burned once, so that of one of them an open line is left.
    """
    rings = [shapely.LineString(flatten(line.path).points) for line in lines if line.path.closed.all()]
    found = []
    for path in (line.path for line in lines if not line.path.closed.all()):
        first, last = (shapely.Point(end) for end in (path.start_points[0], path.end_points[-1]))
        if any(max(ring.distance(first), ring.distance(last)) < TOUCHING_MM for ring in rings):
            found.append(path)
    return found


def _touching(lines: Sequence[_Line]) -> list[Path]:
    """Holes that touch the outline they lie in."""
    holes = [line for line in lines if line.is_hole and line.path.closed.all()]
    return [
        hole.path
        for hole in holes
        if _apart_mm(hole.path, lines[hole.parent].path, DEFAULT_TOLERANCE_MM) < 3 * TOUCHING_MM
        and _apart_mm(hole.path, lines[hole.parent].path, TOUCHING_MM / 10) < TOUCHING_MM
    ]


def _apart_mm(one: Path, other: Path, tolerance_mm: float) -> float:
    lines = [shapely.LineString(flatten(path, tolerance_mm).points) for path in (one, other)]
    return float(shapely.distance(*lines))


def copies_findings(enclosed: BaseGeometry, matrices: Sequence[Affine], kerf_mm: float) -> list[Finding]:
    """That copies share a line, or stand nearer than the kerf; ``enclosed``: what cut lines go round, as drawn."""
    if enclosed.is_empty:
        return []
    copies = [apply_to_region(matrix, enclosed) for matrix in matrices]
    one, other = shapely.STRtree(copies).query(copies, predicate="dwithin", distance=kerf_mm - TOUCHING_MM)
    pairs = one < other
    apart_mm = shapely.distance(np.array(copies, object)[one[pairs]], np.array(copies, object)[other[pairs]])
    found: dict[str, list[Path]] = {"kerf-shared-lines": [], "kerf-too-near": []}
    for number, gap_mm in zip(other[pairs].tolist(), apart_mm.tolist(), strict=True):
        corners = shapely.get_coordinates(copies[number])[:2]
        found["kerf-shared-lines" if gap_mm < TOUCHING_MM else "kerf-too-near"].append(polyline(corners))
    return [
        *_finding("kerf-shared-lines", found["kerf-shared-lines"], kerf_mm=kerf_mm, severity="problem"),
        *_finding("kerf-too-near", found["kerf-too-near"]),
    ]


_WORDS = {
    "kerf-open-lines": (
        "{count} open cut line(s) stay as drawn: nothing tells which side of them is kept. Close them, or cut this "
        "layer as drawn."
    ),
    "kerf-lost-holes": "{count} hole(s) are no wider than the kerf and are left out. Draw them larger.",
    "kerf-lost-slots": (
        "{count} slot(s) from the edge, or necks, are no wider than the kerf and close up. Draw them wider, or as a "
        "single line to score or cut."
    ),
    "kerf-shared-lines": (
        "{count} part(s) share a cut line with another: one cut can't leave both their drawn size. Move them "
        "{kerf_mm:g} mm apart, or cut this layer as drawn: each then loses half the kerf there."
    ),
    "hole-at-the-edge": (
        "{count} hole(s) touch the outline round them: nothing is left between. Move them in, or draw them open."
    ),
    "kerf-too-near": "{count} part(s) stand nearer than the kerf to another: they come out too small. Part them.",
}


def _finding(
    code: str, paths: Sequence[Path], *, kerf_mm: float = 0.0, severity: Severity = "warning"
) -> list[Finding]:
    if not paths:
        return []
    x, y = paths[0].start_points[0].tolist()
    message = _WORDS[code].format(count=len(paths), kerf_mm=kerf_mm)
    return [Finding(code=code, message=message, severity=severity, x_mm=x, y_mm=y)]
