"""The sample jobs: each opens at its size, sorts itself as it was drawn to, and has only the faults it was given."""

import io
import math
from collections import Counter
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image
from shapely.geometry.base import BaseGeometry

from core.artwork.checkup.checkup import check_drawing
from core.artwork.checkup.repairs import repair
from core.artwork.composing import compose_layers
from core.artwork.drawing import Drawing, Finding, ReadOptions, Shape
from core.artwork.painting import painted_region
from core.artwork.reading import load_source, read_artwork
from core.artwork.sorting.deciding import sort_shapes
from core.geometry.engine import united
from core.geometry.flattening import flatten, path_bounds_mm, path_length_mm
from core.job.job import SortOptions, standard_layers
from core.sheet.stock import MIRRORED_ACRYLIC_3

SAMPLES = Path(__file__).parents[2] / "sample_jobs"
CLEARED_WIDTH_MM, KERF_MM = 0.0633, 0.15
TOLERANCE_MM = 0.01

# width, height, where the size comes from, shapes by purpose: counted in the files by hand
SOUND = {
    "house-number.svg": (140.0, 190.0, "mm", {"fill": 21, "cut": 3}),
    "name-plate.svg": (220.0, 80.0, "cm", {"fill": 177, "cut": 5}),
    "letter-set.svg": (296.0, 150.0, "mm", {"fill": 5, "cut": 11, "score": 20}),
    "ornament-mirror.svg": (200.0, 200.0, "mm", {"fill": 418, "cut": 1}),
    "crest.svg": (160.0, 168.0, "mm", {"fill": 50, "cut": 1}),
    "room-key-tags.svg": (590 * 25.4 / 96, 446 * 25.4 / 96, "px", {"fill": 48, "cut": 12}),
    "tide-clock.svg": (7 * 25.4, 7 * 25.4, "in", {"fill": 113, "cut": 2}),
    "bracket-plate.dxf": (172.0, None, "$INSUNITS 4", {"fill": 14, "cut": 14, "score": 5}),
}
FAULTY = "faulty-door-sign.svg"


@cache
def drawing_of(name: str) -> Drawing:
    return read_artwork(load_source(SAMPLES / name), ReadOptions())


@cache
def findings_of(name: str) -> tuple[Finding, ...]:
    drawing = drawing_of(name)
    return (*drawing.findings, *check_drawing(drawing, cleared_width_mm=CLEARED_WIDTH_MM, kerf_mm=KERF_MM))


def purposes(name: str) -> dict[str, list[Shape]]:
    drawing = drawing_of(name)
    result: dict[str, list[Shape]] = {}
    for shape, sorted_ in zip(drawing.shapes, sort_shapes(drawing, SortOptions()), strict=True):
        result.setdefault(sorted_.purpose, []).append(shape)
    return result


@cache
def region(shape: Shape) -> BaseGeometry:
    return painted_region(shape, tolerance_mm=TOLERANCE_MM)


def labelled(name: str, label: str) -> Shape:
    return next(shape for shape in drawing_of(name).shapes if shape.label == label)


def test_every_sample_is_tested_here():
    assert {path.name for path in SAMPLES.iterdir() if path.suffix in (".svg", ".dxf")} == {*SOUND, FAULTY}


@pytest.mark.parametrize("name", SOUND)
def test_size_is_the_real_one(name):
    width_mm, height_mm, units_from, _ = SOUND[name]
    drawing = drawing_of(name)
    assert drawing.width_mm == pytest.approx(width_mm, abs=0.01)
    if height_mm is not None:
        assert drawing.height_mm == pytest.approx(height_mm, abs=0.01)
    assert units_from in drawing.units_from


@pytest.mark.parametrize("name", SOUND)
def test_shapes_sort_themselves(name):
    assert Counter({purpose: len(shapes) for purpose, shapes in purposes(name).items()}) == Counter(SOUND[name][3])


@pytest.mark.parametrize("name", SOUND)
def test_sound_samples_need_no_second_look(name):
    assert [(finding.code, finding.message) for finding in findings_of(name) if finding.severity != "note"] == []


@pytest.mark.parametrize("name", [*SOUND, FAULTY])
def test_fits_the_sheet_a_new_job_starts_with(name):
    outline = purposes(name)["cut"]
    x0, y0, x1, y1 = np.transpose([path_bounds_mm(shape.path) for shape in outline])
    assert x1.max() - x0.min() < 300
    assert y1.max() - y0.min() < 200


