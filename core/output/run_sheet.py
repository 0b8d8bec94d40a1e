"""The run sheet: one PDF, A4, that goes to the machine and to the paint bench. Reads in black and white.

First what is burned: both faces with the corner mark, stock and side, layers with settings and times, coverage,
cautions. Then what is painted: the finished front, masks in order, timetable, paint and film needed.
"""

import io
import math
from functools import partial
from typing import Any
from xml.sax.saxutils import escape

import shapely
from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing as Graphic
from reportlab.lib import colors
from reportlab.lib.enums import TA_RIGHT
from reportlab.lib.pagesizes import A4
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    Flowable,
    Frame,
    KeepTogether,
    PageBreak,
    PageTemplate,
    Paragraph,
    Spacer,
    Table,
)

from core.figures import said
from core.finishing.bonding import bond_advice
from core.finishing.calendar_file import piece_words
from core.finishing.explaining import counted
from core.finishing.inspection import checks_for
from core.finishing.steps import PaintPlan, PaintStep
from core.finishing.timetable import Timetable, sessions, time_text
from core.job.cautions import LAST_WORD
from core.job.headlines import layer_headline
from core.job.job_code import job_code
from core.job.kept_size import keeps_size
from core.job.plan import LayerPlan, Plan
from core.job.timing import range_text
from core.output.proof import ReadBack
from core.output.run_sheet_drawings import (
    MOST_BARS,
    FacePicture,
    FinishedPicture,
    MaskPicture,
    TimetableBars,
)
from core.output.run_sheet_fonts import Fonts, fonts_for
from core.output.settings_document import burned_layers
from core.sheet.faces import turned_corner

_MARGIN = 14 * mm
_WIDTH = A4[0] - 2 * _MARGIN
_MOST_SESSIONS = 40
_TOP = [("VALIGN", (0, 0), (-1, -1), "TOP")]
_MOST_TIGHT = 6


def run_sheet(plan: Plan, painting: PaintPlan, table: Timetable, *, read_back: ReadBack | None = None) -> bytes:
    """The PDF's bytes; the same inputs give the same bytes. read_back: how the file for the machine was proven."""
    words = "".join(_all_words(plan, painting))
    fonts = fonts_for(words)
    style = _Style(fonts)
    story = [*_burning(plan, style, read_back)]
    if painting.steps:
        story += [PageBreak(), *_finishing(plan, painting, table, style)]
    buffer = io.BytesIO()
    name = plan.job.source.name if plan.job.source else "Job"
    document = BaseDocTemplate(buffer, pagesize=A4, title=f"Run sheet: {name}", author="Tain", invariant=1)
    no_padding = {f"{side}Padding": 0 for side in ("left", "right", "top", "bottom")}
    frame = Frame(_MARGIN, 14 * mm, _WIDTH, A4[1] - 25 * mm, **no_padding)
    document.addPageTemplates(PageTemplate(frames=[frame]))
    document.build(
        story, canvasmaker=partial(_NumberedCanvas, foot=f"{name}   {job_code(plan.job)}", font=fonts.regular)
    )
    return buffer.getvalue()


