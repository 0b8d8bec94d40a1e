# ruff: noqa: E501
"""Broken and malicious SVG files: a bound on time and memory each, and one clear sentence; never silence."""

import gzip
import math
import re
import zlib

import pytest

from core.artwork.drawing import ReadOptions
from core.artwork.svg import read_svg
from core.errors import Cancelled, UnreadableError
from tests.bounded import Outcome, bounded

RECT = '<rect width="9" height="9"/>'


def svg(body: str, attributes: str = "") -> bytes:
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="100" height="100"{attributes}>{body}</svg>'
    ).encode()


def _read(data: bytes) -> tuple[int, set[str], str]:
    drawing = read_svg(data, ReadOptions())
    return (
        len(drawing.shapes),
        {one.code for one in drawing.findings},
        " ".join(one.message for one in drawing.findings),
    )


def _outcome(data: bytes) -> Outcome:
    outcome = bounded(_read, data)
    if outcome.error:
        assert len(outcome.error) < 300
        assert "Traceback" not in outcome.error
    return outcome


def _refused(data: bytes, words: str) -> None:
    outcome = _outcome(data)
    assert outcome.result is None
    assert re.search(words, outcome.error), outcome.error


def _shown(data: bytes, shapes: int, *codes: str) -> str:
    outcome = _outcome(data)
    assert outcome.result is not None, outcome.error
    count, found, messages = outcome.result
    assert count == shapes
    assert set(codes) <= found
    return str(messages)


def _quick(data: bytes) -> tuple[int, set[str]]:
    """For what is small by itself: read here."""
    count, codes, _ = _read(data)
    return count, codes


def _says(data: bytes, words: str) -> None:
    with pytest.raises(UnreadableError, match=words) as told:
        read_svg(data, ReadOptions())
    assert told.value.hint


# -- entities and things outside


def test_entity_bombs_are_refused() -> None:
    doubling = "".join(
        f'<!ENTITY {name} "{f"&{inner};" * 10}">' for name, inner in zip("abcdefghi", "bcdefghij", strict=True)
    )
    _refused(f'<!DOCTYPE svg [<!ENTITY j "aaaaaaaaaa">{doubling}]>'.encode() + svg("<text>&a;</text>"), "entities")
    flat = f'<!DOCTYPE svg [<!ENTITY a "{"a" * 100_000}">]>'.encode()
    _refused(flat + svg(f"<text>{'&a;' * 2000}</text>"), "entities")


def test_small_entities_are_expanded() -> None:
    data = b"<!DOCTYPE svg [<!ENTITY r \"<rect width='9' height='9'/>\"><!ENTITY c \"red\">]>" + svg(
        '&r;<g fill="&c;">&r;</g>'
    )
    drawing = read_svg(data, ReadOptions())
    assert [shape.fill for shape in drawing.shapes] == ["#000000", "#ff0000"]


def test_nothing_outside_the_file_is_read(tmp_path, monkeypatch) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("SECRET")

    def forbidden(*args: object, **kwargs: object) -> None:
        raise AssertionError("tried to reach outside")

    monkeypatch.setattr("socket.socket.connect", forbidden)
    monkeypatch.setattr("builtins.open", forbidden)
    head = f'<!DOCTYPE svg [<!ENTITY x SYSTEM "{secret.as_uri()}"><!ENTITY % y SYSTEM "{secret.as_uri()}"> %y;]>'
    body = (
        f'<desc>&x;</desc><rect id="&x;" width="9" height="9"/><use href="{secret.as_uri()}#a"/>'
        '<image href="http://127.0.0.1:9/a.png" width="5" height="5"/><style>@import url(http://127.0.0.1:9/a.css);</style>'
    )
    with pytest.raises(UnreadableError):  # XML forbids external entities in attributes
        read_svg(head.encode() + svg(body), ReadOptions())
    drawing = read_svg(head.encode() + svg(body.replace(' id="&x;"', "")), ReadOptions())
    assert len(drawing.shapes) == 1
    assert {"outside-reference", "image", "style-import"} <= {one.code for one in drawing.findings}
    assert "SECRET" not in repr(drawing)


def test_scripts_and_foreign_objects_are_named_and_ignored() -> None:
    body = '<script>while(1);</script><foreignObject><div xmlns="http://www.w3.org/1999/xhtml"/></foreignObject>'
    assert _quick(svg(body + RECT)) == (1, {"script", "foreign-object"})


