"""Pictures inside SVG and PDF come in at their place and size, clipped and turned, traced or screened."""

import base64
import io

import numpy as np
import pytest
from PIL import Image
from reportlab.lib.utils import ImageReader
from reportlab.pdfgen.canvas import Canvas

from core.artwork.drawing import ArtworkSource, Drawing, ReadOptions
from core.artwork.painting import drawing_regions
from core.artwork.reading import read_artwork
from core.errors import UnreadableError
from core.geometry.engine import united
from core.job.job import new_job
from core.job.prepare import prepare
from tests.core.artwork.pictures.made_pictures import file_bytes, reading, square

PICTURE = square(100, (20, 30, 60, 80))  # 40 x 50 of 100 x 100 dots


def svg(image: str, more: str = "", data: bytes | None = None) -> ArtworkSource:
    href = "data:image/png;base64," + base64.b64encode(file_bytes(PICTURE) if data is None else data).decode()
    body = f'{more}<image href="{href}" {image}/>'
    text = f'<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="100mm" viewBox="0 0 100 100">{body}</svg>'
    return ArtworkSource(name="a.svg", data=text.encode())


def bounds(drawing: Drawing) -> tuple[float, ...]:
    return tuple(united(drawing_regions(drawing)).bounds)


@pytest.mark.parametrize(
    ("image", "wanted"),
    [
        ('x="10" y="20" width="50" height="50"', (20, 35, 40, 60)),
        ('x="0" y="0" width="100" height="50"', (35, 15, 55, 40)),  # kept in shape and in the middle
        ('x="0" y="0" width="100" height="50" preserveAspectRatio="none"', (20, 15, 60, 40)),
        ('width="50" height="50" transform="translate(100 0) rotate(90)"', (60, 10, 85, 30)),
        ('width="50" height="50" transform="scale(-1 1) translate(-50 0)"', (20, 15, 40, 40)),
    ],
)
def test_in_an_svg_it_lies_where_the_file_says(image: str, wanted: tuple[float, ...]) -> None:
    drawing = read_artwork(svg(image), ReadOptions())
    assert bounds(drawing) == pytest.approx(wanted, abs=0.1)
    assert {finding.code for finding in drawing.findings} >= {"image-taken"}
    assert not drawing.missing


def test_clips_and_slices_hold() -> None:
    clip = '<clipPath id="c"><rect x="0" y="0" width="15" height="100"/></clipPath>'
    clipped = read_artwork(svg('width="50" height="50" clip-path="url(#c)"', clip), ReadOptions())
    assert bounds(clipped) == pytest.approx((10, 15, 15, 40), abs=0.1)
    sliced = read_artwork(svg('y="0" width="100" height="50" preserveAspectRatio="xMidYMin slice"'), ReadOptions())
    assert bounds(sliced) == pytest.approx((20, 30, 60, 50), abs=0.1)


def test_what_can_t_be_had_is_told_and_costs_nothing() -> None:
    good = '<rect x="1" y="1" width="5" height="5"/>'
    for data, words in ((b"no picture", "can't be read"), (file_bytes(Image.new("L", (9, 9), 99)), "all one tone")):
        drawing = read_artwork(svg('width="50" height="50"', good, data), ReadOptions())
        assert bounds(drawing) == pytest.approx((1, 1, 6, 6))
        assert any(words in finding.message for finding in drawing.findings if finding.code == "image")
    away = '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><image href="a.png" width="5" height="5"/>'
    drawing = read_artwork(ArtworkSource(name="a.svg", data=f"{away}{good}</svg>".encode()), ReadOptions())
    assert any("lies elsewhere" in finding.message for finding in drawing.findings)


def pdf(draw) -> ArtworkSource:  # type: ignore[no-untyped-def]
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(288, 288))
    draw(canvas, ImageReader(PICTURE.convert("RGB")))
    canvas.save()
    return ArtworkSource(name="a.pdf", data=buffer.getvalue())


