"""Mask files: read back by Tain's own readers they give the openings again, turned to the back."""

import io
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
from core.geometry.affine import apply_to_region, inverse
from core.geometry.flattening import flatten
from core.geometry.path import joined
from core.job.painting.planning import paint_plan
from core.job.plan import Plan
from core.job.prepare import plan_steps
from core.output.mask_files import film_frame, mask_files, register_marks_mm, write_files
from core.sheet.placement import Turn
from tests.core.finishing.layouts import plan_of, svg_of

LAYOUT = [(0, 2.0, 2.0, 20.0, 20.0), (1, 22.0, 2.0, 16.0, 20.0), (2, 4.0, 30.0, 30.0, 8.0)]


def planned(turn: Turn = "sideways", masks: MaskOptions | None = None) -> tuple[Plan, PaintPlan]:
    plan = plan_of(svg_of(LAYOUT), Finishing(masks=masks or MaskOptions()))
    plan = next(plan_steps(replace(plan.job, turn=turn)))
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
        assert back.symmetric_difference(step.opening).area < 1e-3


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
        assert {"Cut", "Film edge", "Register marks", "Piece outline", "Notes"} <= {
            layer.dxf.name for layer in document.layers
        }
        height = document.modelspace().dxf.extmax[1]
        cut = document.modelspace().query('LWPOLYLINE[layer=="Cut"]')
        rings = [shapely.Polygon([(x, height - y) for x, y, *_ in entity.get_points()]) for entity in cut]
        back = [apply_to_region(inverse(film_frame(plan, painting.ground)), ring) for ring in rings]
        assert step.opening is not None
        assert shapely.union_all(back).symmetric_difference(step.opening).area < 1e-3
        assert len(document.modelspace().query("CIRCLE")) == 3


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
    outline = painting.colouring.outline
    marks = register_marks_mm(painting.ground, plan.job.finishing.masks.marks_mm, outline)
    points = [shapely.Point(*mark) for mark in marks]
    assert len(points) == 3
    for point in points:
        assert painting.ground.film.contains(point.buffer(3.0))
        assert outline.distance(point) == pytest.approx(6.0 * 2**0.5)


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
    assert ids == ["film-edge", "piece-outline", "register-marks", "cut", "notes"]
    assert not root.findall("{*}g[@id='cut']/{*}text")


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
