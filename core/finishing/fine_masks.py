"""Masks of fine artwork: edges chosen by thinned outlines, of the opening that is least work when it is still rough.

Fine artwork has far more vertices than straight edges need, and so many pieces that each candidate takes long to make
straight. So every piece is thinned and grown once, candidates are weighed before that, and only the best goes on. What
must be open and what must be covered is put right by the full outlines.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.finishing.masks import (
    FEW_SEGMENTS,
    NOTHING,
    QUADRANT_SEGMENTS,
    REACHES,
    STRAIGHTEN,
    Ground,
    grown,
    hulls_within,
    mask_figures,
    narrow_film,
    straight_film,
    straight_round,
    where_tight,
    with_own,
    without_slivers,
)
from core.finishing.paints import MaskOptions
from core.geometry.engine import subtracted, united_unrounded
from core.progress import Progress, part, silent

Pieces = NDArray[np.object_]

FINE_EDGES = 50_000
_THIN = 0.02
"""How far thin outlines may lie off the full ones, as a share of the least bridge."""
_SHARP = 2.0
_NEARLY = 1.1
"""Rough openings of so much more handwork than the least at most are made straight to see."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FineArea:
    """An area piece by piece (n,), and each piece, a polygon still, with the vertices by which edges are chosen.

    covering (m,): what film must cover where thin pieces wait, none over another. around (m,): it grown by the bridge.
    """

    parts: Pieces
    thin: Pieces
    covering: Pieces
    around: Pieces


def is_fine(regions: Sequence[BaseGeometry]) -> bool:
    """Whether areas that are looked at together have so many edges."""
    return int(shapely.get_num_coordinates(np.array(regions, object)).sum()) >= FINE_EDGES


def fine_area(region: BaseGeometry, options: MaskOptions) -> FineArea:
    """The pieces of an area, thinned and grown."""
    parts = shapely.get_parts(region)
    parts = parts[~shapely.is_empty(parts)]
    off_mm = _THIN * options.least_bridge_mm
    # without their topology it takes a fraction, but specks and necks vanish, and what waits there lies open
    thin = shapely.simplify(parts, off_mm)
    covering = shapely.get_parts(united_unrounded(_grown_sharp(thin, options.clearance_mm), apart=True))
    around = shapely.buffer(covering, options.least_bridge_mm, quad_segs=FEW_SEGMENTS)
    around = shapely.simplify(around, off_mm, preserve_topology=False)
    return FineArea(parts=parts, thin=thin, covering=covering, around=around)


def fine_cover(areas: Sequence[FineArea], options: MaskOptions) -> BaseGeometry:
    """``simple_cover`` of what these areas cover, by edges that need not be followed closely on the way."""
    around = np.concatenate([area.around for area in areas])
    if not len(around):
        return NOTHING
    cover = straight_film(united_unrounded(around, apart=True), options)
    shapely.prepare(cover)
    parts = np.concatenate([area.covering for area in areas])
    return united_unrounded([cover, *parts[~shapely.covers(cover, parts)]], apart=True)


def fine_opening(
    own: FineArea, waiting: Sequence[FineArea], ground: Ground, options: MaskOptions, *, progress: Progress = silent
) -> BaseGeometry:
    """``mask_opening`` of areas whose pieces are thinned and grown already."""
    if not len(own.parts):
        return NOTHING
    others = np.concatenate([area.parts for area in waiting])
    tight, at_tight = where_tight(own.parts, others, options)
    task = _Task(
        own=own.thin,
        needed=united_unrounded([*_grown_sharp(own.thin[~tight], options.bleed_mm), *at_tight], apart=True),
        covered=united_unrounded(np.concatenate([area.covering for area in waiting]), apart=True),
        ground=ground,
        options=options,
    )
    cover = fine_cover(waiting, options)
    rough = _least_work(task, _rough_openings(task, cover, progress=part(progress, 0.1, 0.5)))
    progress(0.5, "simplifying the mask")
    straight = _least_work(task, [_straight(task, opening) for opening in rough])[0]
    progress(0.8, "simplifying the mask")
    shapely.prepare(straight)
    about_mm = options.clearance_mm + 2 * _THIN * options.least_bridge_mm
    met = others[shapely.dwithin(straight, np.concatenate([area.thin for area in waiting]), about_mm)]
    kept_off = shapely.buffer(met, options.clearance_mm, quad_segs=QUADRANT_SEGMENTS)
    opening = subtracted(straight, united_unrounded(kept_off, apart=True))
    shapely.prepare(opening)
    around_mm = options.bleed_mm + 2 * _THIN * options.least_bridge_mm
    bare = ~tight & ~shapely.covers(opening, _grown_sharp(own.thin, around_mm))
    alone = grown(shapely.MultiPolygon(own.parts[bare].tolist()), options.bleed_mm)
    return with_own(united_unrounded([opening, alone, *at_tight], apart=True), own.parts)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Task:
    """What one mask must bare, ``needed`` for the thin pieces ``own``, and cover."""

    own: Pieces
    needed: BaseGeometry
    covered: BaseGeometry
    ground: Ground
    options: MaskOptions


def _rough_openings(task: _Task, cover: BaseGeometry, *, progress: Progress) -> list[BaseGeometry]:
    """By each of ``REACHES``: what of the generous outline no film covers."""
    found: list[BaseGeometry] = []
    apart = 0
    for number, reach in enumerate(REACHES):
        progress(number / len(REACHES), "simplifying the mask")
        hulls = hulls_within(task.needed, reach * task.options.least_bridge_mm)
        if len(hulls) == apart:
            continue
        apart = len(hulls)
        wide = straight_round(hulls, task.ground, task.options)
        found.append(_with_needed(task, subtracted(wide, cover)))
        if apart == 1:
            break
    return found


def _least_work(task: _Task, openings: Sequence[BaseGeometry]) -> list[BaseGeometry]:
    """Those of some openings that ask for the least handwork, or for hardly more; the least first."""
    if len(openings) < 2:
        return list(openings)
    handwork_min = np.array([mask_figures(with_own(opening, task.own)).effort_min for opening in openings])
    order = np.argsort(handwork_min, kind="stable")
    return [openings[i] for i in order if handwork_min[i] <= _NEARLY * handwork_min[order[0]]]


def _straight(task: _Task, opening: BaseGeometry) -> BaseGeometry:
    """A rough opening with straight edges, which may cut corners; neither film nor slots too narrow to hold."""
    added = narrow_film(opening, task.covered, task.ground, task.options)
    opening = united_unrounded([opening, added], apart=True)
    opening = _with_needed(task, without_slivers(opening, task.options, quad_segs=FEW_SEGMENTS))
    straight = opening.simplify(task.options.least_bridge_mm * STRAIGHTEN / 2)
    return straight if straight.is_valid else opening


def _with_needed(task: _Task, opening: BaseGeometry) -> BaseGeometry:
    """The opening with what must be open: of many pieces few are not open already."""
    pieces = shapely.get_parts(task.needed)
    shapely.prepare(opening)
    return united_unrounded([opening, *pieces[~shapely.covers(opening, pieces)]], apart=True)


def _grown_sharp(parts: Pieces, distance_mm: float) -> Pieces:
    """Each grown, corners not rounded, nor far."""
    if distance_mm <= 0:
        return parts
    grown_parts: Pieces = shapely.buffer(parts, distance_mm, join_style="mitre", mitre_limit=_SHARP)
    return grown_parts