def test_in_a_pdf_it_lies_where_the_page_says() -> None:
    mm = 25.4 / 72

    def plain(canvas: Canvas, image: ImageReader) -> None:
        canvas.drawImage(image, 72, 144, 72, 72)

    drawing = read_artwork(pdf(plain), ReadOptions())
    # its lower left corner 72, 144 pt from the page's lower left: the top lies 72 pt under the page's top
    wanted = tuple(mm * at for at in (72 + 14.4, 72 + 21.6, 72 + 43.2, 72 + 57.6))
    assert bounds(drawing) == pytest.approx(wanted, abs=0.1)

    def clipped(canvas: Canvas, image: ImageReader) -> None:
        path = canvas.beginPath()
        path.rect(72, 144, 28.8, 72)
        canvas.clipPath(path, stroke=0)
        plain(canvas, image)

    cut = read_artwork(pdf(clipped), ReadOptions())
    assert bounds(cut) == pytest.approx((wanted[0], wanted[1], mm * (72 + 28.8), wanted[3]), abs=0.1)


def test_inside_they_are_screened_too() -> None:
    options = reading(way="screen", bared_is="dark")
    for source in (
        svg('x="10" y="20" width="20" height="20"'),
        pdf(lambda canvas, image: canvas.drawImage(image, 72, 144, 72, 72)),
    ):
        drawing = read_artwork(source, options)
        (shape,) = [shape for shape in drawing.shapes if shape.tones is not None]
        job = new_job(source)
        plan = prepare(type(job)(**{**{name: getattr(job, name) for name in job.__slots__}, "reading": options}))
        assert set(plan.screens) == {shape.id}
        x0, y0, x1, y1 = bounds(drawing)
        dark_mm2 = (x1 - x0) * (y1 - y0) * 0.2
        fill = next(layer for layer in plan.layers if layer.layer.purpose == "fill")
        assert fill.region.area == pytest.approx((x1 - x0) * (y1 - y0), rel=1e-6)
        assert fill.area_mm2 == pytest.approx(dark_mm2, rel=0.03)
        bands = fill.bands_mm
        burned_mm2 = float((np.ptp(bands[..., 0], axis=1) * np.ptp(bands[..., 1], axis=1)).sum())
        assert burned_mm2 == pytest.approx(dark_mm2, rel=0.05)


def test_a_picture_that_is_nothing_is_no_artwork() -> None:
    blank = Image.new("RGB", (20, 20), "white")

    def only(canvas: Canvas, image: ImageReader) -> None:
        canvas.drawImage(ImageReader(blank), 72, 144, 72, 72)

    with pytest.raises(UnreadableError, match="all one tone"):
        read_artwork(pdf(only), ReadOptions())


def test_a_soft_mask_in_a_pdf_is_followed() -> None:
    values = np.zeros((80, 120, 4), np.uint8)
    y, x = np.mgrid[0:80, 0:120]
    values[(x - 60) ** 2 + (y - 40) ** 2 < 900, 3] = 255  # a black disc of 30 dots on nothing
    image = ImageReader(Image.fromarray(values))
    source = pdf(lambda canvas, _: canvas.drawImage(image, 30, 40, 60, 40, mask="auto"))
    disc_mm2 = np.pi * (30 * 0.5 * 25.4 / 72) ** 2
    region = united(drawing_regions(read_artwork(source, ReadOptions())))
    assert region.area == pytest.approx(disc_mm2, rel=0.03)  # of dots that are in or out
    drawing = read_artwork(source, reading(way="screen", bared_is="dark"))
    (shape,) = [shape for shape in drawing.shapes if shape.tones is not None]
    assert shape.tones is not None
    assert shape.tones.wanted.mean() == pytest.approx((values[..., 3] > 0).mean(), abs=1e-3)
    assert not any(finding.code == "pdf-transparency" for finding in drawing.findings)


