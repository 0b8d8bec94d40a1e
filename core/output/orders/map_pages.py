"""After the cut: which part is whose, sheet by sheet as it lies on the bed; the packing list; labels."""

from collections.abc import Sequence
from typing import Any

import shapely
from reportlab.lib.units import mm
from reportlab.platypus import Flowable, PageBreak, Spacer, Table

from core.geometry.affine import apply_to_region, compose
from core.job.burned import cleared_region, finished_region
from core.job.costs.pricing import money, unpriced_words
from core.job.timing import range_text
from core.order.parts import OrderedPart
from core.order.sheet_jobs import body_box_mm
from core.order.working_out import WorkedOrder, WorkedSheet
from core.output.orders.label_sheets import label_sheets
from core.output.orders.pages import Words, paged
from core.output.orders.reckoning import Reckoned, Taken
from core.output.run_sheet.fonts import fonts_for
from core.output.run_sheet.looks import WIDTH, Box, Style, lined_cells, text, tight_cells
from core.output.run_sheet.pictures import DARK, Picture
from core.sheet.faces import turn_matrix
from core.sheet.offcuts import sheet_region
from core.sheet.placement import placement_matrix

_HIGH = 330.0
_NAME = 10.5
_STANDING = 0.93


def map_pages(worked: WorkedOrder, taken: Reckoned) -> bytes:
    """The PDF: a page a sheet with boxes to tick, what all takes, then all parts in list order, for packing."""
    name = _design_name(worked)
    style = Style(fonts_for("".join([name, *(sheet.laid.label for sheet in worked.sheets)])))
    story: list[Flowable] = []
    for number, sheet in enumerate(worked.sheets, start=1):
        story += _sheet_page(worked, sheet, taken.sheets[number - 1], number, style)
    story += _taken(taken, style)
    story += _packing(worked, style)
    return paged(story, title=f"Map: {name}", foot=name, fonts=style.fonts)


def label_pages(worked: WorkedOrder) -> bytes:
    """The PDF: a label a part in list order, with its number, what it says and where it was cut."""
    where = _sheet_numbers(worked)
    parts = [(one, where[one.number]) for one in worked.filled.parts if one.number in where]
    return label_sheets(parts, f"Labels: {_design_name(worked)}")


class SheetMap(Picture):
    """A sheet as it lies on the bed, back up, its parts numbered."""

    def __init__(self, worked: WorkedOrder, sheet: WorkedSheet, width: float, height: float) -> None:
        size = sheet.job.sheet
        super().__init__((0.0, 0.0, size.width_mm, size.height_mm), width, height)
        self._sheet, self._to_bed = sheet, turn_matrix(sheet.job.turn, size)
        self._box = shapely.box(*body_box_mm(next(iter(worked.filled.filled.values()))))

    def draw(self) -> None:
        """Draw on the page."""
        layers = self._sheet.plan.layers
        self.region(apply_to_region(self._to_bed, sheet_region(self._sheet.job.sheet)), fill=1.0, line=0.0, width=0.8)
        self.region(apply_to_region(self._to_bed, finished_region(layers)), fill=_STANDING, line=0.0, width=0.5)
        self.region(apply_to_region(self._to_bed, cleared_region(layers)), fill=DARK + 0.35)
        for layer in layers:
            self.standing_coat(layer, self._to_bed, _STANDING)
        for place in self._sheet.laid.places:
            to_front = placement_matrix(place.x_mm, place.y_mm, place.rotation_deg)
            box = apply_to_region(compose(self._to_bed, to_front), self._box)
            x0, y0, x1, y1 = box.bounds
            high = min(x1 - x0, y1 - y0) * self.scale
            size = max(4.5, min(9.0, high * 0.3))
            self.label((x0 + x1) / 2, (y0 + y1) / 2, str(place.part), size)


def _sheet_page(worked: WorkedOrder, sheet: WorkedSheet, taken: Taken, number: int, style: Style) -> list[Flowable]:
    size = sheet.job.sheet
    piece = f"piece {sheet.laid.label}, " if sheet.laid.label else ""
    count = len(sheet.laid.places)
    head = f"Sheet {number} of {len(worked.sheets)}: {piece}{size.width_mm:g} x {size.height_mm:g} mm, {count} parts"
    by_number = {one.number: one for one in worked.filled.parts}
    order = [by_number[place.part] for place in sheet.laid.places]
    return [
        text(head, style.title),
        text(taken_words(taken), style.text),
        text("As it lies on the machine, back up. Tick each part as it is taken off.", style.text),
        Spacer(0, 4 * mm),
        SheetMap(worked, sheet, WIDTH, _HIGH),
        Spacer(0, 4 * mm),
        _ticked(order, style),
        PageBreak(),
    ]


