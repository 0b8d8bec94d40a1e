"""Files with random damage: read, or refused in words; never a crash, never a silent emptiness."""

from typing import Any

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import ReadOptions
from core.artwork.dxf.reading import read_dxf
from core.errors import TainError
from tests.core.artwork.dxf.made import dxf_bytes


def _everything(d: Any, m: Any) -> None:
    d.layers.add("red", color=1)
    block = d.blocks.new("B", base_point=(1, 1))
    block.add_line((0, 0), (5, 0))
    block.add_hatch().paths.add_polyline_path([(0, 0, 1), (3, 0, 0), (3, 1, 0)])
    inner = d.blocks.new("C")
    inner.add_blockref("B", (2, 3), dxfattribs={"rotation": 30, "xscale": 2, "yscale": -1})
    m.add_line((0, 0), (10, 5), dxfattribs={"layer": "red"})
    m.add_arc((20, 20), 7, 350, 80)
    m.add_circle((5, 5), 3, dxfattribs={"extrusion": (0, 0, -1)})
    m.add_lwpolyline([(0, 0, 0, 0, 0), (20, 0, 1, 2, 0.4), (20, 10, 0, 0, 0)], format="xyseb", close=True)
    m.add_open_spline([(0, 0), (10, 20), (20, -10), (30, 5)], degree=3)
    m.add_blockref("C", (50, 10), dxfattribs={"row_count": 2, "column_count": 2, "row_spacing": 9, "column_spacing": 9})
    m.add_text("A{b", height=2)
    m.add_mtext("one {\\C1;two}\\Pthree", dxfattribs={"char_height": 2, "width": 9})
    m.add_linear_dim(base=(0, 10), p1=(0, 0), p2=(30, 0)).render()
    edges = m.add_hatch().paths.add_edge_path()
    edges.add_arc((50, 10), 10, 0, 180)
    edges.add_line((40, 10), (60, 10))
    if d.dxfversion > "AC1009":
        m.add_ellipse((30, 5), (8, 3), 0.4, 0.5, 4)
        m.add_mline([(0, 0), (9, 9), (20, 0)])
        m.add_leader([(0, 30), (10, 40)])


FILES = [dxf_bytes(_everything, version=version).split(b"\n") for version in ("R2000", "R2010")]
BEGINS = [lines.index(b"TABLES") for lines in FILES]

values = st.sampled_from(
    [b"0", b"-1", b"1e308", b"nan", b"inf", b"", b"x", b"99999999999999999999", b"1,5", b"\xff\xfe", b"{}%s", b"-0.0",
     b"LINE", b"ENDSEC", b"SECTION", b"EOF", b"INSERT", b"ENDBLK", b"*Model_Space", b"C", b"  0", b" 10", b" 70",
     b"1e-300"]
)  # fmt: skip
edits = st.lists(
    st.tuples(st.sampled_from(["value", "drop", "double", "swap"]), st.floats(0, 1), values), min_size=1, max_size=5
)


def _mutated(which: int, changes: list[tuple[str, float, bytes]]) -> bytes:
    lines = list(FILES[which])
    for kind, share, value in changes:
        begin = BEGINS[which]
        at = begin + int(share * (len(lines) - begin - 3))
        if kind == "value":
            lines[at] = value
        elif kind == "drop":
            del lines[at]
        elif kind == "double":
            lines.insert(at, lines[at])
        else:
            lines[at], lines[at + 2] = lines[at + 2], lines[at]
    return b"\n".join(lines)


def _survives(data: bytes) -> None:
    try:
        drawing = read_dxf(data, ReadOptions())
    except TainError as error:
        assert str(error)
        return
    assert drawing.shapes
    assert np.isfinite([drawing.width_mm, drawing.height_mm]).all()
    for shape in drawing.shapes:
        assert np.isfinite(shape.path.segments).all()
        assert len(shape.path)
    assert len({shape.id for shape in drawing.shapes}) == len(drawing.shapes)


@settings(max_examples=120)
@given(st.integers(0, len(FILES) - 1), edits)
def test_damaged_lines(which: int, changes: list[tuple[str, float, bytes]]) -> None:
    _survives(_mutated(which, changes))


@settings(max_examples=60)
@given(st.integers(0, len(FILES) - 1), st.floats(0, 1), st.binary(min_size=1, max_size=40))
def test_noise_written_over_the_file(which: int, share: float, noise: bytes) -> None:
    data = b"\n".join(FILES[which])
    at = int(share * (len(data) - len(noise)))
    _survives(data[:at] + noise + data[at + len(noise) :])


@given(st.binary(max_size=300))
def test_any_bytes(data: bytes) -> None:
    _survives(data)


@given(st.lists(st.tuples(st.integers(-5, 1100), st.text(max_size=8)), max_size=40))
def test_any_tags(tags: list[tuple[int, str]]) -> None:
    body = "".join(f"{code}\n{value}\n" for code, value in tags)
    _survives(f"0\nSECTION\n2\nENTITIES\n{body}0\nENDSEC\n0\nEOF\n".encode())