def ramp_svg(body: str) -> ArtworkSource:
    """A ramp from black at the left to white, put in where IMAGE stands, on a page of 60 x 40 mm."""
    ramp = np.repeat(np.linspace(0, 255, 61).astype(np.uint8)[None], 40, axis=0)
    href = f"data:image/png;base64,{base64.b64encode(file_bytes(Image.fromarray(ramp))).decode()}"
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="40mm" viewBox="0 0 60 40">'
    return ArtworkSource(name="a.svg", data=f"{head}{body.replace('IMAGE', href)}</svg>".encode())


RAMP = '<image x="10" y="5" width="30.5" height="20" href="IMAGE"{}/>'
MASKS = {
    "fitted to the picture": '<mask id="m"><rect x="10" y="5" width="12" height="9" fill="#fff"/></mask>',
    "of the page": '<mask id="m" maskUnits="userSpaceOnUse" x="0" y="0" width="60" height="40">'
    '<rect x="10" y="5" width="12" height="9" fill="#fff"/></mask>',
}


@pytest.mark.parametrize("way", ["trace", "screen"])
@pytest.mark.parametrize("mask", MASKS)
def test_a_masked_picture_shows_where_its_mask_lets_it_through(mask: str, way: str) -> None:
    """A mask is fitted to the box of what it masks; that of a picture was not known, and the picture got lost."""
    drawing = read_artwork(ramp_svg(MASKS[mask] + RAMP.format(' mask="url(#m)"')), reading(way=way, bared_is="dark"))
    (shape,) = drawing.shapes
    assert shape.clip is not None and shape.clip.bounds == pytest.approx((10, 5, 22, 14), abs=1e-6)


@pytest.mark.parametrize("way", ["trace", "screen"])
def test_a_blurred_picture_is_not_lost(way: str) -> None:
    blur = '<filter id="f"><feGaussianBlur stdDeviation="0.5"/></filter>'
    drawing = read_artwork(ramp_svg(blur + RAMP.format(' filter="url(#f)"')), reading(way=way, bared_is="dark"))
    assert len(drawing.shapes) == 1 and "blur" in {finding.code for finding in drawing.findings}


@pytest.mark.parametrize("way", ["trace", "screen"])
def test_a_picture_that_masks_lets_through_what_it_does_by_half(way: str) -> None:
    """By its light (CSS Masking 1: luminance of sRGB): greys of 128 and more, from the middle of the ramp on."""
    masks = f'<mask id="m">{RAMP.format("")}</mask>'
    body = '<rect x="10" y="5" width="30.5" height="20" mask="url(#m)"/>'
    drawing = read_artwork(ramp_svg(masks + body), reading(way=way, bared_is="dark"))
    (shape,) = drawing.shapes
    assert shape.kind == "rect" and shape.clip is not None
    assert shape.clip.bounds == pytest.approx((25.25, 5, 40.5, 25), abs=0.3)
    assert any("lets through" in finding.message for finding in drawing.findings)


FADING = (
    '<linearGradient id="g"{}><stop stop-color="#000"/><stop offset="1" stop-color="#fff"/></linearGradient>'
    '<mask id="m"><rect x="10" y="5" width="30.5" height="20" fill="url(#g)"/></mask>'
)


@pytest.mark.parametrize(
    ("around", "turned"), [("{}", ""), ('<g mask="url(#m)">{}</g>', ' x2="0" y2="1"')], ids=["own", "of a group"]
)
def test_a_mask_that_fades_makes_a_screened_picture_bare_less(around: str, turned: str) -> None:
    """CSS Masking 1, 7: the picture times the gradient's luminance, here in its steps of a twelfth."""
    body = RAMP.format(' mask="url(#m)"' if around == "{}" else "")
    options = reading(way="screen", bared_is="dark")
    drawing = read_artwork(ramp_svg(FADING.format(turned) + around.format(body)), options)
    (shape,) = drawing.shapes
    (whole,) = read_artwork(ramp_svg(RAMP.format("")), options).shapes
    assert shape.tones is not None and whole.tones is not None
    height, width = whole.tones.wanted.shape
    down, across = (np.mgrid[0:height, 0:width] + 0.5) / np.array([height, width])[:, None, None]
    through = down if turned else across
    assert np.abs(shape.tones.wanted - whole.tones.wanted * through).max() < 1 / 24 + 1 / 128
    assert abs((shape.tones.wanted - whole.tones.wanted * through).mean()) < 0.005
    assert shape.clip is None or shape.clip.area > 0.94 * 30.5 * 20  # nothing is cut at half