@pytest.mark.parametrize("name", [name for name in SOUND if name.endswith(".svg")])
def test_paints_what_an_independent_renderer_paints(name):
    """Painted area against resvg's, summed over anti-aliased pixels at 12 px/mm (hairlines over a pixel wide)."""
    drawing = drawing_of(name)
    picture = resvg_py.svg_to_bytes(svg_path=str(SAMPLES / name), dpi=96, width=round(drawing.width_mm * 12))
    alpha = np.asarray(Image.open(io.BytesIO(bytes(picture))).getchannel("A"), float) / 255
    mm2_per_pixel = (drawing.width_mm / alpha.shape[1]) ** 2
    painted = united([region(shape) for shape in drawing.shapes])
    assert painted.area == pytest.approx(alpha.sum() * mm2_per_pixel, rel=0.003)


@pytest.mark.parametrize("name", SOUND)
def test_fills_stay_clear_of_cuts(name):
    sorted_shapes = purposes(name)
    fills = united([region(shape) for shape in sorted_shapes["fill"]])
    for shape in sorted_shapes["cut"]:
        for points in flatten(shape.path, TOLERANCE_MM).parts():
            assert shapely.LineString(points).distance(fills) > 1.5


@pytest.mark.parametrize("name", SOUND)
def test_no_area_is_drawn_twice(name):
    regions = [region(shape) for shape in purposes(name)["fill"]]
    # borders that touch are written to 0.01 mm
    assert sum(part.area for part in regions) - united(regions).area < 0.01


def test_crest_has_four_paints_that_touch_and_nearly_touch():
    by_paint: dict[str | None, list] = {}
    for shape in purposes("crest.svg")["fill"]:
        by_paint.setdefault(shape.fill, []).append(region(shape))
    assert len(by_paint) == 4
    paints = [united(regions) for regions in by_paint.values()]
    gaps_mm = [a.distance(b) for i, a in enumerate(paints) for b in paints[:i]]
    assert min(gaps_mm) < 0.01
    assert sum(0.3 < gap < 1.0 for gap in gaps_mm) >= 2


def test_tide_clock_uses_its_tick_sixty_times():
    ticks = [shape for shape in purposes("tide-clock.svg")["fill"] if shape.label == "tick"]
    size_mm = drawing_of("tide-clock.svg").width_mm
    centres = [shapely.box(*path_bounds_mm(shape.path)).centroid for shape in ticks]
    angles_deg = sorted(math.degrees(math.atan2(c.y - size_mm / 2, c.x - size_mm / 2)) % 360 for c in centres)
    assert len(ticks) == 60
    assert np.diff(angles_deg) == pytest.approx(6.0, abs=1e-6)


def test_key_tags_hold_letters_that_do_not_survive_a_turn():
    tags = united([region(shape) for shape in purposes("room-key-tags.svg")["fill"]])
    width_mm = drawing_of("room-key-tags.svg").width_mm
    turned = shapely.affinity.affine_transform(tags, (-1, 0, 0, 1, width_mm, 0))
    assert tags.symmetric_difference(turned).area > 0.5 * tags.area


def test_letter_set_has_ten_pieces():
    """The pieces left when all cut lines are cut: outermost outlines, with their counters as holes."""
    rings = [
        shapely.Polygon(points)
        for shape in purposes("letter-set.svg")["cut"]
        for points in flatten(shape.path, TOLERANCE_MM).parts()
    ]
    outermost = [ring for ring in rings if not any(other is not ring and other.contains(ring) for other in rings)]
    assert len(outermost) == 10
    assert len(rings) == 13  # counters: O and R of the faces, O of the backs


def test_bracket_holes_measure_what_the_drawing_says():
    holes = [shape for shape in purposes("bracket-plate.dxf")["cut"] if shape.source_layer == "HOLES"]
    lengths_mm = sorted(path_length_mm(shape.path) for shape in holes)
    slot_mm = 2 * 14 + 2 * math.pi * 2
    expected_mm = [2 * math.pi * 2.6] * 4 + [2 * math.pi * 5, slot_mm, slot_mm]
    assert lengths_mm == pytest.approx(sorted(expected_mm), abs=1e-6)


def test_bracket_block_comes_back_mirrored():
    pierced = [shape for shape in purposes("bracket-plate.dxf")["cut"] if shape.source_layer == "PIERCED"]
    regions = [shapely.Polygon(flatten(shape.path, 0.001).points) for shape in pierced]
    middle_mm = drawing_of("bracket-plate.dxf").width_mm / 2
    left = united([r for r in regions if r.centroid.x < middle_mm])
    right = united([r for r in regions if r.centroid.x > middle_mm])
    mirrored = shapely.affinity.affine_transform(left, (-1, 0, 0, 1, 2 * middle_mm, 0))
    assert len(regions) == 6
    assert mirrored.symmetric_difference(right).area < 1e-3 * right.area


