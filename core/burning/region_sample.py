"""A part of very large artwork to try something on: parts drawn by lot all over it, and bands of its largest."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.lost_features import polygons_of
from core.progress import Progress, silent

MOST_EDGES = 110_000
"""Artwork of so many edges is looked at whole: some seconds and a hundred megabytes for whatever is tried."""
_BANDS = 24
_LARGE_SHARE = 1 / 24
"""Of the most edges: a part of more is looked at in bands."""
_SEED = 20_261_130


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RegionSample:
    """The region that is looked at, how many edges it has about, and how many the whole has."""

    region: BaseGeometry
    edges: int
    of_edges: int

    @property
    def is_whole(self) -> bool:
        """Whether nothing is left out."""
        return self.edges == self.of_edges

    @property
    def words(self) -> str:
        """``"about 100,000 of 1,000,000 edges, drawn by lot all over the artwork"``; empty for the whole."""
        if self.is_whole:
            return ""
        return f"about {self.edges:,} of {self.of_edges:,} edges, drawn by lot all over the artwork"


def sample_of(region: BaseGeometry, *, most_edges: int = MOST_EDGES, progress: Progress = silent) -> RegionSample:
    """The region whole, or as much of it as has about ``most_edges``; the same part whenever it is asked for."""
    count = edge_count(region)
    if count <= most_edges:
        return RegionSample(region=region, edges=count, of_edges=count)
    progress(0.0, "choosing what to look at")
    polygons = polygons_of(region)
    edges = shapely.get_num_coordinates(polygons)
    large = edges > most_edges * _LARGE_SHARE
    share = most_edges / count
    taken = _by_lot(polygons[~large], edges[~large], share)
    for done, polygon in enumerate(polygons[large]):
        progress(done / int(large.sum()), "choosing what to look at")
        taken += _banded(polygon, share)
    sample = shapely.MultiPolygon(taken)
    return RegionSample(region=sample, edges=edge_count(sample), of_edges=count)


def edge_count(region: BaseGeometry) -> int:
    """How many edges the region has, about: its coordinates."""
    return int(shapely.get_num_coordinates(region))


def _by_lot(polygons: np.ndarray, edges: np.ndarray, share: float) -> list[shapely.Polygon]:
    order = np.random.default_rng(_SEED).permutation(len(polygons))
    enough = int(np.searchsorted(np.cumsum(edges[order]), share * edges.sum()))
    chosen: list[shapely.Polygon] = polygons[np.sort(order[:enough])].tolist()
    return chosen


def _banded(polygon: shapely.Polygon, share: float) -> Iterator[shapely.Polygon]:
    """Bands across the polygon, evenly spread over its points, that hold that share of them."""
    x = np.quantile(shapely.get_coordinates(polygon)[:, 0], np.linspace(0, 1, _BANDS + 1))
    _, bottom, _, top = polygon.bounds
    for left, right in itertools.pairwise(x.tolist()):
        end = left + share * (right - left)
        if end > left:
            band = shapely.clip_by_rect(polygon, left, bottom - 1, end, top + 1)
            yield from polygons_of(shapely.make_valid(band)).tolist()
