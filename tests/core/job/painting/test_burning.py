"""Burning colour by colour, played through point by point from the files alone, and its doses by hand."""

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from core.artwork.drawing import ArtworkSource
from core.artwork.reading import load_source
from core.burning.beam import cleared_width_mm, fill_verdict
from core.errors import JobError
from core.finishing.overlaps import overlap_into, strip_dose
from core.finishing.paints import BARE, Finishing, starting_paint
from core.job.cautions import BURN_LATER_CAUTIONS
from core.job.datum import with_datum
from core.job.job import new_job
from core.job.job_file import job_file_bytes, job_from_bytes
from core.job.painting.burning import burn_plan
from core.job.painting.decisions import adopted, with_way
from core.job.painting.offers import way_offers
from core.job.painting.planning import paint_plan
from core.job.painting.stacks import painted_scrap, roomiest_recipe, stack_stock, with_stack_learned
from core.job.painting.stages import looks_after, stages_of
from core.job.prepare import plan_steps, prepare
from core.output.burn_files import burn_files
from core.output.mask_files import mask_files
from core.sheet.datum import Datum
from core.sheet.play import moved
from core.sheet.stacks import StackFigures
from core.sheet.stock import CLEAR_ACRYLIC_3, MIRRORED_ACRYLIC_3
from tests.core.finishing.layouts import svg_of
from tests.core.output.laid_files import farthest_mm, laid, read, rigid

CREST = Path(__file__).parents[4] / "sample_jobs" / "crest.svg"
TOUCHING = [(0, 2.0, 2.0, 20.0, 20.0), (1, 22.0, 2.0, 16.0, 20.0), (2, 4.0, 22.0, 30.0, 8.0), (3, 45.0, 40.0, 9.0, 9.0)]


def known(finishing):
    """All paints with what must be known of them before they are burned through."""
    told = {"maker": "Harbour Paints", "binder": "acrylic", "sheet_read": True}
    return replace(finishing, paints=tuple(replace(paint, **told) for paint in finishing.paints))


@cache
def planned(art="boxes", kind="pins", ways="burn", turn="sideways"):
    """(plan, paint plan, burn plan) with all colours burned later, all masked, or every other one."""
    source = load_source(CREST) if art == "crest" else ArtworkSource(name="layout.svg", data=svg_of(TOUCHING))
    job = replace(new_job(source), turn=turn)
    first = next(plan_steps(job))
    finishing = known(adopted(first))
    names = paint_plan(first).order
    later = {"burn": names[1:], "mask": (), "mixed": names[1::2]}[ways]
    chosen = tuple((name, "burn") for name in later)
    finishing = replace(finishing, order=names, ways=(*chosen, (BARE, "burn")) if chosen else ())
    plan = prepare(with_datum(replace(job, finishing=finishing), Datum(kind=kind, pin_mm=3.0)))
    painting = paint_plan(plan)
    return plan, painting, burn_plan(plan, painting)


@cache
def files_as_read(plan, painting, burning):
    """The lines in the SVG of each burn and of each mask, by its name."""
    burns = [file for file in burn_files(plan, painting, burning) if file.name.endswith(".svg")]
    masks = mask_files(plan, painting, ".svg")
    return tuple({file.name: read(file.name, file.data) for file in files} for files in (burns, masks))


def from_the_back(plan):
    """Front points as they lie on the bed, turned over by hand."""
    width, height = plan.job.sheet.width_mm, plan.job.sheet.height_mm
    return (
        (lambda xy: xy * (-1, 1) + (width, 0))
        if plan.job.turn == "sideways"
        else (lambda xy: xy * (1, -1) + (0, height))
    )


def within(region, points):
    """Which of the points lie in a region."""
    shapely.prepare(region)
    return shapely.contains_xy(region, *points.T)


def grid(region):
    x0, y0, x1, y1 = region.bounds
    step = max(0.4, (x1 - x0) / 120)
    xs, ys = np.meshgrid(np.arange(x0, x1, step) + 0.137, np.arange(y0, y1, step) + 0.071)
    points = np.column_stack([xs.ravel(), ys.ravel()])
    return points[within(region, points)]


