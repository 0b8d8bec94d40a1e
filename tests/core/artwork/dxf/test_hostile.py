"""Broken and malicious DXF files: a bound on time and memory each, and one clear sentence; never silence."""

import re
from typing import Any

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.dxf.reading import read_dxf
from core.errors import Cancelled
from tests.bounded import Outcome, bounded
from tests.core.artwork.dxf.made import dxf_bytes


def _read(data: bytes) -> tuple[int, float, float, list[tuple[str, str]]]:
    drawing = read_dxf(data, ReadOptions())
    findings = [(finding.code, finding.severity) for finding in drawing.findings]
    return len(drawing.shapes), drawing.width_mm, drawing.height_mm, findings


def _outcome(data: bytes) -> Outcome:
    outcome = bounded(_read, data)
    if outcome.error:
        assert len(outcome.error) < 600
        assert "Traceback" not in outcome.error
    return outcome


def _refused(data: bytes, words: str) -> None:
    outcome = _outcome(data)
    assert outcome.result is None
    assert re.search(words, outcome.error), outcome.error


def _lines(count: int) -> bytes:
    return dxf_bytes(lambda d, m: [m.add_line((i, 0), (i, 100.75)) for i in range(count)])


def test_cut_in_the_middle_of_entities_says_so_and_keeps_what_is_whole() -> None:
    data = _lines(100)
    begin, end = data.index(b"ENTITIES"), data.index(b"OBJECTS")
    shapes, _, _, findings = _outcome(data[: begin + (end - begin) * 3 // 10]).result
    assert 20 <= shapes <= 40
    assert ("dxf-cut-short", "problem") in findings


@pytest.mark.parametrize("share", [0.01, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 0.999])
def test_cut_anywhere_is_an_error_or_a_finding(share: float) -> None:
    data = _lines(60)
    outcome = _outcome(data[: int(len(data) * share)])
    if outcome.result:
        shapes, _, _, findings = outcome.result
        assert shapes > 0
        assert findings
    else:
        assert outcome.error


def test_an_empty_drawing_is_an_error() -> None:
    _refused(dxf_bytes(lambda d, m: None), "holds no entities")


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b" \n\r\n", "empty"),
        (b"AC1027\0\0\0\0\0\x01" + bytes(range(256)) * 20, "DWG"),
        (b'<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg"/>', "SVG"),
        (b"\xef\xbb\xbf<html></html>", "not a DXF"),
        (b"%PDF-1.7\n", "PDF"),
        (bytes((i * 7919 + i // 3) % 256 for i in range(200_000)), "no DXF"),
        (b"0\nSECTION\n" + bytes((i * 104729 + 11) % 256 for i in range(100_000)), "."),
        (b"AutoCAD Binary DXF\r\n\x1a\x00" + bytes((i * 31) % 256 for i in range(5000)), "binary DXF"),
        (b"AutoCAD Binary DXF\r\n\x1a\x00", "binary DXF|no entities"),
        (b"just words\n" * 1000, "no DXF"),
        (b"0\nEOF\n", "no entities|damaged"),
    ],
)
def test_what_is_no_dxf_is_named(data: bytes, words: str) -> None:
    _refused(data, words)


def test_wrong_group_codes() -> None:
    data = _lines(10).replace(b"\n 10\n", b"\nxx\n", 3)
    outcome = _outcome(data)
    assert outcome.error or outcome.result[3]


def test_text_in_a_coordinate_is_no_silent_zero() -> None:
    data = _lines(10).replace(b"\n100.75\n", b"\nabc\n", 1)
    outcome = _outcome(data)
    assert outcome.error or any(severity == "problem" for _, severity in outcome.result[3])


def test_byte_order_mark_and_blank_first_lines() -> None:
    assert _outcome(b"\xef\xbb\xbf" + _lines(3)).result[:3] == (3, 2.0, 100.75)
    assert _outcome(b"\r\n\n" + _lines(3)).result[0] == 3
    assert _outcome(_lines(3).decode().encode("utf-16")).result[0] == 3


def test_missing_end_mark_is_a_note() -> None:
    shapes, _, _, findings = _outcome(_lines(3).replace(b"  0\nEOF\n", b"")).result
    assert shapes == 3
    assert findings == [("dxf-no-end-mark", "note")]


def test_comma_decimals_are_read_as_points_and_said() -> None:
    shapes, width_mm, height_mm, findings = _outcome(_lines(3).replace(b"100.75", b"100,75")).result
    assert (shapes, width_mm, height_mm) == (3, 2.0, 100.75)
    assert ("dxf-decimal-commas", "warning") in findings


@pytest.mark.parametrize("number", [b"nan", b"inf", b"-inf", b"1e308", b"-1e308", b"1e400", b"1e9"])
def test_numbers_that_are_none_drop_their_entity_only(number: bytes) -> None:
    shapes, width_mm, height_mm, findings = _outcome(
        _lines(20).replace(b"\n100.75\n", b"\n" + number + b"\n", 1)
    ).result
    assert (shapes, width_mm, height_mm) == (19, 18.0, 100.75)
    assert ("dxf-bad-coordinates", "warning") in findings


def test_only_numbers_that_are_none_is_an_error() -> None:
    _refused(_lines(2).replace(b"100.75", b"1e400"), "no numbers")


def test_a_drawing_that_lies_far_off_is_read() -> None:
    data = dxf_bytes(lambda d, m: m.add_circle((4e8, 5e9), 5.0))
    _, width_mm, height_mm, _ = _outcome(data).result
    assert width_mm == pytest.approx(10, abs=1e-4)
    assert height_mm == pytest.approx(10, abs=1e-4)


def _cycle(d: Any, m: Any) -> None:
    one, two = d.blocks.new("ONE"), d.blocks.new("TWO")
    one.add_line((0, 0), (5, 0))
    one.add_blockref("TWO", (1, 1))
    two.add_blockref("ONE", (1, 1))
    m.add_blockref("ONE", (0, 0))
    m.add_blockref("TWO", (0, 0))
    m.add_line((0, 0), (7, 7))


def test_blocks_that_hold_themselves() -> None:
    shapes, _, _, findings = _outcome(dxf_bytes(_cycle)).result
    assert shapes >= 1
    assert ("dxf-block-cycle", "warning") in findings


def test_a_block_that_holds_its_own_dimension() -> None:
    def build(d: Any, m: Any) -> None:
        block = d.blocks.new("B")
        block.add_line((0, 0), (3, 0))
        dimension = block.add_linear_dim(base=(0, 10), p1=(0, 0), p2=(30, 0)).dimension
        dimension.dxf.geometry = "B"
        m.add_blockref("B", (0, 0))
        m.add_line((0, 0), (1, 0))

    assert "dxf-block-cycle" in dict(_outcome(dxf_bytes(build)).result[3])


def _deep(d: Any, m: Any) -> None:
    for i in range(2000):
        block = d.blocks.new(f"B{i}")
        block.add_line((0, 0), (1, 0))
        if i:
            block.add_blockref(f"B{i - 1}", (0, 1))
    m.add_blockref("B1999", (0, 0))


def test_blocks_two_thousand_deep_are_read() -> None:
    shapes, width_mm, height_mm, _ = _outcome(dxf_bytes(_deep)).result
    assert (shapes, width_mm, height_mm) == (2000, 1.0, 1999.0)


def _array(rows: int, columns: int, **more: Any) -> bytes:
    def build(d: Any, m: Any) -> None:
        d.blocks.new("B").add_circle((0, 0), 1)
        d.blocks.new("NOTHING")
        attributes = {"row_count": rows, "column_count": columns, "row_spacing": 3, "column_spacing": 3, **more}
        m.add_blockref("B", (0, 0), dxfattribs=attributes)
        m.add_blockref("NOTHING", (0, 0), dxfattribs=attributes)
        m.add_line((0, 0), (1, 0))

    return dxf_bytes(build)


def test_a_block_array_of_nine_hundred_million_is_counted_not_drawn() -> None:
    shapes, _, _, findings = _outcome(_array(30_000, 30_000)).result
    assert shapes == 1
    assert findings == [("dxf-too-many-copies", "warning")] * 2


def test_a_block_array_that_fits_is_drawn() -> None:
    assert _outcome(_array(100, 100)).result[0] == 10_001


def test_a_block_bomb_is_counted_not_drawn() -> None:
    def build(d: Any, m: Any) -> None:
        d.blocks.new("B0").add_line((0, 0), (1, 0))
        for i in range(1, 40):
            block = d.blocks.new(f"B{i}")
            for k in range(10):
                block.add_blockref(f"B{i - 1}", (k, 0))
        m.add_blockref("B39", (0, 0))
        m.add_line((0, 0), (1, 0))

    shapes, _, _, findings = _outcome(dxf_bytes(build)).result
    assert (shapes, findings) == (1, [("dxf-too-many-copies", "warning")])


def _spline(data: bytes, old: bytes, new: bytes) -> bytes:
    begin = data.index(b"\nSPLINE\n")
    return data[:begin] + data[begin:].replace(old, new, 1)


def _with_spline(d: Any, m: Any) -> None:
    m.add_line((0, 0), (10, 0))
    m.add_open_spline([(0, 0), (10, 20), (20, -10), (30, 5)], degree=3)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        (b"\n 40\n1.0\n", b"\n"),  # a knot too few
        (b"\n 40\n1.0\n", b"\n 40\n-5.0\n"),  # knots that fall
        (b"\n 40\n0.0\n", b"\n 40\nnan\n"),
        (b"\n 71\n3\n", b"\n 71\n0\n"),  # degree 0
        (b"\n 71\n3\n", b"\n 71\n9\n"),  # degree above the control points
        (b"\n 71\n3\n", b"\n 71\n-3\n"),
    ],
)
def test_bad_splines_are_named_and_the_rest_is_read(old: bytes, new: bytes) -> None:
    data = dxf_bytes(_with_spline)
    mangled = _spline(data, old, new)
    assert mangled != data
    shapes, _, _, findings = _outcome(mangled).result
    assert shapes == 1
    assert ("dxf-bad-entity", "warning") in findings


