"""Blocks placed: every INSERT, however nested, as runs with the map that puts them into the drawing.

What an expansion would come to is counted before anything is expanded, and blocks that hold themselves are cut open.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.dxf.entities import EntityReader, Item
from core.artwork.dxf.kinds import ANNOTATIONS
from core.artwork.dxf.layers import LayerTable
from core.artwork.dxf.pieces import BY_BLOCK, BY_LAYER, Insert, Run
from core.artwork.remarks import Remarks
from core.geometry.affine import IDENTITY, Affine, apply_to_region, compose, mean_scale, translation
from core.progress import Progress, part

MAX_PLACED = 1_000_000
"""What inserts may bring into a drawing, an entity counting ``ENTITY_COST`` and each of its vertices one: well above
a sheet full of copies, and under half a gigabyte."""
ENTITY_COST = 4
BETWEEN_REPORTS = 256


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surroundings:
    """What a placed block gives to entities that leave layer, colour or linetype to it; its clip, in drawing units.
    Those of blocks that give the same in the same place are one object."""

    layer: str = "0"
    colour: str = "#000000"
    linetype: str = "CONTINUOUS"
    clip: BaseGeometry | None = None
    annotation: str = ""


_OUTERMOST = Surroundings()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placed:
    """A run, the map that takes it to the drawing (drawing units, y up), and what it inherits."""

    run: Run
    matrix: Affine
    surroundings: Surroundings


def placed_runs(
    entities: Sequence[Any],
    document: Any,
    reader: EntityReader,
    layers: LayerTable,
    remarks: Remarks,
    *,
    tolerance: float,
    progress: Progress,
) -> Iterator[Placed]:
    """All runs of a layout in drawing order, blocks expanded. The tolerance is in drawing units."""
    blocks = _Blocks(document, reader, remarks, tolerance)
    inheritance = _Inheritance(layers)
    items = reader.read(entities, tolerance=tolerance, progress=part(progress, 0.0, 0.7))
    placing = part(progress, 0.7, 1.0)
    for number, item in enumerate(items):
        if isinstance(item, Run):
            yield Placed(run=item, matrix=IDENTITY, surroundings=_OUTERMOST)
        elif blocks.affords(item):
            if number % BETWEEN_REPORTS == 0:
                placing(number / len(items), "Placing blocks")
            yield from _expanded(item, blocks, inheritance, remarks)


def _expanded(item: Insert, blocks: "_Blocks", inheritance: "_Inheritance", remarks: Remarks) -> Iterator[Placed]:
    """An insert's runs, those of nested inserts among them, by a stack of its own."""
    stack: list[tuple[Item, Affine, Surroundings]] = [(item, IDENTITY, _OUTERMOST)]
    while stack:
        top, matrix, around = stack.pop()
        if isinstance(top, Run):
            yield Placed(run=top, matrix=matrix, surroundings=around)
            continue
        inside, is_frozen = inheritance.within(top, around)
        if is_frozen:
            remarks.add("dxf-hidden", "{count} [block on a frozen layer was|blocks on frozen layers were] left out.")
            continue
        for offset in _offsets(top):
            placed = top.matrix if offset == _NOT_MOVED else compose(translation(*offset), top.matrix)
            to_drawing = placed if matrix is IDENTITY else compose(matrix, placed)
            content = blocks.content(top.block, to_drawing)
            if not content:
                break
            clipped = _clipped(inside, top, to_drawing)
            stack.extend((part, to_drawing, clipped) for part in reversed(content))


class _Blocks:
    """Contents of blocks, read once for each fineness they are needed in, and what their placing costs."""

    def __init__(self, document: Any, reader: EntityReader, remarks: Remarks, tolerance: float) -> None:
        self._document = document
        self._reader = reader
        self._remarks = remarks
        self._tolerance = tolerance
        self._counts = _Counts(document)
        self._contents: dict[tuple[str, int], tuple[Item, ...]] = {}
        self._room = MAX_PLACED

    def affords(self, item: Insert) -> bool:
        """Whether the insert with all that it holds may be expanded; takes its cost off what is left."""
        cost = item.copies * max(self._counts.cost(item.block), 1)
        if cost > self._room:
            self._remarks.add(
                "dxf-too-many-copies",
                "Block “{block}” placed {copies} times is too large to draw and was left out.",
                block=item.block,
                copies=f"{item.copies:,}",
            )
            return False
        self._room -= cost
        return True

    def content(self, name: str, to_drawing: Affine) -> tuple[Item, ...]:
        """What the block holds, fine enough for that map; nothing for one that holds itself or is squashed."""
        if self._counts.is_cyclic(name):
            self._remarks.add("dxf-block-cycle", "Block “{block}” holds itself and was left out.", block=name)
            return ()
        scale = mean_scale(to_drawing)
        if not 1e-12 < scale < 1e12:
            self._remarks.add("dxf-block-scale", "Block “{block}” is scaled beyond sense and was left out.", block=name)
            return ()
        halvings = max(0, math.ceil(math.log2(scale)))  # a block drawn larger needs its curves that much finer
        key = (name, halvings)
        if key not in self._contents:
            block = list(self._document.blocks.get(name))
            self._contents[key] = self._reader.read(block, tolerance=self._tolerance / 2**halvings, in_block=True)
        return self._contents[key]


