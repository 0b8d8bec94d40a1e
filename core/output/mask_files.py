"""Masks as files to cut film by: SVG or DXF, one a step, as seen from the back, where the film is laid.

The file's page is the film, its top left corner the origin. To be cut, in this order: "Pin holes" where the job is laid
by pins, "Cut" (openings, or patches where the sheet's own film is the mask) as they are weeded, "Film edge". To be
drawn, or cut where it does no harm: "Datum marks", "Words" (step, colour, side), "Numbers" (the weeding order, on what
comes off). To look at only: "Piece outline" and "Notes".
The same mask gives the same bytes.
"""

import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

import shapely
from lxml import etree

from core.atomic import check_writable, write_atomically
from core.errors import UnreadableError, WriteError
from core.finishing.steps import PaintPlan, PaintStep
from core.geometry.affine import Affine, apply_to_region
from core.geometry.few_segments import in_few_segments
from core.geometry.path import Path, ellipse
from core.geometry.svg_data import path_data, polygon_data, polygons
from core.job.plan import Plan
from core.output.dxf_writer import add_subpath, without_dates
from core.output.mask_film import FOLLOWED_MM, TEXT_MM, Film, film_of
from core.output.svg_writer import SVG

SUFFIXES = (".svg", ".dxf")
LAYERS = {
    "Cut": "#d55e00",
    "Film edge": "#0072b2",
    "Pin holes": "#cc79a7",
    "Datum marks": "#000000",
    "Words": "#009e73",
    "Numbers": "#56b4e9",
    "Piece outline": "#767676",
    "Notes": "#767676",
}
"""Layer names and colours; the colours only tell them apart on screen."""
_LINE_MM = 0.1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MaskFile:
    """One file: its name and bytes."""

    name: str
    data: bytes


def has_mask_file(step: PaintStep) -> bool:
    """Whether film has to be cut for this step."""
    return step.made_by == "knife" or not step.patches.is_empty


def mask_files(plan: Plan, painting: PaintPlan, suffix: str) -> tuple[MaskFile, ...]:
    """The files of all steps that need film cut. Raises UnreadableError for a suffix that can't be written."""
    if suffix not in SUFFIXES:
        raise UnreadableError(f"A mask can't be written as {suffix}.", hint=f"Take {' or '.join(SUFFIXES)}.")
    write = _svg if suffix == ".svg" else _dxf
    return tuple(
        MaskFile(name=_file_name(step, suffix), data=write(film_of(plan, painting, step)))
        for step in painting.steps
        if has_mask_file(step)
    )


def write_files(files: Sequence[MaskFile], folder: FilePath, *, overwrite: bool) -> tuple[FilePath, ...]:
    """All files into the folder, made where it is missing. Raises WriteError before any is written if one exists."""
    paths = tuple(folder / file.name for file in files)
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise WriteError(f"The folder {folder} can't be made: {reason}.") from None
    for path in paths:
        check_writable(path, overwrite=overwrite)
    for path, file in zip(paths, files, strict=True):
        write_atomically(path, file.data, overwrite=overwrite)
    return paths


def _svg(film: Film) -> bytes:
    root = etree.Element(f"{{{SVG}}}svg", nsmap={None: SVG})  # type: ignore[dict-item]  # lxml takes None
    root.set("version", "1.1")
    root.set("width", f"{film.width_mm:.6g}mm")
    root.set("height", f"{film.height_mm:.6g}mm")
    root.set("viewBox", f"0 0 {film.width_mm:.6g} {film.height_mm:.6g}")
    _child(root, "title").text = _xml(film.note)
    outline = _group(root, "Piece outline")
    outline.set("stroke-dasharray", "2 1")
    for polygon in polygons(film.outline):
        _child(outline, "path").set("d", polygon_data(polygon))
    for name, paths in _by_layer(film):
        group = _group(root, name)
        for path in paths:
            _child(group, "path").set("d", path_data(path))
    text = _child(_group(root, "Notes"), "text")
    text.set("x", f"{TEXT_MM:.6g}")
    text.set("y", f"{TEXT_MM * 1.2:.6g}")
    text.set("font-size", f"{TEXT_MM / 2:.6g}")
    text.set("font-family", "sans-serif")
    text.set("fill", LAYERS["Notes"])
    text.set("stroke", "none")
    text.text = _xml(film.note)
    data: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return data


def _by_layer(film: Film) -> Iterator[tuple[str, list[Path]]]:
    """What is drawn and cut, layer by layer in the order of the work; layers that are empty stay out."""
    holes = [ellipse((hole.x_mm, hole.y_mm), hole.diameter_mm / 2, hole.diameter_mm / 2) for hole in film.holes]
    edges = [in_few_segments(shapely.get_coordinates(part.exterior)[:-1], FOLLOWED_MM) for part in polygons(film.edge)]
    layers = (
        ("Datum marks", list(film.marks)),
        ("Words", film.words.subpaths()),
        ("Numbers", film.numbers.subpaths()),
        ("Pin holes", holes),
        ("Cut", list(film.cut)),
        ("Film edge", edges),
    )
    return ((name, paths) for name, paths in layers if paths)


def _dxf(film: Film) -> bytes:
    with without_dates():
        stream = io.StringIO()
        _dxf_drawing(film).write(stream)
    return stream.getvalue().encode("utf-8", "surrogateescape")


def _dxf_drawing(film: Film) -> Any:
    from ezdxf import filemanagement  # a fifth of a second, which the window's start need not wait for

    drawing = filemanagement.new("R2010", units=4)
    for name, colour in LAYERS.items():
        layer = drawing.layers.add(name)
        layer.rgb = (int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16))
    space = drawing.modelspace()
    space.dxf.extmin, space.dxf.extmax = (0, 0, 0), (film.width_mm, film.height_mm, 0)
    upright: Affine = (1.0, 0.0, 0.0, -1.0, 0.0, film.height_mm)
    for polygon in polygons(apply_to_region(upright, film.outline)):
        for ring in (polygon.exterior, *polygon.interiors):
            points = shapely.get_coordinates(ring)[:-1].tolist()
            space.add_lwpolyline(points, close=True, dxfattribs={"layer": "Piece outline"})
    for name, paths in _by_layer(film):
        for path in paths:
            for subpath in path.transformed(upright).subpaths():
                add_subpath(space, subpath, {"layer": name})
    note = re.sub(r"[\x00-\x1f]", " ", film.note)
    place = (TEXT_MM, film.height_mm - 1.2 * TEXT_MM)
    space.add_text(note, height=TEXT_MM / 2, dxfattribs={"layer": "Notes"}).set_placement(place)
    return drawing


def _group(root: etree._Element, name: str) -> etree._Element:
    group = _child(root, "g")
    group.set("id", name.lower().replace(" ", "-"))
    _child(group, "title").text = name
    group.set("fill", "none")
    group.set("stroke", LAYERS[name])
    group.set("stroke-width", f"{_LINE_MM:g}")
    return group


def _child(parent: etree._Element, name: str) -> etree._Element:
    return etree.SubElement(parent, f"{{{SVG}}}{name}")


def _xml(text: str) -> str:
    return re.sub("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", "\ufffd", text)


def _file_name(step: PaintStep, suffix: str) -> str:
    plain = re.sub(r"[^\w-]+", "-", step.area.paint.name).strip("-")[:40] or "colour"
    return f"mask-{step.number}-{plain}{suffix}"
