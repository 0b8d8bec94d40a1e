"""How much handwork a mask is, told from a map of faces without making the mask.

The opening of one colour, were nothing waiting, is cut once by the covers of all other colours into faces. Which of
them stay open depends on which colours wait; outline, openings and islands of film then follow by looking at face
borders only. So all n 2^(n-1) masks that an order of n colours can ask for are weighed in a moment.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.geometry.connected import connected

Ints = NDArray[np.intp]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How long handwork at a mask takes, min. Invented to weigh orders against each other, no source.

    Cutting and weeding go by the length of the outline; each opening and each loose island of film adds its own, a
    small one (narrower than small_mm) more; a tight place costs a careful look and a steady hand.
    """

    lay_min: float = 8.0
    cut_m_min: float = 4.0
    opening_min: float = 0.2
    island_min: float = 0.6
    small_min: float = 0.5
    small_mm: float = 5.0
    tight_min: float = 0.25


EFFORT = Effort()


def effort_min(cut_length_mm: float, *, openings: int, islands: int, small: int, tight_places: int = 0) -> float:
    """Handwork of one mask, min."""
    return (
        EFFORT.lay_min
        + EFFORT.cut_m_min * cut_length_mm / 1000
        + EFFORT.opening_min * openings
        + EFFORT.island_min * islands
        + EFFORT.small_min * small
        + EFFORT.tight_min * tight_places
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceMap:
    """The faces of one colour's widest opening.

    covered (f, n): the face lies under the cover of colour j. has_own (f,): areas of the colour itself lie in it.
    area_mm2 (f,). first, second, length_mm (b,): borders between two faces; face f is all that lies outside.
    """

    covered: NDArray[np.bool_]
    has_own: NDArray[np.bool_]
    area_mm2: Floats
    first: Ints
    second: Ints
    length_mm: Floats

    @property
    def colours(self) -> frozenset[int]:
        """The colours that have any say in this opening."""
        return frozenset(np.flatnonzero(self.covered.any(axis=0)).tolist())


def face_maps(
    owns: Sequence[BaseGeometry], widest: Sequence[BaseGeometry], covers: Sequence[BaseGeometry]
) -> tuple[FaceMap, ...]:
    """For each colour the faces into which the covers of the others (may be empty) cut its widest opening.

    What a colour itself paints is never covered. There may be more covers than colours: of what is never painted.
    """
    # all outlines as they are, noded together: outlines clipped one by one would not meet exactly
    lines = shapely.union_all(shapely.boundary(np.array([*widest, *owns, *covers], object)))
    faces = shapely.get_parts(shapely.polygonize([lines]))
    inside = shapely.point_on_surface(faces)
    under = np.column_stack([_within(cover, inside) for cover in covers])
    borders = _borders(faces)
    area_mm2 = shapely.area(faces)
    maps = []
    for number, own in enumerate(owns):
        has_own = _within(own, inside)
        covered = under & ~has_own[:, None]
        covered[:, number] = False
        looks = np.column_stack([_within(widest[number], inside), has_own, covered])
        maps.append(_face_map(looks, area_mm2, borders))
    return tuple(maps)


def _face_map(looks: NDArray[np.bool_], area_mm2: Floats, borders: tuple[Ints, Ints, Floats]) -> FaceMap:
    """Faces side by side that look alike are one; looks (f, 2 + n): lies in the opening, has_own, covered."""
    first, second, length_mm = borders
    in_widest = np.append(looks[:, 0], False)
    look = np.append(np.unique(looks, axis=0, return_inverse=True)[1].ravel(), -1)
    alike = (look[first] == look[second]) & in_widest[first]
    joined = connected(len(look), first[alike], second[alike])
    _, one_of, number = np.unique(joined[in_widest], return_index=True, return_inverse=True)
    face = np.full(len(look), len(one_of))
    face[in_widest] = number.ravel()
    low, high = np.sort([face[first], face[second]], axis=0)
    pairs, pair = np.unique((low * (len(one_of) + 1) + high)[low != high], return_inverse=True)
    kept = looks[looks[:, 0]]
    whole_mm2, shared_mm = np.zeros(len(one_of)), np.zeros(len(pairs))
    np.add.at(whole_mm2, number.ravel(), area_mm2[looks[:, 0]])
    np.add.at(shared_mm, pair.ravel(), length_mm[low != high])
    return FaceMap(
        covered=kept[one_of, 2:],
        has_own=kept[one_of, 1],
        area_mm2=whole_mm2,
        first=pairs // (len(one_of) + 1),
        second=pairs % (len(one_of) + 1),
        length_mm=shared_mm,
    )


def faces_effort_min(faces: FaceMap, waiting: Iterable[int], *, tight_places: int) -> float:
    """Handwork of the mask that keeps the colours ``waiting`` covered, min."""
    count = len(faces.has_own)
    closed: NDArray[np.bool_] = np.any(faces.covered[:, sorted(waiting)], axis=1)
    is_open = ~closed
    group = _groups(count, faces, is_open[faces.first] & np.append(is_open, False)[faces.second])
    kept = np.isin(group[:count], np.unique(group[:count][faces.has_own])) & is_open
    kept_or_outside = np.append(kept, False)
    on_edge = kept_or_outside[faces.first] != kept_or_outside[faces.second]
    film = _groups(count, faces, ~kept_or_outside[faces.first] & ~kept_or_outside[faces.second])
    island = np.append(~kept, False) & (film != film[count])
    openings = _sizes_mm(group[:count], kept, faces, on_edge, kept_or_outside)
    islands = _sizes_mm(film, island, faces, on_edge, ~kept_or_outside)
    return effort_min(
        float(faces.length_mm[on_edge].sum()),
        openings=len(openings),
        islands=len(islands),
        small=int((openings < EFFORT.small_mm).sum() + (islands < EFFORT.small_mm).sum()),
        tight_places=tight_places,
    )


def _within(region: BaseGeometry, points: NDArray[np.object_]) -> NDArray[np.bool_]:
    shapely.prepare(region)
    return np.asarray(shapely.intersects(region, points), bool)


def _borders(faces: NDArray[np.object_]) -> tuple[Ints, Ints, Floats]:
    """Pairs of faces and the length of border they share; the linework is noded, so shared pieces are identical."""
    rings, ring_face = shapely.get_rings(faces, return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    same = ring[1:] == ring[:-1]
    place: Ints = np.unique(points[:, 0] + 1j * points[:, 1], return_inverse=True)[1].ravel()
    from_, to = place[:-1][same], place[1:][same]
    along, face = np.diff(points, axis=0)[same], ring_face[ring[:-1][same]]
    _, piece = np.unique(np.minimum(from_, to) * len(points) + np.maximum(from_, to), return_inverse=True)
    piece = piece.ravel()
    pieces = int(piece.max(initial=-1)) + 1
    low, high = np.full(pieces, len(faces)), np.full(pieces, -1)
    np.minimum.at(low, piece, face)
    np.maximum.at(high, piece, face)
    high = np.where(np.bincount(piece, minlength=pieces) < 2, len(faces), high)
    length_mm = np.zeros(pieces)
    length_mm[piece] = np.hypot(*along.T)
    pairs, pair = np.unique(low * (len(faces) + 1) + high, return_inverse=True)
    first, second = np.divmod(pairs, len(faces) + 1)
    shared_mm: Floats = np.bincount(pair.ravel(), weights=length_mm).astype(np.float64)
    return first.astype(np.intp), second.astype(np.intp), shared_mm


def _groups(count: int, faces: FaceMap, joined: NDArray[np.bool_]) -> Ints:
    """A number for each face and the outside (count + 1,), the same where borders in ``joined`` link them.

    The least face number of a group spreads along borders; each round also takes over what the least one has reached,
    so that a few rounds do.
    """
    group = np.arange(count + 1)
    one, other = faces.first[joined], faces.second[joined]
    while True:
        before = group.copy()
        least = np.minimum(group[one], group[other])
        for side in (one, other):
            np.minimum.at(group, group[side], least)
            np.minimum.at(group, side, least)
        group = group[group]
        if np.array_equal(group, before):
            return group


def _sizes_mm(
    group: Ints, member: NDArray[np.bool_], faces: FaceMap, on_edge: NDArray[np.bool_], side: NDArray[np.bool_]
) -> Floats:
    """Narrow side of each group among ``member`` faces: of the rectangle with its area and outline."""
    areas = np.append(faces.area_mm2, 0.0)[: len(group)]
    names, index = np.unique(group[member], return_inverse=True)
    area = np.bincount(index.ravel(), weights=areas[member], minlength=len(names))
    inner = np.where(side[faces.first], faces.first, faces.second)[on_edge]
    outline = np.zeros(len(names))
    inside = np.isin(inner, np.flatnonzero(member))
    at = np.searchsorted(names, group[inner[inside]])
    np.add.at(outline, at, faces.length_mm[on_edge][inside])
    quarter = outline / 4
    result: Floats = quarter - np.sqrt(np.maximum(quarter**2 - area, 0.0))
    return result
