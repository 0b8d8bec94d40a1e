"""What may be wrong with the drawing as a whole: its scale, its side, what lies off its page."""

import numpy as np
import shapely
from numpy.typing import NDArray

from core.artwork.checkup.scales import SCALES
from core.artwork.drawing import Drawing, Finding
from core.artwork.painting import drawing_regions
from core.geometry.flattening import flatten, path_bounds_mm
from core.geometry.path import Floats, Path, joined

Bools = NDArray[np.bool_]

PAPER_MM = (
    (841.0, 1189.0), (594.0, 841.0), (420.0, 594.0), (297.0, 420.0), (210.0, 297.0), (148.0, 210.0), (105.0, 148.0),
    (215.9, 279.4), (215.9, 355.6), (279.4, 431.8),
)  # fmt: skip
"""A0 to A6 (ISO 216) and letter, legal, tabloid (ANSI/ASME Y14.1 A, legal by common practice, B)."""

_PAPER_SLACK_MM = 0.6
_ROUND_MM, _ROUND_SLACK_MM = 5.0, 0.02
_LARGE_MM, _SMALL_MM = 2500.0, 25.4
_LETTERS_AT_LEAST = 5
_RESOLUTIONS = {72: "scale-72-to-96", 90: "scale-90-to-96"}


def scale_findings(drawing: Drawing) -> list[Finding]:
    """Asks where the size is a guess and another is as likely: by the marks of the program that wrote the file, by
    paper sizes and round millimetres at 72 or 90 units an inch, or as the drawing is of an unlikely size."""
    sides = sorted((drawing.width_mm, drawing.height_mm))
    if not _size_is_a_guess(drawing) or not np.isfinite(sides).all() or _paper(sides) is not None:
        return []
    if drawing.marked_units_an_inch in _RESOLUTIONS:
        why = f"The file bears the marks of a program that drew {drawing.marked_units_an_inch} units an inch"
        return [_resolution_question(drawing, drawing.marked_units_an_inch, why)]
    for dpi, code in _RESOLUTIONS.items():
        at_dpi = [side * SCALES[code] for side in sides]
        if _paper(at_dpi) is not None:
            return [_resolution_question(drawing, dpi, f"At {dpi} units an inch its page would be a paper size")]
    if "px" not in drawing.units_from.lower():
        return _inch_question(drawing, sides[1])
    if not _are_round(sides):
        for dpi, code in _RESOLUTIONS.items():
            if _are_round([side * SCALES[code] for side in sides]):
                return [_resolution_question(drawing, dpi, f"At {dpi} units an inch its page would be in whole mm")]
    return []


def _resolution_question(drawing: Drawing, dpi: int, why: str) -> Finding:
    factor = SCALES[_RESOLUTIONS[dpi]]
    message = f"{why}: {_size(drawing, factor)} instead of the {_size(drawing)} that 96 make of it. Which is right?"
    return Finding(code="scale-looks-wrong", message=message, repair=_RESOLUTIONS[dpi])


def _inch_question(drawing: Drawing, longest_mm: float) -> list[Finding]:
    if longest_mm > _LARGE_MM:
        code, words = "scale-mm-as-inch", "large for a sheet: are its units mm"
    elif 0 < longest_mm < _SMALL_MM:
        code, words = "scale-inch-as-mm", "small for a plate: are its units inches"
    else:
        return []
    message = f"{_size(drawing)} is {words}, so that it is {_size(drawing, SCALES[code])}?"
    return [Finding(code="scale-looks-wrong", message=message, repair=code)]


def _size(drawing: Drawing, factor: float = 1.0) -> str:
    return f"{drawing.width_mm * factor:.5g} x {drawing.height_mm * factor:.5g} mm"


def _are_round(sides: list[float]) -> bool:
    return all(abs(side - round(side / _ROUND_MM) * _ROUND_MM) < _ROUND_SLACK_MM and side > 1 for side in sides)


def _size_is_a_guess(drawing: Drawing) -> bool:
    said = drawing.units_from.lower()
    return "px" in said or "assumed" in said or "no unit" in said


def _paper(sides: list[float]) -> tuple[float, float] | None:
    for paper in PAPER_MM:
        if abs(paper[0] - sides[0]) < _PAPER_SLACK_MM and abs(paper[1] - sides[1]) < _PAPER_SLACK_MM:
            return paper
    return None