def played(plan, painting, burning, points, *, off=None):
    """Colour names at points of the front once all is done, "coat" where it stands; from the files alone.

    Burn files give what is bared, mask files where paint comes down; ``off``: for each later burn what moves it.
    """
    bed = from_the_back(plan)(points)
    target, masks = files_as_read(plan, painting, burning)
    reference = next(lines for name, lines in target.items() if name.startswith("burn-1"))
    look = np.full(len(points), "coat", object)
    snapshots = []
    for burn in burning.burns:
        name = next(name for name in target if name.startswith(f"burn-{burn.number}"))
        region = target[name].region("fill")
        if off is not None and burn.number > 1:
            region = off(burn.number, region)
        inside = within(region, bed)
        look[inside] = BARE
        snapshots.append(look.copy())
        for step in (step for step in painting.steps if step.burn == burn.number):
            lands = np.ones(len(points), bool)
            if step.opening is not None:
                mask = next(name for name in masks if name.startswith(f"mask-{step.number}-"))
                film = masks[mask]
                edge = datum_points(plan, film, "film edge")
                turned, shift, left = rigid(
                    edge, datum_points(plan, reference, "cut"), in_order=plan.datum.kind == "part edge"
                )
                assert left < 0.01
                lands = shapely.contains_xy(laid(film.region("cut"), turned, shift), *bed.T)
            look[lands & (look == BARE)] = step.area.paint.name
            snapshots.append(look.copy())
    return look, snapshots


def datum_points(plan, lines, edge):
    if plan.datum.kind == "part edge":
        x0, y0, x1, y1 = lines.region(edge).bounds
        return np.array([(x0, y0), (x1, y1)])
    return lines.circles("datum marks" if plan.datum.kind == "marks" else "pin holes")


def wanted(painting, points):
    """Each point's own paint, by the artwork."""
    look = np.full(len(points), "coat", object)
    look[within(painting.colouring.bare, points)] = BARE
    for area in painting.colouring.areas:
        look[within(area.region, points)] = area.paint.name
    return look


def off_borders(painting, points, mm):
    """Points that lie at least so far off all borders."""
    lines = shapely.union_all([area.region.boundary for area in painting.colouring.areas])
    shapely.prepare(lines)
    return ~shapely.dwithin(lines, shapely.points(points), mm)


CASES = [
    ("boxes", "pins", "burn", "sideways"),
    ("boxes", "marks", "burn", "endways"),
    ("boxes", "part edge", "mixed", "sideways"),
    ("crest", "pins", "burn", "sideways"),
    ("crest", "marks", "mixed", "endways"),
    ("crest", "part edge", "mask", "sideways"),
]


@pytest.mark.parametrize(("art", "kind", "ways", "turn"), CASES)
def test_every_place_gets_its_own_paint_and_every_preview_is_what_the_files_give(art, kind, ways, turn):
    plan, painting, burning = planned(art, kind, ways, turn)
    points = grid(painting.colouring.outline)
    points = points[off_borders(painting, points, 0.03)]
    look, snapshots = played(plan, painting, burning, points)
    assert len(points) > 2000
    assert (look == wanted(painting, points)).all()
    stages = stages_of(painting, burning)
    assert len(snapshots) == len(stages)
    edges = shapely.union_all([burn.region.boundary for burn in burning.burns])
    for number, snapshot in enumerate(snapshots, start=1):
        shown = np.full(len(points), "", object)
        for area in looks_after(plan, painting, stages[:number]):
            name = "coat" if area.kind == "coat" else area.name
            shown[within(area.region, points)] = name
        other = points[shown != snapshot]  # but for points on the borders of overlaps
        assert len(other) < 0.02 * len(points) and (edges.distance(shapely.points(other)) < 0.03).all()


