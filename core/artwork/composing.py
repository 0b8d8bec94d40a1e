"""Shapes put together layer by layer: what is filled as one region, what is cut or scored as lines.

A picture that is screened takes part with its outline, as an opaque thing: what lies on it is taken out of it, and it
is taken out of what lies under it, on its own layer too.

Nothing burns twice: overlapping fills are united, later paint wins over earlier between fill layers, white paint that
keeps the coat is taken out of what lies under it, and a line that runs along an earlier one of its purpose is dropped.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.artwork.burned_lines import lines_of
from core.artwork.drawing import Drawing, Finding, Shape, SortOptions
from core.artwork.fill_checks import fill_findings
from core.artwork.paint_order import white_paint
from core.artwork.painting import drawing_regions, filled_region, painting_findings, region_tolerance_mm, stroke_region
from core.artwork.tone_map import Tones
from core.errors import UnreadableError
from core.geometry.ends import closed_subpaths
from core.geometry.engine import subtracted, united
from core.geometry.flattening import path_length_mm
from core.geometry.overlaps import Covered, covered_stretches
from core.geometry.path import Path
from core.geometry.path_pieces import taken_out
from core.geometry.rings import NOTHING
from core.progress import Progress, silent
from core.purposes import Purpose


class Layer(Protocol):
    """What composing knows of a layer."""

    @property
    def id(self) -> str:
        """Its name that never changes."""

    @property
    def name(self) -> str:
        """The maker's name for it."""

    @property
    def purpose(self) -> Purpose:
        """What is done with what lies on it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ToneArea:
    """A picture that is screened: its tones, and the region that is left of it, drawing frame."""

    shape_id: str
    tones: Tones
    region: BaseGeometry


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LayerArtwork:
    """What one layer burns, drawing frame: a region for fills, paths (one a subpath) for cuts, scores and guides.

    pictures: those of a fill that are screened; their regions are part of its own. solid: the rest of it.
    enclosed: what cut lines go round where the paths themselves do not tell any more, being moved or shared.
    given: area (fills, mm2) or length (mm) of each shape before uniting and dropping, (n,); doubled: length of each
    that was dropped since it lies on other lines, (n,), zero for fills.
    """

    shape_ids: tuple[str, ...]
    region: BaseGeometry
    paths: tuple[Path, ...]
    enclosed: BaseGeometry | None = None
    given: tuple[float, ...] = ()
    doubled: tuple[float, ...] = ()
    pictures: tuple[ToneArea, ...] = ()
    solid_region: BaseGeometry | None = None

    @property
    def solid(self) -> BaseGeometry:
        """What of the region is no picture."""
        return self.region if self.solid_region is None else self.solid_region


def compose_layers(
    drawing: Drawing,
    layer_of: Mapping[str, str],
    layers: Sequence[Layer],
    options: SortOptions,
    *,
    progress: Progress = silent,
) -> tuple[dict[str, LayerArtwork], tuple[Finding, ...]]:
    """The artwork of each layer by its id, and what was found on the way.

    layer_of: shape id to layer id; shapes with any other value take no part.
    """
    members: dict[str, list[int]] = {layer.id: [] for layer in layers}
    for i, shape in enumerate(drawing.shapes):
        if layer_of.get(shape.id) in members:
            members[layer_of[shape.id]].append(i)
    line_layers = [layer for layer in layers if layer.purpose != "fill"]
    filled, given, findings = _fills(drawing, layers, members, options, progress)
    drawn, paths, dropped = _lines(drawing, line_layers, members, options, progress)
    result = {}
    for layer in layers:
        own = members[layer.id]
        before, after = _lengths_mm(drawn.get(layer.id, ())), _lengths_mm(paths.get(layer.id, ()))
        is_fill = layer.purpose == "fill"
        fill = filled.get(layer.id, _Filled())
        result[layer.id] = LayerArtwork(
            shape_ids=tuple(drawing.shapes[i].id for i in own),
            region=fill.region,
            pictures=fill.pictures,
            solid_region=fill.solid if fill.pictures else None,
            paths=tuple(path for _, path in paths.get(layer.id, ())),
            given=tuple(float(given[i]) if is_fill else before.get(i, 0.0) for i in own),
            doubled=tuple(0.0 if is_fill else before.get(i, 0.0) - after.get(i, 0.0) for i in own),
        )
    cut_layers = [layer for layer in line_layers if layer.purpose == "cut"]
    cuts = [(drawing.shapes[i].id, path) for layer in cut_layers for i, path in paths[layer.id]]
    findings += dropped
    regions = [fill.region for fill in filled.values() if not fill.region.is_empty]
    if cuts and regions:
        progress(0.9, "holding fills against cuts")
        findings += fill_findings(regions[0] if len(regions) == 1 else united(regions), cuts)
    return result, tuple(findings)


def _lengths_mm(lines: Iterable[tuple[int, Path]]) -> dict[int, float]:
    """Length of each shape's lines by the shape's index."""
    lengths_mm: dict[int, float] = {}
    for i, path in lines:
        lengths_mm[i] = lengths_mm.get(i, 0.0) + path_length_mm(path)
    return lengths_mm


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Filled:
    """A fill layer's region, its pictures, and what is none."""

    region: BaseGeometry = NOTHING
    solid: BaseGeometry = NOTHING
    pictures: tuple[ToneArea, ...] = ()


