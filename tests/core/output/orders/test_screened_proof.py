"""A screened picture on papers: the proof, an order's map and the run sheet are light and dark where its tones are."""

import base64
import io
from dataclasses import replace

import numpy as np
import pypdfium2
import pytest
from PIL import Image
from reportlab.pdfgen.canvas import Canvas

from core.artwork.picture_decisions import PictureOptions
from core.job.letterhead import Letterhead
from core.job.painting.planning import paint_plan
from core.order.working_out import work_out
from core.output.orders.map_pages import SheetMap
from core.output.orders.proof_page import FrontPicture, as_picture, proof, shown_job, shown_order
from core.output.run_sheet.face_picture import FacePicture
from core.output.run_sheet.mask_pictures import FinishedPicture
from tests.core.artwork.pictures.made_pictures import HIGH_PX, STEPS, wedge_bytes, wedge_plan
from tests.core.order.designs import order_of


def drawn(picture):
    """What a picture draws on a page of its own size, as greys (h, w), 4 px a point."""
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(picture.width, picture.height))
    picture.drawOn(canvas, 0, 0)
    canvas.save()
    document = pypdfium2.PdfDocument(buffer.getvalue())
    try:
        return np.asarray(document[0].render(scale=4).to_pil().convert("L")).astype(float)
    finally:
        document.close()


def steps_of(greys):
    """The grey of each step's middle, left to right."""
    high, wide = greys.shape
    middles = ((np.arange(len(STEPS)) + 0.5) / len(STEPS) * wide).astype(int)
    return [float(np.median(greys[high // 4 : high * 3 // 4, x - 4 : x + 4])) for x in middles]


@pytest.mark.parametrize("bared_is", ["light", "dark", "paint"])
def test_the_proof_is_dark_and_light_where_the_picture_is(bared_is):
    plan = wedge_plan(bared_is)
    seen = steps_of(drawn(FrontPicture(plan, paint_plan(plan))))
    assert seen == sorted(seen) and min(np.diff(seen)) > 8, seen
    assert seen[-1] - seen[0] > 80


def test_each_grey_of_the_proof_mixes_coat_and_ground_by_what_is_bared():
    plan = wedge_plan("dark")
    (shown,) = plan.layers[0].screen.shown
    shares = shown.shares[HIGH_PX // 2, 10::20] / 255
    coat, ground = (Image.new("RGB", (1, 1), colour).convert("L").getpixel((0, 0)) for colour in ("#d5d9de", "#15181b"))
    seen = steps_of(drawn(FrontPicture(plan, paint_plan(plan))))
    assert seen == pytest.approx([share * ground + (1 - share) * coat for share in shares], abs=2.5)


def test_the_proofs_png_has_the_tones_and_says_what_bared_means():
    plan = wedge_plan("dark")
    pdf = proof(shown_job(plan), Letterhead())
    with Image.open(io.BytesIO(as_picture(pdf))) as image:
        greys = np.asarray(image.convert("L"))
    assert ((greys > 90) & (greys < 150)).mean() > 0.005  # the middle steps: neither paper, coat nor ground
    document = pypdfium2.PdfDocument(pdf)
    try:
        assert "before a dark ground" in " ".join(document[0].get_textpage().get_text_range().split())
    finally:
        document.close()


def test_the_run_sheet_shows_bared_darker_on_the_bed_mirrored():
    plan = wedge_plan("dark")
    front, bed = (drawn(FacePicture(plan, bed=bed, width=400.0, height=300.0)) for bed in (False, True))
    assert np.abs(front - bed[:, ::-1]).mean() < np.abs(front - bed).mean()
    levels = {round(grey) for grey in np.unique(front[::7]) if (np.abs(front - grey) < 1).mean() > 0.004}
    assert len(levels) >= len(STEPS)


def test_the_finished_piece_on_the_run_sheet_shows_the_tones():
    plan = wedge_plan("light")
    greys = drawn(FinishedPicture(plan, paint_plan(plan), 400.0, 300.0))
    px_mm = greys.shape[1] / plan.job.sheet.width_mm
    x0, y0, x1, y1 = (round(side * px_mm) for side in plan.layers[0].region.bounds)
    seen = steps_of(greys[y0:y1, x0:x1])
    assert seen == sorted(seen) and seen[-1] > seen[0] + 20


def screened_order():
    """Two parts with the wedge, on one sheet."""
    wedge = base64.b64encode(wedge_bytes()).decode()
    svg = f"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<rect x="0.1" y="0.1" width="59.8" height="59.8" fill="none" stroke="red" stroke-width="0.1"/>
<image x="5" y="3" width="50" height="30" href="data:image/png;base64,{wedge}"/>
<text x="30" y="52" font-family="DejaVu Sans" font-size="5" text-anchor="middle">{{name}}</text></svg>"""
    order = order_of("Name\nBo\nAda\n", svg=svg, sheet=(150.0, 80.0))
    picture = PictureOptions(way="screen", bared_is="dark")
    design = replace(order.design, reading=replace(order.design.reading, picture=picture))
    return work_out(replace(order, design=design))


def test_an_orders_map_shows_the_tones_of_each_part():
    worked = screened_order()
    (sheet,) = worked.sheets
    greys = drawn(SheetMap(worked, sheet, 600.0, 320.0))
    assert any(layer.screen is not None and len(layer.screen.parts) == 2 for layer in sheet.plan.layers)
    standing, bared = 0.93 * 255, 0.55 * 255
    for share in np.array([0, 64, 128, 192, 255]) / 255:
        grey = share * bared + (1 - share) * standing
        assert (np.abs(greys - grey) < 2).mean() > 0.01, (share, grey)


def test_an_orders_proof_is_dark_and_light_where_the_part_is():
    worked = screened_order()
    (_, plan), *_ = shown_order(worked.filled).pieces
    (alone,) = (layer for layer in wedge_plan("dark").layers if layer.screen is not None)
    (own,) = (layer for layer in plan.layers if layer.screen is not None)
    assert own.screen.wanted_mm2 == pytest.approx(alone.screen.wanted_mm2, rel=0.005)
    greys = drawn(FrontPicture(plan, paint_plan(plan)))
    px_mm = greys.shape[1] / 59.8
    seen = steps_of(greys[round(3 * px_mm) : round(33 * px_mm), round(4.9 * px_mm) : round(54.9 * px_mm)])
    assert seen == sorted(seen) and seen[-1] - seen[0] > 80, seen
