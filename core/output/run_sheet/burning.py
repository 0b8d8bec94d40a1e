"""The run sheet's first part: what goes to the machine."""

from typing import Any

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.graphics.shapes import Drawing as Graphic
from reportlab.platypus import Flowable, KeepTogether, Paragraph, Spacer, Table

from core.figures import said
from core.finishing.inspection import checks_for
from core.job.cautions import LAST_WORD
from core.job.headlines import layer_headline
from core.job.job_code import job_code
from core.job.kept_size import keeps_size
from core.job.on_bed import stop_of
from core.job.place_told import box_on_bed
from core.job.plan import LayerPlan, Plan
from core.job.timing import range_text
from core.output.proof import ReadBack
from core.output.run_sheet.beside import Beside
from core.output.run_sheet.face_picture import FacePicture
from core.output.run_sheet.looks import TOP, WIDTH, Box, Style, lined_cells, text, tight_cells
from core.output.settings_document import burned_layers
from core.sheet.faces import turned_corner


def burning_part(plan: Plan, style: Style, read_back: ReadBack | None, beside: Beside) -> list[Flowable]:
    """All of the first part, from top to bottom."""
    return [
        _header(plan, style, beside),
        Spacer(0, 4),
        _faces(plan, style),
        text("Layers, in burn order", style.head),
        _layers(plan, style),
        *_verdicts(plan, style),
        *_first_edge(plan, style),
        *([text(f"The machine's file, {read_back.words}.", style.text)] if read_back and not beside.files else []),
        *_files(beside, style),
        _cautions(plan, style),
        text(LAST_WORD, style.small),
        *_inspection(plan, style),
    ]


def _files(beside: Beside, style: Style) -> list[Flowable]:
    """The files that go with the sheet, and how each was read back."""
    if not beside.files:
        return []
    words = "; ".join(f"{file.name}, {file.what}, {file.proof}" for file in beside.files)
    return [text(f"Files that go with this sheet: {words}.", style.small)]


_OPPOSITE = {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}


def _first_edge(plan: Plan, style: Style) -> list[Flowable]:
    """Which edge of a fill to begin at, so that soot is drawn over coat that is still to come (common practice)."""
    side = plan.job.machine.draws_to
    if side not in _OPPOSITE or not any(layer.layer.purpose == "fill" and layer.shape_ids for layer in plan.layers):
        return []
    words = (
        f"Begin fills at their {_OPPOSITE[side]} edge on the bed and work towards the {side}, where the extraction "
        "draws to: soot then settles on what is still to be cleared."
    )
    return [text(words, style.text)]


def _header(plan: Plan, style: Style, beside: Beside) -> Flowable:
    job, sheet = plan.job, plan.job.sheet
    code = job_code(job)
    left = [
        text(job.source.name if job.source else "Job", style.title),
        text(
            f"{job.stock.name}, {sheet.width_mm:g} x {sheet.height_mm:g} x {sheet.thickness_mm:g} mm, "
            f"on {job.machine.name}",
            style.text,
        ),
        text(f"COATED BACK UP, shiny front down, turned {job.turn}.", style.side),
        *[text(words, style.text) for words in _lies(plan, beside)],
        *([text(plan.datum.words, style.text)] if plan.datum is not None and plan.datum.places else []),
    ]
    right = [_qr(f"tain:{code}"), Paragraph(f"<font size=11>{code}</font>", style.strong_number)]
    return Table([[left, right]], colWidths=[WIDTH - 80, 80], style=[*TOP, *tight_cells()])


def _lies(plan: Plan, beside: Beside) -> list[str]:
    """Which piece it is, how it lies at the stop, where on it is burned."""
    job, stop, box = plan.job, stop_of(plan.job), box_on_bed(plan)
    front = turned_corner(job.stop_corner, job.turn)
    corner = f"Black corner: the {front} corner of the front lies {job.stop_corner} on the bed, at the machine's stop."
    if not stop.corner_there:
        corner = f"The stop is {job.stop_corner} on the bed; the sheet's corner there is cut away."
    plain = stop.by_edges and stop.corner_there
    lies = corner if plain else f"{corner} {stop.words}"
    if box is not None:
        x0, y0, x1, y1 = box
        down, across = job.stop_corner.split()
        beside_mm = x0 if across == "left" else job.sheet.width_mm - x1
        along_mm = y0 if down == "top" else job.sheet.height_mm - y1
        lies += f" Burning begins {beside_mm:.1f} mm from the {across}, {along_mm:.1f} mm from the {down} of the stop."
    return [line for line in (beside.piece_words, lies) if line]


def _qr(text: str) -> Graphic:
    size = 62.0
    widget = QrCodeWidget(text, barLevel="M", barBorder=1)
    x0, y0, x1, y1 = widget.getBounds()
    graphic = Graphic(size, size, transform=[size / (x1 - x0), 0, 0, size / (y1 - y0), 0, 0])
    graphic.add(widget)
    graphic.hAlign = "RIGHT"
    return graphic


