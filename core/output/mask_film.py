"""What is on one film, in the film's own frame: as seen from the back, its top left corner the origin, mm, y down."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from core.burning.score_letters import text_path, text_width_mm
from core.finishing.masks import Ground
from core.finishing.steps import PaintPlan, PaintStep
from core.finishing.weeding import weeding_order
from core.geometry.affine import Affine, apply, apply_to_region, compose, translation
from core.geometry.few_segments import in_few_segments
from core.geometry.flattening import path_length_mm
from core.geometry.path import ARC, Path, joined
from core.job.plan import Plan
from core.sheet.drawn import Hole
from core.sheet.faces import turn_matrix
from core.sheet.kerf import offset
from core.sheet.laid_datum import mark_paths

FOLLOWED_MM = 0.01
"""How far lines and arcs may lie from the outline that they stand for."""
TEXT_MM = 3.0
_LEAST_TEXT_MM = 1.2
_TEXT_MARGIN_MM = 0.5
_CLOSE_MM = 1e-6
_MOST_LOOKED_AT = 12


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Film:
    """One film.

    cut: openings (or patches) in the order they are weeded, islands first, as the knife goes. edge: the film's own
    outline, cut last. outline: the part's, to look at. marks, holes: the datum, as far as the film carries it.
    words: strokes that say step, colour and which side is up, on film over standing coat or in the border; empty where
    there is no room. numbers: strokes of the weeding order, on the pieces that come off.
    """

    width_mm: float
    height_mm: float
    cut: tuple[Path, ...]
    edge: BaseGeometry
    outline: BaseGeometry
    marks: tuple[Path, ...]
    holes: tuple[Hole, ...]
    words: Path
    numbers: Path
    note: str


def film_frame(plan: Plan, ground: Ground) -> Affine:
    """Front frame to the film's own: turned to the back, its top left corner at the origin."""
    turn = turn_matrix(plan.job.turn, plan.job.sheet)
    x0, y0, _, _ = apply_to_region(turn, ground.film).bounds
    return compose(translation(-x0, -y0), turn)


def film_of(plan: Plan, painting: PaintPlan, step: PaintStep) -> Film:
    """The film of a step that needs one."""
    to_film = film_frame(plan, painting.ground)
    masks, laid = plan.job.finishing.masks, plan.datum
    x0, y0, x1, y1 = painting.ground.film.bounds
    opened = step.opening if step.made_by == "knife" else step.patches
    assert opened is not None
    opening = apply_to_region(to_film, opened)
    edge = apply_to_region(to_film, painting.ground.film)
    by_edge = laid is None or laid.kind == "part edge"
    labels = [f"{step.number} {step.area.paint.name} - this side up", f"{step.number} {step.area.paint.name} up"]
    labels.append(f"{step.number} up")
    standing = shapely.difference(edge, shapely.buffer(apply_to_region(to_film, painting.colouring.filled), 0.5))
    covered = shapely.difference(standing, opening) if step.made_by == "knife" else standing
    places = () if laid is None else laid.places
    marks = [mark_paths(place) for place in apply(to_film, np.array(places)).tolist()] if places else []
    return Film(
        width_mm=x1 - x0,
        height_mm=y1 - y0,
        cut=tuple(_cut_lines(opening, cut_width_mm=masks.cut_width_mm, overcut_mm=masks.overcut_mm)),
        edge=edge,
        outline=apply_to_region(to_film, painting.colouring.outline),
        marks=tuple(path for mark in marks for path in mark) if laid is not None and laid.kind == "marks" else (),
        holes=_pin_holes(plan, to_film),
        words=_first_words(covered, labels) if by_edge else _words_on_border(labels[0], y1 - y0, masks.border_mm),
        numbers=joined(list(_numbers(opening))),
        note=_note(plan, painting, step),
    )


def pieces_of_film(painting: PaintPlan, step: PaintStep) -> int:
    """In how many pieces the film comes that stays on."""
    if step.made_by != "knife" or step.opening is None:
        return len(shapely.get_parts(step.patches))
    left = shapely.difference(painting.ground.film, step.opening)
    return sum(part.area > 1e-3 for part in shapely.get_parts(left))


def _note(plan: Plan, painting: PaintPlan, step: PaintStep) -> str:
    what = "openings" if step.made_by == "knife" else "patches over what waits"
    name = plan.job.source.name if plan.job.source else "job"
    pieces = pieces_of_film(painting, step)
    by = plan.datum.kind if plan.datum is not None else "part edge"
    in_pieces = "" if pieces <= 1 else f", film in {pieces} pieces"
    return (
        f"{name}: mask {step.number}, {step.area.paint.name}, {what}{in_pieces}; seen from the back, this side up, "
        f"turned {plan.job.turn}; laid by: {by}"
    )