# -- loops and bombs


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ('<use id="a" href="#a"/>', "use-loop"),
        ('<g id="a"><use href="#b"/></g><g id="b"><use href="#a"/></g>', "use-loop"),
        ('<symbol id="s"><use href="#s"/></symbol><use href="#s"/>', "use-loop"),
        ('<clipPath id="c" clip-path="url(#c)"><rect width="9" height="9"/></clipPath><g clip-path="url(#c)"><path/></g>', "clip-loop"),
        ('<mask id="m" mask="url(#m)"/><g mask="url(#m)"><circle r="5" cx="50"/></g>', "mask-loop"),
        (
            '<pattern id="p" width="1" height="1"><path d="M0 0h9v9z" fill="url(#p)"/></pattern>'
            '<path d="M0 0h9v9z" fill="url(#p)"/>',
            "pattern-loop",
        ),
    ],
)  # fmt: skip
def test_loops_are_named_and_cost_only_themselves(body: str, code: str) -> None:
    count, codes = _quick(svg(body + RECT))
    assert count >= 1
    assert code in codes


def test_gradient_loops_end() -> None:
    loop = '<linearGradient id="a" href="#b"/><linearGradient id="b" href="#a"/>'
    assert _quick(svg(loop + '<path d="M0 0h9v9z" fill="url(#a)"/>' + RECT))[0] == 1


def _nested(count: int, wrap: str, first: str, last: str) -> str:
    return first + "".join(wrap.format(i=i, j=i - 1) for i in range(1, count)) + last


@pytest.mark.parametrize(
    "body",
    [
        _nested(9, '<g id="u{i}">' + '<use href="#u{j}"/>' * 10 + "</g>", '<defs><rect id="u0" width="1" height="1"/>', '</defs><use href="#u8"/>'),
        _nested(
            12, '<pattern id="u{i}" width="5" height="5" patternUnits="userSpaceOnUse">' + '<path d="M0 0h4v4z" fill="url(#u{j})"/>' * 10 + "</pattern>",
            '<pattern id="u0" width="2" height="2"/>', '<rect width="9" height="9" fill="url(#u11)"/>',
        ),
        '<marker id="m"><rect width="1" height="1"/></marker><path marker-mid="url(#m)" d="M0 0' + " 1 1 2 2" * 50_000 + '"/>',
        '<clipPath id="c" clipPathUnits="objectBoundingBox"><circle r=".5" cx=".5" cy=".5"/></clipPath>'
        + '<g clip-path="url(#c)">' * 1000 + '<rect width="50" height="50"/>' * 100 + "</g>" * 1000,
    ],
    ids=["use", "pattern", "marker", "fitted clips"],
)  # fmt: skip
def test_bombs_are_refused_before_they_are_expanded(body: str) -> None:
    _refused(svg(body), "more than|too much work")


@pytest.mark.parametrize("kind", ["clipPath", "mask"])
def test_clip_and_mask_bombs_are_worked_out_once(kind: str) -> None:
    prop = "mask" if kind == "mask" else "clip-path"
    inner = f'<rect width="9" height="9" fill="white" {prop}="url(#u{{j}})"/>' * 10
    body = _nested(
        12, f'<{kind} id="u{{i}}">{inner}</{kind}>', f'<{kind} id="u0"><rect width="5" height="5" fill="white"/></{kind}>',
        f'<rect width="9" height="9" {prop}="url(#u11)"/>',
    )  # fmt: skip
    _shown(svg(body), 1)


def test_a_mask_of_many_greys_and_much_faint_paint_end() -> None:
    greys = "".join(
        f'<circle cx="{i % 100}" cy="{i // 30}" r="3" fill="#{i % 256:02x}{i * 7 % 256:02x}00"/>' for i in range(3000)
    )
    outcome = _outcome(svg(f'<mask id="m">{greys}</mask><rect width="90" height="90" mask="url(#m)"/>'))
    assert outcome.result or "too much work" in outcome.error
    faint = "".join(
        f'<circle cx="{i * 7 % 100}" cy="{i * 13 % 100}" r="30" opacity=".{1 + i % 4}"/>' for i in range(4000)
    )
    _shown(svg(faint), 0, "faint-paint", "faint-paint-stacked")


# -- size


def test_fifty_thousand_shapes() -> None:
    _shown(svg('<circle cx="3" cy="4" r="2"/>' * 50_000), 50_000)


def test_half_a_million_elements_are_refused() -> None:
    _refused(svg("<g/>" * 500_000), "elements")


def test_a_path_of_ten_million_points_is_refused() -> None:
    _refused(svg('<path d="M' + "1 2 3 4 " * 5_000_000 + 'z"/>'), "segments")


