"""All files of an order, made before any is written: beds, run sheets, map, labels, the order itself, figures."""

import json
import re
from collections.abc import Mapping, Sequence
from pathlib import Path

from core.errors import UnreadableError, WriteError
from core.finishing.timetable import timetable
from core.foreign_json import read_json
from core.job.painting.planning import paint_plan
from core.order.order_file import order_file_bytes
from core.order.working_out import WorkedOrder, WorkedSheet
from core.output.export import exported, problems
from core.output.mask_files import MaskFile, write_files
from core.output.orders.map_pages import label_pages, map_pages
from core.output.orders.order_data import order_data
from core.output.orders.reckoning import Reckoned
from core.output.run_sheet.beside import Beside, HandedFile
from core.output.run_sheet.writing import run_sheet
from core.plain_file import plain_file_bytes
from core.progress import Progress, silent
from core.sheet.offcuts import Piece

FIGURES = "pieces.json"
_OF_SHEET = re.compile(r"sheet-\d+(-run\.pdf|\.svg|\.dxf|\.tain)")
_MOST_FIGURES_BYTES = 50_000_000


def write_order(files: Sequence[MaskFile], folder: Path, *, overwrite: bool) -> tuple[str, ...]:
    """All files into the folder. Gives the names of those that were taken away: sheets that an order written there
    before had beyond these, which somebody would burn as well. Raises WriteError."""
    named = _named_before(folder) - {file.name for file in files} if overwrite else set()
    write_files(files, folder, overwrite=overwrite)
    gone = sorted(name for name in named if (folder / name).is_file() and not (folder / name).is_symlink())
    for name in gone:
        try:
            (folder / name).unlink()
        except OSError as error:
            raise WriteError(
                f"{folder / name} is of the order that was here before, and can't be taken away: {error.strerror}.",
                hint="Take it away yourself, so that nobody burns it.",
            ) from None
    return tuple(gone)


def gone_words(gone: Sequence[str]) -> str:
    """What was taken away, in a sentence; empty for nothing."""
    return f"Taken away, of the order that was there before: {', '.join(gone)}." if gone else ""


def _named_before(folder: Path) -> set[str]:
    """Files of sheets that the figures of an order in this folder name."""
    try:
        data = plain_file_bytes(folder / FIGURES, most_bytes=_MOST_FIGURES_BYTES)
        told = read_json(data, what=FIGURES, most_bytes=_MOST_FIGURES_BYTES)
    except UnreadableError:
        return set()
    sheets = told.get("sheets") if isinstance(told, dict) else None
    listed = (
        [sheet.get("files") for sheet in sheets or () if isinstance(sheet, dict)] if isinstance(sheets, list) else []
    )
    names = [name for files in listed if isinstance(files, list) for name in files if isinstance(name, str)]
    return {name for name in names if _OF_SHEET.fullmatch(name)}


def _listed(value: object) -> list[object]:
    return value if isinstance(value, list) else []


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
    files.append(MaskFile(name=FIGURES, data=figures_text(worked, taken, files).encode()))
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