class _NumberedCanvas(Canvas):  # type: ignore[misc]  # the library has no types
    """Writes the foot of each page once it is known how many there are."""

    def __init__(self, *arguments: Any, foot: str, font: str, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self._foot, self._foot_font = foot, font
        self._pages: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802  # the library's name
        """Keep the page until the last one is made."""
        self._pages.append(dict(self.__dict__))
        self._startPage()

    def save(self) -> None:
        """Write all pages with their feet."""
        for number, page in enumerate(self._pages, start=1):
            self.__dict__.update(page)
            self.setFont(self._foot_font, 9)
            self.drawString(_MARGIN, 8 * mm, self._foot)
            if number == 1:
                self.drawCentredString(A4[0] / 2, 8 * mm, "burned on ________________ by ________________")
            self.drawRightString(A4[0] - _MARGIN, 8 * mm, f"page {number} of {len(self._pages)}")
            super().showPage()
        super().save()


class _Style:
    """Paragraph styles of the sheet, large enough to read at arm's length."""

    def __init__(self, fonts: Fonts) -> None:
        self.fonts = fonts
        self.text = ParagraphStyle("text", fontName=fonts.regular, fontSize=10, leading=12.5)
        self.small = ParagraphStyle("small", parent=self.text, fontSize=9, leading=11)
        self.number = ParagraphStyle("number", parent=self.text, alignment=TA_RIGHT)
        self.small_number = ParagraphStyle("small-number", parent=self.small, alignment=TA_RIGHT)
        self.strong = ParagraphStyle("strong", parent=self.text, fontName=fonts.bold)
        self.strong_number = ParagraphStyle("strong-number", parent=self.strong, alignment=TA_RIGHT)
        self.title = ParagraphStyle("title", parent=self.strong, fontSize=20, leading=24)
        self.side = ParagraphStyle("side", parent=self.strong, fontSize=13, leading=16)
        self.head = ParagraphStyle("head", parent=self.strong, fontSize=12.5, leading=15, spaceBefore=7, spaceAfter=2)


def _all_words(plan: Plan, painting: PaintPlan) -> list[str]:
    """Every text that the maker may have written."""
    job = plan.job
    words = [job.stock.name, job.machine.name, job.stock.coat, job.source.name if job.source else ""]
    words += [layer.name for layer in job.layers]
    for step in painting.steps:
        words += [step.area.paint.name, step.area.paint.conditions, step.area.paint.note]
    return words


def _text(words: str, style: ParagraphStyle) -> Paragraph:
    return Paragraph(escape(words), style)


# --- the first part: burning -----------------------------------------------------------------------------------------


def _burning(plan: Plan, style: _Style, read_back: ReadBack | None) -> list[Flowable]:
    return [
        _header(plan, style),
        Spacer(0, 4),
        _faces(plan, style),
        _text("Layers, in burn order", style.head),
        _layers(plan, style),
        *_verdicts(plan, style),
        *_first_edge(plan, style),
        *([_text(f"The machine's file, {read_back.words}.", style.text)] if read_back else []),
        _text("Before the sheet is burned", style.head),
        _cautions(plan, style),
        _text(LAST_WORD, style.small),
        *_inspection(plan, style),
    ]


_OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}


def _first_edge(plan: Plan, style: _Style) -> list[Flowable]:
    """Which edge of a fill to begin at, so that soot is drawn over coat that is still to come (common practice)."""
    side = plan.job.machine.draws_to
    if side not in _OPPOSITE or not any(layer.layer.purpose == "fill" and layer.shape_ids for layer in plan.layers):
        return []
    words = (
        f"Begin fills at their {_OPPOSITE[side]} edge on the bed and work towards the {side}, where the extraction "
        "draws to: soot then settles on what is still to be cleared."
    )
    return [_text(words, style.text)]


def _header(plan: Plan, style: _Style) -> Flowable:
    job, sheet = plan.job, plan.job.sheet
    code = job_code(job)
    front = turned_corner(job.stop_corner, job.turn)
    left = [
        _text(job.source.name if job.source else "Job", style.title),
        _text(
            f"{job.stock.name}, {sheet.width_mm:g} x {sheet.height_mm:g} x {sheet.thickness_mm:g} mm, "
            f"on {job.machine.name}",
            style.text,
        ),
        _text(f"COATED BACK UP, shiny front down, turned {job.turn}.", style.side),
        _text(
            f"Black corner: the {front} corner of the front lies {job.stop_corner} on the bed, at the machine's stop.",
            style.text,
        ),
    ]
    right = [_qr(f"tain:{code}"), Paragraph(f"<font size=11>{code}</font>", style.strong_number)]
    return Table([[left, right]], colWidths=[_WIDTH - 80, 80], style=[*_TOP, *_tight_cells()])


def _qr(text: str) -> Graphic:
    size = 62.0
    widget = QrCodeWidget(text, barLevel="M", barBorder=1)
    x0, y0, x1, y1 = widget.getBounds()
    graphic = Graphic(size, size, transform=[size / (x1 - x0), 0, 0, size / (y1 - y0), 0, 0])
    graphic.add(widget)
    graphic.hAlign = "RIGHT"
    return graphic


def _faces(plan: Plan, style: _Style) -> Flowable:
    width, height = _WIDTH / 2 - 8, 150.0
    pictures = [FacePicture(plan, bed=bed, width=width, height=height) for bed in (False, True)]
    captions = [_text("Front, as seen", style.strong), _text("Bed, back up: as it lies on the machine", style.strong)]
    return Table([captions, pictures], colWidths=[_WIDTH / 2] * 2, style=_tight_cells())


