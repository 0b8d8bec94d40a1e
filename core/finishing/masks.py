"""Masks: the opening through which one colour goes, and the film that keeps it off areas that wait.

Paint on coat that still stands can't be seen from the front, and paint over cured paint neither. So an opening may be
as generous as is easy to cut, as long as it keeps off the areas that wait. All regions are front frame, mm.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.finishing.mask_effort import EFFORT, effort_min
from core.finishing.paints import MaskOptions
from core.geometry.connected import connected
from core.geometry.engine import shared, subtracted, united_unrounded
from core.progress import Progress, silent
from core.sheet.laid_datum import MARK_ARM_MM, LaidDatum

NOTHING: BaseGeometry = shapely.MultiPolygon()
_LEVELS = 4
REACHES = (2.0, 5.0, 12.0, 40.0)
"""Multiples of the least bridge within which own areas may share one opening; the least effort wins."""
STRAIGHTEN = 0.35
"""How far outlines may give way to straight edges, as a share of the least bridge."""
_ROOM = 0.4
"""How much wider than needed openings start out, so that their edges can be straight; the same share."""
_SPECK_MM2 = 1e-6
QUADRANT_SEGMENTS = 8
FEW_SEGMENTS = 2
_MANY_HOLES = 50
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


def mask_opening(
    own: BaseGeometry, waiting: BaseGeometry, ground: Ground, options: MaskOptions, *, progress: Progress = silent
) -> BaseGeometry:
    """Where the film is open: the simplest outline that bares ``own`` and covers ``waiting``.

    It contains ``own`` grown by the bleed and stays the clearance off ``waiting``. Where the two are too close for
    both, the gap is shared in that proportion; on a shared border the opening ends at the border. It never cuts into
    ``own``, and never opens ``waiting``. Empty when ``own`` is.
    """
    parts = shapely.get_parts(own)
    parts = parts[~shapely.is_empty(parts)]
    if not len(parts):
        return NOTHING
    task = _Task(
        needed=needed_opening(own, waiting, options),
        covered=grown(waiting, options.clearance_mm),
        ground=ground,
        options=options,
        known={},
    )
    least_min, best = np.inf, task.needed
    apart = 0
    for number, reach in enumerate(REACHES):
        progress(number / len(REACHES), "simplifying the mask")
        hulls = hulls_within(task.needed, reach * options.least_bridge_mm)
        if len(hulls) == apart:  # a wider reach only joins: as many as before are the same as before
            continue
        apart = len(hulls)
        straight = _straight_opening(task, straight_round(hulls, ground, options))
        tried = with_own(united_unrounded([subtracted(straight, task.covered), task.needed]), parts)
        handwork_min = mask_figures(tried).effort_min
        if handwork_min < least_min - 1e-9:
            least_min, best = handwork_min, tried
        if apart == 1:
            break
    return best


def needed_opening(own: BaseGeometry, waiting: BaseGeometry, options: MaskOptions) -> BaseGeometry:
    """The least that must be open: ``own`` with its bleed, the gap to ``waiting`` shared where it is tight."""
    parts = shapely.get_parts(own)
    tight, at_tight = where_tight(parts, shapely.get_parts(waiting), options)
    alone = grown(shapely.MultiPolygon(parts[~tight].tolist()), options.bleed_mm)
    return united_unrounded([alone, *at_tight])


def where_tight(
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


def grown(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """The region with all that is no farther from it than the distance."""
    return region if distance_mm <= 0 or region.is_empty else region.buffer(distance_mm, quad_segs=QUADRANT_SEGMENTS)


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
    """What one mask must bare, ``needed``, and cover.

    known: covers made so far, by the parts they cover.
    """

    needed: BaseGeometry
    covered: BaseGeometry
    ground: Ground
    options: MaskOptions
    known: dict[bytes, BaseGeometry]

    def cover_near(self, region: BaseGeometry) -> BaseGeometry:
        """``simple_cover``, made once for the same parts."""
        parts, close = _parts_near(self.covered, region)
        key = close.tobytes()
        if key not in self.known:
            self.known[key] = _cover_over(parts[close], self.options)
        return self.known[key]


def _straight_opening(task: _Task, wide: BaseGeometry) -> BaseGeometry:
    """One candidate: what of the generous outline ``wide`` can be open, with straight edges; they may cut corners."""
    options = task.options
    opening = united_unrounded([subtracted(wide, task.cover_near(wide)), task.needed])
    opening = united_unrounded([opening, narrow_film(opening, task.covered, task.ground, options)])
    opening = united_unrounded([without_slivers(opening, options), task.needed])
    straight = opening.simplify(options.least_bridge_mm * STRAIGHTEN / 2)
    return straight if straight.is_valid else opening


def generous_outline(needed: BaseGeometry, ground: Ground, options: MaskOptions, reach_mm: float) -> BaseGeometry:
    """The opening if nothing waited: hulls around areas within ``reach_mm`` of each other, straight-edged."""
    return straight_round(hulls_within(needed, reach_mm), ground, options)


def hulls_within(needed: BaseGeometry, reach_mm: float) -> list[BaseGeometry]:
    """The convex hull of each cluster of pieces that lie within reach of each other."""
    pieces = shapely.get_parts(needed)
    cluster = _clusters_within(pieces, reach_mm)
    order = np.argsort(cluster, kind="stable")
    starts = np.unique(cluster[order], return_index=True)[1][1:]
    return [shapely.convex_hull(shapely.MultiPolygon(own.tolist())) for own in np.split(pieces[order], starts)]


def _clusters_within(pieces: NDArray[np.object_], reach_mm: float) -> NDArray[np.intp]:
    """A number for each piece (n,), the same where pieces lie within reach of each other, by way of others or not."""
    x0, y0, x1, y1 = shapely.bounds(pieces).T
    reached = shapely.box(x0 - reach_mm, y0 - reach_mm, x1 + reach_mm, y1 + reach_mm)
    one, other = shapely.STRtree(pieces).query(reached)
    one, other = one[one < other], other[one < other]
    inside = shapely.get_coordinates(shapely.point_on_surface(pieces))
    sure = np.hypot(*(inside[one] - inside[other]).T) <= reach_mm
    cluster = connected(len(pieces), one[sure], other[sure])
    unsure = np.flatnonzero(cluster[one] != cluster[other])
    near = unsure[shapely.dwithin(pieces[one[unsure]], pieces[other[unsure]], reach_mm)]
    return connected(len(pieces), np.append(one[sure], one[near]), np.append(other[sure], other[near]))


def straight_round(hulls: Sequence[BaseGeometry], ground: Ground, options: MaskOptions) -> BaseGeometry:
    """The hulls with some room, straight-edged, within the ground."""
    room_mm = options.least_bridge_mm * _ROOM
    wide = _offset(united_unrounded(hulls), room_mm).simplify(room_mm)
    return shared(wide, ground.reach)


def simple_cover(covered: BaseGeometry, near: BaseGeometry, options: MaskOptions) -> BaseGeometry:
    """Film over waiting areas, near ones joined, in straight edges; contains ``covered`` as far as it is ``near``."""
    parts, close = _parts_near(covered, near)
    return _cover_over(parts[close], options)


def _parts_near(covered: BaseGeometry, region: BaseGeometry) -> tuple[NDArray[np.object_], NDArray[np.bool_]]:
    """The parts of what is covered (n,), and which of them meet a region."""
    parts = shapely.get_parts(covered)
    shapely.prepare(region)
    return parts, np.asarray(shapely.intersects(region, parts), bool)


def _cover_over(parts: NDArray[np.object_], options: MaskOptions) -> BaseGeometry:
    if not len(parts):
        return NOTHING
    joined = shapely.MultiPolygon(parts.tolist()).buffer(options.least_bridge_mm, quad_segs=FEW_SEGMENTS)
    cover = straight_film(joined, options)
    shapely.prepare(cover)
    return united_unrounded([cover, *parts[~shapely.covers(cover, parts)]])


def straight_film(joined: BaseGeometry, options: MaskOptions) -> BaseGeometry:
    """Film in straight edges from what waits, grown by the least bridge; it may cut a little into what waits."""
    cover: BaseGeometry = _shrunk(joined, options.least_bridge_mm * 0.75).simplify(options.least_bridge_mm * STRAIGHTEN)
    return cover


def _shrunk(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """The region less all within the distance of its rings."""
    parts = shapely.get_parts(region)
    is_holed = shapely.get_num_interior_rings(parts) >= _MANY_HOLES
    rest = shapely.buffer(parts[~is_holed], -distance_mm, quad_segs=FEW_SEGMENTS)
    # a part may lie in a hole of another, so holes are taken out of their own parts alone
    return united_unrounded([*rest, *(_shrunk_by_rings(part, distance_mm) for part in parts[is_holed])], apart=True)


def _shrunk_by_rings(part: shapely.Polygon, distance_mm: float) -> BaseGeometry:
    """``_shrunk`` ring by ring: GEOS takes several times as long over many holes at once."""
    smaller = shapely.Polygon(part.exterior).buffer(-distance_mm, quad_segs=FEW_SEGMENTS)
    holes = np.asarray(shapely.polygons(list(part.interiors)), object)
    larger = shapely.buffer(holes, distance_mm, quad_segs=FEW_SEGMENTS)
    return subtracted(smaller, united_unrounded(larger, apart=True))


def narrow_film(opening: BaseGeometry, covered: BaseGeometry, ground: Ground, options: MaskOptions) -> BaseGeometry:
    """Strips of film too narrow to hold, but for what lies over something that waits."""
    half_mm = options.least_bridge_mm / 2
    closed = _offset(_offset(opening, half_mm), -half_mm)
    # what is open already stays in: without it, hairlines would be left between it and what is added
    return subtracted(shared(closed, ground.reach), covered)


def without_slivers(opening: BaseGeometry, options: MaskOptions, *, quad_segs: int = 16) -> BaseGeometry:
    """The opening less slots narrower than is worth cutting."""
    half_mm = options.least_opening_mm / 2
    return shared(_offset(opening.buffer(-half_mm, quad_segs=quad_segs), half_mm), opening)


def with_own(opening: BaseGeometry, own: NDArray[np.object_]) -> BaseGeometry:
    """Only the openings through which parts of ``own`` are painted."""
    parts = shapely.get_parts(opening)
    here, _ = shapely.STRtree(own).query(parts, predicate="intersects")
    painted = np.zeros(len(parts), bool)
    painted[here] = True
    return shapely.MultiPolygon(parts[painted & (shapely.area(parts) > _SPECK_MM2)].tolist())
