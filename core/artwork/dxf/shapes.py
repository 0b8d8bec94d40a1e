"""Placed runs to the drawing's shapes: mm, y down, pens resolved, loose ends chained, faulty numbers left out."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from core.artwork.drawing import Finding, Missing, Shape
from core.artwork.dxf.blocks import Placed, Surroundings
from core.artwork.dxf.extents import exact_bounds
from core.artwork.dxf.kinds import LETTERING
from core.artwork.dxf.layers import LayerTable
from core.artwork.dxf.pieces import BY_BLOCK, BY_LAYER, Pen, Run
from core.artwork.painting import stroke_region
from core.artwork.remarks import Remarks
from core.geometry.affine import Affine, apply, apply_to_region, compose, mean_scale, translation
from core.geometry.chaining import CHAIN_TOLERANCE_MM, chain
from core.geometry.flattening import DEFAULT_TOLERANCE_MM
from core.geometry.many_paths import joined_through
from core.geometry.path import ARC, Path, joined
from core.geometry.region import BaseGeometry
from core.geometry.stroke import Stroke
from core.progress import Progress, part

MAX_COORDINATE_MM = 1e7
"""Ten kilometres: what lies further from the rest is a fault of the file."""

BETWEEN_REPORTS = 5_000

Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Page:
    """A page that is known beforehand: the map from drawing units to it, and its size."""

    matrix: Affine
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """The shapes, the extents they span, and the map from drawing units that they went through."""

    shapes: tuple[Shape, ...]
    width_mm: float
    height_mm: float
    to_page: Affine

    def finding(self, finding: Finding, place: tuple[float, float] | None) -> Finding:
        """The finding at its place on the page."""
        if place is None:
            return finding
        x, y = apply(self.to_page, np.array(place)).tolist()
        return replace(finding, x_mm=x, y_mm=y)

    def missing(self, missing: Missing, place: tuple[float, float] | None) -> Missing:
        """The same for what is not among the shapes."""
        if place is None:
            return missing
        x, y = apply(self.to_page, np.array(place)).tolist()
        return replace(missing, x_mm=x, y_mm=y)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Look:
    """A pen with all that it inherits. width: in drawing units, which ``matrix`` takes to mm; clip: mm."""

    kind: str
    layer: str
    colour: str
    filled: bool
    fill_rule: Literal["nonzero", "evenodd"]
    loose: bool
    dashed: bool
    hidden: str
    width: float
    matrix: Affine | None
    clip: BaseGeometry | None

    @property
    def width_mm(self) -> float:
        """Mean width of the stroke."""
        return self.width * mean_scale(self.matrix) if self.matrix else 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Pieces:
    """Piece i owns subpaths ``firsts[i]:firsts[i + 1]`` of the path and has look ``looks[look_of[i]]``."""

    path: Path
    firsts: Ints
    look_of: Ints
    looks: list[_Look]
    handles: list[str]

    @property
    def piece_of(self) -> Ints:
        """The piece of each subpath, (m,)."""
        return np.repeat(np.arange(len(self.handles)), np.diff(self.firsts))


def laid_out(
    placed: Iterable[Placed],
    layers: LayerTable,
    mm_per_unit: float,
    remarks: Remarks,
    *,
    page: Page | None,
    progress: Progress,
) -> Laid | None:
    """All runs as shapes on their extents, or None when nothing is left.

    With a ``page`` they lie on that instead, and their ends are left as they are.
    """
    to_mm = page.matrix if page else (mm_per_unit, 0.0, 0.0, -mm_per_unit, 0.0, 0.0)
    with np.errstate(all="ignore"):  # numbers of a faulty file may overflow; they are looked for right below
        pieces = _gathered(placed, layers, to_mm)
        if pieces is None:
            return None
        _remark(pieces, remarks)
        pieces = _kept(pieces, ~np.array([bool(look.hidden) for look in pieces.looks])[pieces.look_of])
        pieces, middle = _sound(pieces, remarks)
    if not len(pieces.path):
        return None
    progress(0.3, "Chaining lines")
    path, units = _units(pieces, chained=page is None)
    progress(0.5, "Making shapes")
    if page:
        x0, y0, x1, y1 = -middle[0], -middle[1], page.width_mm - middle[0], page.height_mm - middle[1]
    else:
        x0, y0, x1, y1 = _bounds(path, units, translation(-middle[0], -middle[1]))
    to_page = translation(-x0 - middle[0], -y0 - middle[1])
    shapes = _shapes(path.transformed(translation(-x0, -y0)), units, to_page, part(progress, 0.6, 1.0))
    return Laid(shapes=shapes, width_mm=x1 - x0, height_mm=y1 - y0, to_page=compose(to_page, to_mm))


def _gathered(placed: Iterable[Placed], layers: LayerTable, to_mm: Affine) -> _Pieces | None:
    paths: list[Path] = []
    matrices: list[Affine] = []
    firsts: list[Ints] = []
    look_of: list[int] = []
    handles: list[str] = []
    numbers: dict[_Look, int] = {}
    known: dict[tuple[Run, Surroundings], list[int]] = {}
    for one in placed:
        run, around = one.run, one.surroundings
        matrix = compose(to_mm, one.matrix)
        paths.append(run.path)
        matrices.append(matrix)
        firsts.append(run.firsts)
        handles.extend(run.handles)
        looks = known.get((run, around))
        if looks is None:
            clip = apply_to_region(to_mm, around.clip) if around.clip is not None else None
            by_pen = {id(pen): _look(pen, around, layers, matrix, clip) for pen in run.pens}
            looks = [numbers.setdefault(by_pen[id(pen)], len(numbers)) for pen in run.pens]
            if not any(pen.width for pen in run.pens):  # the look of a stroke holds its matrix
                known[run, around] = looks
        look_of.extend(looks)
    if not paths:
        return None
    path = joined_through(paths, matrices)
    subpaths = np.array([len(one.starts) for one in paths], np.intp)
    pieces = np.array([len(one) - 1 for one in firsts], np.intp)
    offsets = np.repeat(np.cumsum(subpaths) - subpaths, pieces)
    return _Pieces(
        path=path,
        firsts=np.append(np.concatenate([one[:-1] for one in firsts]) + offsets, len(path.starts)).astype(np.intp),
        look_of=np.array(look_of, np.intp),
        looks=list(numbers),
        handles=handles,
    )


def _look(pen: Pen, around: Surroundings, layers: LayerTable, matrix: Affine, clip: BaseGeometry | None) -> _Look:
    layer = around.layer if pen.layer == "0" else pen.layer
    entry = layers[layer]
    linetype = {BY_LAYER: entry.linetype, BY_BLOCK: around.linetype}.get(pen.linetype, pen.linetype)
    return _Look(
        kind=around.annotation or pen.kind,
        layer=layer,
        colour={BY_LAYER: entry.colour, BY_BLOCK: around.colour}.get(pen.colour, pen.colour),
        filled=pen.filled,
        fill_rule=pen.fill_rule,
        loose=pen.loose and not around.annotation,
        dashed=linetype != "CONTINUOUS" and not pen.filled,
        hidden=entry.hidden,
        width=pen.width,
        matrix=matrix if pen.width else None,
        clip=clip,
    )


def _remark(pieces: _Pieces, remarks: Remarks) -> None:
    counts = np.bincount(pieces.look_of, minlength=len(pieces.looks)).tolist()
    for look, count in zip(pieces.looks, counts, strict=True):
        if look.hidden:
            remarks.add(
                "dxf-hidden",
                "{count} [entity|entities] on layer “{layer}” ({why}) [was|were] left out.",
                count=count,
                layer=look.layer,
                why=look.hidden,
            )
        elif look.dashed:
            remarks.add("dxf-dashed", "{count} dashed or dotted [line is|lines are] drawn solid.", count=count)


def _kept(pieces: _Pieces, keep: Bools) -> _Pieces:
    """Only the pieces marked, (p,)."""
    if keep.all():
        return pieces
    counts = np.diff(pieces.firsts)
    return _Pieces(
        path=_subset(pieces.path, np.repeat(keep, counts)),
        firsts=np.concatenate([[0], np.cumsum(counts[keep])]).astype(np.intp),
        look_of=pieces.look_of[keep],
        looks=pieces.looks,
        handles=[handle for handle, kept in zip(pieces.handles, keep.tolist(), strict=True) if kept],
    )


def _subset(path: Path, keep: Bools) -> Path:
    """Only the subpaths marked, (m,)."""
    if keep.all():
        return path
    lengths = path.stops - path.starts
    segments = np.repeat(keep, lengths)
    kept_lengths = lengths[keep]
    return Path(
        kinds=path.kinds[segments],
        segments=path.segments[segments],
        starts=(np.cumsum(kept_lengths) - kept_lengths).astype(np.intp),
        closed=path.closed[keep],
    )


def _sound(pieces: _Pieces, remarks: Remarks) -> tuple[_Pieces, tuple[float, float]]:
    """Pieces without infinite or far-off numbers, moved so that (x, y), which is returned, is the origin.

    Survey drawings lie far from their origin; moving them first keeps the places behind the point.
    """
    if not len(pieces.path):
        return pieces, (0.0, 0.0)
    rows = pieces.path.segments
    places = rows[:, :2][np.isfinite(rows[:, :2]).all(1) & (np.abs(rows[:, :2]) < 1e15).all(1)]
    middle = np.median(places, axis=0) if len(places) else np.zeros(2)
    path = pieces.path.transformed(translation(-middle[0], -middle[1]))
    limits = np.full((len(path), 8), MAX_COORDINATE_MM)
    limits[path.kinds == ARC, 6:] = 1e4  # angles
    wrong = ~(np.abs(path.segments) <= limits).all(1)
    piece_of_row = np.repeat(pieces.piece_of, path.stops - path.starts)
    bad = np.bincount(piece_of_row[wrong], minlength=len(pieces.handles)) > 0
    if bad.any():
        remarks.add(
            "dxf-bad-coordinates",
            "{count} [entity|entities] with coordinates that are no numbers or kilometres away [was|were] left out.",
            count=int(bad.sum()),
        )
    return _kept(replace(pieces, path=path), ~bad), (float(middle[0]), float(middle[1]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Units:
    """What becomes one shape each: unit i owns subpaths ``firsts[i]:firsts[i + 1]``; in drawing order."""

    firsts: Ints
    look_of: list[_Look]
    kinds: list[str]
    handles: list[str]


def _units(pieces: _Pieces, *, chained: bool) -> tuple[Path, _Units]:
    """Loose open subpaths of equal layer and colour chained, if wanted; all else a unit a piece."""
    piece_of, path = pieces.piece_of, pieces.path
    groups: dict[object, int] = {}
    group_of_look = np.array(
        [groups.setdefault((k.layer, k.colour, k.clip, k.dashed), len(groups)) for k in pieces.looks]
    )
    loose = np.array([look.loose and chained for look in pieces.looks])[pieces.look_of][piece_of] & ~path.closed
    sources = np.flatnonzero(loose)
    chains = chain(
        _subset(path, loose), group_of_look[pieces.look_of[piece_of[sources]]], tolerance_mm=CHAIN_TOLERANCE_MM
    )
    members = piece_of[sources[chains.members]]
    leaders = np.minimum.reduceat(members, chains.member_starts[:-1]) if len(members) else members
    kept_pieces = np.flatnonzero(np.diff(np.concatenate([[0], np.cumsum(~loose)])[pieces.firsts]))
    kept_counts = np.diff(np.concatenate([[0], np.cumsum(~loose)])[pieces.firsts])[kept_pieces]
    every = joined([_subset(path, ~loose), chains.path])
    counts = np.concatenate([kept_counts, np.ones(len(leaders), np.intp)]).astype(np.intp)
    owners = np.concatenate([kept_pieces, leaders]).astype(np.intp)
    order = np.argsort(owners, kind="stable")
    every, firsts = _reordered(every, counts, order)
    looks = [pieces.looks[i] for i in pieces.look_of[owners[order]].tolist()]
    kinds = [look.kind for look in looks]
    rank = np.empty(len(order), np.intp)
    rank[order] = np.arange(len(order))
    for index in np.flatnonzero(np.diff(chains.member_starts) > 1).tolist():
        some = np.unique(members[chains.member_starts[index] : chains.member_starts[index + 1]])
        names = dict.fromkeys(pieces.looks[i].kind for i in pieces.look_of[some].tolist())
        kinds[rank[len(kept_pieces) + index]] = "+".join(names)
    handles = [pieces.handles[i] for i in owners[order].tolist()]
    return every, _Units(firsts=firsts, look_of=looks, kinds=kinds, handles=handles)


def _reordered(path: Path, counts: Ints, order: Ints) -> tuple[Path, Ints]:
    """Units of so many subpaths each, in a new order; and the subpath where each starts, (u + 1,)."""
    unit_firsts = np.cumsum(counts) - counts
    subpaths = _spans(unit_firsts[order], counts[order])
    lengths = (path.stops - path.starts)[subpaths]
    rows = _spans(path.starts[subpaths], lengths)
    moved = Path(
        kinds=path.kinds[rows],
        segments=path.segments[rows],
        starts=(np.cumsum(lengths) - lengths).astype(np.intp),
        closed=path.closed[subpaths],
    )
    return moved, np.concatenate([[0], np.cumsum(counts[order])]).astype(np.intp)


def _spans(starts: Ints, lengths: Ints) -> Ints:
    """The numbers start, start + 1, ... of each span, end to end."""
    before = np.cumsum(lengths) - lengths
    return (np.arange(int(lengths.sum())) - np.repeat(before - starts, lengths)).astype(np.intp)


def _bounds(path: Path, units: _Units, shift: Affine) -> tuple[float, float, float, float]:
    """Extents of outlines, and of strokes that have a width."""
    boxes = [exact_bounds(path)]
    rows = np.append(path.starts, len(path))[units.firsts]
    for i, look in enumerate(units.look_of):
        if look.width:
            outline = _outline(path, units.firsts[i], units.firsts[i + 1], rows[i], rows[i + 1])
            region = stroke_region(outline, _stroke(look, shift), tolerance_mm=DEFAULT_TOLERANCE_MM)
            if not region.is_empty:
                boxes.append(region.bounds)
    x0, y0, x1, y1 = zip(*boxes, strict=True)
    return min(x0), min(y0), max(x1), max(y1)


def _outline(path: Path, first: int, end: int, first_row: int, end_row: int) -> Path:
    """Subpaths first to end, whose rows are first_row to end_row."""
    return Path(
        kinds=path.kinds[first_row:end_row],
        segments=path.segments[first_row:end_row],
        starts=path.starts[first:end] - first_row,
        closed=path.closed[first:end],
    )


def _shapes(path: Path, units: _Units, to_page: Affine, progress: Progress) -> tuple[Shape, ...]:
    shapes = []
    strokes: dict[int, Stroke] = {}
    ids: dict[str, int] = {}
    rows = np.append(path.starts, len(path))[units.firsts].tolist()
    firsts = units.firsts.tolist()
    for i, look in enumerate(units.look_of):
        if i % BETWEEN_REPORTS == 0:
            progress(i / len(units.look_of), "Making shapes")
        outline = _outline(path, firsts[i], firsts[i + 1], rows[i], rows[i + 1])
        handle = units.handles[i]
        times = ids[handle] = ids.get(handle, 0) + 1
        stroke = None
        if not look.filled:
            stroke = strokes.get(id(look))
            if stroke is None:
                stroke = strokes[id(look)] = _stroke(look, to_page)
        shapes.append(
            Shape(
                id=handle if times == 1 else f"{handle}.{times}",
                kind=units.kinds[i],
                path=outline,
                fill=look.colour if look.filled else None,
                fill_rule=look.fill_rule,
                stroke=stroke,
                source_layer=look.layer,
                clip=None if look.clip is None else apply_to_region(to_page, look.clip),
                names=(look.layer,),
                source_id=handle,
                is_text=units.kinds[i] in LETTERING,
                drawn_solid=look.dashed,
            )
        )
    return tuple(shapes)


def _stroke(look: _Look, to_page: Affine) -> Stroke:
    if look.matrix is None:
        return Stroke(colour=look.colour, width=0.0, width_mm=0.0)
    return Stroke(
        colour=look.colour,
        width=look.width,
        matrix=compose(to_page, look.matrix),
        width_mm=look.width_mm,
        miter_limit=10.0,
    )
