"""Parts of a fill that the scan lines miss, or that are too thin to come out as drawn."""

import itertools
import math
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.burning.coverage_map import MAX_PLACES, Place
from core.burning.scan_rows import RegionEdges, region_edges, rows_crossed
from core.burning.slim_chords import NO_DISC, Groups, chords_through, grouped, slim_chords
from core.progress import Progress, silent

Geometries = NDArray[np.object_]

VERTICES_AT_ONCE = 20_000
_VERTICES_A_BAND = 3_000
_MARGIN_WIDTHS = 12.0
"""What lies further off than a mitre reaches has no part in what a disc can reach."""

_CHORDS_A_VERTEX = 12
"""Polygons through which more chords than that would run are offset whole, which takes less."""
_WINDOWS_FROM = 100
"""Polygons of fewer vertices are looked at whole."""
_WINDOWS_AT_ONCE = 500
_WINDOW_VERTICES = 60
"""Looking at a window takes as long as so many vertices of a polygon that is looked at whole."""
_WINDOW_WIDTHS = 6.0
"""How far windows reach beyond slim chords."""
_PIECE_WIDTHS = 1.5
"""How far beyond slim chords what lies in a window has to do with them: as far as the widest chord is long."""
_MOSTLY = 0.5
"""Polygons of which so many chords are slim are looked at whole."""

MIN_THIN_LENGTH_WIDTHS = 3.0
"""A thin stretch counts from this many cleared widths on: every sharp corner has a short one."""


def polygons_of(region: BaseGeometry) -> Geometries:
    """The region's polygons, numbered as in ``RegionEdges.part``."""
    parts = shapely.get_parts(region)
    result: Geometries = parts[(shapely.get_type_id(parts) == 3) & ~shapely.is_empty(parts)]
    return result


def unhit_parts(edges: RegionEdges, row_y_mm: NDArray[np.float64], part_count: int) -> NDArray[np.bool_]:
    """Which connected parts of the region no scan row passes through, (part_count,)."""
    first, last = rows_crossed(edges, row_y_mm)
    hit = np.zeros(part_count, bool)
    hit[edges.part[last > first]] = True
    return ~hit


def thin_stretches(
    polygons: Geometries,
    *,
    cleared_width_mm: float,
    edges: RegionEdges | None = None,
    some: NDArray[np.bool_] | None = None,
    progress: Progress = silent,
) -> Geometries:
    """Stretches of the polygons that are narrower than the cleared width, as polygons.

    What a disc of the cleared width can't reach from inside (the rest after a morphological opening; J. Serra, Image
    Analysis and Mathematical Morphology, 1982, ch. II), corners left aside. Looked for only where chords
    are slim. edges: of these polygons, where they are at hand. some, (n,): which polygons to look at; None for all.
    """
    if not (cleared_width_mm > 0 and len(polygons)):
        return np.zeros(0, object)
    if edges is None:
        edges = region_edges(shapely.MultiPolygon(polygons.tolist()))
    vertices = shapely.get_num_coordinates(polygons)
    plain = chords_through(edges, width_mm=cleared_width_mm, part_count=len(polygons)) > _CHORDS_A_VERTEX * vertices
    chords = slim_chords(edges, width_mm=cleared_width_mm, some=~plain if some is None else ~plain & some)
    x0, y0, x1, y1 = shapely.bounds(polygons).T
    no_disc = np.minimum(x1 - x0, y1 - y0) < cleared_width_mm
    longest_mm = chords.longest_mm.min(0)
    no_disc |= (longest_mm > 0) & (longest_mm < NO_DISC * cleared_width_mm)
    mostly = chords.share >= _MOSTLY  # then chords of like lengths beside each other are not waited for
    slim = ~no_disc & (plain | mostly | (np.bincount(chords.part, minlength=len(polygons)) > 0))
    if some is not None:
        no_disc, slim = no_disc & some, slim & some
    at_once = plain | mostly | (vertices < _WINDOWS_FROM)
    groups = grouped(chords, width_mm=cleared_width_mm, some=slim & ~at_once)
    many = _WINDOW_VERTICES * np.bincount(groups.part, minlength=len(polygons)) > vertices
    at_once |= many
    groups = groups.only(~many)
    work: list[Callable[[], Geometries]] = []
    whole = polygons[slim & at_once]
    if len(whole):
        work += [partial(_thin_stretches, whole[a:b], cleared_width_mm) for a, b in _batches(whole)]
    work += [
        partial(_thin_in_windows, polygons, groups, cleared_width_mm, a, b)
        for a, b in itertools.pairwise(_window_borders(groups))
    ]
    found: list[Geometries] = [polygons[no_disc]]
    with ThreadPoolExecutor(os.cpu_count()) as pool:  # GEOS lets go of the interpreter lock
        jobs = [pool.submit(job) for job in work]
        try:
            for done, stretches in enumerate(jobs):
                progress(done / len(jobs), "thin parts")
                found.append(stretches.result())
        finally:
            pool.shutdown(cancel_futures=True)
    return np.concatenate(found)


