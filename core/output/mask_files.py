"""Masks as files to cut film by: SVG or DXF, one a step, as seen from the back, where the film is laid.

The file's page is the film, its top left corner the origin. Layers: "Cut" (openings, or patches where the sheet's own
film is the mask), "Film edge", "Register marks", "Piece outline" and "Notes"; only the first two are to be cut.
The same mask gives the same bytes.
"""

import io
import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import Any

import numpy as np
import shapely
from ezdxf.filemanagement import new
from lxml import etree
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from core.atomic import check_writable, write_atomically
from core.errors import UnreadableError, WriteError
from core.finishing.masks import Ground
from core.finishing.steps import PaintPlan, PaintStep
from core.geometry.affine import Affine, apply, apply_to_region, compose, translation
from core.job.plan import Plan
from core.output.dxf_writer import without_dates
from core.output.svg_writer import SVG, polygon_data, polygons
from core.sheet.faces import turn_matrix

SUFFIXES = (".svg", ".dxf")
MARK_RADIUS_MM = 1.5
MARK_ARM_MM = 3.0
LAYERS = {
    "Cut": "#d55e00",
    "Film edge": "#0072b2",
    "Register marks": "#000000",
    "Piece outline": "#767676",
    "Notes": "#767676",
}
"""Layer names and colours; the colours only tell them apart on screen."""
_LINE_MM = 0.1
_TEXT_MM = 3.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MaskFile:
    """One file: its name and bytes."""

    name: str
    data: bytes


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Film:
    """What goes into one file, in the film's own frame: seen from the back, mm, y down."""

    width_mm: float
    height_mm: float
    cut: BaseGeometry
    outline: BaseGeometry
    marks: NDArray[np.float64]
    note: str


def has_mask_file(step: PaintStep) -> bool:
    """Whether film has to be cut for this step."""
    return step.made_by == "knife" or not step.patches.is_empty


