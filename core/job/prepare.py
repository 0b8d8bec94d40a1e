"""From Job to Plan: the whole flow, step by step, each step cached by the values it depends on."""

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import replace
from functools import partial

import numpy as np
import shapely
from numpy.typing import NDArray

from core.artwork.account import Account, account_of
from core.artwork.checkup.checkup import check_drawing
from core.artwork.checkup.repairs import repair
from core.artwork.composing import LayerArtwork, compose_layers
from core.artwork.drawing import Drawing, Finding
from core.artwork.reading import read_artwork
from core.artwork.separating import separated
from core.artwork.sorting.deciding import Sorted, sort_shapes
from core.artwork.sorting.questions import questions
from core.artwork.sorting.rules import PurposeRule, ruled
from core.artwork.transforming import moved_finding
from core.burning.beam import clearing_line, fill_verdict
from core.burning.chance import Chance, fill_chance
from core.burning.coverage import Coverage, coverage
from core.burning.edges import Compensated, compensated
from core.burning.line_order import ordered_paths
from core.burning.row_offsets import as_laid, held_recipe, row_shifts_mm
from core.burning.rows_astray import with_rows_astray
from core.burning.run_time import exactly, fill_time_range, lines_time_s
from core.burning.scan_rows import ScanRows, edges_in_scan_frame, inset_region, scan_rows
from core.burning.screens.layer_screen import LayerScreen
from core.burning.screens.screened_coverage import screened_coverage
from core.burning.screens.tone_verdict import tone_chance, tone_verdict
from core.errors import JobError
from core.geometry.affine import Affine, apply_to_region, compose, translation
from core.geometry.engine import united
from core.geometry.flattening import path_bounds_mm, path_length_mm
from core.job.cautions import cautions_for
from core.job.checks import check_job, coverage_findings, field_findings, plan_findings, undecided_findings
from core.job.datum import with_datum_laid
from core.job.job import Job, Layer
from core.job.kept_size import copies_findings, keeps_size, with_kept_size
from core.job.moving import moved_coverage, moved_rows
from core.job.picturing import layer_screens, reading_of, screening_key, screens_of, told_of_screens
from core.job.plan import LayerPlan, Plan
from core.job.remembering import cached, is_remembered
from core.job.repeating import repeated, with_enclosed
from core.job.screen_costs import cost_findings
from core.progress import Progress, part, silent
from core.purposes import LEAVE_OUT, UNDECIDED, Suggestion
from core.sheet.faces import turn_matrix
from core.sheet.placement import copy_matrices, placement_matrix


def prepare(job: Job, *, progress: Progress = silent) -> Plan:
    """The complete plan. Raises UnreadableError (artwork or numbers), JobError (nothing to plan)."""
    return list(plan_steps(job, progress=progress))[-1]