def _layers(plan: Plan, style: _Style) -> Flowable:
    head = ["", "Layer", "mm/s", "Power", "Lines", "Passes", "Air", "Focus", "Time"]
    aligned = [style.small_number if word in ("mm/s", "Power", "Passes", "Time") else style.small for word in head]
    rows: list[list[Any]] = [[_text(word, look) for word, look in zip(head, aligned, strict=True)]]
    for number, layer in enumerate(burned_layers(plan), start=1):
        rows.append(_layer_row(number, layer, style))
    total = range_text(plan.time_range) if plan.complete else "being worked out"
    rows.append(["", _text("Together", style.strong), *[""] * 6, _text(total, style.strong_number)])
    widths = [16, 138, 46, 44, 96, 42, 34, 42, 0]
    widths[-1] = _WIDTH - sum(widths)
    return Table(rows, colWidths=widths, repeatRows=1, style=_lined_cells())


_IN_COLUMNS = ("speed_mm_s", "power_pct", "passes", "pitch_mm", "scan_angle_deg", "air", "focus_mm")
"""Figures with a place of their own in a layer's row; others are told under Lines where they are set."""


def _layer_row(number: int, planned: LayerPlan, style: _Style) -> list[Any]:
    layer, recipe = planned.layer, planned.layer.recipe
    extent = f"{planned.area_mm2:.0f} mm²" if layer.purpose == "fill" else f"{planned.length_mm:.0f} mm"
    lines = [f"{recipe.lines_per_inch:.4g} LPI, {recipe.pitch_mm:.3f} mm, {recipe.scan_angle_deg:g}°"]
    lines = lines if layer.purpose == "fill" else ["moved for the kerf, size kept"] if keeps_size(layer) else []
    lines += said(recipe, layer.purpose, but=_IN_COLUMNS)
    return [
        _text(str(number), style.strong),
        [_text(layer.name, style.strong), _text(f"{layer.purpose}, {extent}", style.small)],
        _text(f"{recipe.speed_mm_s:g}", style.strong_number),
        _text(f"{recipe.power_pct:g} %", style.strong_number),
        _text(", ".join(lines), style.small),
        _text(str(recipe.passes), style.number),
        _text(recipe.air, style.text),
        _text(f"{recipe.focus_mm:+g}" if recipe.focus_mm else "on coat", style.small),
        _text(range_text(planned.time_range), style.number),
    ]


def _verdicts(plan: Plan, style: _Style) -> list[Flowable]:
    """What the coverage says of each fill."""
    result: list[Flowable] = []
    for planned in plan.layers:
        if planned.verdict is None:
            continue
        line = f"{planned.layer.name}: {layer_headline(plan.job, planned).words}. {planned.verdict.words}"
        if planned.coverage is not None and planned.area_mm2:
            share_pct = 100 * planned.coverage.left_over_mm2 / planned.area_mm2
            line += f" Left over {share_pct:.2f} %, spill {planned.coverage.spill_mm2:.1f} mm²,"
            line += f" lost features {planned.coverage.lost_features}."
        result.append(_text(line, style.text))
    return result


def _cautions(plan: Plan, style: _Style) -> Flowable:
    rows = []
    for caution in plan.cautions:
        ticked = caution.code in plan.job.cautions_ticked
        rows.append([Box(ticked=ticked), _text(caution.message, style.small)])
    return Table(rows, colWidths=[18, _WIDTH - 18], style=[*_TOP, *_tight_cells(1.2)])


class Box(Flowable):  # type: ignore[misc]  # the library has no types
    """A box to tick with a pen, or ticked already."""

    def __init__(self, *, ticked: bool = False, size: float = 9.0) -> None:
        super().__init__()
        self._ticked = ticked
        self.width = self.height = size

    def wrap(self, *_: float) -> tuple[float, float]:
        """The size on the page, points."""
        return self.width, self.height

    def draw(self) -> None:
        """Draw on the page."""
        self.canv.setLineWidth(0.9)
        self.canv.setStrokeGray(0.0)
        self.canv.rect(0, 0, self.width, self.height)
        if self._ticked:
            self.canv.setLineWidth(1.6)
            self.canv.lines([(1.5, 4.5, 3.8, 1.8), (3.8, 1.8, 9.0, 9.5)])


# --- the second part: painting ---------------------------------------------------------------------------------------


