"""Jobs that Tain draws itself (jigs, backers): outlines to cut and lines to score, as ordinary artwork in mm."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from xml.sax.saxutils import escape

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.reading import read_artwork
from core.burning.machines import Machine
from core.errors import JobError
from core.geometry.affine import Affine, apply, compose, translation
from core.job.decisions import with_keep_size
from core.job.job import LAYER_COLOURS, Job, new_job
from core.sheet.drawn import Drawn
from core.sheet.faces import turn_matrix
from core.sheet.placement import Placement, Sheet, Turn
from core.sheet.stock import Stock

MARGIN_MM = 5.0
"""Round what is cut out there is so much more sheet."""


def drawn_job(drawn: Drawn, *, stock: Stock, machine: Machine, turn: Turn = "sideways", face_up: bool = False) -> Job:
    """The job that cuts and scores it, its size kept, on a sheet that is large enough.

    face_up: the bed shows it as drawn, not turned. Holes alone are drawn smaller by the kerf, since no outline round
    them says that they are holes. Raises JobError when the stock must not be cut.
    """
    if stock.cut is None or stock.refused:
        raise JobError(f"{stock.name} must not be cut by the laser.", hint="Take another stock for it.")
    margin_mm = 0.0 if drawn.kept.is_empty else MARGIN_MM
    sheet = Sheet(
        width_mm=drawn.width_mm + 2 * margin_mm,
        height_mm=drawn.height_mm + 2 * margin_mm,
        thickness_mm=stock.thickness_mm,
    )
    seen = translation(margin_mm, margin_mm)
    if face_up:
        seen = compose(turn_matrix(turn, sheet), seen)
    if drawn.kept.is_empty:
        holes = (replace(hole, diameter_mm=hole.diameter_mm - stock.kerf_mm) for hole in drawn.holes)
        drawn = replace(drawn, holes=tuple(holes))
    source, purposes = _artwork(drawn, sheet, seen)
    shapes = read_artwork(source, ReadOptions()).shapes
    job = replace(
        new_job(source, stock=stock, machine=machine),
        overrides=tuple(sorted((shape.id, purpose) for shape, purpose in zip(shapes, purposes, strict=True))),
        sheet=sheet,
        turn=turn,
        placement=Placement(centred=False),
    )
    return with_keep_size(job, "cut", not drawn.kept.is_empty)


def _artwork(drawn: Drawn, sheet: Sheet, seen: Affine) -> tuple[ArtworkSource, Sequence[str]]:
    """The drawing as SVG of the sheet's front, and the layer of each of its shapes."""
    width, height = f"{sheet.width_mm:.8g}", f"{sheet.height_mm:.8g}"
    size = f'width="{width}mm" height="{height}mm" viewBox="0 0 {width} {height}"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>',
        f"<title>{escape(drawn.name)}</title>",
    ]
    purposes: list[str] = []
    cut, score = (f'fill="none" stroke="{LAYER_COLOURS[of]}" stroke-width="0.1"' for of in ("cut", "score"))
    for part in shapely.get_parts(drawn.scores):
        lines.append(f'<path id="line-{len(purposes)}" {score} d="{_data([part], seen)}"/>')
        purposes.append("score")
    for hole in drawn.holes:
        x, y = apply(seen, np.array([hole.x_mm, hole.y_mm])).tolist()
        centre = f'cx="{x:.8g}" cy="{y:.8g}"'
        lines.append(f'<circle id="hole-{len(purposes)}" {cut} {centre} r="{hole.diameter_mm / 2:.8g}"/>')
        purposes.append("cut")
    for part in (part for part in shapely.get_parts(drawn.kept) if not part.is_empty):
        lines.append(f'<path id="part-{len(purposes)}" {cut} d="{_data(shapely.get_rings(part), seen)}"/>')
        purposes.append("cut")
    lines.append("</svg>")
    return ArtworkSource(name=f"{drawn.name}.svg", data="\n".join(lines).encode()), purposes


def _data(lines: Iterable[BaseGeometry], matrix: Affine) -> str:
    """Path data of lines and rings."""
    words = []
    for line in lines:
        points = apply(matrix, shapely.get_coordinates(line))
        closed = line.geom_type == "LinearRing" or bool(np.array_equal(points[0], points[-1]))
        corners = points[:-1] if closed else points
        words.append("M" + "L".join(f"{x:.8g} {y:.8g}" for x, y in corners.tolist()) + ("Z" if closed else ""))
    return " ".join(words)
