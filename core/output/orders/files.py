"""All files of an order, made before any is written: beds, run sheets, map, labels, the order itself, figures."""

import json
from collections.abc import Mapping, Sequence

from core.finishing.timetable import timetable
from core.job.painting.planning import paint_plan
from core.order.order_file import order_file_bytes
from core.order.working_out import WorkedOrder, WorkedSheet
from core.output.export import exported, problems
from core.output.mask_files import MaskFile
from core.output.orders.map_pages import label_pages, map_pages
from core.output.orders.order_data import order_data
from core.output.orders.reckoning import Reckoned
from core.output.run_sheet.beside import Beside, HandedFile
from core.output.run_sheet.writing import run_sheet
from core.progress import Progress, silent
from core.sheet.offcuts import Piece


def what_stops(worked: WorkedOrder) -> list[str]:
    """Why nothing may be handed over, in words; empty where nothing is in the way."""
    found = [one.message for one in worked.findings if one.severity == "problem"]
    return found + [f"{sheet.name}: {one.message}" for sheet in worked.sheets for one in problems(sheet.plan)]


def figures_text(worked: WorkedOrder, taken: Reckoned, files: Sequence[MaskFile]) -> str:
    """``pieces.json``."""
    names = {sheet.name: [one.name for one in files if _is_of(one, sheet)] for sheet in worked.sheets}
    data = order_data(worked, taken, files=names)
    return json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False)


def order_files(
    worked: WorkedOrder, taken: Reckoned, pieces: Mapping[str, Piece], *, progress: Progress = silent
) -> list[MaskFile]:
    """All files. Raises JobError where a sheet can't be exported, Cancelled."""
    files: list[MaskFile] = []
    for at, sheet in enumerate(worked.sheets, start=1):
        progress((at - 1) / len(worked.sheets), f"writing {sheet.name}")
        files += _sheet_files(sheet, pieces)
    files.append(MaskFile(name="map.pdf", data=map_pages(worked, taken)))
    files.append(MaskFile(name="labels.pdf", data=label_pages(worked)))
    files.append(MaskFile(name="order.tain", data=order_file_bytes(worked.order)))
    files.append(MaskFile(name="pieces.json", data=figures_text(worked, taken, files).encode()))
    return files


def _sheet_files(sheet: WorkedSheet, pieces: Mapping[str, Piece]) -> list[MaskFile]:
    made = {suffix: exported(sheet.plan, suffix) for suffix in (".svg", ".dxf")}
    handed = tuple(
        HandedFile(
            name=f"{sheet.name}{suffix}", what="for the machine", proof=one.read_back.words if one.read_back else ""
        )
        for suffix, one in made.items()
    )
    painting = paint_plan(sheet.plan)
    beside = Beside(label=sheet.laid.label, piece=pieces.get(sheet.laid.piece_id), files=handed)
    table = timetable(painting.steps, sheet.plan.job.finishing)
    page = run_sheet(sheet.plan, painting, table, read_back=made[".svg"].read_back, beside=beside)
    return [
        *(MaskFile(name=f"{sheet.name}{suffix}", data=one.data) for suffix, one in made.items()),
        MaskFile(name=f"{sheet.name}.tain", data=exported(sheet.plan, ".tain").data),
        MaskFile(name=f"{sheet.name}-run.pdf", data=page),
    ]


def _is_of(file: MaskFile, sheet: WorkedSheet) -> bool:
    return file.name.startswith((f"{sheet.name}.", f"{sheet.name}-"))
