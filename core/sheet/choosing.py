"""Which pieces of the rack serve for a job: by what they cost and what they leave; how much the others lack."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region
from core.progress import Progress, part, silent
from core.sheet.ground import Footprint, NoRoomError, Placed, PlacingOptions, Turned, drawn_in, free_room
from core.sheet.offcuts import Piece, piece_region, sheet_of
from core.sheet.placement import Sheet, placement_matrix
from core.sheet.placing import place
from core.sheet.remainders import remainders
from core.sheet.rest import Bounds
from core.sheet.room import feasible, free_places, translation_grid

_COARSE_MM = 1.0
_RIGHT_TO_MM = 0.005
_MOST_LACKING_MM = 2000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One piece for the job. placed: the best place, None where the job does not fit; then ``lacks_mm`` is how much
    the piece would have to be larger all round. cost: the piece's price less what can still be made of the rest.
    used_mm2: what the rack loses, waste included. full: a sheet as bought. filled_share: how much of the piece the job
    takes.
    """

    piece_id: str
    name: str
    placed: Placed | None
    cost: float = 0.0
    used_mm2: float = 0.0
    kept_mm2: float = 0.0
    lacks_mm: float = 0.0
    full: bool = False
    filled_share: float = 0.0

    @property
    def rank(self) -> tuple[bool, float, float, bool, float, float]:
        """Smaller is better: what fits, what shows least, what costs least; then offcuts, and those filled most."""
        shown = self.placed.rank[0] if self.placed else 0.0
        return (self.placed is None, shown, round(self.cost, 2), self.full, -self.filled_share, self.lacks_mm)


def choices(
    rack: Iterable[tuple[str, str, Piece]],
    footprint: Footprint,
    *,
    stock: str,
    thickness_mm: float,
    options: PlacingOptions | None = None,
    has_coat: bool = True,
    closed_on: Callable[[Sheet], tuple[Bounds, ...]] = lambda sheet: (),
    progress: Progress = silent,
) -> tuple[Choice, ...]:
    """The rack's pieces, (id, name, piece) each, of that stock and thickness; best first, what does not fit last.

    closed_on: the boxes of a sheet where the bed lets nothing be burned.
    """
    same = [one for one in rack if one[2].stock == stock and abs(one[2].thickness_mm - thickness_mm) < 0.05]
    found = []
    for number, (piece_id, name, piece) in enumerate(same):
        share = part(progress, number / len(same), (number + 1) / len(same))
        here = replace(options or PlacingOptions(), closed=closed_on(sheet_of(piece)))
        found.append(_choice(piece_id, name, piece, footprint, here, has_coat, share))
    return tuple(sorted(found, key=lambda choice: choice.rank))


def _choice(
    piece_id: str,
    name: str,
    piece: Piece,
    footprint: Footprint,
    options: PlacingOptions,
    has_coat: bool,
    progress: Progress,
) -> Choice:
    try:
        placed = place(footprint, sheet_of(piece), options, has_coat=has_coat, progress=progress)
    except NoRoomError:
        return Choice(piece_id=piece_id, name=name, placed=None, lacks_mm=lacking_mm(piece, footprint, options))
    taken = apply_to_region(placement_matrix(placed.x_mm, placed.y_mm, placed.rotation_deg), footprint.burned)
    left = remainders(piece, taken)
    whole_mm2 = piece_region(piece).area
    return Choice(
        piece_id=piece_id,
        name=name,
        placed=placed,
        cost=piece.price - left.kept_price,
        used_mm2=whole_mm2 - left.kept_mm2,
        kept_mm2=left.kept_mm2,
        full=piece.full,
        filled_share=taken.area / whole_mm2,
    )


def lacking_mm(piece: Piece, footprint: Footprint, options: PlacingOptions) -> float:
    """By how much a piece would have to be larger all round for the job to fit, mm, to 0.005 mm."""
    turned = [Turned(footprint, angle_deg) for angle_deg in options.angles_deg]
    region = piece_region(piece)
    low, high = -options.edge_mm, _MOST_LACKING_MM
    for fits, within_mm in ((_fits_roughly, _COARSE_MM), (_fits, _RIGHT_TO_MM)):
        low = max(-options.edge_mm, low - _COARSE_MM) if fits is _fits else low
        while high - low > within_mm:
            middle = (low + high) / 2
            if fits(free_room(_grown(region, middle), replace(options, edge_mm=0.0)), turned):
                high = middle
            else:
                low = middle
    return max(0.0, high + options.edge_mm)


def _grown(region: BaseGeometry, by_mm: float) -> BaseGeometry:
    """A piece larger all round, as a larger one of the same kind would be; drawn in as its margin is."""
    return shapely.buffer(region, by_mm, join_style="mitre") if by_mm > 0 else drawn_in(region, -by_mm)


def _fits_roughly(room: BaseGeometry, turned: Iterable[Turned]) -> bool:
    """Whether there is room on a coarse grid: where there is, there is."""
    for one in turned:
        for polygon in shapely.get_parts(room):
            grid = translation_grid(polygon, one.burned, _COARSE_MM) if not polygon.is_empty else None
            if grid is not None and (grid.rows * grid.columns > 4_000_000 or feasible(polygon, one.burned, grid).any()):
                return True
    return False


def _fits(room: BaseGeometry, turned: Iterable[Turned]) -> bool:
    return any(
        not free_places(polygon, one.burned).is_empty
        for one in turned
        for polygon in shapely.get_parts(room)
        if not polygon.is_empty
    )
