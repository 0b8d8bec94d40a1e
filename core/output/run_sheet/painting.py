"""The run sheet's second part: what goes to the paint bench."""

import math
from typing import Any

from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer, Table

from core.finishing.bonding import bond_advice
from core.finishing.calendar_file import piece_words
from core.finishing.explaining import counted
from core.finishing.films import CHLORINE
from core.finishing.steps import PaintPlan, PaintStep
from core.finishing.timetable import Timetable, sessions, time_text
from core.job.plan import Plan
from core.output.run_sheet.burn_steps import burn_steps
from core.output.run_sheet.looks import TOP, WIDTH, Box, Style, lined_cells, text, tight_cells
from core.output.run_sheet.mask_pictures import FinishedPicture, MaskPicture
from core.output.run_sheet.timetable_bars import MOST_BARS, TimetableBars

_MOST_SESSIONS = 40
_MOST_TIGHT = 6
_MASKS_NEED = 190.0
"""Their heading and the first row of pictures stand together, points."""


def painting_part(plan: Plan, painting: PaintPlan, table: Timetable, style: Style) -> list[Flowable]:
    """All of the second part, from top to bottom."""
    return [
        text("Paint, from the back, in this order", style.title),
        _order(plan, painting, style),
        *burn_steps(plan, painting, style),
        CondPageBreak(_MASKS_NEED),
        text("Masks, as seen from the back", style.head),
        text(
            "White: open. Dark: what is painted in this step. Grey: covered because it waits. "
            f"{plan.datum.film_words if plan.datum is not None else ''}",
            style.small,
        ),
        *([text(CHLORINE, style.small)] if plan.job.finishing.masks.cut_by == "laser" else []),
        Spacer(0, 3),
        *_masks(plan, painting, style),
        *_tight(painting, style),
        *_timetable(table, style),
        *_bonding(plan, style),
    ]


def _order(plan: Plan, painting: PaintPlan, style: Style) -> Flowable:
    amounts = {amount.paint: amount for amount in reversed(painting.amounts)}
    rows: list[list[Any]] = [[text(word, style.small) for word in ("", "Paint", "Coats", "Needs", "")]]
    for step in painting.steps:
        paint, amount = step.area.paint, amounts[step.area.paint.name]
        needs = f"{amount.volume_ml:.1f} ml" if paint.kind != "film" else f"{amount.area_mm2 / 100:.0f} cm²"
        rows.append(
            [
                text(str(step.number), style.strong),
                [text(paint.name, style.strong), text(f"{paint.kind}, {step.area.region.area:.0f} mm²", style.small)],
                text(f"{paint.coats}", style.strong_number),
                [text(needs, style.text), text(_can_words(amount.cans, paint.can_ml), style.small)],
                text(_waits(step), style.small),
            ]
        )
    film_cm2 = painting.film_mm2 / 100 * plan.job.finishing.pieces
    left = 150.0
    texts = [
        Table(rows, colWidths=[16, 98, 32, 100, WIDTH - left - 10 - 246], style=lined_cells()),
        Spacer(0, 3),
        text(f"Masking film: {film_cm2:.0f} cm². {' '.join(painting.reasons[:2])}", style.small),
    ]
    picture = FinishedPicture(plan, painting, left, 190.0)
    return Table(
        [[texts, picture]],
        colWidths=[WIDTH - left - 10, left + 10],
        style=[*TOP, ("ALIGN", (1, 0), (1, 0), "RIGHT"), *tight_cells()],
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


def _masks(plan: Plan, painting: PaintPlan, style: Style) -> list[Flowable]:
    """Pictures of all steps, three a row."""
    across = 4 if len(painting.steps) == 4 else 3
    width = WIDTH / across
    cells: list[list[Flowable]] = []
    for step in painting.steps:
        cells.append(
            [
                text(f"{step.number} {step.area.paint.name}", style.strong),
                MaskPicture(plan, painting, step, width - 10, 150.0),
                text(_mask_words(step), style.small),
            ]
        )
    rows: list[Flowable] = []
    for start in range(0, len(cells), across):
        row: list[Any] = cells[start : start + across]
        row += [""] * (across - len(row))
        rows.append(Table([row], colWidths=[width] * across, style=[*TOP, *tight_cells(2)]))
    return rows


def _mask_words(step: PaintStep) -> str:
    if step.made_by == "none":
        return "No mask: over the whole back." if step.floods else "No mask: nothing waits any more."
    if step.made_by == "laser":
        own = "The sheet's own film, burned through with the coat."
        return own if step.patches.is_empty else f"{own} Patches over {', '.join(step.kept_off)}."
    figures = step.figures
    pieces = [counted(figures.openings, "opening")]
    pieces += [counted(figures.islands, "loose piece")] if figures.islands else []
    words = f"{', '.join(pieces)}, {figures.cut_length_mm:.0f} mm to cut."
    return f"{words} Covers {', '.join(step.kept_off)}."


def _tight(painting: PaintPlan, style: Style) -> list[Flowable]:
    """The closest tight place of each two colours."""
    closest: dict[tuple[str, str], tuple[int, Any]] = {}
    for step in painting.steps:
        for place in step.tight_places:
            count, first = closest.get((place.own, place.kept_off), (0, place))
            closest[place.own, place.kept_off] = (count + 1, first)
    if not closest:
        return []
    result: list[Flowable] = [text("Tight places", style.head)]
    nearest_first = sorted(closest.items(), key=lambda item: item[1][1].distance_mm)
    for (own, kept_off), (count, place) in nearest_first[:_MOST_TIGHT]:
        places = "1 place" if count == 1 else f"{count} places, the closest"
        where = f"{own} beside {kept_off}: {places} {place.distance_mm:.2f} mm."
        result.append(text(f"{where} {place.ways_out[0]}", style.small))
    return result


def _timetable(table: Timetable, style: Style) -> list[Flowable]:
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
        [Box(), text(time_text(moment, dated=table.dated), style.small), text(what, style.small)]
        for moment, what in lines
    ]
    half = (len(rows) + 1) // 2
    column = WIDTH / 2
    columns = [
        Table(part, colWidths=[16, 88, column - 112], style=[("VALIGN", (0, 0), (-1, -1), "MIDDLE"), *tight_cells(1)])
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
                text("Timetable", style.head),
                TimetableBars(table, WIDTH, font=style.fonts.regular),
                Spacer(0, 4),
                Table([columns], colWidths=[column] * 2, style=[*TOP, *tight_cells()]),
                text(" ".join(notes), style.small),
            ]
        )
    ]


def _bonding(plan: Plan, style: Style) -> list[Flowable]:
    finishing = plan.job.finishing
    if not (finishing.joint and finishing.adhesive):
        return []
    advice = bond_advice(finishing.joint, finishing.adhesive)
    words = f"{advice.adhesive} on {advice.joint}: {advice.verdict}. {advice.why} {advice.how} {advice.caution}"
    return [KeepTogether([text("Bonding", style.head), text(words, style.small)])]