def test_ten_thousand_bad_entities_are_one_finding() -> None:
    data = dxf_bytes(lambda d, m: [m.add_line((0, 0), (1, 1)), *(m.add_circle((i, 0), 5) for i in range(10_000))])
    shapes, _, _, findings = _outcome(data.replace(b"\n 40\n5.0\n", b"\n 40\n0.0\n")).result
    assert (shapes, len(findings)) == (1, 1)


def test_degenerate_entities() -> None:
    def build(d: Any, m: Any) -> None:
        m.add_line((0, 0), (10, 10))
        m.add_line((5, 5), (5, 5))
        m.add_lwpolyline([(0, 0)])
        m.add_lwpolyline([])
        m.add_lwpolyline([(1, 1, 1e300), (2, 2, 0)], format="xyb")
        m.add_lwpolyline([(1, 1, 1), (1, 1, -1)], format="xyb", close=True)
        m.add_arc((0, 0), 1, 1e300, 20)
        m.add_hatch().paths.add_polyline_path([(0, 0)])
        m.add_hatch()
        m.add_solid([(0, 0), (0, 0), (0, 0), (0, 0)])
        m.add_blockref("MISSING", (0, 0))
        d.blocks.new("B").add_line((0, 0), (1, 0))
        m.add_blockref("B", (0, 0), dxfattribs={"xscale": 0})
        m.add_text("", height=0)
        m.add_text("A", height=-3)
        m.add_mtext("{\\H0x;\\W0;\\Q90;A\\S1/2;", dxfattribs={"char_height": 0})

    shapes, _, _, findings = _outcome(dxf_bytes(build)).result
    assert shapes >= 2
    assert "dxf-bad-entity" in dict(findings)


