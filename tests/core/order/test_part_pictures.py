"""Screened pictures on an order's sheets show what the design shows: clipped, turned, stretched, sliced, covered."""

import base64
from dataclasses import replace

import numpy as np
import pytest
import shapely
from PIL import Image

from core.artwork.drawing import ArtworkSource
from core.artwork.picture_decisions import PictureOptions
from core.geometry.affine import apply_to_region, compose
from core.job.job import new_job
from core.job.prepare import plan_steps, prepare
from core.job.setting import with_setting
from core.order.list_reading import read_list
from core.order.order import LaidSheet, Order, PartPlace
from core.order.sheet_jobs import body_box_mm, sheet_job
from core.order.working_out import fill_order
from core.sheet.placement import Sheet, placement_matrix
from tests.core.artwork.pictures.made_pictures import file_bytes

SHEET = Sheet(width_mm=150, height_mm=70, thickness_mm=3)
PLACES = (PartPlace(part=1, x_mm=2, y_mm=3), PartPlace(part=2, x_mm=100, y_mm=5, rotation_deg=90.0))
CIRCLE = '<clipPath id="round"><circle cx="20" cy="12" r="9"/></clipPath>'
HOLE = '<clipPath id="round"><path clip-rule="evenodd" d="M4 4h30v16h-30zM12 8h8v8h-8z"/></clipPath>'
DESIGNS = {
    "whole": '<image x="4" y="2" width="24" height="12" href="IMAGE"/>',
    "clipped round": f'{CIRCLE}<image x="4" y="2" width="30" height="20" href="IMAGE" clip-path="url(#round)"/>',
    "clipped with a hole": f'{HOLE}<image x="4" y="2" width="30" height="20" href="IMAGE" clip-path="url(#round)"/>',
    "turned and clipped": f'{CIRCLE}<g clip-path="url(#round)"><image width="24" height="12" href="IMAGE" '
    'transform="translate(8 2) rotate(20) skewX(8)"/></g>',
    "stretched": '<image x="4" y="2" width="12" height="20" preserveAspectRatio="none" href="IMAGE"/>',
    "sliced": '<image x="4" y="2" width="12" height="20" preserveAspectRatio="xMinYMid slice" href="IMAGE"/>',
    "mirrored": '<image x="-34" y="2" width="24" height="12" transform="scale(-1 1)" href="IMAGE"/>',
    "half of a viewport": '<svg x="4" y="2" width="9" height="9"><image width="24" height="12" href="IMAGE"/></svg>',
}


def order_with(body: str) -> Order:
    greys = np.linspace(255, 0, 120)[None, :] * np.linspace(1, 0.6, 60)[:, None]
    data = base64.b64encode(file_bytes(Image.fromarray(greys.round().astype(np.uint8)))).decode()
    text = '<text x="3" y="24" font-family="DejaVu Sans" font-size="3" fill="black">{name}</text>'
    edge = '<rect width="40" height="26" fill="none" stroke="red" stroke-width="0.1"/>'
    body = body.replace("IMAGE", f"data:image/png;base64,{data}")
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="26mm" viewBox="0 0 40 26">'
    svg = f"{head}{body}{edge}{text}</svg>"
    job = new_job(ArtworkSource(name="tag.svg", data=svg.encode()))
    reading = replace(job.reading, picture=PictureOptions(way="screen", bared_is="dark"))
    job = with_setting(replace(job, reading=reading, sheet=SHEET), "fill", "lines_per_inch", "300")
    return Order(design=job, names=read_list(b"Name\nAnna\nBo\n", name="club.csv"))


@pytest.mark.parametrize("name", DESIGNS)
def test_a_picture_shows_on_a_sheet_what_it_shows_in_the_design(name: str) -> None:
    order = order_with(DESIGNS[name])
    made = fill_order(order)
    job = sheet_job(
        made.order,
        LaidSheet(sheet=SHEET, places=PLACES),
        made.parts,
        made.filled,
        box_mm=body_box_mm(made.filled[1]),
        name="sheet-1",
    )
    (of_design,) = screen_of(next(plan_steps(order.design))).shown
    of_sheet = screen_of(prepare(job)).shown
    assert len(of_sheet) == len(PLACES)
    for place, shown in zip(PLACES, of_sheet, strict=True):
        to_front = placement_matrix(place.x_mm, place.y_mm, place.rotation_deg)
        expected = apply_to_region(to_front, of_design.region)
        assert shapely.symmetric_difference(shown.region, expected).area < 2e-3 * expected.area
        assert shown.shares.shape == of_design.shares.shape
        assert np.abs(shown.shares.astype(int) - of_design.shares.astype(int)).max() <= 1
        assert shown.to_drawing == pytest.approx(compose(to_front, of_design.to_drawing), abs=2e-3)


def test_a_clipped_picture_burns_as_much_on_a_sheet_as_alone() -> None:
    order = order_with(DESIGNS["clipped round"])
    made = fill_order(order)
    laid, box_mm = LaidSheet(sheet=SHEET, places=PLACES), body_box_mm(made.filled[1])
    plan = prepare(sheet_job(made.order, laid, made.parts, made.filled, box_mm=box_mm, name="sheet-1"))
    alone, both = screen_of(next(plan_steps(order.design))), screen_of(plan)
    assert both.wanted_mm2 == pytest.approx(2 * alone.wanted_mm2, rel=0.01)
    spans = both.spans
    region = shapely.union_all([one.region for one in both.parts])
    middles = shapely.points((spans.x0_mm + spans.x1_mm) / 2, spans.y0_mm + spans.row * spans.pitch_mm)
    assert shapely.covers(shapely.buffer(region, 1e-3), middles).all()


def screen_of(plan):
    (screen,) = [layer.screen for layer in plan.layers if layer.screen is not None]
    return screen
