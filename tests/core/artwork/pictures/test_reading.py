"""Pictures of all kinds come in at their size, upright and in their colours; tones are set; specks are dropped."""

import numpy as np
import pytest
import shapely
from PIL import Image, ImageCms, ImageDraw

from core.artwork.drawing import ArtworkSource, Drawing, ReadOptions
from core.artwork.painting import drawing_regions
from core.artwork.picture_decisions import ToneControls, TraceOptions
from core.artwork.pictures.opening import open_picture
from core.artwork.pictures.tones import tone_table, with_tones
from core.artwork.reading import read_artwork
from core.errors import UnitsUnknownError, UnreadableError
from core.geometry.engine import united
from tests.core.artwork.pictures.made_pictures import file_bytes, reading, source, square

PX_MM = 25.4 / 254  # a tenth of a millimetre


def painted_bounds(drawing: Drawing) -> tuple[float, ...]:
    return tuple(united(drawing_regions(drawing)).bounds)


@pytest.mark.parametrize("kind", ["PNG", "JPEG", "TIFF", "BMP"])
def test_a_rectangle_comes_in_where_it_is(kind: str) -> None:
    options = {"quality": 100} if kind == "JPEG" else {}
    drawing = read_artwork(source(square(), kind, dpi=(254, 254), **options), ReadOptions())
    assert drawing.width_mm == pytest.approx(4.0, rel=1e-3)
    assert painted_bounds(drawing) == pytest.approx((1.0, 0.8, 3.0, 3.2), abs=0.1 * PX_MM)


def test_webp_says_no_size_and_takes_the_width_asked_for() -> None:
    webp = source(square(), "WEBP", lossless=True)
    with pytest.raises(UnitsUnknownError, match=r"does not say how large.*--width-mm"):
        read_artwork(webp, ReadOptions())
    drawing = read_artwork(webp, reading(width_mm=80.0))
    assert painted_bounds(drawing) == pytest.approx((20, 16, 60, 64), abs=0.2)


def test_what_reaches_the_edge_ends_on_it() -> None:
    drawing = read_artwork(source(square(inner=(0, 0, 40, 20)), dpi=(254, 254)), ReadOptions())
    assert painted_bounds(drawing) == pytest.approx((0, 0, 4.0, 2.0), abs=1e-6 + 0.05 * PX_MM)


def test_orientation_alpha_and_modes() -> None:
    plain = open_picture(file_bytes(square())).grey
    exif = Image.Exif()
    exif[0x0112] = 6  # turn a quarter clockwise to see it upright
    turned = square(inner=(2, 8, 30, 12))
    upright = open_picture(file_bytes(turned, "JPEG", quality=100, exif=exif)).grey
    assert np.abs(upright - np.rot90(np.asarray(turned, float), -1)).max() < 12
    clear = square(mode="RGBA")
    clear.putalpha(Image.fromarray(np.where(np.asarray(square()) == 0, 255, 0).astype(np.uint8)))
    assert np.array_equal(open_picture(file_bytes(clear)).grey, plain)
    for mode in ("1", "P", "LA", "RGB", "CMYK"):
        kind = "TIFF" if mode == "CMYK" else "PNG"
        assert np.abs(open_picture(file_bytes(square(mode=mode), kind)).grey - plain).max() < 1, mode
    wide = Image.fromarray(np.linspace(0, 65535, 1600).reshape(40, 40).astype(np.uint16))
    assert open_picture(file_bytes(wide)).grey.ravel()[[0, -1]].tolist() == [0, 255]


def test_a_white_logo_on_nothing_is_traced_by_its_alpha() -> None:
    logo = Image.new("RGBA", (40, 40), (255, 255, 255, 0))
    ImageDraw.Draw(logo).rectangle((10, 10, 29, 29), fill=(255, 255, 255, 255))
    drawing = read_artwork(source(logo, dpi=(254, 254)), ReadOptions())
    assert painted_bounds(drawing) == pytest.approx((1, 1, 3, 3), abs=0.1 * PX_MM)


def test_an_icc_profile_is_followed() -> None:
    # a grey of LAB's L* = 50 through a profile of linear light is a lighter sRGB grey than the number says
    image = Image.new("RGB", (8, 8), (60, 120, 200))
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    same = open_picture(file_bytes(image, icc_profile=srgb))
    assert np.abs(same.rgb[0, 0].astype(int) - (60, 120, 200)).max() <= 1
    lab = ImageCms.applyTransform(
        image,
        ImageCms.buildTransform(ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB"), "RGB", "LAB"),
    )
    profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("LAB")).tobytes()
    back = open_picture(file_bytes(lab, "TIFF", icc_profile=profile))
    assert np.abs(back.rgb[0, 0].astype(int) - (60, 120, 200)).max() <= 4
    broken = open_picture(file_bytes(image, icc_profile=b"no profile at all"))
    assert broken.rgb[0, 0].tolist() == [60, 120, 200]


def test_specks_and_holes_under_the_least_width_are_dropped_by_count() -> None:
    image = square(80, (20, 20, 60, 60))
    draw = ImageDraw.Draw(image)
    draw.point([(5, 5), (70, 9)], fill=0)
    draw.point((40, 40), fill=255)
    options = reading(trace=TraceOptions(threshold=128, least_mm=0.3))
    drawing = read_artwork(source(image, dpi=(254, 254)), options)
    assert [finding.message for finding in drawing.findings if finding.code == "picture-specks"] == [
        "2 specks and 1 hole of the picture under 0.3 mm, which no line clears as drawn, dropped."
    ]
    assert united(drawing_regions(drawing)).area == pytest.approx(16.0, rel=5e-3)


