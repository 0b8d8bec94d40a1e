"""What checkup finds, where, and that the repair it names mends it and nothing else."""

from pathlib import Path

import pytest

from core.artwork.checkup.checkup import check_drawing
from core.artwork.checkup.repairs import repair
from core.artwork.drawing import Drawing, Finding, ReadOptions
from core.artwork.dxf.reading import read_dxf
from core.artwork.svg import read_svg
from core.geometry.flattening import path_length_mm

SAMPLES = Path(__file__).parents[4] / "sample_jobs"
LINE = 'fill="none" stroke="#000" stroke-width=".1"'
SOUND = f'<rect x="2" y="2" width="96" height="56" {LINE}/><path d="M30 20h30v20h-30z"/>'


def drawn(body: str, head: str = 'width="100mm" height="60mm" viewBox="0 0 100 60"') -> Drawing:
    return read_svg(f'<svg xmlns="http://www.w3.org/2000/svg" {head}>{body}</svg>'.encode(), ReadOptions())


def found(drawing: Drawing) -> tuple[Finding, ...]:
    return check_drawing(drawing, cleared_width_mm=0.0633, kerf_mm=0.15)


def the(code: str, drawing: Drawing) -> Finding:
    findings = [finding for finding in found(drawing) if finding.code == code]
    assert findings, [finding.code for finding in found(drawing)]
    return findings[0]


def test_a_sound_drawing_has_no_findings():
    assert found(drawn(SOUND)) == ()


FAULTS = {
    "open-ends": f'<path d="M10 10H20V18H10V10.1" {LINE}/>',
    "doubled-lines": f'<path d="M10 10H20" {LINE}/><path d="M10 10H20" {LINE}/>',
    "overlapping-lines": f'<path d="M10 10H20" {LINE}/><path d="M15 10H25" {LINE}/>',
    "crosses-itself": f'<path d="M10 8 20 16 20 8 10 16Z" {LINE}/>',
    "hole-too-small": f'<circle cx="10" cy="10" r=".05" {LINE}/>',
    "speck": '<rect x="10" y="10" width=".04" height=".04"/>',
    "off-page": '<rect x="120" y="10" width="5" height="5"/>',
}


@pytest.mark.parametrize("code", FAULTS)
def test_each_fault_is_found_with_a_sentence_a_place_and_its_shapes(code):
    finding = the(code, drawn(SOUND + FAULTS[code]))
    assert finding.message.endswith((".", "?")) and len(finding.message.split()) > 3
    assert finding.shape_ids and not set(finding.shape_ids) & {"s1", "s2"}
    assert finding.x_mm is not None and finding.y_mm is not None
    if code != "off-page":
        assert 9 <= finding.x_mm <= 26 and 7 <= finding.y_mm <= 19


@pytest.mark.parametrize("code", FAULTS)
def test_the_repair_mends_it_leaves_the_rest_alone_and_is_done_once(code):
    drawing = drawn(SOUND + FAULTS[code])
    name = the(code, drawing).repair
    assert name is not None
    mended = repair(drawing, name)
    assert code not in [finding.code for finding in found(mended)]
    before, after = ({shape.id: shape for shape in one.shapes} for one in (drawing, mended))
    for untouched in ("s1", "s2"):
        assert after[untouched] is before[untouched]
    assert set(after) <= set(before)
    again = repair(mended, name)
    assert [shape.id for shape in again.shapes] == [shape.id for shape in mended.shapes]
    assert [path_length_mm(shape.path) for shape in again.shapes] == pytest.approx(
        [path_length_mm(shape.path) for shape in mended.shapes]
    )


def test_joining_ends_closes_the_outline():
    drawing = drawn(FAULTS["open-ends"])
    mended = repair(drawing, "join-ends")
    assert not drawing.shapes[0].path.closed.any()
    assert mended.shapes[0].path.closed.all()
    assert path_length_mm(mended.shapes[0].path) == pytest.approx(36, abs=0.2)


def test_neighbours_that_share_a_line_are_named():
    body = f'<rect x="10" y="10" width="20" height="20" {LINE}/><rect x="30" y="10" width="20" height="20" {LINE}/>'
    assert len(the("shared-lines", drawn(body)).shape_ids) == 2