def _ticked(parts: Sequence[OrderedPart], style: Style) -> Flowable:
    """Boxes to tick, numbers and names, in two columns."""
    wide = WIDTH / 2
    cells: list[list[Any]] = []
    half = -(-len(parts) // 2)
    for row in range(half):
        line: list[Any] = []
        for one in (parts[row], parts[row + half] if row + half < len(parts) else None):
            if one is None:
                line += ["", "", ""]
            else:
                line += [Box(), text(str(one.number), style.strong_number), Words(one.words, _NAME, wide - 60)]
        cells.append(line)
    return Table(
        cells, colWidths=[16, 32, wide - 48] * 2, style=[*tight_cells(1.5), ("VALIGN", (0, 0), (-1, -1), "MIDDLE")]
    )


def taken_words(taken: Taken) -> str:
    """What it takes on one line."""
    words = [f"Run time {range_text(taken.time)}"]
    if taken.fill_mm2:
        words.append(f"{taken.fill_mm2 / 100:.1f} cm² filled, {taken.left_over_pct:.1f} % of its coat stays")
    words.append(f"paint: {taken.paint_words}" if taken.paints else "nothing is painted")
    if taken.cost.total:
        words.append(f"cost {money(taken.cost.total, taken.cost.rates.currency)}")
    return ". ".join(word[0].upper() + word[1:] for word in words) + "."


def _taken(taken: Reckoned, style: Style) -> list[Flowable]:
    """Coverage, run time, paint and cost of each sheet and of all."""
    right, small = style.number, style.small_number
    head = [text("Sheet", style.small), *(text(one, small) for one in ("Parts", "Run time", "Filled", "Coat stays"))]
    rows: list[list[Any]] = [[*head, text("Paint", style.small), text("Cost", small)]]
    for at, one in enumerate((*taken.sheets, taken.whole), start=1):
        strong = one is taken.whole
        rows.append(
            [
                text("All" if strong else str(at), style.strong if strong else style.text),
                text(str(one.parts), right),
                text(range_text(one.time), right),
                text(f"{one.fill_mm2 / 100:.1f} cm²", right),
                text(f"{one.left_over_pct:.1f} %", right),
                text(one.paint_words or "none", style.text),
                text(money(one.cost.total, one.cost.rates.currency) if one.cost.total else "not set", right),
            ]
        )
    wide = [34.0, 34.0, 84.0, 66.0, 52.0, WIDTH - 340, 70.0]
    table = Table(rows, colWidths=wide, repeatRows=1, style=lined_cells())
    missing = unpriced_words(taken.whole.cost)
    said = [text(f"{missing}.", style.small)] if missing and taken.whole.cost.total else []
    return [text("What it takes", style.title), table, *said, Spacer(0, 8 * mm)]


def _packing(worked: WorkedOrder, style: Style) -> list[Flowable]:
    where = _sheet_numbers(worked)
    head = [text(word, style.small) for word in ("", "No.", "Row", "Sheet", "What it says")]
    rows: list[list[Any]] = [head]
    for one in worked.filled.parts:
        sheet = where.get(one.number)
        rows.append(
            [
                Box(),
                text(str(one.number), style.strong),
                text(str(one.row or ""), style.text),
                text(str(sheet) if sheet else "none: no room", style.text),
                Words(one.words, _NAME, WIDTH - 170),
            ]
        )
    table = Table(rows, colWidths=[20, 40, 40, 60, WIDTH - 160], repeatRows=1, style=lined_cells())
    count = len(worked.filled.parts)
    return [text(f"Packing, in the order of the list: {count} {'part' if count == 1 else 'parts'}", style.title), table]


def _sheet_numbers(worked: WorkedOrder) -> dict[int, int]:
    return {place.part: number for number, sheet in enumerate(worked.sheets, start=1) for place in sheet.laid.places}


def _design_name(worked: WorkedOrder) -> str:
    source = worked.order.design.source
    return source.name if source else "Order"
