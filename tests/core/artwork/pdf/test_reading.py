"""PDF in: sizes and areas by hand, painted coverage against PDFium's own rendering of the same page."""

import math
import zlib

import numpy as np
import pypdfium2
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.painting import painted_region
from core.artwork.pdf.reading import read_pdf
from core.errors import TainError, UnreadableError
from core.geometry.flattening import path_length_mm
from tests.bounded import bounded

MM = 25.4 / 72

RESOURCES = """/Font << /F1 << /Type /Font /Subtype /Type1 /BaseFont /Helvetica >> >>
/XObject << /X1 20 0 R /X2 21 0 R /I1 22 0 R >> /ExtGState << /G5 << /ca 0.4 /CA 0.4 >> /G9 << /ca 0.6 /CA 0.6 >> >>
/Shading << /S1 << /ShadingType 2 /ColorSpace /DeviceGray /Coords [0 0 100 0] /Extend [true true]
/Function << /FunctionType 2 /Domain [0 1] /C0 [0] /C1 [0.3] /N 1 >> >> >>
/Pattern << /P1 23 0 R >>"""

FORM = "0 0 40 40 re f 1 w 5 5 60 60 re S"
INNER = "q 2 0 0 1 0 0 cm 10 10 10 10 re f Q /X1 Do"

IMAGE = "/Type /XObject /Subtype /Image /Width 1 /Height 1 /BitsPerComponent 8 /ColorSpace /DeviceGray"
TILES = "/PatternType 1 /PaintType 1 /TilingType 1 /BBox [0 0 5 5] /XStep 5 /YStep 5 /Resources << >>"


def pdf(*pages: str, page_entries: str = "/MediaBox [0 0 200 150]") -> bytes:
    """A PDF of pages with this content, written by hand."""
    kids = " ".join(f"{30 + 2 * i} 0 R" for i in range(len(pages)))
    objects = {
        1: b"<< /Type /Catalog /Pages 2 0 R >>",
        2: f"<< /Type /Pages /Kids [{kids}] /Count {len(pages)} >>".encode(),
        20: _stream(FORM, "/Subtype /Form /BBox [0 0 50 50] /Matrix [1 0.2 0 1 3 4] /Resources << >>"),
        21: _stream(INNER, "/Subtype /Form /BBox [0 0 90 30] /Resources << /XObject << /X1 20 0 R >> >>"),
        22: _stream("\0", IMAGE),
        23: _stream("0 0 5 5 re f", TILES),
    }
    for i, content in enumerate(pages):
        entries = f"/Type /Page /Parent 2 0 R {page_entries} /Resources << {RESOURCES} >> /Contents {31 + 2 * i} 0 R"
        objects[30 + 2 * i] = f"<< {entries} >>".encode()
        objects[31 + 2 * i] = _stream(content, "")
    data = bytearray(b"%PDF-1.7\n")
    places = {}
    for number, body in objects.items():
        places[number] = len(data)
        data += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    start, size = len(data), max(objects) + 1
    data += b"xref\n0 %d\n0000000000 65535 f \n" % size
    for number in range(1, size):
        data += b"%010d 00000 %s \n" % (places.get(number, 0), b"n" if number in places else b"f")
    data += b"trailer << /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (size, start)
    return bytes(data)


def _stream(content: str, entries: str) -> bytes:
    packed = zlib.compress(content.encode("latin-1"))
    return f"<< {entries} /Filter /FlateDecode /Length {len(packed)} >>\nstream\n".encode() + packed + b"\nendstream"


def read(content: str, **options) -> Drawing:
    entries = options.pop("page_entries", "/MediaBox [0 0 200 150]")
    return read_pdf(pdf(content, page_entries=entries), ReadOptions(**options))


def region(drawing: Drawing):
    return shapely.union_all([painted_region(shape, tolerance_mm=0.005) for shape in drawing.shapes])


def agreement(data: bytes, *, pixels: int = 700) -> float:
    """How much ink PDFium's rendering and what we read have in common, of what either has: by grey, pixel by pixel."""
    drawing = read_pdf(data, ReadOptions())
    sheet = pypdfium2.PdfDocument(data)[0]
    scale = pixels / max(sheet.get_size())
    theirs = 1.0 - sheet.render(scale=scale).to_numpy()[..., :3].min(2) / 255.0
    ours = shares_painted(region(drawing), theirs.shape, MM / scale)
    return float(np.minimum(theirs, ours).sum() / np.maximum(theirs, ours).sum())