def _fills(
    drawing: Drawing,
    layers: Sequence[Layer],
    members: Mapping[str, list[int]],
    options: SortOptions,
    progress: Progress,
) -> tuple[dict[str, _Filled], NDArray[np.float64], list[Finding]]:
    """What each fill layer fills, the area of each shape before uniting, (n,), and what was found."""
    fill_layers = [layer.id for layer in layers if layer.purpose == "fill"]
    own = drawing_regions(drawing, line_width_mm=options.line_width_mm, progress=progress).copy()
    findings = list(painting_findings(drawing, line_width_mm=options.line_width_mm))
    owner = np.full(len(drawing.shapes), -1)
    empty_ids = []
    for number, layer_id in enumerate(fill_layers):
        for i in members[layer_id]:
            owner[i] = number
            if own[i].is_empty:
                own[i] = _area_of_line(drawing, drawing.shapes[i])
                if own[i].is_empty:
                    empty_ids.append(drawing.shapes[i].id)
    if empty_ids:
        what = "1 shape" if len(empty_ids) == 1 else f"{len(empty_ids)} shapes"
        message = f"{what} on a fill layer has no area: nothing is filled there."
        findings.append(Finding(code="no-area", message=message, shape_ids=tuple(empty_ids)))
    given: NDArray[np.float64] = shapely.area(own)
    keeping = _keepers(drawing, layers, members, options)
    if keeping:
        whole = drawing_regions(drawing)
        for i in keeping:
            own[i] = whole[i]
            owner[i] = len(fill_layers)
        if options.white_keeps is None:
            findings.append(_white_question(drawing, keeping, own))
    progress(0.5, "uniting fills")
    on_fills = np.flatnonzero((owner >= 0) & (owner < len(fill_layers))).tolist()
    toned = [i for i in on_fills if drawing.shapes[i].tones is not None]
    layer_of_toned = owner[toned]
    owner[toned] = len(fill_layers) + 1 + np.arange(len(toned))
    _take_out_what_lies_above(own, owner)
    filled = {}
    for number, layer_id in enumerate(fill_layers):
        solid = united(own[owner == number])
        members_of = [i for i, of in zip(toned, layer_of_toned.tolist(), strict=True) if of == number]
        pictures = tuple(area for i in members_of if (area := _tone_area(drawing.shapes[i], own[i])) is not None)
        region = united([solid, *(area.region for area in pictures)]) if pictures else solid
        filled[layer_id] = _Filled(region=region, solid=solid, pictures=pictures)
    return filled, given, findings


def _tone_area(shape: Shape, region: BaseGeometry) -> ToneArea | None:
    """What is left of a picture; None where nothing is."""
    if shape.tones is None or region.is_empty:
        return None
    return ToneArea(shape_id=shape.id, tones=shape.tones, region=region)


def _area_of_line(drawing: Drawing, shape: Shape) -> BaseGeometry:
    """What filling a thin line means: all that a closed one goes round, the line itself of an open one."""
    tolerance_mm = region_tolerance_mm(drawing.width_mm, drawing.height_mm)
    try:
        if len(shape.path) and closed_subpaths(shape.path).all():
            return filled_region(shape.path, "evenodd", tolerance_mm=tolerance_mm)
        if shape.stroke is not None:
            return stroke_region(shape.path, shape.stroke, tolerance_mm=tolerance_mm)
    except UnreadableError:
        pass
    return NOTHING


def _keepers(
    drawing: Drawing, layers: Sequence[Layer], members: Mapping[str, list[int]], options: SortOptions
) -> list[int]:
    """White shapes over darker paint that the sorting's guides hold back, in painting order."""
    if options.white_keeps is False:
        return []
    guides = {i for layer in layers if layer.purpose == "guide" for i in members[layer.id]}
    return sorted(white_paint(drawing).over_dark & guides)


