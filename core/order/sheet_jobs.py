"""A laid sheet as a Job: the shapes of its parts as ordinary artwork of the sheet's front, each on its layer."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from xml.sax.saxutils import escape, quoteattr

from core.artwork.drawing import ArtworkSource, ReadOptions, Shape
from core.artwork.painting import painted_region
from core.artwork.transforming import transformed_shape
from core.burning.score_letters import text_path
from core.errors import JobError
from core.geometry.affine import compose, translation
from core.geometry.flattening import path_bounds_mm
from core.geometry.path import joined
from core.geometry.svg_data import number, path_data, polygon_data, polygons
from core.job.fitting import with_piece
from core.job.job import Job
from core.job.prepare import read_and_repaired
from core.order.filling import FilledPart
from core.order.order import LaidSheet, Order
from core.order.part_pictures import PartPictures, options_of_sheets
from core.order.parts import OrderedPart
from core.purposes import LEAVE_OUT, UNDECIDED
from core.sheet.offcuts import Piece
from core.sheet.placement import Placement, placement_matrix

MARK_MM = 2.5
"""Height of the numbers that are scored into the waste."""
MARK_GAP_MM = 0.8
_LIKE = 1e-6
_TOLERANCE_MM = 0.005


def sheet_job(
    order: Order,
    laid: LaidSheet,
    parts: Sequence[OrderedPart],
    filled: Mapping[int, FilledPart],
    *,
    box_mm: tuple[float, float, float, float],
    name: str,
    piece: Piece | None = None,
) -> Job:
    """The job of one sheet. parts: of the whole order; filled: by part number; box_mm: that of a part in the design's
    frame, beside which its number is scored. Raises JobError where shapes are undecided."""
    design = order.design
    by_number = {part.number: part for part in parts}
    score = next((layer.id for layer in design.layers if layer.purpose == "score"), None)
    paint_of = dict(design.finishing.paint_of)
    pictures = PartPictures(design.reading.picture)
    lines: list[str] = []
    layer_ids: list[str] = []
    paints: list[str | None] = []
    for place in laid.places:
        part = by_number[place.part]
        to_front = placement_matrix(place.x_mm, place.y_mm, place.rotation_deg)
        lines.append(f'<g id="part-{part.number}"><title>{escape(_xml(part.words))}</title>')
        made = filled[part.number]
        for shape, layer, origin in zip(made.shapes, made.layer_ids, made.origins, strict=True):
            if layer == LEAVE_OUT:
                continue
            if layer == UNDECIDED:
                raise JobError("Shapes of the design are not decided yet.", hint="Say what they are for.")
            moved = transformed_shape(shape, to_front)
            toned = moved.tones is not None
            element = pictures.element(moved) if toned else _element(moved, design.sorting.line_width_mm)
            if element:
                lines.append(element)
                layer_ids.append(layer)
                paints.append(paint_of.get(origin))
        lines.append("</g>")
        if order.marks and score is not None:
            at = translation(box_mm[0], box_mm[1] - MARK_GAP_MM - MARK_MM)
            mark = text_path(str(part.number), height_mm=MARK_MM, matrix=compose(to_front, at))
            look = 'fill="none" stroke="#000000" stroke-width="0.05"'
            lines.append(f'<path id="number-{part.number}" {look} d="{path_data(mark)}"/>')
            layer_ids.append(score)
            paints.append(None)
    source = ArtworkSource(name=f"{name}.svg", data=_document(laid, lines, pictures.definitions, name))
    job = replace(
        design,
        source=source,
        reading=ReadOptions(picture=options_of_sheets(design.reading.picture)),
        overrides=(),
        repairs=(),
        rules=(),
        repeats=(),
        sheet=laid.sheet,
        piece_id="",
        placement=Placement(centred=False),
    )
    shapes = read_and_repaired(job).shapes  # its plan takes the same drawing
    of_shapes = tuple((shape.id, paint) for shape, paint in zip(shapes, paints, strict=True) if paint is not None)
    job = replace(
        job,
        finishing=replace(design.finishing, paint_of=of_shapes),
        overrides=tuple(sorted((shape.id, layer) for shape, layer in zip(shapes, layer_ids, strict=True))),
    )
    return with_piece(job, piece, laid.piece_id, job.stock) if piece is not None else job


def _document(laid: LaidSheet, lines: Sequence[str], definitions: Sequence[str], name: str) -> bytes:
    width, height = number(laid.sheet.width_mm), number(laid.sheet.height_mm)
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}">'
    )
    defined = ["<defs>", *definitions, "</defs>"] if definitions else []
    return "\n".join([head, f"<title>{escape(_xml(name))}</title>", *defined, *lines, "</svg>"]).encode()


def _element(shape: Shape, line_width_mm: float) -> str:
    """One shape, already at its place, as an SVG element; empty where nothing of it is drawn."""
    stroke = shape.stroke
    if shape.area is not None or shape.clip is not None or (stroke is not None and not _can_be_told(shape)):
        region = painted_region(shape, tolerance_mm=_TOLERANCE_MM)
        if region.is_empty:
            return ""
        data = " ".join(polygon_data(polygon) for polygon in polygons(region))
        colour = shape.fill or (stroke.colour if stroke is not None else "#000000")
        return f'<path fill={quoteattr(colour)} fill-rule="evenodd" d="{data}"/>'
    data = path_data(shape.path)
    if not data:
        return ""
    look = f"fill={quoteattr(shape.fill or 'none')} fill-rule={quoteattr(shape.fill_rule)}"
    if stroke is not None:
        thin = stroke.width_mm <= 0 or shape.zero_width
        width_mm = min(0.1, line_width_mm / 2) if thin else stroke.width_mm
        look += f" stroke={quoteattr(stroke.colour)} stroke-width={quoteattr(number(width_mm))}"
        if not thin:
            look += f' stroke-linecap="{stroke.cap}" stroke-linejoin="{stroke.join}"'
            look += f' stroke-miterlimit="{number(stroke.miter_limit)}"'
        if stroke.dashes:
            scale = stroke.width_mm / stroke.width if stroke.width else 1.0
            look += f' stroke-dasharray="{" ".join(number(dash * scale) for dash in stroke.dashes)}"'
            look += f' stroke-dashoffset="{number(stroke.dash_offset * scale)}"'
    return f'<path {look} d="{data}"/>'


def _can_be_told(shape: Shape) -> bool:
    """Whether a pen in mm draws the stroke: its own space is not squashed."""
    assert shape.stroke is not None
    a, b, c, d, _, _ = shape.stroke.matrix
    along, across = math.hypot(a, b), math.hypot(c, d)
    even = abs(along - across) <= _LIKE * max(along, across) and abs(a * c + b * d) <= _LIKE * along * across
    return even or (shape.stroke.width_mm <= 0)


def _xml(text: str) -> str:
    return "".join(letter for letter in text if letter >= " " and letter not in "\ufffe\uffff")


def body_box_mm(part: FilledPart) -> tuple[float, float, float, float]:
    """The box round what is burned of a part besides its text (with it where there is nothing else), design's frame."""
    pairs = [
        pair for pair in zip(part.shapes, part.layer_ids, strict=True) if pair[1] != LEAVE_OUT and len(pair[0].path)
    ]
    body = [shape.path for shape, _ in pairs if not shape.is_text] or [shape.path for shape, _ in pairs]
    return path_bounds_mm(joined(body)) if body else (0.0, 0.0, 0.0, 0.0)
