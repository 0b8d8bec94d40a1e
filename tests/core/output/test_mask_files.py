"""Mask files: read back by Tain's own readers they give the openings again, turned to the back."""

import io
import math
from dataclasses import replace

import ezdxf
import pytest
import shapely
from lxml import etree

from core.artwork.drawing import ArtworkSource, ReadOptions
from core.artwork.painting import filled_region
from core.artwork.reading import read_artwork
from core.errors import UnreadableError, WriteError
from core.finishing.paints import Finishing, MaskOptions
from core.finishing.steps import PaintPlan
from core.finishing.weeding import weeding_order
from core.geometry.affine import apply_to_region, inverse
from core.geometry.flattening import flatten
from core.geometry.path import ellipse, joined
from core.job.painting.decisions import with_masks
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.output.mask_files import mask_files, write_files
from core.output.mask_film import film_frame, run_on
from core.sheet.datum import Datum
from core.sheet.placement import Turn
from tests.core.finishing.layouts import plan_of, svg_of
from tests.core.output.laid_files import farthest_mm, read

LAYOUT = [(0, 2.0, 2.0, 20.0, 20.0), (1, 22.0, 2.0, 16.0, 20.0), (2, 4.0, 30.0, 30.0, 8.0)]


def planned(turn: Turn = "sideways", masks: MaskOptions | None = None) -> tuple[Plan, PaintPlan]:
    plan = plan_of(svg_of(LAYOUT), Finishing(masks=masks or MaskOptions()))
    plan = next(plan_steps(replace(plan.job, turn=turn, datum=Datum(kind="marks"))))
    return plan, paint_plan(plan)


@pytest.mark.parametrize("turn", ["sideways", "endways"])
def test_svg_openings_read_back(turn: Turn) -> None:
    plan, painting = planned(turn)
    files = mask_files(plan, painting, ".svg")
    steps = [step for step in painting.steps if step.made_by == "knife"]
    assert len(files) == len(steps) == 2
    for file, step in zip(files, steps, strict=True):
        root = etree.fromstring(file.data)
        group = root.find("{*}g[@id='cut']")
        assert group is not None
        text = etree.tostring(group).decode()
        size = f'width="{root.get("width")}" height="{root.get("height")}" viewBox="{root.get("viewBox")}"'
        svg = f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{text}</svg>'.encode()
        drawing = read_artwork(ArtworkSource(name=file.name, data=svg), ReadOptions())
        path = joined([shape.path for shape in drawing.shapes])
        back = apply_to_region(
            inverse(film_frame(plan, painting.ground)), filled_region(path, "evenodd", tolerance_mm=0.001)
        )
        assert step.opening is not None
        assert shapely.hausdorff_distance(shapely.segmentize(back, 0.1), shapely.segmentize(step.opening, 0.1)) < 0.011


@pytest.mark.parametrize("suffix", [".svg", ".dxf"])
def test_the_same_mask_gives_the_same_bytes(suffix: str) -> None:
    plan, painting = planned()
    first, second = (mask_files(plan, painting, suffix) for _ in range(2))
    assert [file.data for file in first] == [file.data for file in second]


def test_dxf_openings_read_back() -> None:
    plan, painting = planned()
    for file, step in zip(mask_files(plan, painting, ".dxf"), painting.steps, strict=False):
        document = ezdxf.read(io.StringIO(file.data.decode()))
        assert document.units == 4
        assert {"Cut", "Film edge", "Datum marks", "Piece outline", "Notes"} <= {
            layer.dxf.name for layer in document.layers
        }
        down = (1.0, 0.0, 0.0, 1.0, 0.0, document.modelspace().dxf.extmax[1])
        opening = apply_to_region(down, read(file.name, file.data).region("cut"))
        back = apply_to_region(inverse(film_frame(plan, painting.ground)), opening)
        assert step.opening is not None
        assert farthest_mm(back, step.opening) < 0.011
        assert len(document.modelspace().query('CIRCLE[layer=="Datum marks"]')) == 3


def test_the_picture_is_mirrored_once() -> None:
    """What lies left on the front lies right on film laid on the back of a sheet turned sideways."""
    plan, painting = planned("sideways")
    to_film = film_frame(plan, painting.ground)
    film = apply_to_region(to_film, painting.ground.film)
    assert film.bounds[:2] == pytest.approx((0.0, 0.0))
    left_on_front = shapely.Point(painting.ground.film.bounds[0] + 1, painting.ground.film.bounds[1] + 1)
    x, y = shapely.get_coordinates(apply_to_region(to_film, left_on_front))[0]
    assert x == pytest.approx(film.bounds[2] - 1)
    assert y == pytest.approx(1)


def test_three_marks_lie_on_the_film_outside_the_piece() -> None:
    plan, painting = planned()
    assert plan.datum is not None
    points = [shapely.Point(*mark) for mark in plan.datum.places]
    assert len(points) == 3
    for point in points:
        assert painting.ground.film.contains(point.buffer(3.0))
        assert painting.colouring.outline.distance(point) == pytest.approx(6.0 * 2**0.5)


def test_the_sheets_own_film_needs_only_patches() -> None:
    plan, painting = planned(masks=MaskOptions(film_stays_on=True))
    files = mask_files(plan, painting, ".svg")
    assert files[0].name.startswith("mask-1-")
    assert b"patches over what waits" in files[0].data
    assert len(files) == 2


