"""Page frames, letters, drawn glyphs, hidden content: each against PDFium's own picture or figures by hand."""

import io
from pathlib import Path

import pikepdf
import pytest
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from core.artwork.drawing import ArtworkSource, Drawing, ReadOptions
from core.artwork.pdf.reading import read_pdf
from core.artwork.reading import check_page_asked, read_artwork
from core.errors import UnreadableError
from tests.core.artwork.pdf.test_reading import MM, agreement, pdf, region
from tests.references.pdf_oracle import compare

MARK = "20 30 72 36 re f 100 90 30 20 re f"


def changed(data: bytes, change) -> bytes:
    """The file after ``change(pikepdf document)``."""
    document = pikepdf.open(io.BytesIO(data))
    change(document)
    stream = io.BytesIO()
    document.save(stream)
    return stream.getvalue()


def codes(drawing: Drawing) -> set[str]:
    return {finding.code for finding in drawing.findings}


@pytest.mark.parametrize("turn_deg", [None, 90, 270])
@pytest.mark.parametrize("crop", [None, [10, 20, 150, 120]])
def test_a_page_takes_boxes_and_turn_from_the_pages_above_it(turn_deg: int | None, crop: list[int] | None) -> None:
    def inherit(document: pikepdf.Pdf) -> None:
        pages = document.Root.Pages
        del document.pages[0].obj["/MediaBox"]
        pages.MediaBox = pikepdf.Array([-20, -10, 180, 140])
        if crop:
            pages.CropBox = pikepdf.Array(crop)
        if turn_deg:
            pages.Rotate = turn_deg

    data = changed(pdf(MARK), inherit)
    drawing = read_pdf(data, ReadOptions())
    width, height = (140, 100) if crop else (200, 150)
    if turn_deg:
        width, height = height, width
    assert (drawing.width_mm, drawing.height_mm) == pytest.approx((width * MM, height * MM))
    assert agreement(data) > 0.985
    assert codes(drawing) == set()


def test_a_page_with_a_unit_of_its_own_is_that_much_larger() -> None:
    plain = read_pdf(pdf(MARK), ReadOptions())
    large = read_pdf(pdf(MARK, page_entries="/MediaBox [0 0 200 150] /UserUnit 2.5"), ReadOptions())
    assert (large.width_mm, large.height_mm) == pytest.approx((plain.width_mm * 2.5, plain.height_mm * 2.5))
    assert region(large).area == pytest.approx(region(plain).area * 6.25, rel=1e-6)


def cut_down(text: str) -> bytes:
    """A page of text in a font cut down to the letters in use, without a map to Unicode, its codes shuffled."""
    if "Vera" not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont("Vera", "Vera.ttf"))
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(210, 40))
    canvas.setFont("Vera", 30)
    canvas.drawString(5, 12, text)
    canvas.save()

    def forget(document: pikepdf.Pdf) -> None:
        for font in document.pages[0].Resources.Font.values():
            if "/ToUnicode" in font:
                del font["/ToUnicode"]

    return changed(stream.getvalue(), forget)


@pytest.mark.parametrize("text", ["Hamburg 42", "ﬁﬂ Ωπ ≠", "čřžůý", "(!?)"])
def test_letters_of_a_cut_down_font_are_those_that_are_drawn(text: str, tmp_path: Path) -> None:
    path = tmp_path / "cut down.pdf"
    path.write_bytes(cut_down(text))
    compared = compare(path)
    assert compared.codes == ()
    assert compared.iou > 0.985


def test_words_said_in_place_of_letters_are_not_drawn() -> None:
    content = "BT /F1 40 Tf 10 40 Td /Span << /ActualText (ZZZ) >> BDC (AbX) Tj EMC ET"
    assert agreement(pdf(content)) > 0.985


def test_a_text_drawn_twice_is_read_twice() -> None:
    content = "BT /F1 40 Tf 10 40 Td (Ab) Tj ET BT /F1 40 Tf 11.5 40 Td (Ab) Tj ET"
    assert len(read_pdf(pdf(content), ReadOptions()).shapes) == 2
    assert agreement(pdf(content)) > 0.985


def with_drawn_font(content: str, glyph: bytes) -> bytes:
    """A page with a font /T3 whose letter A is a drawing."""

    def add(document: pikepdf.Pdf) -> None:
        font = pikepdf.Dictionary(
            Type=pikepdf.Name("/Font"),
            Subtype=pikepdf.Name("/Type3"),
            FontBBox=[0, 0, 100, 100],
            FontMatrix=[0.01, 0, 0, 0.01, 0, 0],
            FirstChar=65,
            LastChar=65,
            Widths=[100],
            Encoding=pikepdf.Dictionary(Differences=pikepdf.Array([65, pikepdf.Name("/one")])),
            CharProcs=pikepdf.Dictionary(one=document.make_stream(glyph)),
        )
        document.pages[0].Resources.Font["/T3"] = font

    return changed(pdf(content), add)