def _pin_holes(plan: Plan, to_film: Affine) -> tuple[Hole, ...]:
    """Holes that the pins go through: their own diameter, the key's as wide as in the sheet."""
    laid = plan.datum
    if laid is None or laid.kind != "pins":
        return ()
    centres = apply(to_film, np.array(laid.places)).tolist()
    widths_mm = (laid.datum.pin_mm, laid.datum.pin_mm, laid.holes[2].diameter_mm)
    return tuple(Hole(x_mm=x, y_mm=y, diameter_mm=width) for (x, y), width in zip(centres, widths_mm, strict=True))


def _cut_lines(opening: BaseGeometry, *, cut_width_mm: float, overcut_mm: float) -> Iterator[Path]:
    """The knife's way: each opening after its islands, drawn in by half the width of the cut."""
    drawn_in = opening
    if cut_width_mm > 0:
        drawn_in = offset(opening, -cut_width_mm / 2)
    for weeded in weeding_order(drawn_in):
        for ring in (*weeded.piece.interiors, weeded.piece.exterior):
            path = in_few_segments(shapely.get_coordinates(ring)[:-1], FOLLOWED_MM)
            yield run_on(path, overcut_mm) if overcut_mm > 0 else path


def run_on(path: Path, overcut_mm: float) -> Path:
    """A closed outline as an open one that runs on beyond its start by ``overcut_mm`` (at most once round)."""
    rows, kinds = list(path.segments), list(path.kinds)
    left_mm = min(overcut_mm, path_length_mm(path))
    for index in range(len(path)):
        piece = path_piece(path, index)
        length_mm = path_length_mm(piece)
        share = min(1.0, left_mm / length_mm) if length_mm > 0 else 1.0
        row = path.segments[index].copy()
        if path.kinds[index] == ARC:
            row[7] = row[6] + (row[7] - row[6]) * share
        else:
            row[2:4] = row[0:2] + (row[2:4] - row[0:2]) * share
        rows.append(row)
        kinds.append(path.kinds[index])
        left_mm -= length_mm
        if left_mm <= _CLOSE_MM:
            break
    return Path(
        kinds=np.array(kinds, np.uint8),
        segments=np.array(rows),
        starts=np.zeros(1, np.intp),
        closed=np.zeros(1, bool),
    )


def path_piece(path: Path, index: int) -> Path:
    """One segment of a path as a path of its own."""
    return Path(
        kinds=path.kinds[index : index + 1],
        segments=path.segments[index : index + 1],
        starts=np.zeros(1, np.intp),
        closed=np.zeros(1, bool),
    )


def _numbers(opening: BaseGeometry) -> Iterator[Path]:
    """The weeding order, each number where its piece has most room."""
    for weeded in weeding_order(opening):
        yield _words_in(weeded.piece, str(weeded.number))


def _first_words(region: BaseGeometry, labels: Sequence[str]) -> Path:
    """The longest of the labels that there is room for."""
    drawn = (_words_in(region, label) for label in labels)
    return next((path for path in drawn if len(path)), joined([]))


def _words_in(region: BaseGeometry, words: str) -> Path:
    """Strokes in the roomiest place of a region, as large as fits; nothing where that is too small to read."""
    parts = [part for part in shapely.get_parts(region) if isinstance(part, shapely.Polygon) and part.area > 1.0]
    largest = sorted(parts, key=lambda part: -part.area)[:_MOST_LOOKED_AT]
    circles = [shapely.maximum_inscribed_circle(part, tolerance=max(0.05, part.length / 2000)) for part in largest]
    line = max(circles, key=shapely.length, default=None)
    if line is None:
        return joined([])
    radius_mm = float(shapely.length(line)) - _TEXT_MARGIN_MM
    x, y = shapely.get_coordinates(line)[0].tolist()
    width_mm = text_width_mm(words, height_mm=1.0)
    height_mm = min(TEXT_MM, 2 * radius_mm / float(np.hypot(width_mm, 1.0)))
    if height_mm < _LEAST_TEXT_MM:
        return joined([])
    at: Affine = (1.0, 0.0, 0.0, 1.0, x - width_mm * height_mm / 2, y - height_mm / 2)
    return text_path(words, height_mm=height_mm, matrix=at)


def _words_on_border(words: str, film_height_mm: float, border_mm: float) -> Path:
    """Strokes along the film's lower edge, where there is a border."""
    height_mm = min(TEXT_MM, border_mm - 2.0)
    if height_mm < _LEAST_TEXT_MM:
        return joined([])
    at: Affine = (1.0, 0.0, 0.0, 1.0, TEXT_MM, film_height_mm - 1.0 - height_mm)
    return text_path(words, height_mm=height_mm, matrix=at)
