"""Room for one more shape beside what is laid already, where its own fill hides the flaws of the coat.

Copies and designs are laid clear of every flaw first; what finds no room so is placed as a single job is, on what is
left of the sheet, and only where nothing of a flaw shows.
"""

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely.geometry.base import BaseGeometry

from core.geometry.affine import apply_to_region
from core.progress import Progress, part, silent
from core.sheet.flaws import turned_flaw
from core.sheet.ground import Footprint, NoRoomError, Placed, PlacingOptions, free_room
from core.sheet.offcuts import outline_of, sheet_region, to_origin
from core.sheet.placement import Flaw, Sheet, placement_matrix
from core.sheet.placing import place

MOST_TRIED = 12
"""So many at most are placed one by one from a bare sheet; each takes about as long as a single job."""


def hidden_places(
    footprints: Sequence[Footprint],
    laid: Sequence[BaseGeometry],
    sheet: Sheet,
    options: PlacingOptions,
    *,
    spacing_mm: float,
    progress: Progress = silent,
) -> tuple[Placed | None, ...]:
    """A place for each, one after the other, where none of the coat's flaws shows; None where there is none.

    laid: all that is burned already, front frame. Once a footprint finds no place, the same one is not tried again.
    """
    rest = free_room(sheet_region(sheet), options)
    if laid:
        rest = shapely.difference(rest, shapely.union_all(shapely.buffer(list(laid), spacing_mm)))
    found: list[Placed | None] = []
    hopeless: list[Footprint] = []
    for number, footprint in enumerate(footprints):
        share = part(progress, number / len(footprints), (number + 1) / len(footprints))
        placed = None
        if footprint not in hopeless:
            placed = _place_in(rest, footprint, sheet, options, share)
        found.append(placed)
        if placed is None:
            hopeless.append(footprint)
            continue
        matrix = placement_matrix(placed.x_mm, placed.y_mm, placed.rotation_deg)
        taken = shapely.buffer(apply_to_region(matrix, footprint.burned), spacing_mm)
        rest = shapely.difference(rest, taken)
    return tuple(found)


def all_hidden(
    footprints: Sequence[Footprint],
    sheet: Sheet,
    options: PlacingOptions,
    *,
    spacing_mm: float,
    progress: Progress = silent,
) -> tuple[Placed | None, ...]:
    """Places for all of them on the bare sheet, the largest first; none where there are more than can be tried."""
    if len(footprints) > MOST_TRIED:
        return (None,) * len(footprints)
    order = sorted(range(len(footprints)), key=lambda number: -footprints[number].burned.area)
    found = hidden_places(
        [footprints[number] for number in order], [], sheet, options, spacing_mm=spacing_mm, progress=progress
    )
    by_number = dict(zip(order, found, strict=True))
    return tuple(by_number[number] for number in range(len(footprints)))


def _place_in(
    rest: BaseGeometry, footprint: Footprint, sheet: Sheet, options: PlacingOptions, progress: Progress
) -> Placed | None:
    parts = [one for one in shapely.get_parts(rest) if one.area >= footprint.burned.area * (1 - 1e-6)]
    for one in sorted(parts, key=lambda one: one.area):
        smaller, dx_mm, dy_mm = _as_sheet(one, sheet)
        try:
            placed = place(footprint, smaller, replace(options, edge_mm=0.0, closed=()), progress=progress)
        except NoRoomError:
            continue
        if placed.shown_mm2 == 0:
            return replace(placed, x_mm=placed.x_mm - dx_mm, y_mm=placed.y_mm - dy_mm)
    return None


def _as_sheet(region: BaseGeometry, sheet: Sheet) -> tuple[Sheet, float, float]:
    """A part of the sheet as a sheet of its own, flaws and all, and by how much it was moved."""
    moved, dx_mm, dy_mm = to_origin(region)
    _, _, width_mm, height_mm = moved.bounds
    flaws = [_moved(flaw if flaw.noted_from == "front" else turned_flaw(flaw, sheet), dx_mm, dy_mm)
             for flaw in sheet.flaws]  # fmt: skip
    smaller = replace(sheet, width_mm=width_mm, height_mm=height_mm, outline=outline_of(moved), flaws=tuple(flaws))
    return smaller, dx_mm, dy_mm


def _moved(flaw: Flaw, dx_mm: float, dy_mm: float) -> Flaw:
    return replace(flaw, points=tuple((x + dx_mm, y + dy_mm) for x, y in flaw.points))