def shares_painted(painted, shape: tuple[int, int], pixel_mm: float, *, fine: int = 4) -> np.ndarray:
    """How much of each pixel (rows, columns) lies within: at its middle, but where an edge is near at fine² places."""
    shapely.prepare(painted)
    ys, xs = (np.arange(size) + 0.5 for size in shape)
    ours = shapely.contains_xy(painted, *np.meshgrid(xs * pixel_mm, ys * pixel_mm)).astype(float)
    edge = shapely.get_coordinates(shapely.segmentize(painted.boundary, pixel_mm / 2)) / pixel_mm
    beside = np.array([(x, y) for x in (-1, 0, 1) for y in (-1, 0, 1)])
    near = np.unique((edge.astype(int)[:, None] + beside).reshape(-1, 2), axis=0)
    near = near[((near >= 0) & (near < shape[::-1])).all(1)]
    within = (np.stack(np.meshgrid(*2 * [np.arange(fine)]), axis=-1).reshape(-1, 2) + 0.5) / fine
    at = (near[:, None] + within) * pixel_mm
    ours[near[:, 1], near[:, 0]] = shapely.contains_xy(painted, at[..., 0], at[..., 1]).mean(1)
    return ours


def test_size_place_and_area_of_a_filled_rectangle() -> None:
    drawing = read("20 30 72 36 re f")
    assert (drawing.width_mm, drawing.height_mm) == pytest.approx((200 * MM, 150 * MM))
    assert drawing.units_from == "points of the PDF"
    (shape,) = drawing.shapes
    assert region(drawing).area == pytest.approx(25.4 * 12.7, rel=1e-5)
    assert region(drawing).bounds == pytest.approx((20 * MM, 84 * MM, 92 * MM, 120 * MM), abs=1e-4)
    assert (shape.fill, shape.stroke) == ("#000000", None)


def test_a_cubic_stays_a_cubic() -> None:
    (shape,) = read("0 0 m 0 55.23 44.77 100 100 100 c S").shapes
    assert path_length_mm(shape.path) == pytest.approx(math.pi / 2 * 100 * MM, rel=5e-4)
    assert len(shape.path) == 1


@pytest.mark.parametrize(
    "content",
    [
        "20 20 m 120 20 l 70 120 l h f 30 90 40 30 re f*",
        "20 20 100 100 re 50 50 40 40 re f*",
        "20 20 100 100 re 50 50 40 40 re f",
        "10 w 30 30 m 150 40 l 60 120 l S",
        "10 w 1 J 1 j 30 30 m 150 40 l 60 120 l S",
        "10 w 2 J 2 j 30 30 m 150 40 l 60 120 l S",
        "10 w 0 J [20 10] 5 d 20 20 m 180 20 l 180 120 l S",
        "8 w 20 20 120 90 re s",
        "6 w 30 30 m 150 40 l 60 120 l b",
        "q 3 0 0.5 0.7 0 0 cm 8 w 10 30 m 50 60 l 30 120 l S Q",
        "q 60 60 m 110 60 l 110 110 l 60 110 l h W n 20 20 100 60 re f Q",
        "q 20 20 100 100 re W n 60 60 m 150 60 l 150 140 l h W n 0 0 200 150 re f Q 5 5 20 10 re f",
        "q 1 0 0 1 60 20 cm /X1 Do Q",
        "q 1.2 0.3 -0.2 1 40 20 cm /X2 Do Q q 0.5 0 0 0.5 120 80 cm /X1 Do Q",
        "BT /F1 48 Tf 10 40 Td (Rag 5&) Tj ET",
        "BT /F1 30 Tf 80 Tz 0.9 0.3 -0.2 1 20 30 Tm 2 Tc (mWgo) Tj ET",
        "q 30 30 120 60 re W n BT /F1 60 Tf 10 40 Td (HHH) Tj ET Q",
        "2 w BT /F1 60 Tf 1 Tr 10 40 Td (OB) Tj ET",
    ],
)
@pytest.mark.parametrize("entries", ["/MediaBox [0 0 200 150]", "/MediaBox [-20 -10 180 140] /Rotate 90"])
def test_painted_as_an_independent_renderer_paints_it(content: str, entries: str) -> None:
    assert agreement(pdf(content, page_entries=entries)) > 0.985


@pytest.mark.parametrize("turn_deg", [0, 90, 180, 270])
def test_turned_and_cropped_pages(turn_deg: int) -> None:
    content = "30 w 60 50 m 150 50 l 150 110 l S 70 80 20 40 re f"
    data = pdf(content, page_entries=f"/MediaBox [0 0 200 150] /CropBox [40 30 190 140] /Rotate {turn_deg}")
    drawing = read_pdf(data, ReadOptions())
    size = (150 * MM, 110 * MM) if turn_deg % 180 == 0 else (110 * MM, 150 * MM)
    assert (drawing.width_mm, drawing.height_mm) == pytest.approx(size)
    assert agreement(data) > 0.985