def test_levels_and_colours_are_a_fill_each() -> None:
    image = Image.new("RGB", (120, 60), "white")
    draw = ImageDraw.Draw(image)
    for number, colour in enumerate(((200, 30, 30), (30, 60, 180), (20, 20, 20))):
        draw.rectangle((10 + 30 * number, 10, 39 + 30 * number, 49), fill=colour)
    blurred = image.resize((240, 120), Image.Resampling.BILINEAR)
    drawing = read_artwork(source(blurred, dpi=(254, 254)), reading(trace=TraceOptions(colours=3)))
    areas = {
        shape.fill: float(region.area) for shape, region in zip(drawing.shapes, drawing_regions(drawing), strict=True)
    }
    assert len(areas) == 3 and all(area == pytest.approx(48.0, rel=0.02) for area in areas.values())
    levels = read_artwork(source(blurred, dpi=(254, 254)), reading(trace=TraceOptions(levels=2)))
    assert len({shape.fill for shape in levels.shapes}) == 2


def test_tone_controls_do_what_their_names_say() -> None:
    ramp = Image.fromarray(np.tile(np.arange(256, dtype=np.uint8), (4, 1)))
    picture = open_picture(file_bytes(ramp))

    def greys(**controls: object) -> list[float]:
        return with_tones(picture, ToneControls(**controls)).grey[0].round(1).tolist()  # type: ignore[arg-type]

    assert greys() == list(range(256))
    assert greys(invert=True) == list(range(255, -1, -1))
    assert greys(black=50, white=150)[50:151:50] == [0, 127.5, 255]
    assert greys(gamma=2.0)[64] == pytest.approx(255 * (64 / 255) ** 0.5, abs=0.2)
    lifted = tone_table(ToneControls(curve=((0.0, 0.0), (0.5, 0.75), (1.0, 1.0))))
    assert lifted[510] == pytest.approx(255 * 0.75) and (np.diff(lifted) >= 0).all()
    half = with_tones(picture, ToneControls(crop=(0.5, 0.0, 1.0, 1.0)))
    assert half.width_px == 128 and half.grey[0, 0] == 128
    edge = open_picture(file_bytes(Image.fromarray(np.repeat(np.uint8([[80] * 20 + [160] * 20]), 9, 0))))
    sharp = with_tones(edge, ToneControls(sharpen=1.0)).grey[4]
    assert sharp[19] < 75 and sharp[20] > 165 and sharp[2] == 80


def test_white_is_cut_away_round_a_picture_but_not_inside_it() -> None:
    image = square(60, (10, 10, 50, 50))
    ImageDraw.Draw(image).rectangle((25, 25, 34, 34), fill=255)
    cut = with_tones(open_picture(file_bytes(image)), ToneControls(background="white"))
    assert cut.alpha is not None and cut.alpha[0, 0] == 0 and cut.alpha[30, 30] == 1


@pytest.mark.parametrize(
    "controls",
    [
        ToneControls(crop=(0.5, 0.0, 0.5, 1.0)),
        ToneControls(black=200, white=100),
        ToneControls(gamma=float("nan")),
        ToneControls(curve=((0.0, 0.0),)),
        ToneControls(curve=((0.0, 0.0), (0.5, 2.0), (1.0, 1.0))),
    ],
)
def test_controls_that_make_no_sense_are_refused(controls: ToneControls) -> None:
    with pytest.raises(UnreadableError):
        read_artwork(source(square(), dpi=(254, 254)), reading(tones=controls))


def test_a_coarse_picture_says_what_its_edges_show() -> None:
    drawing = read_artwork(source(square()), reading(width_mm=24.0))
    (message,) = [finding.message for finding in drawing.findings if finding.code == "picture-coarse"]
    assert message == "The picture has 42 dots an inch at this size: edges show steps of up to 0.6 mm."


def test_reversed_and_scaled_artwork_moves_the_tones_along() -> None:
    mirrored = read_artwork(
        source(square(inner=(0, 0, 10, 40)), dpi=(254, 254)), ReadOptions(arrives_reversed=True, scale=2.0)
    )
    assert shapely.box(*painted_bounds(mirrored)).bounds == pytest.approx((6, 0, 8, 8), abs=0.05)
    source_screened = ArtworkSource(name="a.png", data=file_bytes(square(), dpi=(254, 254)))
    options = reading(way="screen", bared_is="dark")
    (shape,) = read_artwork(source_screened, options).shapes
    assert shape.tones is not None and shape.tones.px_mm == pytest.approx(PX_MM, rel=1e-3)
    assert shape.tones.wanted[20, 20] == 1 and shape.tones.wanted[0, 0] == 0


@pytest.mark.parametrize(("bared_is", "invert"), [("dark", False), ("light", False), ("dark", True), ("light", True)])
def test_half_transparent_places_bare_by_their_own_tone_times_their_alpha(bared_is: str, invert: bool) -> None:
    grey, alpha = np.meshgrid(np.linspace(0, 255, 18).round(), np.linspace(0, 255, 16).round())
    image = Image.fromarray(np.stack([grey, alpha], axis=-1).astype(np.uint8), "LA")
    options = reading(way="screen", bared_is=bared_is, tones=ToneControls(invert=invert))
    (shape,) = read_artwork(source(image, dpi=(100, 100)), options).shapes
    assert shape.tones is not None
    own = grey / 255 if (bared_is == "light") != invert else 1 - grey / 255
    assert np.abs(shape.tones.wanted - own * alpha / 255).max() < 0.01