@pytest.mark.parametrize(("art", "kind"), [("boxes", "pins"), ("boxes", "marks"), ("crest", "pins")])
def test_no_coat_shows_between_colours_however_the_sheet_comes_back(art, kind):
    """Each later burn in an extreme pose of the datum, tried by chance: coat may stand at outer edges only."""
    plan, painting, burning = planned(art, kind, "burn", "sideways")
    play = plan.datum.play
    width = plan.job.sheet.width_mm
    off_mm = burning.play.off_mm
    inner = painting.colouring.filled.buffer(-off_mm - 0.02)
    points = grid(painting.colouring.outline)
    # close to shared borders is where it would show
    shared = shapely.union_all([area.region.boundary for area in painting.colouring.areas]).buffer(2 * off_mm + 0.2)
    fine = grid_near(shared, inner)
    points = np.vstack([points[within(inner, points)], fine])
    random = np.random.default_rng(3)
    found = 0
    for _ in range(4 if art == "boxes" else 2):
        picks = {burn.number: play.poses[random.integers(len(play.poses))] for burn in burning.burns}

        def off(number, region, picks=picks):
            back = shapely.transform(region, lambda xy: xy * (-1, 1) + (width, 0))
            there = moved(back, play.middle, picks[number])
            return shapely.transform(there, lambda xy: xy * (-1, 1) + (width, 0))

        look, _ = played(plan, painting, burning, points, off=off)
        assert not (look == "coat").any()
        found += int((look != wanted(painting, points)).sum())
    assert found  # the shifts do show, as a border that lies elsewhere


def grid_near(near, inner):
    region = shapely.intersection(near, inner)
    x0, y0, x1, y1 = region.bounds
    random = np.random.default_rng(5)
    points = random.uniform((x0, y0), (x1, y1), (40_000, 2))
    return points[within(region, points)]


def test_without_an_overlap_coat_would_show():
    """The check above can fail: with the overlaps taken away, coat stands between colours."""
    plan, painting, burning = planned("boxes", "marks", "burn", "sideways")
    bare = replace(
        burning,
        burns=tuple(
            replace(
                burn,
                layers=tuple(
                    replace(layer, region=shapely.difference(layer.region, burn.overlap)) for layer in burn.layers
                ),
            )
            for burn in burning.burns
        ),
    )
    inner = painting.colouring.filled.buffer(-burning.play.off_mm - 0.02)
    shared = shapely.union_all([area.region.boundary for area in painting.colouring.areas]).buffer(0.5)
    points = grid_near(shared, inner)
    shift = burning.play.off_mm * 0.9
    look, _ = played(
        plan, painting, bare, points, off=lambda _, region: shapely.affinity.translate(region, -shift, shift)
    )
    assert (look == "coat").any()


def test_overlaps_are_as_wide_as_the_play_and_lie_in_later_areas_alone():
    _, painting, burning = planned("boxes", "marks", "burn", "sideways")
    p = burning.play.off_mm
    assert burning.overlap_mm == pytest.approx((p, 2 * p)) and 0.2 <= p < 0.4
    first, *_ = burning.burns
    own = painting.steps[0].area.region
    assert first.overlap.area > 0 and shapely.intersection(first.overlap, own).area < 1e-6
    later = shapely.union_all([step.area.region for step in painting.steps[1:]])
    assert shapely.difference(first.overlap, later).area < 1e-6
    reach = shapely.hausdorff_distance(shapely.union_all([own, first.overlap]), own)
    assert p <= reach < p * 1.5 + 0.05
    apart = overlap_into(shapely.box(0, 0, 5, 5), shapely.box(6, 0, 9, 5), 0.3, touching_mm=0.02)
    assert apart.is_empty  # coat stands between the two as it was drawn


def test_files_lie_over_each_other_by_the_datum_and_mark_what_was_burned_before():
    for kind in ("part edge", "marks", "pins"):
        plan, painting, burning = planned("boxes", kind, "burn", "sideways")
        files = burn_files(plan, painting, burning)
        names = [file.name for file in files if file.name.endswith(".dxf")]
        assert len(names) == len(burning.burns) + (kind != "part edge")
        first = read(files[0].name, files[0].data)
        layer = {"part edge": "cut", "marks": "datum marks", "pins": "pin holes"}[kind]
        for file in files[2:]:
            lines = read(file.name, file.data)
            (guide,) = [name for name in lines.layers if "do not burn" in name]
            assert guide.startswith(layer)
            assert file.name.startswith("cut-last") == ("cut" in lines.layers)
            to = first.region("cut") if kind == "part edge" else first.circles(layer)
            there = lines.region(guide) if kind == "part edge" else lines.circles(guide)
            if kind == "part edge":
                down = laid(
                    there, np.eye(2), np.array([0, plan.job.sheet.height_mm if file.name.endswith("dxf") else 0])
                )
                assert farthest_mm(down, to) < 0.01
            else:
                assert rigid(there, to)[2] < 0.01
        if kind != "part edge":
            assert "cut" not in first.layers  # the outline is cut last