def test_one_film_for_all_needs_no_file() -> None:
    plan = plan_of(svg_of(LAYOUT[:1]))
    assert mask_files(plan, paint_plan(plan), ".svg") == ()


def test_only_layers_to_cut_hold_outlines_to_cut() -> None:
    """A maker who switches the other layers off cuts the openings and the film's edge, no text and no marks."""
    plan, painting = planned()
    root = etree.fromstring(mask_files(plan, painting, ".svg")[0].data)
    ids = [group.get("id") for group in root.findall("{*}g")]
    assert ids == ["piece-outline", "datum-marks", "words", "numbers", "cut", "film-edge", "notes"]
    assert not root.findall("{*}g[@id='cut']/{*}text")


def test_openings_are_cut_small_ones_first_islands_before_what_is_round_them() -> None:
    ring = shapely.box(0, 0, 30, 30).difference(shapely.box(8, 8, 20, 20))
    order = weeding_order(shapely.MultiPolygon([ring, shapely.box(40, 0, 44, 4), shapely.box(50, 0, 60, 10)]))
    assert [piece.piece.area for piece in order] == [16.0, 100.0, 900.0 - 144.0]
    assert [piece.islands for piece in order] == [0, 0, 1]


@pytest.mark.parametrize("suffix", [".svg", ".dxf"])
def test_the_cut_is_drawn_in_by_half_its_width_and_runs_on_beyond_its_start(suffix: str) -> None:
    plain, _ = planned()
    masks = replace(plain.job.finishing.masks, cut_width_mm=0.2, overcut_mm=1.5)
    plan = next(plan_steps(with_masks(plain.job, masks)))
    painting = paint_plan(plan)
    for file in mask_files(plan, painting, suffix):
        (step,) = [one for one in painting.steps if file.name.startswith(f"mask-{one.number}-")]
        film = apply_to_region(film_frame(plan, painting.ground), step.opening)
        if suffix == ".dxf":
            film = apply_to_region((1.0, 0.0, 0.0, 1.0, 0.0, -film_height(plan, painting)), film)
        for line in read(file.name, file.data).layers["cut"]:
            walk = shapely.LineString(line)
            away = shapely.distance(shapely.points(line), film.boundary)
            assert film.contains(walk) and away == pytest.approx(0.1, abs=0.015)
            # it comes by its start once more, the overcut before its end
            assert walk.length > 10 and walk.interpolate(walk.length - 1.5).distance(shapely.Point(line[0])) < 0.03


def film_height(plan: Plan, painting: PaintPlan) -> float:
    """Of the film's page, mm."""
    bounds = apply_to_region(film_frame(plan, painting.ground), painting.ground.film).bounds
    return float(bounds[3])


def test_a_full_circle_runs_on_too() -> None:
    (circle,) = ellipse((0.0, 0.0), 5.0, 5.0).subpaths()
    line = flatten(run_on(circle, 2.0), 0.001).points
    assert shapely.LineString(line).length == pytest.approx(10 * math.pi + 2.0, rel=1e-3)


def test_film_too_narrow_to_hold_is_left_out_by_name() -> None:
    """A dot of another colour inside a large area: its film would be 0.6 mm wide."""
    layout = [(0, 2.0, 2.0, 30.0, 30.0), (1, 14.0, 14.0, 0.6, 0.6), (2, 40.0, 2.0, 10.0, 10.0)]
    names = [area.paint.name for area in paint_plan(plan_of(svg_of(layout))).colouring.areas]
    painting = paint_plan(plan_of(svg_of(layout), Finishing(order=tuple(names))))
    first = painting.steps[0]
    (speck,) = first.specks
    assert speck.covers == (names[1],) and speck.width_mm == pytest.approx(0.6, abs=0.02)
    dot = painting.colouring.areas[1].region
    assert dot.distance(shapely.Point(speck.x_mm, speck.y_mm)) < 0.1
    assert first.opening is not None and not any(part.interiors for part in shapely.get_parts(first.opening))
    (told,) = [one for one in painting.findings if one.code == "specks-dropped"]
    assert names[1] in told.message and "1 speck of film" in told.message
    # with the dot painted first nothing is left out
    assert not paint_plan(plan_of(svg_of(layout), Finishing(order=(names[1], names[0])))).steps[1].specks


def test_files_are_written_all_or_none(tmp_path) -> None:
    plan, painting = planned()
    files = mask_files(plan, painting, ".svg")
    (tmp_path / files[1].name).write_text("mine")
    with pytest.raises(WriteError):
        write_files(files, tmp_path, overwrite=False)
    assert [path.name for path in tmp_path.iterdir()] == [files[1].name]
    paths = write_files(files, tmp_path, overwrite=True)
    assert all(path.read_bytes() == file.data for path, file in zip(paths, files, strict=True))


def test_other_endings_are_refused() -> None:
    with pytest.raises(UnreadableError):
        mask_files(*planned(), ".pdf")


def test_odd_names_make_safe_files() -> None:
    data = svg_of(LAYOUT).replace(b'fill="#16324f"', 'fill="#16324f" id="../Ünï &amp; co"'.encode())
    plan = plan_of(data)
    names = [file.name for file in mask_files(plan, paint_plan(plan), ".dxf")]
    assert all("/" not in name and name.endswith(".dxf") for name in names)
    assert flatten(plan.drawing.shapes[0].path, 0.1).points.size