def _white_question(drawing: Drawing, keeping: list[int], regions: NDArray[np.object_]) -> Finding:
    place = shapely.point_on_surface(regions[keeping[0]])
    what = "A white shape lies" if len(keeping) == 1 else f"{len(keeping)} white shapes lie"
    return Finding(
        code="white-over-dark",
        message=f"{what} over darker paint: shall the coat be kept there, or cleared? It is kept meanwhile.",
        x_mm=float(shapely.get_x(place)),
        y_mm=float(shapely.get_y(place)),
        shape_ids=tuple(drawing.shapes[i].id for i in keeping),
    )


def _take_out_what_lies_above(regions: NDArray[np.object_], owner: NDArray[np.intp]) -> None:
    """Takes from each region, in place, those of other owners painted after it; owner -1 takes no part."""
    part = np.flatnonzero((owner >= 0) & ~shapely.is_empty(regions))
    if len(np.unique(owner[part])) < 2:
        return
    tree = shapely.STRtree(regions[part])
    below, above = tree.query(regions[part], predicate="intersects")
    below, above = part[below], part[above]
    some = (above > below) & (owner[above] != owner[below])
    below, above = below[some], above[some]
    painted = regions.copy()
    order = np.argsort(below, kind="stable")
    lower, start = np.unique(below[order], return_index=True)
    for i, own in zip(lower.tolist(), np.split(above[order], start)[1:], strict=True):
        regions[i] = subtracted(painted[i], united(painted[own]))


Lines = dict[str, list[tuple[int, Path]]]


def _lines(
    drawing: Drawing,
    layers: Sequence[Layer],
    members: Mapping[str, list[int]],
    options: SortOptions,
    progress: Progress,
) -> tuple[Lines, Lines, list[Finding]]:
    """(shape index, path) of each line layer as drawn, the same without doubled stretches, and what was dropped."""
    regions = drawing_regions(drawing, line_width_mm=options.line_width_mm)
    tolerance_mm = region_tolerance_mm(drawing.width_mm, drawing.height_mm)
    lines: Lines = {}
    for layer in layers:
        lines[layer.id] = [
            (i, path)
            for i in members[layer.id]
            for path in lines_of(
                drawing.shapes[i], regions[i], line_width_mm=options.line_width_mm, tolerance_mm=tolerance_mm
            )
        ]
    drawn = dict(lines)
    findings = []
    for purpose in ("cut", "score"):
        progress(0.7, "looking for doubled lines")
        burned = [layer for layer in layers if layer.purpose == purpose]
        entries = [(layer, i, path) for layer in burned for i, path in lines[layer.id]]
        left, found = _burned_once(drawing, entries)
        findings += found
        for layer in burned:
            lines[layer.id] = [(i, path) for of_layer, i, path in left if of_layer is layer]
    return drawn, lines, findings


Entry = tuple[Layer, int, Path]


def burned_once(paths: Sequence[Path]) -> list[tuple[int, Path]]:
    """The lines without what runs along an earlier one, each with the number of the line that it is of."""
    return _left_of(paths, covered_stretches(paths))


def _left_of(paths: Sequence[Path], covered: Covered) -> list[tuple[int, Path]]:
    left: list[tuple[int, Path]] = []
    order = np.argsort(covered.path, kind="stable")
    hit, begin = np.unique(covered.path[order], return_index=True)
    stretches = dict(zip(hit.tolist(), np.split(order, begin)[1:], strict=True))
    for number, path in enumerate(paths):
        own = stretches.get(number)
        if own is None:
            left.append((number, path))
            continue
        remaining = taken_out(path, covered.segment[own], covered.t0[own], covered.t1[own])
        left.extend((number, piece) for piece in remaining.subpaths())
    return left


def _burned_once(drawing: Drawing, entries: list[Entry]) -> tuple[list[Entry], list[Finding]]:
    """The lines without what runs along an earlier one, and one finding a layer about what was dropped."""
    covered = covered_stretches([path for _, _, path in entries])
    if not len(covered):
        return entries, []
    left: list[Entry] = [
        (*entries[number][:2], piece) for number, piece in _left_of([path for _, _, path in entries], covered)
    ]
    findings = []
    for layer_id in dict.fromkeys(layer.id for layer, _, _ in entries):
        own = np.array([entries[number][0].id == layer_id for number in covered.path])
        if not own.any():
            continue
        longest = int(np.argmax(np.where(own, covered.length_mm, -1.0)))
        name = next(layer.name for layer, _, _ in entries if layer.id == layer_id)
        ids = dict.fromkeys(drawing.shapes[entries[number][1]].id for number in covered.path[own])
        findings.append(
            Finding(
                code="lines-burned-once",
                message=f"{name}: {covered.length_mm[own].sum():.1f} mm of lines lie on other lines, burned once.",
                severity="note",
                x_mm=float(covered.x_mm[longest]),
                y_mm=float(covered.y_mm[longest]),
                shape_ids=tuple(ids),
            )
        )
    return left, findings