def _finishing(plan: Plan, painting: PaintPlan, table: Timetable, style: _Style) -> list[Flowable]:
    return [
        _text("Paint, from the back, in this order", style.title),
        _order(plan, painting, style),
        _text("Masks, as seen from the back", style.head),
        _text(
            "White: open. Dark: what is painted in this step. Grey: covered because it waits. Lay film by the cross "
            "marks; the fourth corner has none.",
            style.small,
        ),
        Spacer(0, 3),
        *_masks(plan, painting, style),
        *_tight(painting, style),
        *_timetable(table, style),
        *_bonding(plan, style),
    ]


def _order(plan: Plan, painting: PaintPlan, style: _Style) -> Flowable:
    amounts = {amount.paint: amount for amount in reversed(painting.amounts)}
    rows: list[list[Any]] = [[_text(word, style.small) for word in ("", "Paint", "Coats", "Needs", "")]]
    for step in painting.steps:
        paint, amount = step.area.paint, amounts[step.area.paint.name]
        needs = f"{amount.volume_ml:.1f} ml" if paint.kind != "film" else f"{amount.area_mm2 / 100:.0f} cm²"
        rows.append(
            [
                _text(str(step.number), style.strong),
                [_text(paint.name, style.strong), _text(f"{paint.kind}, {step.area.region.area:.0f} mm²", style.small)],
                _text(f"{paint.coats}", style.strong_number),
                [_text(needs, style.text), _text(_can_words(amount.cans, paint.can_ml), style.small)],
                _text(_waits(step), style.small),
            ]
        )
    masked_mm2 = sum(painting.ground.film.area for step in painting.steps if step.made_by == "knife")
    patched_mm2 = sum(shapely.envelope(step.patches).area for step in painting.steps)
    film_cm2 = (masked_mm2 + patched_mm2) / 100 * plan.job.finishing.pieces
    left = 150.0
    texts = [
        Table(rows, colWidths=[16, 98, 32, 100, _WIDTH - left - 10 - 246], style=_lined_cells()),
        Spacer(0, 3),
        _text(f"Masking film: {film_cm2:.0f} cm². {' '.join(painting.reasons[:2])}", style.small),
    ]
    picture = FinishedPicture(painting, left, 190.0)
    return Table(
        [[texts, picture]],
        colWidths=[_WIDTH - left - 10, left + 10],
        style=[*_TOP, ("ALIGN", (1, 0), (1, 0), "RIGHT"), *_tight_cells()],
    )


def _can_words(cans: float, can_ml: float) -> str:
    if not cans:
        return ""
    return f"{math.ceil(100 * cans)} % of a {can_ml:g} ml can" if cans < 1 else f"{cans:.1f} cans of {can_ml:g} ml"


def _waits(step: PaintStep) -> str:
    paint = step.area.paint
    words = [f"{paint.between_coats_min:g} min between coats"] if paint.coats > 1 else []
    words += [f"{paint.mask_after_min:g} min before the next mask", f"{paint.cure_h:g} h before handling"]
    if paint.backing_coats:
        words.append(f"then {paint.backing_coats} coats of {paint.backing} through the same mask")
    return ", ".join(words)


def _masks(plan: Plan, painting: PaintPlan, style: _Style) -> list[Flowable]:
    """Pictures of all steps, three a row."""
    across = 4 if len(painting.steps) == 4 else 3
    width = _WIDTH / across
    cells: list[list[Flowable]] = []
    for step in painting.steps:
        cells.append(
            [
                _text(f"{step.number} {step.area.paint.name}", style.strong),
                MaskPicture(plan, painting, step, width - 10, 150.0),
                _text(_mask_words(step), style.small),
            ]
        )
    rows: list[Flowable] = []
    for start in range(0, len(cells), across):
        row: list[Any] = cells[start : start + across]
        row += [""] * (across - len(row))
        rows.append(Table([row], colWidths=[width] * across, style=[*_TOP, *_tight_cells(2)]))
    return rows


def _mask_words(step: PaintStep) -> str:
    if step.made_by == "none":
        return "No mask: nothing waits any more."
    if step.made_by == "laser":
        own = "The sheet's own film, burned through with the coat."
        return own if step.patches.is_empty else f"{own} Patches over {', '.join(step.kept_off)}."
    figures = step.figures
    pieces = [counted(figures.openings, "opening")]
    pieces += [counted(figures.islands, "loose piece")] if figures.islands else []
    words = f"{', '.join(pieces)}, {figures.cut_length_mm:.0f} mm to cut."
    return f"{words} Covers {', '.join(step.kept_off)}."