def plan_steps(job: Job, *, progress: Progress = silent) -> Iterator[Plan]:
    """Plans with all geometry and verdicts but neither coverage nor run time, then the complete one.

    The first one of artwork that was not checked yet lacks what the checkup will find, the next one has it. Raises as
    ``prepare`` does, and Cancelled when the progress callback does.
    """
    check_job(job)
    if job.source is None:
        raise JobError("There is no artwork in this job.", hint="Open an SVG, DXF or PDF file.")
    drawing = read_and_repaired(job, progress=part(progress, 0.0, 0.3))
    sorted_shapes = cached(
        ("sorted", _drawing_key(job)),
        lambda: sort_shapes(drawing, job.sorting, progress=part(progress, 0.3, 0.35)),
        job.sorting,
    )
    by_rule = ruled(drawing, job.rules)
    sorted_shapes = _with_rules(sorted_shapes, by_rule)
    layer_of = layers_of_shapes(job, drawing, sorted_shapes, by_rule)
    compose_key = ("composed", _drawing_key(job), job.sorting, tuple(layer_of.items()), _purposes(job.layers))
    artworks, composing_findings = cached(
        compose_key,
        lambda: compose_layers(drawing, layer_of, job.layers, job.sorting, progress=part(progress, 0.35, 0.4)),
    )
    account = cached(
        ("account", compose_key),
        lambda: _account(job, drawing, sorted_shapes, layer_of, artworks),
    )
    artworks, more_findings = as_burned(job, artworks, compose_key)
    screens = cached(
        ("screened", compose_key, job.repeats),
        lambda: layer_screens(job, artworks, progress=part(progress, 0.4, 0.5)),
        screening_key(job, artworks),
    )
    to_front = drawing_to_front(job, artworks)
    laid = tuple(_laid(layer, artworks[layer.id], screens.get(layer.id), to_front, job) for layer in job.layers)
    asked = questions(drawing, sorted_shapes, {key for key, layer in layer_of.items() if layer == UNDECIDED})
    faces = with_datum_laid(
        Plan(
            job=job,
            drawing=drawing,
            drawing_to_front=to_front,
            sorted=sorted_shapes,
            layer_of=layer_of,
            layers=laid,
            findings=(),
            cautions=cautions_for(job),
            complete=False,
            account=account,
            questions=asked,
            screens=screens_of(screens),
        )
    )
    fields = field_findings(drawing, layer_of)
    found = (*drawing.findings, *told_of_screens(screens), *composing_findings, *more_findings, *fields)
    last = (*plan_findings(job, laid), *faces.findings)

    def told(checkup: tuple[Finding, ...]) -> Plan:
        moved = [moved_finding(one, to_front) for one in (*found, *checkup, *undecided_findings(drawing, asked))]
        return replace(faces, findings=(*moved, *last))

    if not _is_checked(job):
        yield told(())  # the faces need not wait for it
    plan = told(_checkup(job, drawing, progress=part(progress, 0.5, 0.55)))
    yield plan
    burned = []
    for index, layer in enumerate(laid):
        share = part(progress, 0.55 + 0.45 * index / len(laid), 0.55 + 0.45 * (index + 1) / len(laid))
        layer_key = (compose_key, job.repeats, _kerf_key(job) if layer.layer.purpose == "cut" else None)
        burned.append(_burned(plan, layer, artworks[layer.layer.id], layer_key, progress=share))
    yield replace(
        plan,
        layers=tuple(burned),
        findings=(*plan.findings, *coverage_findings(job, burned), *cost_findings(job, burned)),
        complete=True,
    )


def read_and_repaired(job: Job, *, progress: Progress = silent) -> Drawing:
    """The job's drawing as read, with the accepted repairs done."""
    assert job.source is not None
    source, reading = job.source, reading_of(job)
    drawing = _read(job, progress=progress)
    for count in range(1, len(job.repairs) + 1):
        done = job.repairs[:count]
        key = (source, reading, job.sorting.line_width_mm, done)
        drawing = cached(("repaired",), partial(repair, drawing, done[-1]), *key)
    return drawing


def _read(job: Job, *, progress: Progress = silent) -> Drawing:
    """The job's drawing as read, areas and their lines told apart."""
    assert job.source is not None
    source, reading, line_width_mm = job.source, reading_of(job), job.sorting.line_width_mm
    drawing = cached(("drawing",), lambda: read_artwork(source, reading, progress=progress), source, reading)
    return cached(
        ("separated",), lambda: separated(drawing, line_width_mm=line_width_mm), source, reading, line_width_mm
    )


def _account(
    job: Job,
    drawing: Drawing,
    sorted_shapes: tuple[Sorted, ...],
    layer_of: Mapping[str, str],
    artworks: Mapping[str, LayerArtwork],
) -> Account:
    """What became of everything in the file, copies left out of account."""
    purposes: dict[str, Suggestion] = {layer.id: layer.purpose for layer in job.layers}
    purposes |= {UNDECIDED: UNDECIDED, LEAVE_OUT: LEAVE_OUT}
    fates = {}
    for item in sorted_shapes:
        answer = purposes[layer_of[item.shape_id]]
        fates[item.shape_id] = (answer, item.why if answer == item.purpose else "The maker's word.")
    left = {shape.id for shape in drawing.shapes}
    taken = [shape for shape in _read(job).shapes if shape.id not in left]
    burned = [(layer.purpose, artworks[layer.id]) for layer in job.layers]
    return account_of(drawing, fates, burned, job.sorting, taken_by_repairs=taken)


