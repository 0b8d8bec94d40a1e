"""Masks: the opening through which one colour goes, and the film that keeps it off areas that wait.

Paint on coat that still stands can't be seen from the front, and paint over cured paint neither. So an opening may be
as generous as is easy to cut, as long as it keeps off the areas that wait. All regions are front frame, mm.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import scipy
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.finishing.mask_effort import EFFORT, effort_min
from core.finishing.paints import MaskOptions
from core.geometry.engine import shared, subtracted, united_unrounded
from core.progress import Progress, silent
from core.sheet.laid_datum import MARK_ARM_MM, LaidDatum

NOTHING: BaseGeometry = shapely.MultiPolygon()
NO_PARTS: NDArray[np.object_] = np.zeros(0, object)
_LEVELS = 4
_REACHES = (2.0, 5.0, 12.0, 40.0)
"""Multiples of the least bridge within which own areas may share one opening; the least effort wins."""
_STRAIGHTEN = 0.35
"""How far outlines may give way to straight edges, as a share of the least bridge."""
_ROOM = 0.4
"""How much wider than needed openings start out, so that their edges can be straight; the same share."""
FINE_EDGES = 50_000
_THIN = 0.02
"""How far thin outlines of fine artwork may lie off the full ones, the same share."""
_SHARP = 2.0
_SPECK_MM2 = 1e-6
_QUADRANT_SEGMENTS = 8
_BEYOND_MM = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class MaskFigures:
    """What one mask asks for.

    islands: loose pieces of film inside an opening, to be laid one by one. effort_min: handwork without tight places.
    """

    cut_length_mm: float
    openings: int
    islands: int
    effort_min: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """Where masks are laid. film: all of the film; reach: how far openings may go on it.

    Laid by the part's edge the film is the part's own shape, piece by piece; else a rectangle that holds the datum.
    """

    film: BaseGeometry
    reach: shapely.Polygon


def ground_around(
    piece: BaseGeometry, filled: BaseGeometry, options: MaskOptions, datum: LaidDatum | None = None
) -> Ground:
    """The film for a piece: its own shape, or with marks or pins all that holds them, and a border to hold it by."""
    x0, y0, x1, y1 = shapely.total_bounds(np.array([piece, filled], object))
    beyond_mm = options.bleed_mm + _BEYOND_MM
    if datum is None or datum.kind == "part edge":
        film = united_unrounded(shapely.Polygon(part.exterior) for part in shapely.get_parts(piece))
    else:
        around = shapely.box(x0 - beyond_mm, y0 - beyond_mm, x1 + beyond_mm, y1 + beyond_mm)
        places = shapely.MultiPoint(datum.places).buffer(MARK_ARM_MM)
        film = shapely.box(*shapely.total_bounds(np.array([around, places], object)))
        film = film.buffer(options.border_mm, join_style="mitre")
    return Ground(
        film=film,
        reach=shapely.box(x0 - beyond_mm, y0 - beyond_mm, x1 + beyond_mm, y1 + beyond_mm),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outlined:
    """An area part by part (n,), and each part with the vertices by which edges are chosen.

    is_thin: these are fewer. Fine artwork has far more of them than straight edges need.
    """

    parts: NDArray[np.object_]
    thin: NDArray[np.object_]
    is_thin: bool

    def covered(self, options: MaskOptions) -> BaseGeometry:
        """What film must cover where the area waits."""
        if self.is_thin:
            return grown_parts(self.thin, options.clearance_mm, sharp=True)
        return grown(shapely.MultiPolygon(self.parts.tolist()), options.clearance_mm)


def outlined(regions: Iterable[BaseGeometry], options: MaskOptions) -> tuple[Outlined, ...]:
    """The parts of areas that are looked at together, thin where they have ``FINE_EDGES`` or more."""
    found = [shapely.get_parts(region) for region in regions]
    found = [parts[~shapely.is_empty(parts)] for parts in found]
    fine = sum(int(shapely.get_num_coordinates(parts).sum()) for parts in found) >= FINE_EDGES
    off_mm = _THIN * options.least_bridge_mm
    return tuple(
        Outlined(
            parts=parts,
            thin=shapely.simplify(parts, off_mm, preserve_topology=False) if fine else parts,
            is_thin=fine,
        )
        for parts in found
    )


def mask_opening(
    own: BaseGeometry, waiting: BaseGeometry, ground: Ground, options: MaskOptions, *, progress: Progress = silent
) -> BaseGeometry:
    """Where the film is open: the simplest outline that bares ``own`` and covers ``waiting``.

    It contains ``own`` grown by the bleed and stays the clearance off ``waiting``. Where the two are too close for
    both, the gap is shared in that proportion; on a shared border the opening ends at the border. It never cuts into
    ``own``, and never opens ``waiting``. Empty when ``own`` is.
    """
    one, other = outlined([own, waiting], options)
    return opening_between(one, [other], ground, options, progress=progress)


def opening_between(
    own: Outlined, waiting: Sequence[Outlined], ground: Ground, options: MaskOptions, *, progress: Progress = silent
) -> BaseGeometry:
    """``mask_opening`` of areas whose outlines are known already.

    Edges are chosen by the thin outlines; what must be open and what must be covered is put right by the full ones.
    """
    if not len(own.parts):
        return NOTHING
    others = np.concatenate([NO_PARTS, *(area.parts for area in waiting)])
    tight, at_tight = _where_tight(own.parts, others, options)
    alone = grown(shapely.MultiPolygon(own.parts[~tight].tolist()), options.bleed_mm)
    needed = united_unrounded([alone, *at_tight], apart=own.is_thin)
    alone = grown_parts(own.thin[~tight], options.bleed_mm, sharp=True) if own.is_thin else alone
    covered = [area.covered(options) for area in waiting]
    task = _Task(
        own=own.thin,
        needed=united_unrounded([alone, *at_tight], apart=True) if own.is_thin else needed,
        covered=united_unrounded(covered, apart=True) if len(covered) > 1 else covered[0],
        is_thin=own.is_thin,
        ground=ground,
        options=options,
        known={},
    )
    best, least_min, opening = needed, np.inf, needed
    apart = 0
    for number, reach in enumerate(_REACHES):
        progress(number / len(_REACHES), "simplifying the mask")
        hulls = _hulls(task.needed, reach * options.least_bridge_mm)
        if len(hulls) == apart:  # a wider reach only joins: as many as before are the same as before
            continue
        apart = len(hulls)
        straight = _straight_opening(task, _straight_round(hulls, ground, options))
        tried = _with_own(task.united([subtracted(straight, task.covered), task.needed]), task.own)
        handwork_min = mask_figures(tried).effort_min
        if handwork_min < least_min - 1e-9:
            best, least_min, opening = straight, handwork_min, tried
        if apart == 1:
            break
    if best is needed or not task.is_thin:
        return opening
    shapely.prepare(best)
    met = others[shapely.dwithin(best, others, options.clearance_mm)]
    opening = subtracted(best, grown_parts(met, options.clearance_mm))
    return _with_own(task.united([opening, needed]), own.parts)


def needed_opening(own: BaseGeometry, waiting: BaseGeometry, options: MaskOptions) -> BaseGeometry:
    """The least that must be open: ``own`` with its bleed, the gap to ``waiting`` shared where it is tight."""
    parts = shapely.get_parts(own)
    tight, at_tight = _where_tight(parts, shapely.get_parts(waiting), options)
    alone = grown(shapely.MultiPolygon(parts[~tight].tolist()), options.bleed_mm)
    return united_unrounded([alone, *at_tight])


def _where_tight(
    parts: NDArray[np.object_], others: NDArray[np.object_], options: MaskOptions
) -> tuple[NDArray[np.bool_], list[BaseGeometry]]:
    """Which parts (n,) are too close to others for bleed and clearance, and what must be open for their sake."""
    kept_off_mm = options.clearance_mm + options.bleed_mm
    here, there = shapely.STRtree(others).query(parts, predicate="dwithin", distance=kept_off_mm)
    close = np.zeros(len(parts), bool)
    close[here] = True
    if not len(here):
        return close, []
    tight, near = shapely.MultiPolygon(parts[close].tolist()), united_unrounded(others[np.unique(there)])
    found = [subtracted(tight, near)]
    for level in range(1, _LEVELS + 1):
        share = level / _LEVELS
        kept_off = grown(near, options.clearance_mm * share)
        found.append(subtracted(grown(tight, options.bleed_mm * share), kept_off))
    return close, found


def grown_parts(parts: NDArray[np.object_], distance_mm: float, *, sharp: bool = False) -> BaseGeometry:
    """The union of parts that may lie over each other, each grown; ``sharp``: corners are not rounded, nor far."""
    if distance_mm > 0 and sharp:
        parts = shapely.buffer(parts, distance_mm, join_style="mitre", mitre_limit=_SHARP)
    elif distance_mm > 0:
        parts = shapely.buffer(parts, distance_mm, quad_segs=_QUADRANT_SEGMENTS)
    return united_unrounded(parts, apart=True)


def grown(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """The region with all that is no farther from it than the distance."""
    return region if distance_mm <= 0 or region.is_empty else region.buffer(distance_mm, quad_segs=_QUADRANT_SEGMENTS)


def _offset(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """The region grown or shrunk, corners kept sharp."""
    with np.errstate(divide="ignore", invalid="ignore"):  # GEOS divides by zero on straight joins, to no harm
        return region.buffer(distance_mm, join_style="mitre")


def mask_figures(opening: BaseGeometry) -> MaskFigures:
    """Cut length, pieces and handwork of one mask."""
    parts = [part for part in shapely.get_parts(opening) if not part.is_empty]
    holes = [shapely.Polygon(ring) for part in parts for ring in part.interiors]
    small = (_narrow_sides((*parts, *holes)) < EFFORT.small_mm).sum()
    return MaskFigures(
        cut_length_mm=float(opening.length),
        openings=len(parts),
        islands=len(holes),
        effort_min=effort_min(opening.length, openings=len(parts), islands=len(holes), small=int(small)),
    )


def _narrow_sides(polygons: Sequence[shapely.Polygon]) -> np.ndarray:
    """Narrower side of each one's smallest surrounding rectangle, mm: shape (n,)."""
    if not polygons:
        return np.zeros(0)
    boxes = shapely.oriented_envelope(np.array(polygons, object))
    sides = []
    for box in boxes:
        corners = shapely.get_coordinates(box)
        sides.append(np.hypot(*np.diff(corners, axis=0).T)[:2].min() if len(corners) > 3 else 0.0)
    return np.array(sides)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Task:
    """What one mask must bare, ``needed`` for the parts ``own``, and cover.

    known: covers made so far, by the parts they cover.
    """

    own: NDArray[np.object_]
    needed: BaseGeometry
    covered: BaseGeometry
    is_thin: bool
    ground: Ground
    options: MaskOptions
    known: dict[bytes, BaseGeometry]

    def united(self, regions: Sequence[BaseGeometry]) -> BaseGeometry:
        return united_unrounded(regions, apart=self.is_thin)

    def cover_near(self, region: BaseGeometry) -> BaseGeometry:
        """``simple_cover``, made once for the same parts; of fine artwork all, since candidates meet nearly all."""
        parts, close = _parts_near(self.covered, region)
        if self.is_thin:
            close[:] = True
        key = close.tobytes()
        if key not in self.known:
            self.known[key] = _cover_over(parts[close], self.options, is_thin=self.is_thin)
        return self.known[key]


