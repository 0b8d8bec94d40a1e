"""What may be wrong with the drawing as a whole: its scale, its side, what lies off its page."""

import numpy as np
import shapely

from core.artwork.drawing import Drawing, Finding
from core.artwork.painting import drawing_regions
from core.geometry.flattening import flatten, path_bounds_mm
from core.geometry.path import Floats, Path

PAPER_MM = (
    (841.0, 1189.0), (594.0, 841.0), (420.0, 594.0), (297.0, 420.0), (210.0, 297.0), (148.0, 210.0), (105.0, 148.0),
    (215.9, 279.4), (215.9, 355.6), (279.4, 431.8),
)  # fmt: skip
"""A0 to A6 (ISO 216) and letter, legal, tabloid (ANSI/ASME Y14.1 A, legal by common practice, B)."""

SCALES = {"scale-72-to-96": 96 / 72, "scale-90-to-96": 96 / 90, "scale-inch-as-mm": 25.4, "scale-mm-as-inch": 1 / 25.4}
"""Repair code to factor. 96 px an inch: CSS Values and Units; 72 and 90 were other programs' and older habits."""

_PAPER_SLACK_MM = 0.6
_LARGE_MM, _SMALL_MM = 2500.0, 8.0
_LETTERS_AT_LEAST = 5


def scale_findings(drawing: Drawing) -> list[Finding]:
    """A page that would be a paper size at another resolution, or a drawing of an unlikely size."""
    if not _size_is_a_guess(drawing):
        return []
    sides = sorted((drawing.width_mm, drawing.height_mm))
    if not np.isfinite(sides).all() or _paper(sides) is not None:
        return []
    size = f"{drawing.width_mm:.1f} x {drawing.height_mm:.1f} mm"
    for code, dpi in (("scale-72-to-96", 72), ("scale-90-to-96", 90)):
        paper = _paper([side * SCALES[code] for side in sides])
        if paper is not None:
            message = (
                f"The page is {size}; at {dpi} instead of 96 units an inch it would be {paper[0]:g} x {paper[1]:g} mm, "
                f"a paper size. Was it drawn {SCALES[code]:.4f} times as large?"
            )
            return [Finding(code="scale-looks-wrong", message=message, repair=code)]
    if "px" in drawing.units_from:
        return []
    for far, code, words in (
        (sides[1] > _LARGE_MM, "scale-mm-as-inch", "mm were taken for inches"),
        (0 < sides[1] < _SMALL_MM, "scale-inch-as-mm", "inches were taken for mm"),
    ):
        if far:
            message = f"The drawing is {size}: perhaps {words} (a factor of {SCALES[code]:.4g})."
            return [Finding(code="scale-looks-wrong", message=message, repair=code)]
    return []


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
        x0, y0, x1, y1 = path_bounds_mm(shape.path, 0.05)
        reach = shape.stroke.width_mm / 2 if shape.stroke else 0.0
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
    left: list[int] = []
    right: list[int] = []
    for row in rows.values():
        if len(row) < _LETTERS_AT_LEAST:
            continue
        for i in row:
            on_left, on_right = (
                _has_stem(drawing.shapes[i].path, boxes[i], 0),
                _has_stem(drawing.shapes[i].path, boxes[i], 2),
            )
            if on_left and not on_right:
                left.append(i)
            elif on_right and not on_left:
                right.append(i)
    return left, right


def _has_stem(path: Path, box: Floats, side: int) -> bool:
    """Whether a straight upright edge runs along a side of the box for most of its height."""
    points = flatten(path, 0.05).points
    slack = 0.03 * (box[3] - box[1])
    near = np.abs(points[:, 0] - box[side]) < slack
    run = np.abs(np.diff(points[:, 1]))[near[:-1] & near[1:]]
    return bool(run.max(initial=0.0) > 0.8 * (box[3] - box[1]))