def test_stacks_add_up_until_a_painted_scrap_was_read():
    navy, gold = starting_paint("navy", "#16324f"), starting_paint("gold", "#d8a23a")
    stack = stack_stock(MIRRORED_ACRYLIC_3, (navy, gold))
    assert (stack.clearing_dose_j_mm2, stack.frosting_dose_j_mm2) == pytest.approx((0.19 + 0.2, 0.80 + 0.2))
    told = StackFigures(paints=("navy", "gold"), clearing_dose_j_mm2=0.33, frosting_dose_j_mm2=1.2)
    learned = stack_stock(with_stack_learned(MIRRORED_ACRYLIC_3, told), (navy, gold))
    assert (learned.clearing_dose_j_mm2, learned.frosting_dose_j_mm2) == (0.33, 1.2)
    other_order = stack_stock(with_stack_learned(MIRRORED_ACRYLIC_3, told), (gold, navy))
    assert other_order.clearing_dose_j_mm2 == pytest.approx(0.39)


def test_the_roomiest_recipe_stands_as_far_off_lines_as_off_frost():
    job = new_job()
    for more in (0.1, 0.2, 0.3):
        stack = replace(MIRRORED_ACRYLIC_3, clearing_dose_j_mm2=0.19 + more, frosting_dose_j_mm2=0.80 + more)
        recipe = roomiest_recipe(MIRRORED_ACRYLIC_3.fill, job.machine, stack)
        verdict = fill_verdict(recipe, job.machine, stack)
        assert verdict.verdict == "clean" and cleared_width_mm(recipe, job.machine, stack) > recipe.pitch_mm
        # as ratios of dose: from where lines just meet (Liu 1982) to the recipe, and from there to frosting
        w = job.machine.spot_mm / 2
        least = math.exp(recipe.pitch_mm**2 / (2 * w * w))
        up = verdict.line_peak_dose_j_mm2 / stack.clearing_dose_j_mm2 / least
        down = stack.frosting_dose_j_mm2 / verdict.peak_dose_j_mm2
        assert up == pytest.approx(down, rel=0.02) and up > 1


def test_the_dose_in_an_overlap_is_that_of_all_burns_over_it_less_what_the_paint_takes():
    """Incubation's bounds: q = 1 adds all, a large q counts the largest alone."""
    strip = strip_dose([0.3], 0.7, paint_j_mm2=0.2, bears_j_mm2=0.61, sheet_s=0.5)
    assert strip.alone_j_mm2 == pytest.approx(0.5) and strip.together_careful_j_mm2 == pytest.approx(0.8)
    assert strip.together_j_mm2 == pytest.approx(math.hypot(0.3, 0.5))  # S = 0.5: the root of the sum of squares
    assert strip.verdict == "may frost"
    assert strip_dose([0.3], 0.9, paint_j_mm2=0.2, bears_j_mm2=0.61, sheet_s=0.5).verdict == "frosts"
    assert strip_dose([0.1], 0.5, paint_j_mm2=0.2, bears_j_mm2=0.61, sheet_s=0.5).verdict == "clean"
    _, _, burning = planned("boxes", "marks", "burn", "sideways")
    struck = [burn for burn in burning.burns if burn.strip is not None]
    assert struck and all(burn.strip_region.area > 0 for burn in struck)
    told = [finding for finding in burning.findings if finding.code == "overlap-frosts"]
    assert len(told) == sum(burn.strip.verdict != "clean" for burn in struck)


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"binder": "unknown"}, "what binds it is not known"),
        ({"binder": "chlorinated"}, "hydrogen chloride"),
        ({"binder": "cellulose nitrate"}, "burns fiercely"),
        ({"maker": " "}, "maker is not named"),
        ({"sheet_read": False}, "not marked as read"),
    ],
)
def test_paint_that_is_not_known_or_holds_chlorine_is_not_burned_through(change, why):
    plan, _, _ = planned("boxes", "pins", "burn", "sideways")
    finishing = plan.job.finishing
    first = finishing.order[0]
    paints = tuple(replace(one, **change) if one.name == first else one for one in finishing.paints)
    plan = replace(plan, job=replace(plan.job, finishing=replace(finishing, paints=paints)))
    painting = paint_plan(plan)
    burning = burn_plan(plan, painting)
    assert any(one.severity == "problem" and why in one.message for one in burning.findings)
    with pytest.raises(JobError, match="must not be burned through"):
        burn_files(plan, painting, burning)
    (paint,) = [one for one in paints if one.name == first]
    with pytest.raises(JobError, match="must not be burned through"):
        painted_scrap(plan.job.stock, plan.job.machine, (paint,))