@pytest.mark.parametrize(("dpi", "code"), [(72, "scale-72-to-96"), (90, "scale-90-to-96")])
def test_a_page_that_would_be_paper_at_another_resolution(dpi, code):
    # ISO 216: A4 is 210 x 297 mm
    width, height = 210 / 25.4 * dpi, 297 / 25.4 * dpi
    drawing = drawn("<rect width='9' height='9'/>", f'width="{width:.3f}" height="{height:.3f}"')
    finding = the("scale-looks-wrong", drawing)
    assert finding.repair == code
    mended = repair(drawing, code)
    assert (mended.width_mm, mended.height_mm) == pytest.approx((210, 297), abs=0.05)


def test_a_page_that_says_its_size_in_mm_is_believed():
    head = 'width="157.5mm" height="222.75mm" viewBox="0 0 157.5 222.75"'
    assert "scale-looks-wrong" not in [finding.code for finding in found(drawn("<rect width='9' height='9'/>", head))]


def test_artwork_named_as_mirrored_is_only_asked_about():
    drawing = drawn('<g id="mirrored"><path d="M30 20h30v20h-30z"/></g>')
    finding = the("looks-reversed", drawing)
    assert finding.message.endswith("?") and finding.repair is None and finding.severity == "note"


def test_a_repair_nobody_knows_changes_nothing():
    drawing = drawn(SOUND)
    assert repair(drawing, "paint-it-blue") is drawing
    assert repair(drawing, "drop-specks:banana") is drawing


MARKED = '<svg xmlns="http://www.w3.org/2000/svg" {} width="320" height="200"><rect width="9" height="9"/></svg>'
MARKS_OF_90 = 'xmlns:e="urn:an:editor" e:version="0.48.4 r9939"'
PLUG_IN = "<!-- Generator: A Drawing Program 16.0.0, SVG Export Plug-In . SVG Version: 6.00 Build 0)  -->"


@pytest.mark.parametrize(
    ("before", "marks", "code", "sizes"),
    [
        ("", MARKS_OF_90, "scale-90-to-96", ("90.311 x 56.444 mm", "84.667 x 52.917 mm")),
        (PLUG_IN, "", "scale-72-to-96", ("112.89 x 70.556 mm", "84.667 x 52.917 mm")),
    ],
)
def test_marks_of_the_program_that_wrote_the_file_ask_with_both_sizes(before, marks, code, sizes):
    svg = before + MARKED.format(marks)
    finding = the("scale-looks-wrong", read_svg(svg.encode(), ReadOptions()))
    assert finding.repair == code and finding.message.endswith("?")
    assert all(size in finding.message for size in sizes)
    assert "scale-looks-wrong" not in [one.code for one in found(repair(read_svg(svg.encode(), ReadOptions()), code))]


@pytest.mark.parametrize(
    "marks", ['xmlns:e="urn:an:editor" e:version="0.92.1 r15371"', 'xmlns:e="u" e:version="1.3"', ""]
)
def test_newer_files_of_that_editor_and_plain_ones_are_not_asked_about(marks):
    svg = MARKED.format(marks)
    assert "scale-looks-wrong" not in [one.code for one in found(read_svg(svg.encode(), ReadOptions()))]


def test_whole_millimetres_at_another_resolution():
    head = f'width="{150 / 25.4 * 72:.3f}" height="{85 / 25.4 * 72:.3f}"'
    finding = the("scale-looks-wrong", drawn("<rect width='9' height='9'/>", head))
    assert finding.repair == "scale-72-to-96" and "150 x 85 mm" in finding.message


def test_a_small_drawing_without_units_is_asked_about_with_both_sizes():
    rectangle = "0 SECTION 2 ENTITIES 0 LINE 8 0 10 0 20 0 11 8 21 0 0 LINE 8 0 10 8 20 0 11 8 21 5 0 ENDSEC 0 EOF"
    finding = the("scale-looks-wrong", read_dxf(rectangle.replace(" ", "\n").encode(), ReadOptions()))
    assert finding.repair == "scale-inch-as-mm"
    assert "8 x 5 mm is small for a plate" in finding.message and "203.2 x 127 mm" in finding.message


def test_areas_that_come_to_nothing_have_no_place():
    """A file read in a far smaller unit than it was drawn in."""
    clock = SAMPLES / "tide-clock.svg"
    assert found(read_svg(clock.read_bytes(), ReadOptions(units="um")))
