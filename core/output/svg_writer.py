"""A plan as SVG: the bed face in mm, one group a layer in burn order, settings on each and the document within."""

import json
import re
from collections.abc import Iterator
from typing import Any

from lxml import etree

from core.artwork.own_export import NAMESPACE
from core.figures import figures_for, said
from core.geometry.affine import Affine, apply, apply_to_region
from core.geometry.path import Floats
from core.geometry.svg_data import (
    MANY_POLYGONS,
    bands_data,
    many_polygons_data,
    number,
    path_data,
    polygon_data,
    polygons,
)
from core.job.plan import LayerPlan, Plan
from core.job.row_lines import hands_over_rows, row_lines_mm
from core.output.settings_document import Document, burned_layers
from core.progress import Progress, silent
from core.sheet.faces import turn_matrix
from core.sheet.recipes import Recipe

SVG = "http://www.w3.org/2000/svg"
LINE_WIDTH_MM = 0.1
_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def write_svg(plan: Plan, document: Document, *, progress: Progress = silent) -> bytes:
    """The file's bytes: well-formed SVG 1.1, mm size, viewBox in mm, turned to the bed face."""
    sheet = plan.job.sheet
    turn = turn_matrix(plan.job.turn, sheet)
    root = etree.Element(f"{{{SVG}}}svg", nsmap={None: SVG, "tain": NAMESPACE})  # type: ignore[dict-item]  # lxml takes None
    root.set("version", "1.1")
    root.set("width", f"{number(sheet.width_mm)}mm")
    root.set("height", f"{number(sheet.height_mm)}mm")
    root.set("viewBox", f"0 0 {number(sheet.width_mm)} {number(sheet.height_mm)}")
    stage = f", {plan.stage}" if plan.stage else ""
    _child(root, "title").text = _xml_text(f"{document['artwork']['name'] or 'Job'}: bed face, back up{stage}")
    job = etree.SubElement(_child(root, "metadata"), f"{{{NAMESPACE}}}job")
    job.text = json.dumps(document, ensure_ascii=True, allow_nan=False)
    for layer, settings in zip(burned_layers(plan), document["layers"], strict=True):
        lines = row_lines_mm(layer, plan.job) if hands_over_rows(layer) else None
        _write_layer(root, layer, turn, settings.get("lines_moved_for_kerf_mm", 0.0), lines, progress)
    data: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return data


def _write_layer(
    root: etree._Element, planned: LayerPlan, turn: Affine, kerf_mm: float, rows: Floats | None, progress: Progress
) -> None:
    layer = planned.layer
    group = _child(root, "g")
    group.set("id", _identifier(layer.id))
    for name, value in _settings(layer.recipe, layer.purpose).items():
        group.set(f"{{{NAMESPACE}}}{name}", value)
    group.set(f"{{{NAMESPACE}}}purpose", layer.purpose)
    group.set(f"{{{NAMESPACE}}}layer", _xml_text(layer.name))
    words = recipe_words(layer.recipe, layer.purpose)
    if kerf_mm:
        group.set(f"{{{NAMESPACE}}}lines-moved-for-kerf-mm", f"{kerf_mm:.10g}")
        words += f", lines moved for a kerf of {kerf_mm:g} mm"
    _child(group, "title").text = _xml_text(f"{layer.name}: {words}")
    if layer.purpose == "fill" and rows is None:
        group.set("fill", layer.colour)
        group.set("fill-rule", "evenodd")
        group.set("stroke", "none")
        bands = apply(turn, planned.bands_mm)
        for written, data in enumerate(bands_data(bands, at_once=LINES_A_PATH)):
            progress(written * LINES_A_PATH / len(bands), "writing outlines")
            _child(group, "path").set("d", data)
        parts = polygons(apply_to_region(turn, planned.outlines))
        if len(parts) > MANY_POLYGONS and not any(part.interiors for part in parts):
            for data in many_polygons_data(parts, at_once=LINES_A_PATH):
                _child(group, "path").set("d", data)
            return
        for polygon in parts:
            _child(group, "path").set("d", polygon_data(polygon))
        return
    group.set("fill", "none")
    group.set("stroke", layer.colour)
    group.set("stroke-width", number(LINE_WIDTH_MM))
    if rows is not None:
        for data in _row_data(apply(turn, rows.reshape(-1, 2)).reshape(-1, 2, 2)):
            _child(group, "path").set("d", data)
    for path in planned.paths:
        _child(group, "path").set("d", path_data(path.transformed(turn)))


LINES_A_PATH = 500
"""Of rows: a path for each would be slow to open, one for all is slow to draw."""


def _row_data(ends: Floats) -> Iterator[str]:
    """Path data of so many lines (n, 2, 2) at a time."""
    for start in range(0, len(ends), LINES_A_PATH):
        some = ends[start : start + LINES_A_PATH].reshape(-1, 4).tolist()
        yield "".join(f"M{number(a)} {number(b)}L{number(c)} {number(d)}" for a, b, c, d in some)


def recipe_words(recipe: Recipe, purpose: str) -> str:
    """A recipe in one line for people."""
    return ", ".join(said(recipe, purpose))


def _settings(recipe: Recipe, purpose: str) -> dict[str, str]:
    """Attribute names (without prefix) and values of one layer's recipe."""
    settings = {}
    for figure in figures_for(type(recipe), purpose):
        value = getattr(recipe, figure.name)
        settings[figure.export_name] = _attribute(value)
        if (other := figure.other_form) is not None:
            settings[other.name.replace("_", "-")] = _attribute(other.from_figure(value))
    return settings


def _attribute(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _child(parent: etree._Element, name: str) -> etree._Element:
    return etree.SubElement(parent, f"{{{SVG}}}{name}")


def _xml_text(text: str) -> str:
    return _NOT_IN_XML.sub("\ufffd", text)


def _identifier(text: str) -> str:
    cleaned = re.sub(r"[^\w.-]", "-", text)
    return cleaned if cleaned[:1].isalpha() else f"layer-{cleaned}"