def _window_borders(groups: Groups) -> list[int]:
    """Borders of runs of groups, none of which parts the groups of a polygon."""
    if not len(groups.part):
        return []
    starts = np.flatnonzero(np.diff(groups.part, prepend=-1))
    cuts = starts[np.searchsorted(starts, np.arange(0, len(groups.part), _WINDOWS_AT_ONCE)).clip(max=len(starts) - 1)]
    borders: list[int] = np.unique(np.append(cuts, len(groups.part))).tolist()
    return borders


def _thin_in_windows(
    polygons: Geometries, groups: Groups, cleared_width_mm: float, start: int, stop: int
) -> Geometries:
    """The same in windows around groups of slim chords of large polygons."""
    part, boxes = groups.part[start:stop], groups.boxes_mm[start:stop]
    outward = cleared_width_mm * np.array([-1.0, -1.0, 1.0, 1.0])
    windows = boxes + _WINDOW_WIDTHS * outward
    cut = np.array(
        [_clipped(polygons[i], *box) for i, box in zip(part.tolist(), windows.tolist(), strict=True)], object
    )
    pieces, window = shapely.get_parts(cut, return_index=True)
    polygonal = shapely.get_type_id(pieces) == 3
    pieces, window = pieces[polygonal], window[polygonal]
    # what does not come near the chords is seen from another window, or is not slim
    reach, near = shapely.bounds(pieces), (boxes + _PIECE_WIDTHS * outward)[window]
    beside = (reach[:, :2] <= near[:, 2:]).all(1) & (reach[:, 2:] >= near[:, :2]).all(1)
    pieces, window = pieces[beside], window[beside]
    missed, piece, _ = _missed(pieces, cleared_width_mm)
    own = window[piece]
    # beside a cut itself what is thin may be thin by the cut
    missed = shapely.intersection(missed, shapely.box(*(boxes + _WINDOW_WIDTHS / 2 * outward)[own].T))
    missed, of = shapely.get_parts(missed, return_index=True)
    kept = _counts(missed, cleared_width_mm) & (shapely.get_type_id(missed) == 3)
    missed, polygon = missed[kept], part[own[of[kept]]]
    many = np.flatnonzero(np.bincount(polygon, minlength=1) > 1)
    alone = [missed[~np.isin(polygon, many)]]
    return np.concatenate(alone + [shapely.get_parts(shapely.union_all(missed[polygon == i])) for i in many])


def _clipped(polygon: BaseGeometry, x0: float, y0: float, x1: float, y1: float) -> BaseGeometry:
    piece = shapely.clip_by_rect(polygon, x0, y0, x1, y1)
    return piece if shapely.is_valid(piece) else shapely.intersection(polygon, shapely.box(x0, y0, x1, y1))


def _batches(polygons: Geometries) -> list[tuple[int, int]]:
    """Ranges of polygons with about ``VERTICES_AT_ONCE`` vertices each; those of more stand alone."""
    vertices = shapely.get_num_coordinates(polygons)
    borders = np.searchsorted(total := np.cumsum(vertices), np.arange(0, total[-1], VERTICES_AT_ONCE))
    alone = np.flatnonzero(vertices > VERTICES_AT_ONCE)
    borders = np.unique(np.concatenate([[0], borders, alone, alone + 1, [len(polygons)]]))
    return list(itertools.pairwise(borders.tolist()))