def test_a_hole_in_a_mask_that_fades_stays_a_hole() -> None:
    ring = '<path d="M12 7h20v16h-20zM16 11h12v8h-12zM19 13h6v4h-6z" fill="#fff" opacity="0.4" fill-rule="evenodd"/>'
    body = f'<mask id="m">{ring}</mask>' + RAMP.format(' mask="url(#m)"')
    options = reading(way="screen", bared_is="dark")
    (shape,) = read_artwork(ramp_svg(body), options).shapes
    (whole,) = read_artwork(ramp_svg(RAMP.format("")), options).shapes
    assert shape.tones is not None and whole.tones is not None and shape.clip is not None
    # half a millimetre a dot: what the outlines hold of (10.25, 5.25), (10.75, 5.25), ... , two fifths of it
    x, y = np.meshgrid(10.25 + 0.5 * np.arange(61), 5.25 + 0.5 * np.arange(40))
    boxes = ((12, 7, 32, 23), (16, 11, 28, 19), (19, 13, 25, 17))
    inside = sum(((x > a) & (x < c) & (y > b) & (y < d)).astype(int) for a, b, c, d in boxes) % 2
    share = np.divide(
        shape.tones.wanted, whole.tones.wanted, out=np.zeros(inside.shape), where=whole.tones.wanted > 0.1
    )
    wrong = (np.abs(share - 0.4 * inside) > 0.01) & (whole.tones.wanted > 0.1)
    assert not wrong.any()
    assert shape.clip.area == pytest.approx(20 * 16 - 12 * 8 + 6 * 4, rel=1e-6)


def test_a_fainter_picture_bares_less_and_one_over_half_transparent_is_not_lost() -> None:
    options = reading(way="screen", bared_is="dark")
    whole, faint, grouped = (
        read_artwork(ramp_svg(body), options).shapes[0].tones
        for body in (RAMP.format(""), RAMP.format(' opacity="0.3"'), f'<g opacity="0.3">{RAMP.format("")}</g>')
    )
    assert whole is not None and faint is not None and grouped is not None
    assert faint.wanted == pytest.approx(0.3 * whole.wanted, abs=1e-6)
    assert grouped.wanted == pytest.approx(faint.wanted)


@pytest.mark.parametrize(
    ("image", "size"),
    [
        ("", "100.0 x 100.0 mm"),
        ('width="-5" height="20"', "20.0 x 20.0 mm"),
        ('width="40"', "40.0 x 40.0 mm"),
    ],
)
def test_a_size_that_is_not_given_is_told_as_it_is_drawn(image, size):
    """SVG 2, 12.3 and 8.2: `auto` takes the picture's own size and ratio; a negative size counts as not given."""
    drawing = read_artwork(svg(image), ReadOptions())
    (said,) = [one.message for one in drawing.findings if one.code == "image-taken"]
    assert size in said


def test_of_a_picture_that_is_not_there_no_size_is_made_up():
    text = (
        '<svg xmlns="http://www.w3.org/2000/svg" width="9mm" height="9mm"><image href="a.png"/><path d="M0 0h9"/></svg>'
    )
    drawing = read_artwork(ArtworkSource(name="a.svg", data=text.encode()), ReadOptions())
    (said,) = [one.message for one in drawing.findings if one.code == "image"]
    assert "mm" not in said and "made of dots; it lies elsewhere" in said