def _faces(plan: Plan, style: Style) -> Flowable:
    width, height = WIDTH / 2 - 8, 113.0
    pictures = [FacePicture(plan, bed=bed, width=width, height=height) for bed in (False, True)]
    captions = [text("Front, as seen", style.strong), text("Bed, back up: as it lies on the machine", style.strong)]
    room_for_the_stop = ("BOTTOMPADDING", (0, 0), (-1, 0), 6)  # it is drawn just above the sheet
    return Table([captions, pictures], colWidths=[WIDTH / 2] * 2, style=[*tight_cells(), room_for_the_stop])


def _layers(plan: Plan, style: Style) -> Flowable:
    head = ["", "Layer", "mm/s", "Power", "Lines", "Passes", "Air", "Focus", "Time"]
    aligned = [style.small_number if word in ("mm/s", "Power", "Passes", "Time") else style.small for word in head]
    rows: list[list[Any]] = [[text(word, look) for word, look in zip(head, aligned, strict=True)]]
    for number, layer in enumerate(burned_layers(plan), start=1):
        rows.append(_layer_row(number, layer, style))
    total = range_text(plan.time_range) if plan.complete else "being worked out"
    rows.append(["", text("Together", style.strong), *[""] * 6, text(total, style.strong_number)])
    widths = [16, 138, 46, 44, 96, 42, 34, 42, 0]
    widths[-1] = WIDTH - sum(widths)
    return Table(rows, colWidths=widths, repeatRows=1, style=lined_cells())


_IN_COLUMNS = ("speed_mm_s", "power_pct", "passes", "pitch_mm", "scan_angle_deg", "air", "focus_mm")
"""Figures with a place of their own in a layer's row; others are told under Lines where they are set."""


def _layer_row(number: int, planned: LayerPlan, style: Style) -> list[Any]:
    layer, recipe = planned.layer, planned.layer.recipe
    extent = f"{planned.area_mm2:.0f} mm²" if layer.purpose == "fill" else f"{planned.length_mm:.0f} mm"
    lines = [f"{recipe.lines_per_inch:.4g} LPI, {recipe.pitch_mm:.3f} mm, {recipe.scan_angle_deg:g}°"]
    lines = lines if layer.purpose == "fill" else ["moved for the kerf, size kept"] if keeps_size(layer) else []
    lines += said(recipe, layer.purpose, but=_IN_COLUMNS)
    return [
        text(str(number), style.strong),
        [text(layer.name, style.strong), text(f"{layer.purpose}, {extent}", style.small)],
        text(f"{recipe.speed_mm_s:g}", style.strong_number),
        text(f"{recipe.power_pct:g} %", style.strong_number),
        text(", ".join(lines), style.small),
        text(str(recipe.passes), style.number),
        text(recipe.air, style.text),
        text(f"{recipe.focus_mm:+g}" if recipe.focus_mm else "on coat", style.small),
        text(range_text(planned.time_range), style.number),
    ]


def _verdicts(plan: Plan, style: Style) -> list[Flowable]:
    """What the coverage says of each fill."""
    result: list[Flowable] = []
    for planned in plan.layers:
        if planned.verdict is None:
            continue
        line = f"{planned.layer.name}: {layer_headline(plan.job, planned).words}. {planned.verdict.words}"
        if planned.coverage is not None and planned.area_mm2:
            share_pct = 100 * planned.coverage.left_over_mm2 / planned.area_mm2
            spill = f"{planned.coverage.spill_mm2:.1f} mm²"
            told = f"spill {spill}" if planned.screen is None else f"if hits add up to {spill} more bare"
            line += f" Left over {share_pct:.2f} %, {told},"
            line += f" lost features {planned.coverage.lost_features}."
        result.append(text(line, style.text))
    return result


def _cautions(plan: Plan, style: Style) -> Flowable:
    """In two groups; the boxes of what is seen at the machine are empty, whatever was ticked elsewhere."""
    rows: list[list[Flowable | str]] = []
    for at_machine, head in ((False, "Before the files went out"), (True, "At the machine: tick here, by hand")):
        own = [one for one in plan.cautions if one.at_machine == at_machine]
        rows += [["", text(head, style.strong)]] if own else []
        for caution in own:
            ticked = caution.code in plan.job.cautions_ticked and not at_machine
            rows.append([Box(ticked=ticked), text(caution.message, style.small)])
    return Table(rows, colWidths=[18, WIDTH - 18], style=[*TOP, *tight_cells(1.2)])


def _inspection(plan: Plan, style: Style) -> list[Flowable]:
    cells: list[Any] = []
    for check in checks_for(plan.job.stock):
        cells += [Box(), text(f"{check.flaw[0].upper()}{check.flaw[1:]}: {check.from_front}.", style.small)]
    cells += [""] * (-len(cells) % 4)
    rows = [cells[start : start + 4] for start in range(0, len(cells), 4)]
    table = Table(rows, colWidths=[16, WIDTH / 2 - 16] * 2, style=[*TOP, *tight_cells(1)])
    head = "On the sheet, none of these where it will show from the front"
    return [KeepTogether([text(head, style.head), table])]