def _with_rules(sorted_shapes: tuple[Sorted, ...], by_rule: Mapping[str, PurposeRule]) -> tuple[Sorted, ...]:
    """What sorting says, the maker's rules in its place where they speak."""
    if not by_rule:
        return sorted_shapes
    return tuple(
        Sorted(shape_id=item.shape_id, purpose=rule.answer, why=f"By your rule. {rule.sentence}")
        if (rule := by_rule.get(item.shape_id)) is not None
        else item
        for item in sorted_shapes
    )


def layers_of_shapes(
    job: Job, drawing: Drawing, sorted_shapes: tuple[Sorted, ...], by_rule: Mapping[str, PurposeRule]
) -> dict[str, str]:
    """Layer id of every shape: the maker's word first, then the rules, the export's own layers, the sorting's."""
    first_layer: dict[str, str] = {}
    for layer in job.layers:
        first_layer.setdefault(layer.purpose, layer.id)
    first_layer[LEAVE_OUT] = LEAVE_OUT
    layer_of = {item.shape_id: first_layer.get(item.purpose, UNDECIDED) for item in sorted_shapes}
    layer_ids = {layer.id for layer in job.layers}
    if drawing.from_export:
        layer_of |= {
            shape.id: shape.source_layer
            for shape in drawing.shapes
            if shape.source_layer in layer_ids and shape.id not in by_rule
        }
    chosen = {shape: layer for shape, layer in job.overrides if shape in layer_of}
    known = layer_ids | {LEAVE_OUT}
    return layer_of | {shape: layer for shape, layer in chosen.items() if layer in known}


def as_burned(
    job: Job, artworks: dict[str, LayerArtwork], key: Hashable
) -> tuple[dict[str, LayerArtwork], tuple[Finding, ...]]:
    """The artwork as often as the job repeats it, cut lines moved for the kerf where they are to be."""
    kerf_key = _kerf_key(job)
    if not (kerf_key or job.repeats):
        return artworks, ()

    def work() -> tuple[dict[str, LayerArtwork], tuple[Finding, ...]]:
        whole = with_enclosed(artworks, job.layers)
        findings: tuple[Finding, ...] = ()
        if kerf_key:
            whole, findings = with_kept_size(whole, job.layers, kerf_mm=job.stock.kerf_mm)
        if job.repeats:
            matrices = copy_matrices(job.repeats)
            if kerf_key:
                kept = [whole[layer.id].enclosed for layer in job.layers if keeps_size(layer)]
                drawn = united(one for one in kept if one is not None)
                findings += tuple(copies_findings(drawn, matrices, job.stock.kerf_mm))
            whole, more = repeated(whole, job.layers, matrices)
            findings += more
        return whole, findings

    return cached(("as burned", key, kerf_key, job.repeats), work)


def _kerf_key(job: Job) -> Hashable:
    """What the moved cut lines depend on besides the artwork; empty when none are moved."""
    moved = tuple(layer.id for layer in job.layers if keeps_size(layer))
    return (job.stock.kerf_mm, moved) if moved and job.stock.kerf_mm else ()


def drawing_to_front(job: Job, artworks: Mapping[str, LayerArtwork]) -> Affine:
    """Drawing frame to the sheet's front frame, as the job places it."""
    place = job.placement
    matrix = placement_matrix(place.x_mm, place.y_mm, place.rotation_deg)
    if not place.centred:
        return matrix
    turned = placement_matrix(0.0, 0.0, place.rotation_deg)
    burned = [artworks[layer.id] for layer in job.layers if layer.purpose != "guide"]
    x0, y0, x1, y1 = _bounds(burned, turned)
    if not np.isfinite(x0):
        return turned
    return compose(translation((job.sheet.width_mm - x0 - x1) / 2, (job.sheet.height_mm - y0 - y1) / 2), turned)


def burned_bounds_mm(plan: Plan) -> tuple[float, float, float, float]:
    """(x0, y0, x1, y1) of all that is burned, front frame; nan where nothing is."""
    layers = [layer for layer in plan.layers if layer.layer.purpose != "guide"]
    boxes = [shapely.bounds(layer.region) for layer in layers if not layer.region.is_empty]
    boxes += [np.array(path_bounds_mm(path)) for layer in layers for path in layer.paths]
    return _around(boxes)


