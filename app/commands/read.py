"""``tain read``: what artwork files hold."""

import argparse
import json
from pathlib import Path
from typing import Any

import shapely

from app.commands.pictures import add_picture_arguments, picture_from
from app.words.error_words import say_error
from core.artwork.account import FATE_WORDS, Account, account_data, account_of
from core.artwork.arrived import ReadOptions, SortOptions
from core.artwork.checkup.checkup import check_drawing
from core.artwork.composing import compose_layers
from core.artwork.drawing import Drawing, Shape
from core.artwork.painting import drawing_regions, painting_findings
from core.artwork.picture_decisions import PictureOptions
from core.artwork.reading import check_page_asked, read_artwork
from core.artwork.separating import separated
from core.artwork.sorting.deciding import Sorted, sort_shapes
from core.artwork.sources import load_source
from core.errors import TainError
from core.geometry.engine import united
from core.geometry.flattening import path_length_mm
from core.job.job import standard_layers
from core.job.report import finding_data
from core.sheet.stock import STARTING_STOCKS
from core.units import MM_PER_UNIT

SUMMARY = "What each artwork holds: size, shapes with their purpose and why, findings."
EXAMPLES = (
    "tain read sign.svg",
    "tain read *.svg --json",
    "tain read logo.png --width-mm 80 --trace 50%",
)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """The arguments of ``tain read``."""
    parser.add_argument("files", type=Path, nargs="+", metavar="FILE")
    parser.add_argument("--json", action="store_true", help="print one JSON document")
    parser.add_argument("--regions", action="store_true", help="with --json: add all that is painted as hex WKB")
    parser.add_argument("--units", choices=tuple(MM_PER_UNIT), help="what one unit is, where a file does not say")
    parser.add_argument("--page", type=int, metavar="N", help="page of a PDF")
    add_picture_arguments(parser)


def run(arguments: argparse.Namespace) -> int:
    """Read every file; one that can't be read gives its error and exit code 2, the others still come."""
    options = ReadOptions(
        units=arguments.units,
        page=1 if arguments.page is None else arguments.page,
        picture=picture_from(arguments, PictureOptions()),
    )
    files, code = [], 0
    for path in arguments.files:
        try:
            source = load_source(path)
            if arguments.page is not None:
                check_page_asked(source, arguments.page)
            drawing = read_artwork(source, options)
            files.append(file_data(path, drawing, regions=arguments.regions))
        except TainError as error:
            say_error(error)
            files.append(_failed(path, error))
            code = error.exit_code
    if arguments.json:
        print(json.dumps({"files": files}, ensure_ascii=False, allow_nan=False))
    else:
        print("\n".join(line for data in files if data["error"] is None for line in _lines(data)))
    return code


def file_data(path: Path, drawing: Drawing, *, regions: bool) -> dict[str, Any]:
    """One file's entry."""
    options = SortOptions()
    drawing = separated(drawing, line_width_mm=options.line_width_mm)
    sorted_shapes = sort_shapes(drawing, options)
    painted = drawing_regions(drawing)
    checked = check_drawing(drawing, cleared_width_mm=0.0, kerf_mm=STARTING_STOCKS[0].kerf_mm)
    findings = (*drawing.findings, *painting_findings(drawing), *checked)
    data: dict[str, Any] = {
        "file": str(path),
        "width_mm": drawing.width_mm,
        "height_mm": drawing.height_mm,
        "units_from": drawing.units_from,
        "shapes": [
            _shape_data(shape, float(region.area)) | {"purpose": item.purpose, "why": item.why}
            for shape, item, region in zip(drawing.shapes, sorted_shapes, painted, strict=True)
        ],
        "account": account_data(_account(drawing, sorted_shapes, options)),
        "findings": [finding_data(finding) for finding in findings],
        "error": None,
    }
    if regions:
        data["fill_wkb"] = shapely.to_wkb(united(painted), hex=True, include_srid=False)
    return data


def _account(drawing: Drawing, sorted_shapes: tuple[Sorted, ...], options: SortOptions) -> Account:
    """The account as it is while nobody has decided anything."""
    fates = {item.shape_id: (item.purpose, item.why) for item in sorted_shapes}
    layers = standard_layers(STARTING_STOCKS[0])
    artworks, _ = compose_layers(drawing, {key: fate for key, (fate, _) in fates.items()}, layers, options)
    return account_of(drawing, fates, [(layer.purpose, artworks[layer.id]) for layer in layers], options)


def _shape_data(shape: Shape, area_mm2: float) -> dict[str, Any]:
    return {
        "id": shape.id,
        "kind": shape.kind,
        "source_layer": shape.source_layer,
        "filled": shape.fill is not None or shape.area is not None,
        "closed": bool(shape.path.closed.all()) and len(shape.path) > 0,
        "area_mm2": area_mm2,
        "length_mm": path_length_mm(shape.path),
    }


def _failed(path: Path, error: TainError) -> dict[str, Any]:
    return {
        "file": str(path),
        "width_mm": None,
        "height_mm": None,
        "units_from": None,
        "shapes": [],
        "account": None,
        "findings": [],
        "error": str(error),
    }


def _lines(data: dict[str, Any]) -> list[str]:
    lines = [f"{data['file']}: {data['width_mm']:.2f} x {data['height_mm']:.2f} mm (from {data['units_from']})"]
    by_reason: dict[tuple[str, str], int] = {}
    for shape in data["shapes"]:
        key = (shape["purpose"], shape["why"])
        by_reason[key] = by_reason.get(key, 0) + 1
    lines += [f"  {count:>5} x {purpose}: {why}" for (purpose, why), count in by_reason.items()]
    lines.append(f"  {data['account']['sentence']}")
    told = ("left_out", "dropped", "unreadable")
    for entry in data["account"]["entries"]:
        if entry["fate"] in told:
            place = "" if entry["x_mm"] is None else f" (at {entry['x_mm']:.1f}, {entry['y_mm']:.1f} mm)"
            lines.append(f"    {entry['count']:,} {FATE_WORDS[entry['fate']]}{place}: {entry['why']}")
    lines += [f"  {finding['severity']}: {finding['message']}" for finding in data["findings"]]
    return lines