def _tight(painting: PaintPlan, style: _Style) -> list[Flowable]:
    """The closest tight place of each two colours."""
    closest: dict[tuple[str, str], tuple[int, Any]] = {}
    for step in painting.steps:
        for place in step.tight_places:
            count, first = closest.get((place.own, place.kept_off), (0, place))
            closest[place.own, place.kept_off] = (count + 1, first)
    if not closest:
        return []
    result: list[Flowable] = [_text("Tight places", style.head)]
    nearest_first = sorted(closest.items(), key=lambda item: item[1][1].distance_mm)
    for (own, kept_off), (count, place) in nearest_first[:_MOST_TIGHT]:
        places = "1 place" if count == 1 else f"{count} places, the closest"
        where = f"{own} beside {kept_off}: {places} {place.distance_mm:.2f} mm."
        result.append(_text(f"{where} {place.ways_out[0]}", style.small))
    return result


def _timetable(table: Timetable, style: _Style) -> list[Flowable]:
    if not table.tasks:
        return []
    several = len(table.done) > 1
    lines = [
        (session.start, f"{session.label} ({piece_words(session.pieces)})" if several else session.label)
        for session in sessions(table.tasks)
    ]
    more = len(lines) - _MOST_SESSIONS
    lines = [*lines[:_MOST_SESSIONS], (table.end, "cured, may be handled")]
    rows = [
        [Box(), _text(time_text(moment, dated=table.dated), style.small), _text(what, style.small)]
        for moment, what in lines
    ]
    half = (len(rows) + 1) // 2
    column = _WIDTH / 2
    columns = [
        Table(part, colWidths=[16, 88, column - 112], style=[("VALIGN", (0, 0), (-1, -1), "MIDDLE"), *_tight_cells(1)])
        for part in (rows[:half], rows[half:])
        if part
    ]
    columns += [""] * (2 - len(columns))
    notes = [*table.notes]
    if more > 0:
        notes.append(f"{more} more lines are in the calendar file.")
    if len(table.done) > MOST_BARS:
        notes.append(f"The bars show the first {MOST_BARS} pieces.")
    return [
        KeepTogether(
            [
                _text("Timetable", style.head),
                TimetableBars(table, _WIDTH, font=style.fonts.regular),
                Spacer(0, 4),
                Table([columns], colWidths=[column] * 2, style=[*_TOP, *_tight_cells()]),
                _text(" ".join(notes), style.small),
            ]
        )
    ]


def _inspection(plan: Plan, style: _Style) -> list[Flowable]:
    cells: list[Any] = []
    for check in checks_for(plan.job.stock):
        cells += [Box(), _text(f"{check.flaw[0].upper()}{check.flaw[1:]}: {check.from_front}.", style.small)]
    cells += [""] * (-len(cells) % 4)
    rows = [cells[start : start + 4] for start in range(0, len(cells), 4)]
    table = Table(rows, colWidths=[16, _WIDTH / 2 - 16] * 2, style=[*_TOP, *_tight_cells(1)])
    head = "On the sheet, none of these where it will show from the front"
    return [KeepTogether([_text(head, style.head), table])]


def _bonding(plan: Plan, style: _Style) -> list[Flowable]:
    finishing = plan.job.finishing
    if not (finishing.joint and finishing.adhesive):
        return []
    advice = bond_advice(finishing.joint, finishing.adhesive)
    words = f"{advice.adhesive} on {advice.joint}: {advice.verdict}. {advice.why} {advice.how} {advice.caution}"
    return [KeepTogether([_text("Bonding", style.head), _text(words, style.small)])]


# --- cells -----------------------------------------------------------------------------------------------------------


def _tight_cells(gap: float = 0.0) -> list[tuple[Any, ...]]:
    return [
        ("LEFTPADDING", (0, 0), (-1, -1), 0),
        ("RIGHTPADDING", (0, 0), (-1, -1), 4),
        ("TOPPADDING", (0, 0), (-1, -1), gap),
        ("BOTTOMPADDING", (0, 0), (-1, -1), gap),
    ]


def _lined_cells() -> list[tuple[Any, ...]]:
    return [
        *_tight_cells(2),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("LINEBELOW", (0, 0), (-1, 0), 0.9, colors.black),
        ("LINEBELOW", (0, 1), (-1, -1), 0.3, colors.grey),
    ]