def test_a_path_of_one_million_points_is_read() -> None:
    _shown(svg('<path d="M' + "1 2 3 4 " * 500_000 + 'z"/>'), 1)


def test_a_ten_megabyte_attribute() -> None:
    _shown(svg(f'<rect width="9" height="9" data-x="{"x" * 10_000_000}"/>'), 1)


@pytest.mark.parametrize("wrap", ["g", 'g transform="translate(1)"', 'g opacity=".999"', "svg", "a"])
def test_nesting_a_hundred_thousand_deep(wrap: str) -> None:
    depth = 20_000 if wrap == "svg" else 100_000
    _shown(svg(f"<{wrap}>" * depth + RECT + f"</{wrap.split()[0]}>" * depth), 0 if "opacity" in wrap else 1)


def test_deeply_nested_text() -> None:
    data = svg("<text>" + "<tspan>" * 50_000 + "x" + "</tspan>" * 50_000 + "</text>")
    assert _outcome(data).result is not None


@pytest.mark.parametrize("where", ["shape", "clip", "mask"])
def test_a_path_that_crosses_itself_twenty_thousand_times(where: str) -> None:
    turns = [2 * math.pi * 101 * i / 203 for i in range(203)]  # a star of 203 points crosses itself 20,300 times
    points = " ".join(f"{50 + 40 * math.cos(turn):.6f} {50 + 40 * math.sin(turn):.6f}" for turn in turns)
    path = f'<path fill="white" d="M{points}z"/>'
    body = {
        "shape": path,
        "clip": f'<clipPath id="c">{path}</clipPath><rect width="90" height="90" clip-path="url(#c)"/>',
        "mask": f'<mask id="c">{path}</mask><rect width="90" height="90" mask="url(#c)"/>',
    }[where]
    outcome = _outcome(svg(body + RECT))
    assert outcome.result is not None
    assert outcome.result[0] >= 1


def test_patterns_too_fine_to_draw_say_so() -> None:
    body = '<pattern id="p" width="1e-9" height="1e-9" patternUnits="userSpaceOnUse"><rect width="1" height="1"/></pattern>'
    assert "too-many-tiles" in _quick(svg(body + '<rect fill="url(#p)" width="90" height="90"/>'))[1]


def test_dashes_too_fine_to_draw_say_so() -> None:
    body = '<path d="M0 0H90" stroke="red" stroke-dasharray="1e-9"/>'
    count, codes = _quick(svg(body))
    assert count == 1
    assert "too-many-dashes" in codes


# -- style sheets made to stall


@pytest.mark.parametrize(
    "sheet",
    [
        "/*" * 50_000, "{" * 20_000, "rect" + " *" * 20_000 + "{fill:red}", ":not(" * 5_000 + "{fill:red}",
        "".join(f".c{i}{{fill:red}}" for i in range(200_000)), "*{fill:red}" * 20_000, "g " * 30 + "rect{fill:red}",
        "@media screen{" * 10_000, "rect[a" * 10_000, "\\" * 50_000, "'" * 50_001,
    ],
)  # fmt: skip
def test_style_sheets_made_to_stall(sheet: str) -> None:
    outcome = _outcome(svg(f"<style>{sheet}</style>" + "<g>" * 300 + RECT * 300 + "</g>" * 300))
    assert outcome.result is not None
    assert outcome.result[0] == 300


@pytest.mark.parametrize(
    "style",
    [
        "a:b;" * 200_000,
        "--a:var(--b);--b:var(--a);fill:var(--a)",
        "fill:var(--a," + "(" * 50_000,
        "fill:rgb(" + "(" * 50_000,
    ],
    ids=["long", "loop", "open brackets", "open colour"],
)
def test_style_attributes_made_to_stall(style: str) -> None:
    _shown(svg(f'<rect width="9" height="9" style="{style}"/>'), 1)


# -- numbers


def test_nan_infinity_and_giants_are_named() -> None:
    body = (
        '<path d="M0 0L9 9L nan 3"/><path d="M0 0h9v9L1e400 3z"/><rect width="1e308" height="1e308"/><circle r="1e308"/>'
        '<rect width="9" height="9" transform="translate(nan)"/><rect width="9" height="9" transform="scale(1e200)"/>'
        '<path d="M0 0a1e308 1e308 0 0 1 5 5"/><rect x="nan" width="9" height="9"/>'
    )
    drawing = read_svg(svg(body), ReadOptions())
    assert {"bad-path-data", "out-of-range", "bad-transform"} <= {one.code for one in drawing.findings}
    for shape in drawing.shapes:
        assert abs(shape.path.segments).max() < 1e7