def off_page(drawing: Drawing) -> list[int]:
    """Indices of shapes that lie wholly off the page."""
    if not (drawing.width_mm > 0 and drawing.height_mm > 0):
        return []
    result = []
    for i, shape in enumerate(drawing.shapes):
        if not len(shape.path) or shape.area is not None:
            continue
        reach = shape.stroke.width_mm / 2 if shape.stroke else 0.0
        x, y = shape.path.start_points[0].tolist()
        if -reach <= x <= drawing.width_mm + reach and -reach <= y <= drawing.height_mm + reach:
            continue
        x0, y0, x1, y1 = path_bounds_mm(shape.path, 0.05)
        if x1 + reach < 0 or y1 + reach < 0 or x0 - reach > drawing.width_mm or y0 - reach > drawing.height_mm:
            result.append(i)
    return result


def off_page_findings(drawing: Drawing) -> list[Finding]:
    """One finding for all that lies off the page, at the first of it."""
    found = off_page(drawing)
    if not found:
        return []
    x0, y0, x1, y1 = path_bounds_mm(drawing.shapes[found[0]].path, 0.05)
    what, them = ("1 shape lies", "it") if len(found) == 1 else (f"{len(found)} shapes lie", "them")
    return [
        Finding(
            code="off-page",
            message=f"{what} off the page, where a picture of it would not show {them}.",
            x_mm=(x0 + x1) / 2,
            y_mm=(y0 + y1) / 2,
            shape_ids=tuple(drawing.shapes[i].id for i in found),
            repair="drop-off-page",
        )
    ]


def reversed_findings(drawing: Drawing) -> list[Finding]:
    """Asks, on two careful signs, whether the artwork is drawn as seen from the back."""
    named = [
        shape.id
        for shape in drawing.shapes
        if any(word in f"{shape.source_layer} {shape.label}".lower() for word in ("mirrored", "reversed", "flipped"))
    ]
    if named:
        message = "A layer or shape is named as mirrored: is the artwork drawn as seen from the back?"
        return [Finding(code="looks-reversed", message=message, severity="note", shape_ids=tuple(named[:20]))]
    left, right = _upright_stems(drawing)
    if len(right) >= _LETTERS_AT_LEAST and len(left) <= len(right) // 5:
        shape = drawing.shapes[right[0]]
        x0, y0, x1, y1 = path_bounds_mm(shape.path, 0.05)
        return [
            Finding(
                code="looks-reversed",
                message=f"{len(right)} letter-like shapes have their straight stem on the right, {len(left)} on the "
                "left: is the lettering drawn as seen from the back?",
                severity="note",
                x_mm=(x0 + x1) / 2,
                y_mm=(y0 + y1) / 2,
                shape_ids=tuple(drawing.shapes[i].id for i in right[:20]),
            )
        ]
    return []


def _upright_stems(drawing: Drawing) -> tuple[list[int], list[int]]:
    """Letter-like filled shapes in lines of text with one upright straight side: on the left, on the right.

    Of the Latin capitals B, D, E, F, K, L, P and R have their stem on the left and only J on the right.
    """
    regions = drawing_regions(drawing)
    boxes = shapely.bounds(regions)
    solid = np.array([shape.fill is not None and shape.clip is None for shape in drawing.shapes], bool)
    height = boxes[:, 3] - boxes[:, 1]
    width = boxes[:, 2] - boxes[:, 0]
    letter = solid & (height > 1.0) & (width > 0.2 * height) & (width < 1.2 * height)
    rows: dict[tuple[int, int], list[int]] = {}
    for i in np.flatnonzero(letter).tolist():
        rows.setdefault((round(boxes[i, 3] / (0.1 * height[i])), round(10 * np.log(height[i]))), []).append(i)
    some = [i for row in rows.values() if len(row) >= _LETTERS_AT_LEAST for i in row]
    if not some:
        return [], []
    on_left, on_right = _stems([drawing.shapes[i].path for i in some], boxes[some])
    at = np.array(some)
    return at[on_left & ~on_right].tolist(), at[on_right & ~on_left].tolist()


def _stems(paths: list[Path], boxes: Floats) -> tuple[Bools, Bools]:
    """Whether a straight upright edge runs along the left, the right of each box for most of its height, (n,) each."""
    lines = flatten(joined(paths), 0.05)
    of_line = np.repeat(np.arange(len(paths)), [len(path.starts) for path in paths])
    of = np.repeat(of_line, np.diff(lines.starts))
    height = boxes[:, 3] - boxes[:, 1]
    long = np.flatnonzero((of[1:] == of[:-1]) & (np.abs(np.diff(lines.points[:, 1])) > 0.8 * height[of[:-1]]))
    own = of[long]
    x = lines.points[np.stack([long, long + 1]), 0]
    near = [(np.abs(x - boxes[own, side]) < 0.03 * height[own]).all(axis=0) for side in (0, 2)]
    on_left, on_right = (np.bincount(own[one], minlength=len(paths)) > 0 for one in near)
    return on_left, on_right
