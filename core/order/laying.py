"""Parts laid on as many pieces as it takes: offcuts first, in list order or as densely as they go.

Flaws of a piece may lie under fills: a place where one would show is left out, part by part.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.errors import JobError, UnreadableError
from core.findings import Severity
from core.geometry.affine import Affine, apply_to_region, rotation
from core.job.copying import copies_room, single_plan
from core.job.fitting import job_footprint
from core.job.job import Job, with_overrides
from core.job.on_bed import placing_options
from core.order.filling import FilledPart, shown_bounds_mm
from core.order.in_order import laid_in_order
from core.order.order import LaidSheet, Order, PartPlace
from core.order.part_regions import part_regions
from core.order.parts import OrderedPart
from core.order.row_findings import RowFinding
from core.order.sheet_jobs import MARK_GAP_MM, MARK_MM
from core.progress import Progress, part, silent
from core.purposes import LEAVE_OUT
from core.sheet.copies import Copy, Layout, Wanted, nested, rows_and_columns
from core.sheet.flaws import flaw_region, shown_area_mm2, shown_flaws
from core.sheet.offcuts import Piece, piece_region, sheet_of
from core.sheet.placement import Sheet, placement_matrix

_SHOWS_MM2 = 0.01
MAX_SHEETS = 500
MOST_SPACING_MM = 1_000.0
_MOST_LETTERS = 60
_QUARTERS = (0.0, 90.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """A piece to lay on: its label and id on the rack, both empty for a sheet as the design has it."""

    sheet: Sheet
    label: str = ""
    piece_id: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidOut:
    """The order with its sheets, and what found no room."""

    order: Order
    findings: tuple[RowFinding, ...]


def rack_grounds(rack: Sequence[tuple[str, str, Piece]], design: Job) -> tuple[Ground, ...]:
    """The rack's pieces of the design's stock, (id, name, piece) each: offcuts first, the smallest before others."""
    stock, thickness_mm = design.stock.name, design.sheet.thickness_mm
    same = [one for one in rack if one[2].stock == stock and abs(one[2].thickness_mm - thickness_mm) < 0.05]
    ranked = sorted(same, key=lambda one: (one[2].full, piece_region(one[2]).area, one[1]))
    return tuple(Ground(sheet=sheet_of(piece), label=name, piece_id=uuid) for uuid, name, piece in ranked)


def lay(
    order: Order,
    parts: Sequence[OrderedPart],
    filled: Mapping[int, FilledPart],
    grounds: Sequence[Ground],
    *,
    progress: Progress = silent,
) -> LaidOut:
    """The order laid on these pieces in turn; without any, on sheets as the design has them, as many as it takes.

    Raises UnreadableError for senseless figures, JobError when nothing is burned or a part has room nowhere, Cancelled.
    """
    if not (math.isfinite(order.spacing_mm) and 0 <= order.spacing_mm <= MOST_SPACING_MM):
        raise UnreadableError(
            f"{order.spacing_mm:g} mm between parts can't be.", hint=f"Give 0 to {MOST_SPACING_MM:,.0f} mm."
        )
    shapes = _Shapes(order, filled)
    left = [one.number for one in parts]
    sheets: list[LaidSheet] = []
    known: dict[Sheet, list[Copy]] = {}
    for ground in _in_turn(order.design, grounds):
        if not left or len(sheets) >= MAX_SHEETS:
            break
        progress(1 - len(left) / len(parts), f"laying sheet {len(sheets) + 1}")
        share = part(progress, 1 - len(left) / len(parts), 1 - len(left) / len(parts) / 2)
        laid = _laid_on(order, shapes, ground, left, known, share)
        if laid:
            sheets.append(
                LaidSheet(sheet=ground.sheet, places=tuple(laid), label=ground.label, piece_id=ground.piece_id)
            )
            gone = {place.part for place in laid}
            left = [number for number in left if number not in gone]
        elif not grounds:
            break  # nor on one more of these
    if not sheets and not grounds:
        raise JobError("Not one part fits on this sheet.", hint="Take a larger sheet, or less distance between parts.")
    if not sheets:
        raise JobError("Not one part fits on the pieces that there are.", hint="Take larger ones.")
    rows = {one.number: one for one in parts}
    findings = [_no_room(rows[number], shapes.of(number), on_pieces=bool(grounds)) for number in left]
    if order.way == "list order":
        findings += _out_of_order(sheets, rows)
    return LaidOut(order=replace(order, sheets=tuple(sheets)), findings=tuple(findings))


def _out_of_order(sheets: Sequence[LaidSheet], rows: Mapping[int, OrderedPart]) -> Iterator[RowFinding]:
    """What waited for a larger piece lies behind parts that come after it in the list."""
    latest = 0
    for index, laid in enumerate(sheets, start=1):
        for place in laid.places:
            if place.part < latest:
                where = f"sheet {index}" + (f" ({laid.label})" if laid.label else "")
                message = f"{rows[place.part].words} takes more room than the pieces before have; it is on {where}."
                yield _of_row(rows[place.part], "part-later", message, "note")
        latest = max([latest, *(place.part for place in laid.places)])


def _no_room(one: OrderedPart, takes: BaseGeometry, *, on_pieces: bool) -> RowFinding:
    words = one.words if len(one.words) <= _MOST_LETTERS else one.words[:_MOST_LETTERS] + "…"
    x0, y0, x1, y1 = takes.bounds
    size = f"{x1 - x0:,.0f} x {y1 - y0:,.0f} mm"
    why = f"there is no room left for {words}" if on_pieces else f"{words} takes {size} and fits on no such sheet"
    return _of_row(one, "part-no-room", f"{why}.", "problem")


def _of_row(one: OrderedPart, code: str, message: str, severity: Severity) -> RowFinding:
    named = f"Row {one.row}" if one.row else f"Part {one.number}"
    return RowFinding(code=code, message=f"{named}: {message}", severity=severity, row=one.row or None)


def _in_turn(design: Job, grounds: Sequence[Ground]) -> Iterator[Ground]:
    if grounds:
        yield from grounds
        return
    while True:
        yield Ground(sheet=design.sheet)


class _Shapes:
    """What each part takes of a sheet, in the design's frame: mostly all take the same."""

    def __init__(self, order: Order, filled: Mapping[int, FilledPart]) -> None:
        self.filled = filled
        self._design = order.design
        self.common = _common_footprint(order, next(iter(filled.values())))
        if order.marks:
            x0, y0, x1, _ = self.common.bounds
            high_mm = MARK_MM + 2 * MARK_GAP_MM
            self.common = shapely.union_all([self.common, shapely.box(x0, y0 - high_mm, x1, y0)])
        self._flaws: dict[Sheet, list[BaseGeometry]] = {}
        self.own: dict[int, BaseGeometry] = {}
        hull = shapely.buffer(self.common.envelope, 1e-6)
        for number, one in filled.items():
            box = _text_box(one)
            if box is not None and not hull.covers(box):
                self.own[number] = shapely.union_all([self.common, box])

    def of(self, number: int) -> BaseGeometry:
        return self.own.get(number, self.common)

    def shows_a_flaw(self, number: int, to_front: Affine, sheet: Sheet) -> bool:
        """Whether a flaw of this sheet would show in a part that lies so."""
        if sheet not in self._flaws:
            self._flaws[sheet] = [flaw_region(flaw, sheet) for flaw in sheet.flaws]
        own = apply_to_region(to_front, self.of(number)) if self._flaws[sheet] else None
        if own is None or not any(own.intersects(flaw) for flaw in self._flaws[sheet]):
            return False
        finished, cleared = (
            apply_to_region(to_front, region) for region in part_regions(self._design, self.filled[number])
        )
        return shown_area_mm2(shown_flaws(sheet, finished, cleared)) > _SHOWS_MM2