@pytest.mark.parametrize("body", ['<rect width="-9" height="9"/>', '<circle r="-3"/>', '<ellipse rx="-3" ry="-4"/>'])
def test_negative_sizes_are_named(body: str) -> None:
    assert _quick(svg(body)) == (0, {"negative-size"})


@pytest.mark.parametrize(
    ("body", "shapes"),
    [('<rect width="NaN" height="9"/>', 0), ('<circle cx="inf" r="3"/>', 1), ('<line x2="9" y2="1 2"/>', 1)],
)
def test_lengths_that_are_none_are_named(body: str, shapes: int) -> None:
    drawing = read_svg(svg(body), ReadOptions())
    assert len(drawing.shapes) == shapes
    assert "bad-length" in {one.code for one in drawing.findings}


@pytest.mark.parametrize("size", ["0", "-5", "1e9mm", "1e300"])
def test_pages_without_a_real_size_are_refused(size: str) -> None:
    _says(f'<svg xmlns="http://www.w3.org/2000/svg" width="{size}" height="10">{RECT}</svg>'.encode(), "width|page")


def test_a_size_that_is_no_length_is_named() -> None:
    assert _quick(b'<svg xmlns="http://www.w3.org/2000/svg" width="abc" height="9"><path d="M0 0h9v9z"/></svg>') == (
        1,
        {"bad-size", "no-page-size"},
    )


@pytest.mark.parametrize("transform", ["rotate(NaN)", "foo(", "(" * 10_000, "scale(1)" * 100_000, "matrix(1 2 3)"])
def test_transforms_that_make_no_sense(transform: str) -> None:
    assert _quick(svg(f'<rect width="9" height="9" transform="{transform}"/>')) == (1, {"bad-transform"})


# -- not (well-formed) SVG


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "empty"),
        (b" \n\t", "empty"),
        (b"hello", "not an SVG"),
        (bytes(i * 7919 % 256 for i in range(10_000)), "not an SVG|damaged"),
        (b"<!DOCTYPE html><html><body><p>hi<br></body></html>", "web page"),
        (b'<html xmlns="http://www.w3.org/1999/xhtml"><body/></html>', "<html>"),
        (svg(RECT)[:-15], "ends too early"),
        (svg(RECT)[:-6], "ends too early"),
        (svg(RECT).replace(b"rect", b"re\0ct"), "damaged in line 1"),
        (svg("<g>" + RECT), "damaged"),
        (gzip.compress(svg(RECT))[:-12], "ends too early"),
        (b"\x1f\x8b" + b"\0" * 50, "damaged"),
    ],
)
def test_what_is_no_svg_is_told_in_a_sentence(data: bytes, words: str) -> None:
    _says(data, words)


def test_an_svgz_bomb_is_refused() -> None:
    packer = zlib.compressobj(1, wbits=31)
    bomb = b"".join(packer.compress(b" " * 10_000_000) for _ in range(100)) + packer.flush()
    _refused(bomb, "unpacks to more than")


@pytest.mark.parametrize(
    "data",
    [
        gzip.compress(svg(RECT)),
        b"\xef\xbb\xbf" + svg(RECT),
        svg('<rect id="é" width="9" height="9"/>').decode().encode("utf-16"),
        svg(RECT).decode().encode("utf-16-le"),
        b'<?xml version="1.0" encoding="ISO-8859-1"?>'
        + svg('<rect id="é" width="9" height="9"/>').decode().encode("latin-1"),
        b"<svg width='9' height='9'><rect width='5' height='5' xlink:href='x' foo:bar='3'/><foo:rect/></svg>",
        b'<s:svg xmlns:s="http://www.w3.org/2000/svg" width="9" height="9"><s:rect width="5" height="5"/></s:svg>',
    ],
)
def test_unusual_ways_to_write_it_down_are_read(data: bytes) -> None:
    assert _quick(data)[0] == 1


def test_a_wrong_or_unknown_encoding_is_named() -> None:
    head = b'<?xml version="1.0" encoding="UTF-8"?>'
    assert _quick(head + svg('<rect id="é" width="9" height="9"/>').decode().encode("latin-1")) == (1, {"encoding"})
    assert _quick(head.replace(b"UTF-8", b"foo-8") + svg(RECT)) == (1, {"encoding"})


def test_reading_can_be_cancelled() -> None:
    calls = []

    def stop(share: float, doing: str) -> None:
        calls.append(share)
        if len(calls) > 3:
            raise Cancelled

    with pytest.raises(Cancelled):
        read_svg(svg(RECT * 20_000), ReadOptions(), progress=stop)