def _bounds(artworks: list[LayerArtwork], matrix: Affine) -> tuple[float, float, float, float]:
    boxes = [
        shapely.bounds(apply_to_region(matrix, artwork.region)) for artwork in artworks if not artwork.region.is_empty
    ]
    boxes += [np.array(path_bounds_mm(path.transformed(matrix))) for artwork in artworks for path in artwork.paths]
    return _around(boxes)


def _around(boxes: list[NDArray[np.float64]]) -> tuple[float, float, float, float]:
    if not boxes:
        return (np.nan,) * 4
    x0, y0 = np.min(boxes, axis=0)[:2]
    x1, y1 = np.max(boxes, axis=0)[2:]
    return float(x0), float(y0), float(x1), float(y1)


def _laid(layer: Layer, artwork: LayerArtwork, screen: LayerScreen | None, to_front: Affine, job: Job) -> LayerPlan:
    """A layer's artwork on the sheet, with the verdict on its recipe."""
    region = apply_to_region(to_front, artwork.region)
    is_fill = layer.purpose == "fill" and not region.is_empty
    verdict = fill_verdict(held_recipe(layer.recipe, job.machine), job.machine, job.stock) if is_fill else None
    if verdict is not None and screen is not None:
        verdict = tone_verdict(verdict, screen, has_solid=not artwork.solid.is_empty)
    return LayerPlan(
        layer=layer,
        shape_ids=artwork.shape_ids,
        region=region,
        paths=tuple(path.transformed(to_front) for path in artwork.paths),
        area_mm2=float(region.area) if screen is None else float(artwork.solid.area) + screen.wanted_mm2,
        length_mm=sum(path_length_mm(path) for path in artwork.paths),
        verdict=verdict,
        chance=chance_of(job, layer, screen=screen) if is_fill else None,
        screen=screen,
        burned=None if screen is None else apply_to_region(to_front, artwork.solid),
        drawing_to_front=to_front,
        enclosed=None if artwork.enclosed is None else apply_to_region(to_front, artwork.enclosed),
    )


def chance_of(job: Job, layer: Layer, *, screen: LayerScreen | None = None) -> Chance:
    """The chance that a fill layer's recipe comes out clean, or that a screen's tones come out."""
    recipe, machine, stock = held_recipe(layer.recipe, job.machine), job.machine, job.stock
    if screen is not None:
        shortest_mm = max(part.made.held.span_mm for part in screen.parts)
        return cached(
            ("tone chance", recipe, shortest_mm),
            lambda: tone_chance(recipe, machine, stock, shortest_mm=shortest_mm),
            machine,
            stock,
        )
    return cached(("chance", recipe), lambda: fill_chance(recipe, machine, stock), machine, stock)


def _burned(plan: Plan, planned: LayerPlan, artwork: LayerArtwork, key: Hashable, *, progress: Progress) -> LayerPlan:
    """The layer with rows, coverage, line order and run time."""
    job, layer = plan.job, planned.layer
    if planned.verdict is not None:
        rows, figures, moved = _rows_and_coverage(plan, planned, artwork, key, progress=progress)
        return replace(
            planned,
            rows=rows,
            coverage=figures,
            time_range=fill_time_range(rows, held_recipe(layer.recipe, job.machine), job.machine),
            burned=planned.burned if moved is None else moved.region,
            kept_edges=() if moved is None else moved.kept,
        )
    if not planned.paths or layer.purpose == "guide":
        return planned
    turn = turn_matrix(job.turn, job.sheet)
    start = _stop_on_bed(job)
    bed = tuple(path.transformed(turn) for path in planned.paths)
    ordered = cached(
        ("ordered", key, layer.id, plan.drawing_to_front, start),
        lambda: ordered_paths(bed, start_mm=start, progress=progress),
        job.sheet,
        job.turn,
    )
    time_s = lines_time_s(ordered, layer.recipe, job.machine, start_mm=start)
    return replace(planned, paths=tuple(path.transformed(turn) for path in ordered), time_range=exactly(time_s))


