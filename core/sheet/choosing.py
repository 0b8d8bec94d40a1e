"""Which pieces of the rack serve for a job: by what they cost and what they leave; how much the others lack."""

from collections.abc import Iterable
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region
from core.progress import Progress, part, silent
from core.sheet.offcuts import Piece, piece_region, sheet_of
from core.sheet.placement import placement_matrix
from core.sheet.placing import Footprint, NoRoomError, Placed, PlacingOptions, Turned, place
from core.sheet.remainders import remainders
from core.sheet.room import feasible, translation_grid

_COARSE_MM = 1.0
_MOST_LACKING_MM = 2000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """One piece for the job. placed: the best place, None where the job does not fit; then ``lacks_mm`` is how much
    the piece would have to be larger all round. cost: the piece's price less that of what stays worth keeping.
    used_mm2: what the rack loses, waste included.
    """

    piece_id: str
    name: str
    placed: Placed | None
    cost: float = 0.0
    used_mm2: float = 0.0
    kept_mm2: float = 0.0
    lacks_mm: float = 0.0

    @property
    def rank(self) -> tuple[bool, float, float, float, float]:
        """Smaller is better: what fits, what shows least, what costs least, what uses up least, what lacks least."""
        shown = self.placed.rank[0] if self.placed else 0.0
        return (self.placed is None, shown, round(self.cost, 2), self.used_mm2, self.lacks_mm)


def choices(
    rack: Iterable[tuple[str, str, Piece]],
    footprint: Footprint,
    *,
    stock: str,
    thickness_mm: float,
    options: PlacingOptions | None = None,
    has_coat: bool = True,
    progress: Progress = silent,
) -> tuple[Choice, ...]:
    """The rack's pieces, (id, name, piece) each, of that stock and thickness; best first, what does not fit last."""
    same = [one for one in rack if one[2].stock == stock and abs(one[2].thickness_mm - thickness_mm) < 0.05]
    found = []
    for number, (piece_id, name, piece) in enumerate(same):
        share = part(progress, number / len(same), (number + 1) / len(same))
        found.append(_choice(piece_id, name, piece, footprint, options or PlacingOptions(), has_coat, share))
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
        cost=piece.price * (1 - left.kept_mm2 / whole_mm2),
        used_mm2=whole_mm2 - left.kept_mm2,
        kept_mm2=left.kept_mm2,
    )


def lacking_mm(piece: Piece, footprint: Footprint, options: PlacingOptions) -> float:
    """By how much a piece would have to be larger all round for the job to fit, mm, to 0.1 mm."""
    turned = [Turned(footprint, angle_deg) for angle_deg in options.angles_deg]
    region = piece_region(piece)
    low, high = -options.edge_mm, _MOST_LACKING_MM
    while high - low > 0.1:
        middle = (low + high) / 2
        if _fits(shapely.buffer(region, middle, join_style="mitre"), turned):
            high = middle
        else:
            low = middle
    return max(0.0, high + options.edge_mm)


def _fits(room: BaseGeometry, turned: Iterable[Turned]) -> bool:
    for one in turned:
        for polygon in shapely.get_parts(room):
            grid = translation_grid(polygon, one.burned, _COARSE_MM) if not polygon.is_empty else None
            if grid is not None and (grid.rows * grid.columns > 4_000_000 or feasible(polygon, one.burned, grid).any()):
                return True
    return False
