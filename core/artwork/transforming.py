"""Drawings, shapes and findings through an affine map."""

from dataclasses import replace

from core.artwork.drawing import Drawing, Finding, Missing, Shape
from core.geometry.affine import Affine, apply_to_region, compose, mean_scale
from core.geometry.stroke import Stroke


def transformed_drawing(drawing: Drawing, matrix: Affine, scale: float) -> Drawing:
    """The drawing through an axis-keeping map whose length factor is ``scale`` (page and findings go along)."""
    return replace(
        drawing,
        width_mm=drawing.width_mm * scale,
        height_mm=drawing.height_mm * scale,
        shapes=tuple(transformed_shape(shape, matrix) for shape in drawing.shapes),
        findings=tuple(moved_finding(finding, matrix) for finding in drawing.findings),
        missing=tuple(_moved_missing(one, matrix) for one in drawing.missing),
    )


def transformed_shape(shape: Shape, matrix: Affine) -> Shape:
    """One shape through an affine map, with its stroke, clip and area."""
    return replace(
        shape,
        path=shape.path.transformed(matrix),
        stroke=_transformed_stroke(shape.stroke, matrix),
        clip=apply_to_region(matrix, shape.clip) if shape.clip is not None else None,
        area=apply_to_region(matrix, shape.area) if shape.area is not None else None,
        tones=replace(shape.tones, to_mm=compose(matrix, shape.tones.to_mm)) if shape.tones is not None else None,
    )


def moved_finding(finding: Finding, matrix: Affine) -> Finding:
    """A finding with its place through an affine map."""
    if finding.x_mm is None or finding.y_mm is None:
        return finding
    a, b, c, d, e, f = matrix
    x, y = finding.x_mm, finding.y_mm
    return replace(finding, x_mm=a * x + c * y + e, y_mm=b * x + d * y + f)


def _moved_missing(missing: Missing, matrix: Affine) -> Missing:
    if missing.x_mm is None or missing.y_mm is None:
        return missing
    a, b, c, d, e, f = matrix
    x, y = missing.x_mm, missing.y_mm
    return replace(missing, x_mm=a * x + c * y + e, y_mm=b * x + d * y + f)


def _transformed_stroke(stroke: Stroke | None, matrix: Affine) -> Stroke | None:
    if stroke is None:
        return None
    return replace(stroke, matrix=compose(matrix, stroke.matrix), width_mm=stroke.width_mm * mean_scale(matrix))
