"""One malformed entity never loses a DXF: markers put in where they are missing, what can't be loaded left out."""

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.dxf.reading import read_dxf

HEAD = "0 SECTION 2 HEADER 9 $ACADVER 1 AC1015 9 $INSUNITS 70 4 0 ENDSEC"
LINE = "0 LINE 5 A2 8 0 10 50 20 0 11 80 21 30"
LWPOLYLINE = "0 LWPOLYLINE 5 A1 8 0 62 1 90 3 70 1 43 0.0 10 0 20 0 10 10 20 0 10 10 20 5"
MARKED = "0 LWPOLYLINE 5 A1 8 0 62 1 100 AcDbEntity 90 3 70 1 43 0.0 10 0 20 0 10 10 20 0 10 10 20 5"
HATCH = (
    "0 HATCH 5 A3 8 0 10 0 20 0 30 0 2 SOLID 70 1 71 0 91 1 92 2 72 0 73 1 93 3 10 0 20 0 10 9 20 0 10 9 20 9 97 0 75 0"
    " 76 1 98 0"
)
MTEXT = "0 MTEXT 5 A4 8 0 10 0 20 0 30 0 40 2.5 1 Hi"
BAD = "0 LWPOLYLINE 5 A9 8 0 100 AcDbEntity 100 AcDbPolyline 90 3 70 1 43 0.0 10 nonsense 20 0"


def file_of(*entities: str, blocks: str = "") -> bytes:
    words = f"{HEAD} {blocks} 0 SECTION 2 ENTITIES {' '.join(entities)} 0 ENDSEC 0 EOF ".split(" ")
    return "\n".join(word for word in words if word).encode()


@pytest.mark.parametrize(
    ("entity", "kind", "width_mm"),
    [(LWPOLYLINE, "LWPOLYLINE", 10), (MARKED, "LWPOLYLINE", 10), (HATCH, "HATCH", 9), (MTEXT, "MTEXT", None)],
)
def test_entities_without_their_subclass_marker_are_read(entity: str, kind: str, width_mm: float | None) -> None:
    drawing = read_dxf(file_of(entity, LINE), ReadOptions())
    assert [shape.kind for shape in drawing.shapes] == [kind, "LINE"]
    (finding,) = [one for one in drawing.findings if one.code == "dxf-markers-missing"]
    assert f"1 {kind}" in finding.message
    if width_mm is not None:
        points = drawing.shapes[0].path.start_points
        assert points[:, 0].max() - points[:, 0].min() == width_mm


def test_in_a_block_too() -> None:
    blocks = f"0 SECTION 2 BLOCKS 0 BLOCK 5 B1 8 0 2 B 70 0 10 0 20 0 {LWPOLYLINE} 0 ENDBLK 5 B2 8 0 0 ENDSEC"
    drawing = read_dxf(file_of("0 INSERT 5 C1 8 0 2 B 10 5 20 5", LINE, blocks=blocks), ReadOptions())
    assert [shape.kind for shape in drawing.shapes] == ["LWPOLYLINE", "LINE"]


def test_an_entity_that_cant_be_loaded_costs_itself_only_and_is_named() -> None:
    drawing = read_dxf(file_of(LINE, BAD, HATCH), ReadOptions())
    assert [shape.kind for shape in drawing.shapes] == ["LINE", "HATCH"]
    (finding,) = [one for one in drawing.findings if one.code == "dxf-bad-entity"]
    assert finding.severity == "problem" and "LWPOLYLINE A9" in finding.message