@pytest.mark.parametrize(
    "glyph",
    [
        b"100 0 0 0 100 100 d1 10 10 60 80 re f",
        b"100 0 0 0 100 100 d1 10 10 80 80 re 30 30 40 40 re f*",
        b"100 0 d0 1 0 0 rg 10 10 60 80 re f 0 0 1 rg 20 20 20 20 re f",
        b"100 0 0 0 100 100 d1 8 w 10 10 m 50 90 l 90 10 l S",
        b"100 0 0 0 100 100 d1 q 0 0 50 100 re W n 10 10 80 80 re f Q",
    ],
)
def test_letters_that_are_drawings(glyph: bytes) -> None:
    data = with_drawn_font("0 0.5 0 rg BT /T3 50 Tf 0.9 0.2 -0.1 1 20 30 Tm (AA) Tj ET", glyph)
    drawing = read_pdf(data, ReadOptions())
    assert drawing.shapes
    assert codes(drawing) == set()
    assert {shape.kind for shape in drawing.shapes} == {"text"}


def with_layers(content: str, *, off: tuple[str, ...], membership: dict | None = None) -> bytes:
    """A page whose /Properties name the groups A and B (and the membership M), some of them off."""

    def add(document: pikepdf.Pdf) -> None:
        groups = {
            name: document.make_indirect(pikepdf.Dictionary(Type=pikepdf.Name("/OCG"), Name=f"Layer {name}"))
            for name in "AB"
        }
        document.Root.OCProperties = pikepdf.Dictionary(
            OCGs=list(groups.values()), D=pikepdf.Dictionary(OFF=[groups[name] for name in off])
        )
        properties = pikepdf.Dictionary({f"/{name}": group for name, group in groups.items()})
        if membership:
            properties["/M"] = pikepdf.Dictionary(
                Type=pikepdf.Name("/OCMD"), OCGs=[groups["A"], groups["B"]], P=pikepdf.Name(membership["P"])
            )
        document.pages[0].Resources.Properties = properties
        document.pages[0].Resources.XObject["/X1"].OC = groups["B"]

    return changed(pdf(content), add)


def test_hidden_layers_are_left_out_and_named() -> None:
    content = "/OC /A BDC 10 10 50 50 re f BT /F1 20 Tf 10 80 Td (no) Tj ET EMC /OC /B BDC 100 20 30 30 re f EMC"
    data = with_layers(content, off=("A",))
    drawing = read_pdf(data, ReadOptions())
    assert region(drawing).area == pytest.approx(900 * MM * MM, rel=1e-4)
    assert [finding.message for finding in drawing.findings] == [
        "The layer “Layer A” is switched off in the PDF; 2 objects on it were left out."
    ]
    assert agreement(data) > 0.985


def test_a_group_of_objects_on_a_hidden_layer_is_left_out() -> None:
    data = with_layers("5 5 10 10 re f q 1 0 0 1 60 20 cm /X1 Do Q", off=("B",))
    drawing = read_pdf(data, ReadOptions())
    assert region(drawing).area == pytest.approx(100 * MM * MM, rel=1e-4)
    assert codes(drawing) == {"pdf-hidden"}


@pytest.mark.parametrize(
    ("policy", "off", "shown"),
    [
        ("/AnyOn", ("A",), True),
        ("/AnyOn", ("A", "B"), False),
        ("/AllOn", ("A",), False),
        ("/AnyOff", (), False),
        ("/AnyOff", ("B",), True),
        ("/AllOff", ("B",), False),
        ("/AllOff", ("A", "B"), True),
    ],
)
def test_memberships_of_layers_follow_their_policy(policy: str, off: tuple[str, ...], shown: bool) -> None:
    """The table of ISO 32000-1, 8.11.2.2 (table 99), and PDFium's picture."""
    data = with_layers("5 5 10 10 re f /OC /M BDC 100 20 30 30 re f EMC", off=off, membership={"P": policy})
    drawing = read_pdf(data, ReadOptions())
    assert len(drawing.shapes) == 1 + shown
    assert "pdf-differs" not in codes(drawing)


@pytest.mark.parametrize("name", ["a.svg", "a.dxf"])
def test_a_page_can_be_asked_of_a_pdf_only(name: str) -> None:
    data = {"a.svg": b"<svg xmlns='http://www.w3.org/2000/svg'/>", "a.dxf": b"0\nEOF\n"}[name]
    with pytest.raises(UnreadableError, match="no pages to choose from"):
        read_artwork(ArtworkSource(name=name, data=data), ReadOptions(page=2))


def test_page_one_of_a_file_without_pages_is_refused_too() -> None:
    with pytest.raises(UnreadableError, match="page 1 was asked for"):
        check_page_asked(ArtworkSource(name="a.dxf", data=b"0\nEOF\n"), 1)
    check_page_asked(ArtworkSource(name="a.pdf", data=b"%PDF-1.7\n"), 1)
