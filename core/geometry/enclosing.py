"""Rings to regions: those that neither cross nor touch by who lies in whom, all others by ``arrangement``."""

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.arrangement import FillRule, Rings, assemble, geometries, resolved
from core.geometry.path import Floats

NOTHING: BaseGeometry = shapely.MultiPolygon()

_SAME_POINT_MM = 1e-6

Indices = NDArray[np.intp]


def enclosed(rings: Rings, rule: FillRule, *, group_count: int) -> NDArray[np.object_]:
    """What the rings of each group enclose by the fill rule (group_count,). Raises TooTangledError."""
    result = np.full(group_count, NOTHING, object)
    rings = _tidy(rings)
    if not len(rings.group):
        return result
    ring = np.repeat(np.arange(len(rings.group)), np.diff(rings.starts))
    linear = geometries(shapely.linearrings(rings.points, indices=ring))
    order = np.argsort(rings.group, kind="stable")
    groups, begin = np.unique(rings.group[order], return_index=True)
    lines = shapely.multilinestrings(
        linear[order], indices=np.repeat(np.arange(len(groups)), np.diff(np.append(begin, len(order))))
    )
    simple = np.zeros(group_count, bool)
    simple[groups] = shapely.is_simple(lines)
    plain = simple[rings.group]
    if plain.any():
        _nest(result, rings, linear, plain, rule)
    if not plain.all():
        tangled = _selected(rings, ~plain)
        some = np.flatnonzero(~simple & np.isin(np.arange(group_count), groups))
        renumbered = np.zeros(group_count, np.intp)
        renumbered[some] = np.arange(len(some))
        tangled = Rings(points=tangled.points, starts=tangled.starts, group=renumbered[tangled.group])
        result[some] = resolved(tangled, rule, group_count=len(some))
    return result


def _nest(
    result: NDArray[np.object_], rings: Rings, linear: NDArray[np.object_], plain: NDArray[np.bool_], rule: FillRule
) -> None:
    """Groups whose rings neither cross nor touch: who lies in whom decides."""
    some = np.flatnonzero(plain)
    group, linear = rings.group[some], linear[some]
    areas = _signed_areas(rings)[some]
    winding = np.sign(areas).astype(np.int64)
    outside = np.zeros(len(some), np.int64)
    inner, outer = _containing_pairs(rings, linear, some, group)
    np.add.at(outside, inner, winding[outer])
    inside = outside + winding
    if rule == "nonzero":
        is_in, is_out = inside != 0, outside != 0
    else:
        is_in, is_out = inside % 2 == 1, outside % 2 == 1
    edge = is_in != is_out
    assemble(result, linear[edge], np.where(is_in, 1.0, -1.0)[edge] * np.abs(areas[edge]), group[edge])


def _containing_pairs(
    rings: Rings, linear: NDArray[np.object_], some: Indices, group: Indices
) -> tuple[Indices, Indices]:
    """Pairs (inner, outer) of rings of one group where outer lies around inner."""
    sizes = np.bincount(group)
    shared_group = np.flatnonzero(sizes[group] > 1)
    none = np.zeros(0, np.intp)
    if not len(shared_group):
        return none, none
    discs = geometries(shapely.polygons(linear[shared_group]))
    shapely.prepare(discs)
    eyes = rings.points[rings.starts[:-1][some[shared_group]]]
    tree = shapely.STRtree(discs)
    if len(shared_group) < 200:
        inner, outer = tree.query(shapely.points(eyes), predicate="within")
        same = (group[shared_group][inner] == group[shared_group][outer]) & (inner != outer)
        return shared_group[inner[same]], shared_group[outer[same]]
    # many groups lie over each other in artwork: leave out strangers before looking closely
    inner, outer = tree.query(shapely.points(eyes))
    same = (group[shared_group][inner] == group[shared_group][outer]) & (inner != outer)
    inner, outer = inner[same], outer[same]
    within = shapely.contains_xy(discs[outer], eyes[inner, 0], eyes[inner, 1])
    return shared_group[inner[within]], shared_group[outer[within]]


def _signed_areas(rings: Rings) -> Floats:
    lengths = np.diff(rings.starts)
    local = rings.points - np.repeat(rings.points[rings.starts[:-1]], lengths, axis=0)
    following = np.arange(1, len(local) + 1)
    following[rings.starts[1:] - 1] = rings.starts[:-1]
    ahead = local[following]
    result: Floats = np.add.reduceat(local[:, 0] * ahead[:, 1] - local[:, 1] * ahead[:, 0], rings.starts[:-1]) / 2
    return result


def _tidy(rings: Rings) -> Rings:
    """Points closer than a nanometre to the one before dropped, then rings that are no rings; not finite ones too."""
    lengths = np.diff(rings.starts)
    number = np.repeat(np.arange(len(lengths)), lengths)
    points = rings.points
    bad = np.zeros(len(lengths), bool)
    bad[number[~np.isfinite(points).all(axis=1)]] = True
    keep = ~bad[number]
    if len(points):
        before = np.arange(-1, len(points) - 1)
        filled = lengths > 0
        before[rings.starts[:-1][filled]] = rings.starts[1:][filled] - 1
        with np.errstate(invalid="ignore"):
            keep &= np.abs(points - points[before]).max(axis=1) > _SAME_POINT_MM
    left = np.bincount(number[keep], minlength=len(lengths))
    keep &= (left >= 3)[number]
    left = np.where(left >= 3, left, 0)
    used = left > 0
    return Rings(
        points=points[keep],
        starts=np.concatenate([[0], np.cumsum(left[used])]).astype(np.intp),
        group=rings.group[used],
    )


def _selected(rings: Rings, which: NDArray[np.bool_]) -> Rings:
    lengths = np.diff(rings.starts)
    return Rings(
        points=rings.points[np.repeat(which, lengths)],
        starts=np.concatenate([[0], np.cumsum(lengths[which])]).astype(np.intp),
        group=rings.group[which],
    )