def test_pages_are_chosen_and_counted() -> None:
    data = pdf("10 10 10 10 re f", "10 10 20 20 re f", "")
    first, second = (read_pdf(data, ReadOptions(page=page)) for page in (1, 2))
    assert (first.page_count, second.page_count) == (3, 3)
    assert region(second).area == pytest.approx(4 * region(first).area, rel=1e-4)
    assert [finding.code for finding in first.findings] == ["pdf-pages"]
    with pytest.raises(UnreadableError, match="no page 4; it has 3"):
        read_pdf(data, ReadOptions(page=4))
    with pytest.raises(UnreadableError, match="holds no vector artwork"):
        read_pdf(data, ReadOptions(page=3))


def test_units_said_by_the_maker_win() -> None:
    assert read("10 10 10 10 re f", units="mm").width_mm == pytest.approx(200)


def test_faint_paint_does_not_count_and_invisible_text_neither() -> None:
    drawing = read("q /G5 gs 20 20 100 100 re f Q 5 5 5 5 re f BT /F1 40 Tf 3 Tr 10 40 Td (unseen) Tj ET")
    assert len(drawing.shapes) == 1
    assert region(drawing).area == pytest.approx(25 * MM * MM, rel=1e-4)


def test_pictures_patterns_and_gradients_are_named() -> None:
    content = "q 72 0 0 36 20 30 cm /I1 Do Q /Pattern cs /P1 scn 100 20 40 40 re f q 100 80 40 40 re W n /S1 sh Q"
    drawing = read(content)
    found = {finding.code: finding for finding in drawing.findings}
    assert set(found) == {"pdf-image", "pdf-pattern", "pdf-shading"}
    assert "25.4 × 12.7 mm" in found["pdf-image"].message
    assert (found["pdf-image"].x_mm, found["pdf-image"].y_mm) == pytest.approx((20 * MM, 84 * MM), abs=1e-4)
    assert region(drawing).area == pytest.approx(2 * (40 * MM) ** 2, rel=1e-4)


def _read_bounded(data: bytes) -> int:
    return len(read_pdf(data, ReadOptions()).shapes)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b"%PDF-1.7\n", "broken"),
        (pdf("10 10 10 10 re f")[:900], "broken"),
        (b"%PDF-1.7\n" + bytes((i * 7919) % 256 for i in range(50_000)), "broken"),
        (b"just words", "broken"),
        (pdf("10 10 10 10 re f", page_entries="/MediaBox [0 0 0 0]"), "."),
        (pdf(""), "holds no vector artwork"),
        (pdf("BT /F1 20 Tf 3 Tr (x) Tj ET"), "holds no vector artwork"),
        (pdf("\x00\xff garbage 1 2 3 re f ((("), "."),
    ],
)
def test_broken_files_say_so_in_one_sentence(data: bytes, words: str) -> None:
    outcome = bounded(_read_bounded, data)
    assert outcome.result is not None or words in outcome.error, outcome
    assert outcome.error or words == "."


def test_a_locked_file_is_named() -> None:
    encryption = b"/Encrypt << /Filter /Standard /V 1 /R 2 /P -4 /O <%s> /U <%s> >> /ID [<00> <00>]" % (
        b"41" * 32,
        b"42" * 32,
    )
    data = pdf("10 10 10 10 re f").replace(b"/Root 1 0 R", b"/Root 1 0 R " + encryption)
    assert "password" in bounded(_read_bounded, data).error


def test_a_page_of_twenty_thousand_rectangles() -> None:
    content = "\n".join(f"{i % 200} {i // 400} 0.5 0.5 re f" for i in range(20_000))
    assert bounded(_read_bounded, pdf(content)).result == 20_000


def test_wild_numbers_are_left_out() -> None:
    drawing = read("10 10 10 10 re f 1e38 1e38 1e38 1e38 re f 1 0 0 1 1e38 1e38 cm 1e38 1e38 m 5e38 9e38 l S")
    assert all(np.isfinite(shape.path.segments).all() for shape in drawing.shapes)


@settings(max_examples=80)
@given(st.binary(max_size=60), st.integers(0, 1200))
def test_mangled_files_never_crash(noise: bytes, place: int) -> None:
    whole = pdf("10 10 10 10 re f q 1 0 0 1 60 20 cm /X2 Do Q BT /F1 48 Tf 10 40 Td (Rag) Tj ET")
    try:
        drawing = read_pdf(whole[:place] + noise + whole[place + len(noise) :], ReadOptions())
    except TainError:
        return
    assert drawing.shapes