def test_burning_later_has_cautions_of_its_own_that_are_ticked_anew():
    plan = next(plan_steps(new_job(ArtworkSource(name="layout.svg", data=svg_of(TOUCHING)))))
    names = paint_plan(plan).order
    codes = {caution.code for caution in plan.cautions}
    assert not codes & set(BURN_LATER_CAUTIONS)
    job = with_way(plan, names[1], "burn")
    assert job.finishing.burned_later(names[1]) and job.finishing.burned_later(BARE)
    later = next(plan_steps(replace(job, cautions_ticked=frozenset(BURN_LATER_CAUTIONS))))
    assert set(BURN_LATER_CAUTIONS) <= {caution.code for caution in later.cautions}
    again = with_way(later, names[2], "burn")
    assert not again.cautions_ticked & set(BURN_LATER_CAUTIONS)
    assert job_from_bytes(job_file_bytes(job), name="job") == job
    assert with_way(next(plan_steps(job)), names[1], "mask").finishing.ways == ()
    assert b"ways" not in job_file_bytes(replace(job, finishing=Finishing()))


def test_a_disc_has_no_place_to_go_back_to_by_its_edge():
    disc = '<circle cx="35" cy="35" r="34" fill="none" stroke="#000" stroke-width="0.1"/>'
    data = svg_of(TOUCHING).replace(b'<rect x="0" y="0" width="70" height="70" fill="none" stroke="#000" '
                                    b'stroke-width="0.1"/>', disc.encode())  # fmt: skip
    first = next(plan_steps(new_job(ArtworkSource(name="disc.svg", data=data))))
    finishing = known(adopted(first))
    names = paint_plan(first).order
    job = replace(first.job, finishing=replace(finishing, ways=((names[1], "burn"),)))
    plan = next(plan_steps(job))
    assert "turns-freely" in {one.code for one in burn_plan(plan, paint_plan(plan)).findings}
    marks = next(plan_steps(with_datum(job, Datum(kind="marks"))))
    assert "turns-freely" not in {one.code for one in burn_plan(marks, paint_plan(marks)).findings}


def test_without_a_coat_nothing_is_burned_later():
    job = new_job(ArtworkSource(name="layout.svg", data=svg_of(TOUCHING)), stock=CLEAR_ACRYLIC_3)
    first = next(plan_steps(new_job(job.source)))
    finishing = known(adopted(first))
    chosen = replace(finishing, ways=tuple((paint.name, "burn") for paint in finishing.paints))
    painting = paint_plan(next(plan_steps(replace(job, finishing=chosen))))
    assert painting.burns == 1


def test_both_ways_are_held_against_each_other_for_each_colour():
    plan, painting, _ = planned("boxes", "pins", "mask", "sideways")
    offers = way_offers(plan)
    assert [offer.name for offer in offers] == list(painting.order)
    assert offers[0].burned is None and offers[0].better == "mask"
    for offer in offers[1:]:
        assert offer.burned is not None and not offer.refused
        assert offer.burned.hands_min < offer.masked.hands_min + 6.0 and offer.burned.cure_h >= 12.0
        assert offer.burned.machine_min > 0 and offer.burned.film_cm2 <= offer.masked.film_cm2
    unknown = tuple(replace(paint, binder="unknown") for paint in plan.job.finishing.paints)
    plan = replace(plan, job=replace(plan.job, finishing=replace(plan.job.finishing, paints=unknown)))
    assert all(offer.better == "mask" and "binds" in offer.refused for offer in way_offers(plan)[1:])