_NOT_MOVED = (0.0, 0.0)


def _offsets(item: Insert) -> list[tuple[float, float]]:
    if item.copies == 1:
        return [_NOT_MOVED]
    (rx, ry), (cx, cy) = item.row_step, item.column_step
    grid = [(r * rx + c * cx, r * ry + c * cy) for r in range(max(item.rows, 1)) for c in range(max(item.columns, 1))]
    return grid[::-1]  # the stack takes the last first


class _Inheritance:
    """What blocks give on, worked out once for all inserts that look alike in the same surroundings."""

    def __init__(self, layers: LayerTable) -> None:
        self._layers = layers
        self._known: dict[tuple[Surroundings, str, str, str, str], tuple[Surroundings, bool]] = {}

    def within(self, item: Insert, outer: Surroundings) -> tuple[Surroundings, bool]:
        """The surroundings inside an insert, and whether it stands on a frozen layer."""
        key = (outer, item.layer, item.colour, item.linetype, item.annotation)
        known = self._known.get(key)
        if known is None:
            inside = _inherited(item, outer, self._layers)
            known = self._known[key] = (inside, self._layers[inside.layer].hidden == "frozen")
        return known


def _inherited(item: Insert, outer: Surroundings, layers: LayerTable) -> Surroundings:
    layer = outer.layer if item.layer == "0" else item.layer
    return Surroundings(
        layer=layer,
        colour={BY_LAYER: layers[layer].colour, BY_BLOCK: outer.colour}.get(item.colour, item.colour),
        linetype={BY_LAYER: layers[layer].linetype, BY_BLOCK: outer.linetype}.get(item.linetype, item.linetype),
        clip=outer.clip,
        annotation=outer.annotation or item.annotation,
    )


def _clipped(around: Surroundings, item: Insert, to_drawing: Affine) -> Surroundings:
    if len(item.clip) < 3:
        return around
    clip = apply_to_region(to_drawing, shapely.make_valid(shapely.Polygon(item.clip)))
    return replace(around, clip=clip if around.clip is None else around.clip.intersection(clip))


class _Counts:
    """What a block comes to with all that it holds, and which blocks hold themselves."""

    def __init__(self, document: Any) -> None:
        self._document = document
        self._totals: dict[str, int] = {}
        self._cyclic: set[str] = set()

    def cost(self, name: str) -> int:
        """What one copy of the block costs, nested ones included (see ``MAX_PLACED``)."""
        self._count(name)
        return self._totals.get(name, 0)

    def is_cyclic(self, name: str) -> bool:
        """Whether the block holds itself, directly or through others."""
        self._count(name)
        return name in self._cyclic

    def _count(self, root: str) -> None:
        """Depth first with a stack of its own: blocks may be nested deeper than Python's calls."""
        if root in self._totals:
            return
        open_: set[str] = set()
        stack = [root]
        parts: dict[str, tuple[int, list[tuple[str, int]]]] = {}
        while stack:
            name = stack[-1]
            if name in self._totals:
                stack.pop()
                continue
            if name not in parts:
                parts[name] = self._parts(name)
                open_.add(name)
            own, inserts = parts[name]
            waiting = []
            for child, _ in inserts:
                if child in open_:
                    self._cyclic.add(child)
                elif child not in self._totals:
                    waiting.append(child)
            if waiting:
                stack.append(waiting[0])
                continue
            self._totals[name] = own + sum(copies * self._totals.get(child, 0) for child, copies in inserts)
            open_.discard(name)
            stack.pop()

    def _parts(self, name: str) -> tuple[int, list[tuple[str, int]]]:
        block = self._document.blocks.get(name)
        if block is None:
            return 0, []
        own = 0
        inserts: list[tuple[str, int]] = []
        for entity in block:
            own += ENTITY_COST + _vertices(entity)
            kind = entity.dxftype()
            if kind == "INSERT":
                copies = max(entity.dxf.get("row_count", 1), 1) * max(entity.dxf.get("column_count", 1), 1)
                inserts.append((entity.dxf.get("name", ""), copies))
            elif kind in ANNOTATIONS and entity.dxf.hasattr("geometry"):
                inserts.append((entity.dxf.geometry, 1))
        return own, inserts


def _vertices(entity: Any) -> int:
    kind = entity.dxftype()
    if kind == "LWPOLYLINE":
        return len(entity)
    if kind == "POLYLINE":
        return len(entity.vertices)
    if kind == "SPLINE":
        return int(entity.control_point_count() + entity.fit_point_count())
    if kind in ("HATCH", "MPOLYGON"):
        return sum(len(loop.edges if hasattr(loop, "edges") else loop.vertices) for loop in entity.paths)
    if kind in ("TEXT", "MTEXT", "ATTRIB"):
        return _VERTICES_A_LETTER * len(entity.text if kind == "MTEXT" else entity.dxf.get("text", ""))
    return 1


_VERTICES_A_LETTER = 30