def _common_footprint(order: Order, one: FilledPart) -> BaseGeometry:
    """What a part burns without its text, which most often lies within its outline."""
    design = order.design
    texts = [shape.id for shape in single_plan(design).drawing.shapes if shape.is_text]
    try:
        return job_footprint(single_plan(with_overrides(design, texts, LEAVE_OUT))).burned
    except JobError:
        pass
    box = _text_box(one)
    if box is None:
        raise JobError("Nothing is burned in this design.", hint="Give it fills, cuts or scores.")
    return box


def _text_box(one: FilledPart) -> BaseGeometry | None:
    texts = [
        shape
        for shape, layer in zip(one.shapes, one.layer_ids, strict=True)
        if shape.is_text and layer != LEAVE_OUT and len(shape.path)
    ]
    box = shown_bounds_mm(texts)
    return None if math.isnan(box[0]) else shapely.box(*box)


def _laid_on(
    order: Order,
    shapes: _Shapes,
    ground: Ground,
    left: Sequence[int],
    known: dict[Sheet, list[Copy]],
    progress: Progress,
) -> list[PartPlace]:
    """Places of the parts that come to lie on this piece."""
    alike = not any(number in shapes.own for number in left)
    if alike and ground.sheet in known and len(known[ground.sheet]) <= len(left):
        return _assigned(shapes, ground.sheet, known[ground.sheet], left)
    tries = [ground.sheet] if not ground.sheet.flaws else [ground.sheet, replace(ground.sheet, flaws=())]
    best: list[PartPlace] = []
    for sheet in tries:
        try:
            room = copies_room(sheet, placing_options(replace(order.design, sheet=sheet)))
        except JobError:
            continue
        copies = _copies(order, room, ground.sheet, shapes, left, progress)
        laid = _assigned(shapes, ground.sheet, copies, left)
        if len(laid) > len(best):
            best = laid
            if alike and len(tries) == 1 and len(copies) < len(left):
                known[ground.sheet] = copies
    return best