def _straight_opening(task: _Task, wide: BaseGeometry) -> BaseGeometry:
    """One candidate: what of the generous outline ``wide`` can be open, with straight edges; they may cut corners."""
    options = task.options
    opening = task.united([subtracted(wide, task.cover_near(wide)), task.needed])
    opening = task.united([opening, _narrow_film(opening, task.covered, task.ground, options)])
    opening = task.united([_without_slivers(opening, options, is_thin=task.is_thin), task.needed])
    straight = opening.simplify(options.least_bridge_mm * _STRAIGHTEN / 2)
    return straight if straight.is_valid else opening


def generous_outline(needed: BaseGeometry, ground: Ground, options: MaskOptions, reach_mm: float) -> BaseGeometry:
    """The opening if nothing waited: hulls around areas within ``reach_mm`` of each other, straight-edged."""
    return _straight_round(_hulls(needed, reach_mm), ground, options)


def _hulls(needed: BaseGeometry, reach_mm: float) -> list[BaseGeometry]:
    """The convex hull of each cluster of pieces that lie within reach of each other."""
    pieces = shapely.get_parts(needed)
    one, other = shapely.STRtree(pieces).query(pieces, predicate="dwithin", distance=reach_mm)
    links = scipy.sparse.coo_array((np.ones(len(one), bool), (one, other)), shape=(len(pieces), len(pieces)))
    _, cluster = scipy.sparse.csgraph.connected_components(links, directed=False)
    order = np.argsort(cluster, kind="stable")
    starts = np.unique(cluster[order], return_index=True)[1][1:]
    return [shapely.convex_hull(shapely.MultiPolygon(own.tolist())) for own in np.split(pieces[order], starts)]