def mask_files(plan: Plan, painting: PaintPlan, suffix: str) -> tuple[MaskFile, ...]:
    """The files of all steps that need film cut. Raises UnreadableError for a suffix that can't be written."""
    if suffix not in SUFFIXES:
        raise UnreadableError(f"A mask can't be written as {suffix}.", hint=f"Take {' or '.join(SUFFIXES)}.")
    write = _svg if suffix == ".svg" else _dxf
    return tuple(
        MaskFile(name=_file_name(step, suffix), data=write(_film(plan, painting, step)))
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


def register_marks_mm(ground: Ground, marks_mm: float, outline: BaseGeometry) -> NDArray[np.float64]:
    """Centres of the register marks, front frame (3, 2): three corners only, so that film can't be laid turned."""
    x0, y0, x1, y1 = outline.bounds
    film = ground.film.bounds
    away_mm = min(marks_mm, x0 - film[0], y0 - film[1])
    return np.array([[x0 - away_mm, y0 - away_mm], [x1 + away_mm, y0 - away_mm], [x0 - away_mm, y1 + away_mm]])


def film_frame(plan: Plan, ground: Ground) -> Affine:
    """Front frame to the film's own: turned to the back, its top left corner at the origin."""
    turn = turn_matrix(plan.job.turn, plan.job.sheet)
    x0, y0, _, _ = apply_to_region(turn, ground.film).bounds
    return compose(translation(-x0, -y0), turn)


def _film(plan: Plan, painting: PaintPlan, step: PaintStep) -> _Film:
    to_film = film_frame(plan, painting.ground)
    x0, y0, x1, y1 = painting.ground.film.bounds
    cut = step.opening if step.made_by == "knife" else step.patches
    assert cut is not None
    outline = painting.colouring.outline
    marks = register_marks_mm(painting.ground, plan.job.finishing.masks.marks_mm, outline)
    what = "openings" if step.made_by == "knife" else "patches over what waits"
    name = plan.job.source.name if plan.job.source else "job"
    return _Film(
        width_mm=x1 - x0,
        height_mm=y1 - y0,
        cut=apply_to_region(to_film, cut),
        outline=apply_to_region(to_film, outline),
        marks=apply(to_film, marks),
        note=f"{name}: mask {step.number}, {step.area.paint.name}, {what}; seen from the back, turned {plan.job.turn}",
    )


def _svg(film: _Film) -> bytes:
    root = etree.Element(f"{{{SVG}}}svg", nsmap={None: SVG})  # type: ignore[dict-item]  # lxml takes None
    root.set("version", "1.1")
    root.set("width", f"{film.width_mm:.6g}mm")
    root.set("height", f"{film.height_mm:.6g}mm")
    root.set("viewBox", f"0 0 {film.width_mm:.6g} {film.height_mm:.6g}")
    _child(root, "title").text = _xml(film.note)
    edge = _group(root, "Film edge")
    _child(edge, "path").set("d", polygon_data(shapely.box(0.0, 0.0, film.width_mm, film.height_mm)))
    outline = _group(root, "Piece outline")
    outline.set("stroke-dasharray", "2 1")
    for polygon in polygons(film.outline):
        _child(outline, "path").set("d", polygon_data(polygon))
    marks = _group(root, "Register marks")
    for x, y in film.marks.tolist():
        circle = _child(marks, "circle")
        for name, value in (("cx", x), ("cy", y), ("r", MARK_RADIUS_MM)):
            circle.set(name, f"{value:.6g}")
        arm = MARK_ARM_MM
        _child(marks, "path").set("d", f"M{x - arm:.6g} {y:.6g}H{x + arm:.6g}M{x:.6g} {y - arm:.6g}V{y + arm:.6g}")
    cut = _group(root, "Cut")
    for polygon in polygons(film.cut):
        _child(cut, "path").set("d", polygon_data(polygon))
    text = _child(_group(root, "Notes"), "text")
    text.set("x", f"{_TEXT_MM:.6g}")
    text.set("y", f"{film.height_mm - _TEXT_MM / 2:.6g}")
    text.set("font-size", f"{_TEXT_MM:.6g}")
    text.set("font-family", "sans-serif")
    text.set("fill", LAYERS["Notes"])
    text.set("stroke", "none")
    text.text = _xml(film.note)
    data: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return data


def _dxf(film: _Film) -> bytes:
    with without_dates():
        stream = io.StringIO()
        _dxf_drawing(film).write(stream)
    return stream.getvalue().encode("utf-8", "surrogateescape")


def _dxf_drawing(film: _Film) -> Any:
    drawing = new("R2010", units=4)
    for name, colour in LAYERS.items():
        layer = drawing.layers.add(name)
        layer.rgb = (int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16))
    space = drawing.modelspace()
    space.dxf.extmin, space.dxf.extmax = (0, 0, 0), (film.width_mm, film.height_mm, 0)
    upright: Affine = (1.0, 0.0, 0.0, -1.0, 0.0, film.height_mm)
    _add_rings(space, shapely.box(0.0, 0.0, film.width_mm, film.height_mm), "Film edge")
    _add_rings(space, apply_to_region(upright, film.outline), "Piece outline")
    _add_rings(space, apply_to_region(upright, film.cut), "Cut")
    for x, y in apply(upright, film.marks).tolist():
        attributes = {"layer": "Register marks"}
        space.add_circle((x, y), MARK_RADIUS_MM, dxfattribs=attributes)
        space.add_line((x - MARK_ARM_MM, y), (x + MARK_ARM_MM, y), dxfattribs=attributes)
        space.add_line((x, y - MARK_ARM_MM), (x, y + MARK_ARM_MM), dxfattribs=attributes)
    note = re.sub(r"[\x00-\x1f]", " ", film.note)
    space.add_text(note, height=_TEXT_MM, dxfattribs={"layer": "Notes"}).set_placement((_TEXT_MM, _TEXT_MM / 2))
    return drawing


def _add_rings(space: Any, region: BaseGeometry, layer: str) -> None:
    for polygon in polygons(region):
        for ring in (polygon.exterior, *polygon.interiors):
            points = shapely.get_coordinates(ring)[:-1].tolist()
            space.add_lwpolyline(points, close=True, dxfattribs={"layer": layer})


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