def test_a_long_string_and_mixed_line_ends() -> None:
    data = dxf_bytes(lambda d, m: [m.add_line((0, 0), (1, 1)), m.add_text("A" * 200_000)])
    shapes, _, _, findings = _outcome(data).result
    assert (shapes, findings) == (1, [("dxf-text-too-long", "warning")])
    mixed = _lines(5).split(b"\n")
    data = b"".join(line + (b"\r\n" if i % 3 else b"\n") for i, line in enumerate(mixed))
    assert _outcome(data).result[:3] == (5, 4.0, 100.75)


def test_bare_entities_of_r12() -> None:
    data = b"0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n0\n10\n0\n20\n0\n11\n25.4\n21\n10\n0\nENDSEC\n0\nEOF\n"
    shapes, width_mm, height_mm, findings = _outcome(data).result
    assert (shapes, width_mm, height_mm, findings) == (1, 25.4, 10.0, [("units-assumed", "warning")])


def test_reading_can_be_stopped_at_any_report() -> None:
    line = "0\nLINE\n8\n0\n10\n{0}\n20\n0\n11\n{0}\n21\n9\n"
    body = "".join(line.format(i) for i in range(12_000)) + "0\nPOINT\n8\n0\n10\n0\n20\n0\n" * 3_000
    data = f"0\nSECTION\n2\nENTITIES\n{body}0\nENDSEC\n0\nEOF\n".encode()
    shares: list[float] = []
    read_dxf(data, ReadOptions(), progress=lambda share, doing: shares.append(share))
    assert shares == sorted(shares)
    assert 0 <= shares[0] <= shares[-1] <= 1
    assert len(shares) > 15

    def stop(share: float, doing: str) -> None:
        if share >= shares[len(shares) // 2]:
            raise Cancelled

    with pytest.raises(Cancelled):
        read_dxf(data, ReadOptions(), progress=stop)