def _straight_round(hulls: Sequence[BaseGeometry], ground: Ground, options: MaskOptions) -> BaseGeometry:
    room_mm = options.least_bridge_mm * _ROOM
    wide = _offset(united_unrounded(hulls), room_mm).simplify(room_mm)
    return shared(wide, ground.reach)


def simple_cover(
    covered: BaseGeometry, near: BaseGeometry, options: MaskOptions, *, is_thin: bool = False
) -> BaseGeometry:
    """Film over waiting areas, near ones joined, in straight edges; contains ``covered`` as far as it is ``near``.

    is_thin: of fine artwork, whose edges need not be followed closely on the way.
    """
    parts, close = _parts_near(covered, near)
    return _cover_over(parts[close], options, is_thin=is_thin)


def _parts_near(covered: BaseGeometry, region: BaseGeometry) -> tuple[NDArray[np.object_], NDArray[np.bool_]]:
    parts = shapely.get_parts(covered)
    shapely.prepare(region)
    return parts, np.asarray(shapely.intersects(region, parts), bool)


def _cover_over(parts: NDArray[np.object_], options: MaskOptions, *, is_thin: bool) -> BaseGeometry:
    if not len(parts):
        return NOTHING
    bridge_mm = options.least_bridge_mm
    if is_thin:
        around = shapely.simplify(
            shapely.buffer(parts, bridge_mm, quad_segs=2), bridge_mm * _THIN, preserve_topology=False
        )
        joined = united_unrounded(around, apart=True)
    else:
        joined = shapely.MultiPolygon(parts.tolist()).buffer(bridge_mm, quad_segs=2)
    cover: BaseGeometry = joined.buffer(-bridge_mm * 0.75, quad_segs=2)
    cover = cover.simplify(bridge_mm * _STRAIGHTEN)
    shapely.prepare(cover)
    return united_unrounded([cover, *parts[~shapely.covers(cover, parts)]])


def _narrow_film(opening: BaseGeometry, covered: BaseGeometry, ground: Ground, options: MaskOptions) -> BaseGeometry:
    """Strips of film too narrow to hold, but for what lies over something that waits."""
    half_mm = options.least_bridge_mm / 2
    closed = _offset(_offset(opening, half_mm), -half_mm)
    # what is open already stays in: without it, hairlines would be left between it and what is added
    return subtracted(shared(closed, ground.reach), covered)


def _without_slivers(opening: BaseGeometry, options: MaskOptions, *, is_thin: bool) -> BaseGeometry:
    """The opening less slots narrower than is worth cutting."""
    half_mm = options.least_opening_mm / 2
    return shared(_offset(opening.buffer(-half_mm, quad_segs=2 if is_thin else 16), half_mm), opening)


def _with_own(opening: BaseGeometry, own: NDArray[np.object_]) -> BaseGeometry:
    """Only the openings through which parts of ``own`` are painted."""
    parts = shapely.get_parts(opening)
    here, _ = shapely.STRtree(own).query(parts, predicate="intersects")
    painted = np.zeros(len(parts), bool)
    painted[here] = True
    return shapely.MultiPolygon(parts[painted & (shapely.area(parts) > _SPECK_MM2)].tolist())
