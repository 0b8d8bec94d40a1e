"""A label for an offcut as a file to score: its name in single-line letters where there is room for it."""

from lxml import etree

from core.burning.score_letters import text_path, text_width_mm
from core.errors import JobError
from core.geometry.affine import apply_to_region, translation
from core.geometry.svg_data import path_data, polygon_data, polygons
from core.output.svg_writer import SVG
from core.sheet.faces import turn_matrix
from core.sheet.offcuts import Piece, piece_region, sheet_of
from core.sheet.placement import Turn
from core.sheet.remainders import usable_rectangles

LETTER_MM = 4.0
_EDGE_MM = 2.0


def label_svg(piece: Piece, label: str, turn: Turn) -> bytes:
    """The bed face of the piece, in mm: its outline to lay it by, and the label to score into the coat's edge.

    The letters are small and stand in the top left corner of the largest rectangle; read from the back they are the
    right way round, so that whoever takes the piece off the rack can read them. Raises JobError where none fit.
    """
    region = piece_region(piece)
    boxes = usable_rectangles(region, count=1, least_side_mm=LETTER_MM + 2 * _EDGE_MM)
    height_mm = LETTER_MM
    if not boxes or text_width_mm(label, height_mm=height_mm) + 2 * _EDGE_MM > boxes[0][2] - boxes[0][0]:
        raise JobError(f"There is no room for the label {label} on this piece.", hint="Write it on by hand.")
    sheet = sheet_of(piece)
    matrix = turn_matrix(turn, sheet)
    x0, y0, x1, y1 = boxes[0]
    left_mm = sheet.width_mm - x1 if turn == "sideways" else x0
    top_mm = sheet.height_mm - y1 if turn == "endways" else y0
    text = text_path(label, height_mm=height_mm, matrix=translation(left_mm + _EDGE_MM, top_mm + _EDGE_MM))
    root = etree.Element(f"{{{SVG}}}svg", nsmap={None: SVG})  # type: ignore[dict-item]  # lxml takes None
    root.set("width", f"{sheet.width_mm:.6g}mm")
    root.set("height", f"{sheet.height_mm:.6g}mm")
    root.set("viewBox", f"0 0 {sheet.width_mm:.6g} {sheet.height_mm:.6g}")
    etree.SubElement(root, f"{{{SVG}}}title").text = f"Label {label}, bed face, turned {turn}"
    outline = " ".join(polygon_data(polygon) for polygon in polygons(apply_to_region(matrix, region)))
    _group(root, "Outline (not burned)", outline, "#767676")
    _group(root, "Label (score)", path_data(text), "#009e73")
    data: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", pretty_print=True)
    return data


def _group(root: etree._Element, name: str, data: str, colour: str) -> None:
    group = etree.SubElement(root, f"{{{SVG}}}g", {"fill": "none", "stroke": colour, "stroke-width": "0.1"})
    etree.SubElement(group, f"{{{SVG}}}title").text = name
    etree.SubElement(group, f"{{{SVG}}}path", {"d": data})
