"""Which shape of a drawing is which in a later state of it: by id where ids hold, else by shape.

Ids hold unless they were dealt out anew (a program that numbers everything at each saving): then more shapes are found
again under other ids than under their own, and only what they look like counts.
"""

import hashlib
from collections import defaultdict
from collections.abc import Callable, Hashable, Iterable
from dataclasses import dataclass

import numpy as np

from core.artwork.drawing import Drawing, Shape
from core.artwork.separating import is_line_of_fill
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import ARC, Floats, Path
from core.geometry.region import BaseGeometry

GRID_MM = 1.0371e-3
"""Outlines whose numbers agree within this are the same. No round figure: round ones must not lie between two."""

Key = Callable[[Shape], Hashable | None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """now: old id to new id of all that is still there. changed: new ids of what is drawn otherwise than it was.

    new: ids that were not there; gone: old ids that are there no more.
    """

    now: dict[str, str]
    changed: tuple[str, ...] = ()
    new: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()

    @property
    def alike(self) -> bool:
        """Whether every shape is as it was."""
        return not (self.changed or self.new or self.gone)


def followed(old: Drawing, new: Drawing) -> Followed:
    """Pair the shapes of two states of a drawing; each is in one pair at most."""
    form = _remembered(_form)
    pairs = _Pairs(old.shapes, new.shapes)
    pairs.pair(lambda shape: (*_named(shape), form(shape)) if shape.source_id else None)
    if pairs.ids_hold(form):
        pairs.pair(lambda shape: _named(shape) if shape.source_id else None, only_alone=True)
    for key in (form, _moved_form, _outline, _place):
        pairs.pair(key)
    now = pairs.now
    before = {shape.id: shape for shape in old.shapes}
    after = {shape.id: shape for shape in new.shapes}
    kept = set(now.values())
    return Followed(
        now=now,
        changed=tuple(then for was, then in now.items() if form(before[was]) != form(after[then])),
        new=tuple(shape.id for shape in new.shapes if shape.id not in kept),
        gone=tuple(shape.id for shape in old.shapes if shape.id not in now),
    )


class _Pairs:
    """Old and new shapes that are not paired yet, in the drawings' order; ``now`` grows pair by pair."""

    def __init__(self, old: Iterable[Shape], new: Iterable[Shape]) -> None:
        self._old, self._new = list(old), list(new)
        self.now: dict[str, str] = {}

    def pair(self, key: Key, *, only_alone: bool = False) -> None:
        """Pair what has the same key, first with first; ``only_alone``: where there is one of it on either side."""
        there = _by_key(self._new, key)
        for name, before in _by_key(self._old, key).items():
            after = there.get(name, [])
            if only_alone and (len(before), len(after)) != (1, 1):
                continue
            self.now |= {one.id: other.id for one, other in zip(before, after, strict=False)}
        taken = set(self.now.values())
        self._old = [shape for shape in self._old if shape.id not in self.now]
        self._new = [shape for shape in self._new if shape.id not in taken]

    def ids_hold(self, form: Key) -> bool:
        """Whether what was found under its own id outweighs what lies there under another one.

        It takes more than half of what is left to say that they do not: a shape may take the place of one that is gone.
        """
        forms = {form(shape) for shape in self._new if shape.source_id}
        named = [shape for shape in self._old if shape.source_id]
        elsewhere = sum(form(shape) in forms for shape in named)
        return elsewhere <= max(len(self.now), len(named) / 2)


def _remembered(key: Key) -> Key:
    """The key, worked out once a shape."""
    known: dict[int, Hashable | None] = {}

    def remembered(shape: Shape) -> Hashable | None:
        if id(shape) not in known:
            known[id(shape)] = key(shape)
        return known[id(shape)]

    return remembered


def _by_key(shapes: Iterable[Shape], key: Key) -> dict[Hashable, list[Shape]]:
    found: dict[Hashable, list[Shape]] = defaultdict(list)
    for shape in shapes:
        name = key(shape)
        if name is not None:
            found[name].append(shape)
    return found


def _named(shape: Shape) -> tuple[str, bool]:
    return shape.source_id, is_line_of_fill(shape)


def _form(shape: Shape) -> Hashable:
    """The same outline at the same place, painted the same."""
    return _digest(shape.path, (0.0, 0.0)), _paint(shape), _box(shape.clip), _box(shape.area)


def _moved_form(shape: Shape) -> Hashable | None:
    """The same outline anywhere, painted the same."""
    corner = _corner(shape)
    return (_digest(shape.path, corner), _paint(shape)) if corner is not None else None


def _outline(shape: Shape) -> Hashable:
    """The same outline at the same place, painted anyhow."""
    return _digest(shape.path, (0.0, 0.0)), is_line_of_fill(shape)


def _place(shape: Shape) -> Hashable | None:
    """The same box, painted the same: its outline was worked over."""
    if not len(shape.path):
        return None
    box = np.round(np.array(path_bounds_mm(shape.path)) / (10 * GRID_MM)).astype(np.int64)
    return (*box.tolist(), _paint(shape))


def _paint(shape: Shape) -> Hashable:
    stroke = shape.stroke
    line = (stroke.colour, round(stroke.width_mm, 4)) if stroke is not None else None
    return shape.fill, shape.fill_rule if shape.fill else "", line, shape.is_dashed, is_line_of_fill(shape)


def _box(region: BaseGeometry | None) -> Hashable:
    if region is None or region.is_empty:
        return None
    return tuple(round(side / GRID_MM) for side in region.bounds)


def _corner(shape: Shape) -> tuple[float, float] | None:
    if not len(shape.path):
        return None
    x0_mm, y0_mm, _, _ = path_bounds_mm(shape.path)
    return x0_mm, y0_mm


def _digest(path: Path, origin_mm: tuple[float, float]) -> bytes:
    """The outline's numbers on the grid, seen from an origin."""
    numbers = np.round(_moved(path, origin_mm) / GRID_MM).astype(np.int64)
    digest = hashlib.blake2b(digest_size=16)
    for part in (path.kinds, numbers, path.starts, path.closed):
        digest.update(np.ascontiguousarray(part).tobytes())
    return digest.digest()


def _moved(path: Path, origin_mm: tuple[float, float]) -> Floats:
    """The segments with what are places (not directions or angles) seen from the origin."""
    segments = path.segments.copy()
    arcs = path.kinds == ARC
    used = segments != 0.0
    for column in range(8):
        places = ~arcs if column > 1 else np.ones(len(arcs), bool)
        if column > 3:
            places &= used[:, 4:].any(axis=1)
        segments[places, column] -= origin_mm[column % 2]
    return segments