def _thin_stretches(polygons: Geometries, cleared_width_mm: float) -> Geometries:
    if len(polygons) == 1 and shapely.get_num_coordinates(polygons[0]) > VERTICES_AT_ONCE:
        missed, whole = _missed_in_bands(polygons[0], cleared_width_mm)
    else:
        missed, polygon, core_is_empty = _missed(polygons, cleared_width_mm)
        whole = core_is_empty[polygon]
    result: Geometries = missed[(shapely.area(missed) > 0) & (whole | _counts(missed, cleared_width_mm))]
    return result


def _counts(missed: Geometries, cleared_width_mm: float) -> NDArray[np.bool_]:
    """Which are more than a corner."""
    half_outline, area = shapely.length(missed) / 2, shapely.area(missed)
    long_enough = half_outline > MIN_THIN_LENGTH_WIDTHS * cleared_width_mm
    result: NDArray[np.bool_] = long_enough & (area > 0.1 * cleared_width_mm * half_outline)
    return result


def _missed(polygons: Geometries, cleared_width_mm: float) -> tuple[Geometries, NDArray[np.intp], NDArray[np.bool_]]:
    """What the disc can't reach, the polygon that each part is of, and which polygons it does not fit in at all."""
    half = cleared_width_mm / 2
    with np.errstate(all="ignore"):  # GEOS sets floating-point flags on coordinates that all but coincide
        core = _valid(shapely.buffer(polygons, -half, join_style="mitre", mitre_limit=5.0))
        reached = _valid(shapely.buffer(core, half * 1.001, join_style="mitre", mitre_limit=5.0))
        missed, polygon = shapely.get_parts(shapely.difference(polygons, reached), return_index=True)
    return missed, polygon, shapely.is_empty(core)


def _missed_in_bands(polygon: BaseGeometry, cleared_width_mm: float) -> tuple[Geometries, NDArray[np.bool_]]:
    """The same of a polygon of very many vertices: offsets take far longer than in proportion to them."""
    x0, y0, x1, y1 = polygon.bounds
    bottom, top = np.array([y0 - 1]), np.array([y1 + 1])
    count = math.ceil(int(shapely.get_num_coordinates(polygon)) / _VERTICES_A_BAND)
    borders = np.quantile(shapely.get_coordinates(polygon)[:, 0], np.linspace(0, 1, count + 1))
    borders = np.unique(np.concatenate([[x0], borders, [x1]]))
    margin = _MARGIN_WIDTHS * cleared_width_mm  # so that the cut itself is seen by no disc within the band
    left, right = borders[:-1], borders[1:]
    bands = shapely.intersection(polygon, shapely.box(left - margin, bottom, right + margin, top))
    pieces, band = shapely.get_parts(bands, return_index=True)
    polygonal = shapely.get_type_id(pieces) == 3
    pieces, band = pieces[polygonal], band[polygonal]
    missed, piece, core_is_empty = _missed(pieces, cleared_width_mm)
    own = band[piece]
    missed = shapely.intersection(missed, shapely.box(left[own], bottom, right[own], top))
    whole = shapely.get_parts(shapely.union_all(missed[~shapely.is_empty(missed)]))
    whole = whole[shapely.get_type_id(whole) == 3]
    return whole, np.full(len(whole), bool(core_is_empty.all()))


def _valid(geometries: Geometries) -> Geometries:
    """Offsets with mitred corners may cross themselves in GEOS; mended where they do."""
    crossed = ~shapely.is_valid(geometries)
    geometries[crossed] = shapely.make_valid(geometries[crossed])
    return geometries


def lost_places(polygons: Geometries, words: str) -> list[Place]:
    """A place for each of the ``MAX_PLACES`` largest polygons, largest first.

    ``words`` may use {width} and {length}, mm, of a ribbon of its area and outline.
    """
    polygons = polygons[np.argsort(-shapely.area(polygons), kind="stable")[:MAX_PLACES]]
    area = shapely.area(polygons)
    half_outline = shapely.length(polygons) / 2
    with np.errstate(all="ignore"):
        inside = shapely.get_coordinates(shapely.point_on_surface(polygons))
    return [
        Place(
            kind="lost",
            words=words.format(width=f"{area / half:.3f}", length=f"{half:.2f}"),
            area_mm2=area,
            x_mm=x,
            y_mm=y,
            bounds_mm=(x0, y0, x1, y1),
        )
        for area, half, (x, y), (x0, y0, x1, y1) in zip(
            area.tolist(), half_outline.tolist(), inside.tolist(), shapely.bounds(polygons).tolist(), strict=True
        )
    ]