def _copies(
    order: Order, room: BaseGeometry, sheet: Sheet, shapes: _Shapes, left: Sequence[int], progress: Progress
) -> list[Copy]:
    """Places, in the order in which they are filled; named by the part where parts take different room."""
    if any(number in shapes.own for number in left):
        in_order = _one_by_one(order, room, sheet, shapes, left, part(progress, 0.0, 0.2))
        if order.way == "list order":
            return in_order
        several = [Wanted(name=str(number), shape=shapes.of(number)) for number in left]
        some = _as_many_as_may_fit(several, room)
        dense_copies = list(nested(room, some, spacing_mm=order.spacing_mm, progress=part(progress, 0.2, 1.0)).copies)
        return max(dense_copies, in_order, key=len)
    one = Wanted(name="", shape=shapes.common, count=len(left))
    layout = _in_rows(room, one, order.spacing_mm)
    if order.way == "list order":
        return list(layout.copies)
    dense = nested(room, [one], spacing_mm=order.spacing_mm, progress=progress)
    layout = min((layout, dense), key=lambda found: found.rank)
    return sorted(layout.copies, key=lambda copy: _reading_place(copy, shapes.common))


def _one_by_one(
    order: Order, room: BaseGeometry, sheet: Sheet, shapes: _Shapes, left: Sequence[int], progress: Progress
) -> list[Copy]:
    found = []
    for tried, angle_deg in enumerate(_QUARTERS):
        turn = rotation(angle_deg)
        common = apply_to_region(turn, shapes.common).bounds
        boxes = [
            (number, apply_to_region(turn, shapes.own[number]).bounds if number in shapes.own else common)
            for number in left
        ]
        found.append(
            laid_in_order(
                room,
                boxes,
                angle_deg=angle_deg,
                spacing_mm=order.spacing_mm,
                accepts=lambda number, to_front: not shapes.shows_a_flaw(number, to_front, sheet),
                progress=part(progress, tried / len(_QUARTERS), (tried + 1) / len(_QUARTERS)),
            )
        )
    return list(min(found, key=lambda one: one.rank).copies)


def _in_rows(room: BaseGeometry, wanted: Wanted, spacing_mm: float) -> Layout:
    layouts = [
        rows_and_columns(room, replace(wanted, angles_deg=(angle_deg,)), gap_mm=spacing_mm) for angle_deg in _QUARTERS
    ]
    return min(layouts, key=lambda found: found.rank)


def _as_many_as_may_fit(wanted: list[Wanted], room: BaseGeometry) -> list[Wanted]:
    """Not many more than there is area for: what is left over comes onto the next piece."""
    areas = np.cumsum([one.shape.area for one in wanted])
    return wanted[: int(np.searchsorted(areas, room.area)) + 1]


def _reading_place(copy: Copy, shape: BaseGeometry) -> tuple[float, float]:
    x0, y0, _, y1 = apply_to_region(placement_matrix(copy.x_mm, copy.y_mm, copy.rotation_deg), shape).bounds
    return round((y0 + y1) / 2 / max(y1 - y0, 1e-6)), x0


def _assigned(shapes: _Shapes, sheet: Sheet, copies: Sequence[Copy], left: Sequence[int]) -> list[PartPlace]:
    """Parts in order onto the places; one where a flaw would show is left out."""
    places: list[PartPlace] = []
    waiting = list(left)
    for copy in copies:
        if not waiting:
            break
        number = int(copy.name) if copy.name else waiting[0]
        to_front = placement_matrix(copy.x_mm, copy.y_mm, copy.rotation_deg)
        if shapes.shows_a_flaw(number, to_front, sheet):
            continue
        places.append(PartPlace(part=number, x_mm=copy.x_mm, y_mm=copy.y_mm, rotation_deg=copy.rotation_deg))
        waiting.remove(number)
    return places