def test_bracket_outline_is_one_closed_line():
    outline = next(shape for shape in drawing_of("bracket-plate.dxf").shapes if shape.source_layer == "PLATE")
    assert outline.path.closed.tolist() == [True]


def test_faulty_sign_has_the_faults_it_is_said_to_have():
    drawing = drawing_of(FAULTY)
    outline = labelled(FAULTY, "outline").path
    gap_mm = np.hypot(*(outline.end_points[-1] - outline.start_points[0]))
    assert gap_mm == pytest.approx(0.16, abs=0.01)

    rule, copy = labelled(FAULTY, "rule").path, labelled(FAULTY, "rule-copy").path
    assert copy.reversed().segments == pytest.approx(rule.segments)
    holes = [labelled(FAULTY, label).path.segments for label in ("screw-right", "screw-right-copy")]
    assert holes[0] == pytest.approx(holes[1])

    plate = shapely.Polygon(flatten(outline, TOLERANCE_MM).points)
    waves = region(labelled(FAULTY, "waves"))
    assert waves.intersects(plate) and not plate.contains(waves)

    buoy, anchor = region(labelled(FAULTY, "buoy")), region(labelled(FAULTY, "anchor"))
    assert buoy.intersection(anchor).area > 5

    x0, y0, x1, y1 = region(labelled(FAULTY, "speck")).bounds
    assert y1 - y0 == pytest.approx(0.03, abs=1e-6) and y1 - y0 < CLEARED_WIDTH_MM < x1 - x0

    assert path_bounds_mm(labelled(FAULTY, "star").path)[0] > drawing.width_mm
    assert {labelled(FAULTY, f"band-{i}").fill for i in (1, 2, 3, 4)} == {"#ffffff"}


@pytest.mark.parametrize(
    "labels",
    [("outline",), ("rule", "rule-copy"), ("screw-right", "screw-right-copy"), ("speck",), ("star",)],
    ids=lambda labels: labels[0],
)
def test_faults_of_shapes_are_found(labels):
    ids = {labelled(FAULTY, label).id for label in labels}
    assert any(ids & set(finding.shape_ids) for finding in findings_of(FAULTY))


def test_waves_across_the_cut_are_found_once_the_outline_is_closed():
    drawing = repair(drawing_of(FAULTY), "join-ends")
    layer_of = {sorted_.shape_id: sorted_.purpose for sorted_ in sort_shapes(drawing, SortOptions())}
    outline = next(shape for shape in drawing.shapes if shape.label == "outline")
    assert layer_of[outline.id] == "cut"
    _, findings = compose_layers(drawing, layer_of, standard_layers(MIRRORED_ACRYLIC_3), SortOptions())
    waves = region(labelled(FAULTY, "waves"))
    places = [(f.x_mm, f.y_mm) for f in findings if f.code == "fill-across-cut"]
    assert len(places) == 1
    assert waves.contains(shapely.Point(places[0]))


def test_a_picture_of_dots_is_named():
    assert any("photo" in finding.message for finding in drawing_of(FAULTY).findings)


def test_text_names_the_font_it_was_set_in_or_lacks():
    about_text = [finding for finding in drawing_of(FAULTY).findings if "text" in finding.message.lower()]
    assert any("font" in finding.message for finding in about_text)


def composed(white_keeps: bool | None) -> tuple[BaseGeometry, tuple[Finding, ...]]:
    """The faulty sign's fill region, and what composing it says."""
    drawing, options = drawing_of(FAULTY), SortOptions(white_keeps=white_keeps)
    layer_of = {sorted_.shape_id: sorted_.purpose for sorted_ in sort_shapes(drawing, options)}
    artwork, findings = compose_layers(drawing, layer_of, standard_layers(MIRRORED_ACRYLIC_3), options)
    return artwork["fill"].region, findings


def test_white_bands_are_asked_about_and_keep_the_coat_meanwhile():
    bands = [labelled(FAULTY, f"band-{i}") for i in (1, 2, 3, 4)]
    undecided, findings = composed(None)
    assert any({band.id for band in bands} & set(finding.shape_ids) for finding in findings)
    kept, cleared = composed(True)[0], composed(False)[0]
    assert undecided.symmetric_difference(kept).area < 1e-6
    # the anchor lies on top of the white, so what it covers is cleared either way
    white = united([region(band) for band in bands]).difference(region(labelled(FAULTY, "anchor")))
    assert cleared.area - kept.area == pytest.approx(white.area, rel=1e-4)


def test_overlapping_fills_are_burned_once():
    fills = [region(shape) for shape in purposes(FAULTY)["fill"]]
    cleared = composed(False)[0]
    assert cleared.area == pytest.approx(shapely.union_all(fills).area, rel=1e-6)
    assert cleared.area < sum(part.area for part in fills) - 5