def _rows_and_coverage(
    plan: Plan, planned: LayerPlan, artwork: LayerArtwork, key: Hashable, *, progress: Progress
) -> tuple[ScanRows, Coverage, Compensated | None]:
    """Rows and coverage in the bed frame, and what is burned in place of the region, in the front frame.

    Worked out with the sheet's own corner left out of account, then moved: dragging the artwork costs nothing.
    """
    job, recipe = plan.job, held_recipe(planned.layer.recipe, plan.job.machine)
    line = clearing_line(recipe, job.machine, job.stock)
    to_bed = compose(turn_matrix(job.turn, job.sheet), plan.drawing_to_front)
    unplaced: Affine = (*to_bed[:4], 0.0, 0.0)

    def work() -> tuple[ScanRows, Coverage, Compensated | None]:
        region = apply_to_region(unplaced, artwork.solid)
        moved, inset_mm = None, recipe.edge_inset_mm
        if recipe.edges == "compensated":
            moved, inset_mm = compensated(region, line, pitch_mm=pitch_mm, angle_deg=recipe.scan_angle_deg), 0.0
        if planned.screen is not None:
            solid = region if moved is None else moved.region
            rows, figures = screened_coverage(
                planned.screen, region, inset_region(solid, inset_mm), recipe, job.machine, line, progress=progress
            )
            return rows, figures, moved
        edges = edges_in_scan_frame(region, recipe.scan_angle_deg)
        rows = scan_rows(
            region if moved is None else moved.region,
            pitch_mm=pitch_mm,
            angle_deg=recipe.scan_angle_deg,
            edge_inset_mm=inset_mm,
            edges=edges if moved is None else None,
        )
        if recipe.hands_over == "outlines":  # rows of ours lie back by what the machine shifts them on
            rows = as_laid(rows, recipe, job.machine)
        figures = coverage(region, rows, line, edges=edges, progress=progress)
        if recipe.hands_over == "rows":
            figures = replace(figures, hits_all_share=1.0)  # these very rows are burned
        return rows, with_rows_astray(figures, rows, line_error_mm=job.machine.line_error_mm), moved

    pitch_mm = recipe.pitch_mm
    shifts = tuple(row_shifts_mm(2, speed_mm_s=recipe.speed_mm_s, machine=job.machine).tolist())
    laid = (*shifts, job.machine.line_error_mm, recipe.hands_over)
    screening = screening_key(job, {one.id: artwork for one in job.layers}) if planned.screen is not None else ()
    settings = (pitch_mm, recipe.scan_angle_deg, recipe.edge_inset_mm, recipe.edges, line, laid)
    rows, figures, moved = cached(("coverage", key, planned.layer.id, unplaced, settings), work, screening)
    dx_mm, dy_mm = to_bed[4], to_bed[5]
    if moved is not None:
        to_front = compose(turn_matrix(job.turn, job.sheet), translation(dx_mm, dy_mm))
        moved = Compensated(
            region=apply_to_region(to_front, moved.region),
            kept=tuple(apply_to_region(to_front, one) for one in moved.kept),
            shift=moved.shift,
        )
    return moved_rows(rows, dx_mm, dy_mm), moved_coverage(figures, dx_mm, dy_mm), moved


def _checkup(job: Job, drawing: Drawing, *, progress: Progress) -> tuple[Finding, ...]:
    fills = [layer for layer in job.layers if layer.purpose == "fill"]
    widths = [fill_verdict(layer.recipe, job.machine, job.stock).cleared_width_mm for layer in fills]
    cleared_width_mm = min(widths, default=0.0)
    found = cached(
        ("checkup", _drawing_key(job)),
        lambda: check_drawing(drawing, cleared_width_mm=cleared_width_mm, kerf_mm=job.stock.kerf_mm, progress=progress),
        cleared_width_mm,
        job.stock.kerf_mm,
    )
    cached(("checked",), lambda: True, job.source, reading_of(job))
    return found


def _is_checked(job: Job) -> bool:
    """Whether the artwork was checked before, whatever was mended or set since: then no finding goes and comes back."""
    return is_remembered(("checked",), job.source, reading_of(job))


def _stop_on_bed(job: Job) -> tuple[float, float]:
    vertical, horizontal = job.stop_corner.split()
    return (
        job.sheet.width_mm if horizontal == "right" else 0.0,
        job.sheet.height_mm if vertical == "bottom" else 0.0,
    )


def _drawing_key(job: Job) -> Hashable:
    return (job.source, reading_of(job), job.sorting.line_width_mm, job.repairs)


def _purposes(layers: tuple[Layer, ...]) -> Hashable:
    return tuple((layer.id, layer.purpose) for layer in layers)
