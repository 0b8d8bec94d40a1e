"""What holds for every input: parsers never crash, and different ways to write a path give the same path."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import ReadOptions
from core.artwork.svg import read_svg
from core.artwork.svg.cascade import inline_declarations
from core.artwork.svg.colours import parse_colour, parse_paint
from core.artwork.svg.path_data import arc_row, parse_path
from core.artwork.svg.values import number_list, parse_transform, parse_view_box, split_length
from core.errors import UnreadableError
from core.geometry.path import ARC, Path

numbers = st.integers(-9999, 9999).map(lambda value: value / 100)
counts = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2}
steps = st.sampled_from("LHVCSQT").flatmap(
    lambda letter: st.tuples(st.just(letter), st.lists(numbers, min_size=counts[letter], max_size=counts[letter]))
)
path_steps = st.lists(st.one_of(steps, st.just(("Z", []))), max_size=40)


def written(start: list[float], parts: list[tuple[str, list[float]]]) -> str:
    return f"M{start[0]},{start[1]}" + "".join(letter + " ".join(map(str, values)) for letter, values in parts)


def relative(start: list[float], parts: list[tuple[str, list[float]]]) -> str:
    """The same path in relative commands."""
    text = f"m{start[0]!r} {start[1]!r}"
    x, y = began = tuple(start)
    for letter, values in parts:
        if letter == "Z":
            text += "z"
            x, y = began
        elif letter == "H":
            text += f"h{values[0] - x!r}"
            x = values[0]
        elif letter == "V":
            text += f"v{values[0] - y!r}"
            y = values[0]
        else:
            moved = [value - (x, y)[i % 2] for i, value in enumerate(values)]
            text += letter.lower() + " ".join(map(repr, moved))
            x, y = values[-2:]
    return text


def same(first: Path, second: Path) -> None:
    assert first.kinds.tolist() == second.kinds.tolist()
    assert first.starts.tolist() == second.starts.tolist()
    assert first.closed.tolist() == second.closed.tolist()
    np.testing.assert_allclose(first.segments, second.segments, atol=1e-7)


@pytest.mark.parametrize("letter", "LHVCSQT")
@pytest.mark.parametrize("relative", [False, True])
@pytest.mark.parametrize("count", [1, 40])
def test_numbers_that_overflow_end_a_path(letter: str, relative: bool, count: int) -> None:
    """Warnings are errors here. Segments before the number that is too large are kept, and the mistake is told."""
    plain = " ".join(["1"] * counts[letter])
    command = letter.lower() if relative else letter
    for huge in ("1e308", "-1.7e308", "1e400", "-" + "9" * 320):
        giants = " ".join([huge] * counts[letter])
        parsed = parse_path(f"M0 0L3 3{command}{' '.join([plain, giants] * count)}")
        assert np.isfinite(parsed.path.segments).all()
        assert parsed.path.segments[0].tolist() == [0, 0, 3, 3, 0, 0, 0, 0]
        if not math.isfinite(float(huge)):
            assert parsed.error_at is not None


@given(st.lists(numbers, min_size=2, max_size=2), path_steps)
def test_relative_commands_give_the_same_path(start: list[float], parts: list[tuple[str, list[float]]]) -> None:
    absolute = parse_path(written(start, parts))
    assert absolute.error_at is None
    near = parse_path(relative(start, parts)).path
    if len(near) == len(absolute.path):  # a rounding apart where a subpath ends (nearly) at its start
        same(absolute.path, near)


@given(st.lists(numbers, min_size=2, max_size=2), path_steps)
def test_packed_numbers_give_the_same_path(start: list[float], parts: list[tuple[str, list[float]]]) -> None:
    def packed(value: float) -> str:
        return repr(value).replace("0.", ".", 1) if abs(value) < 1 else repr(value)

    text = f"M{packed(start[0])} {packed(start[1])}"
    for letter, values in parts:
        words = [packed(value) for value in values]
        joined = "".join(
            word if i == 0 or word[0] == "-" or (word[0] == "." and "." in words[i - 1]) else " " + word
            for i, word in enumerate(words)
        )
        text += letter + joined
    same(parse_path(written(start, parts)).path, parse_path(text).path)


@given(st.lists(st.lists(numbers, min_size=2, max_size=2), min_size=17, max_size=60), st.sampled_from("LlHhVvCcSsQqTt"))
def test_long_runs_equal_short_ones(points: list[list[float]], letter: str) -> None:
    """The array way against the step-by-step way: the same numbers with and without repeated letters."""
    size = counts[letter.upper()]
    values = [value for point in points for value in point]
    rows = [values[i : i + size] for i in range(0, len(values) - size + 1, size)]
    start = "M3 4 C 1 2 3 4 5 6"
    one = parse_path(start + letter + " ".join(str(value) for row in rows for value in row)).path
    many = parse_path(start + "".join(letter + " ".join(map(str, row)) for row in rows)).path
    same(one, many)


@given(numbers, numbers, numbers, numbers, numbers, numbers, numbers, st.booleans(), st.booleans())
def test_arcs_begin_and_end_where_they_say(
    x0: float, y0: float, rx: float, ry: float, turn: float, x: float, y: float, large: bool, sweep: bool
) -> None:
    row = arc_row(x0, y0, rx, ry, turn, large, sweep, x, y)
    if row is None:
        assert rx == 0 or ry == 0 or (x0, y0) == (x, y)
        return
    cx, cy, ux, uy, vx, vy, t0, t1 = row
    reach = 1e-6 * max(1.0, abs(rx / ry), abs(ry / rx)) * max(map(abs, (x0, y0, x, y, ux, uy, vx, vy)))
    for t, (want_x, want_y) in ((t0, (x0, y0)), (t1, (x, y))):
        assert math.isclose(cx + ux * math.cos(t) + vx * math.sin(t), want_x, abs_tol=reach)
        assert math.isclose(cy + uy * math.cos(t) + vy * math.sin(t), want_y, abs_tol=reach)
    assert (t1 > t0) == sweep
    assert abs(t1 - t0) <= 2 * math.pi + 1e-9


@given(st.text(alphabet="MmLlHhVvCcSsQqTtAaZz0123456789.,-+eE \n#x", max_size=80))
def test_path_data_never_crashes(text: str) -> None:
    parsed = parse_path(text)
    path = parsed.path
    assert np.isfinite(path.segments).all()
    assert (parsed.error_at is None) or 0 <= parsed.error_at <= len(text)
    for i in range(len(path.starts)):
        part = path.subpath(i)
        joints = np.abs(part.end_points[:-1] - part.start_points[1:])
        if not (part.kinds == ARC).any():
            assert (joints == 0).all()


@given(st.text(max_size=60))
def test_small_parsers_never_crash(text: str) -> None:
    number_list(text)
    split_length(text)
    parse_transform(text)
    parse_view_box(text)
    parse_colour(text)
    parse_paint(text)
    inline_declarations(text)


attribute_values = st.one_of(
    st.sampled_from(
        ["url(#a)", "none", "inherit", "50%", "1e9", "-3", "auto", "currentColor", "rotate(30)", "M0 0h9v9z"]
    ),
    st.text(alphabet=st.characters(codec="utf-8", exclude_categories=("Cs", "Cc")), max_size=12),
)
names = st.sampled_from(
    [
        "x",
        "y",
        "width",
        "height",
        "r",
        "rx",
        "d",
        "points",
        "fill",
        "stroke",
        "stroke-width",
        "opacity",
        "clip-path",
        "mask",
        "filter",
        "transform",
        "style",
        "class",
        "href",
        "viewBox",
        "preserveAspectRatio",
        "font-size",
        "marker-start",
        "stroke-dasharray",
        "gradientUnits",
        "patternUnits",
        "offset",
        "refX",
        "orient",
    ]
)
tags = st.sampled_from(
    [
        "g",
        "rect",
        "circle",
        "path",
        "polygon",
        "text",
        "tspan",
        "use",
        "svg",
        "symbol",
        "clipPath",
        "mask",
        "pattern",
        "linearGradient",
        "radialGradient",
        "stop",
        "marker",
        "switch",
        "style",
        "image",
        "textPath",
        "a",
        "filter",
        "line",
    ]
)


def element(tag: str, attributes: dict[str, str], children: list[str]) -> str:
    def quoted(value: str) -> str:
        return value.replace("&", "&amp;").replace("<", "&lt;").replace('"', "&quot;")

    said = "".join(f' {name}="{quoted(value)}"' for name, value in attributes.items())
    return f"<{tag}{said}>{''.join(children)}</{tag}>"


trees = st.recursive(
    st.builds(element, tags, st.dictionaries(names, attribute_values, max_size=4), st.just([])),
    lambda inner: st.builds(
        lambda tag, attributes, children, known: element(
            tag, {**attributes, **({"id": "a"} if known else {})}, children
        ),
        tags,
        st.dictionaries(names, attribute_values, max_size=4),
        st.lists(inner, max_size=4),
        st.booleans(),
    ),
    max_leaves=12,
)


@settings(max_examples=150, deadline=None)
@given(trees)
def test_any_tree_of_elements_is_read_or_refused_in_a_sentence(body: str) -> None:
    data = f'<svg xmlns="http://www.w3.org/2000/svg" width="50" height="50">{body}</svg>'.encode()
    try:
        drawing = read_svg(data, ReadOptions())
    except UnreadableError as told:
        assert told.message
        return
    assert [shape.id for shape in drawing.shapes] == [f"s{i}" for i in range(1, len(drawing.shapes) + 1)]
    for shape in drawing.shapes:
        assert np.isfinite(shape.path.segments).all()
    assert not [one for one in drawing.findings if "(TypeError)" in one.message or "(AttributeError)" in one.message]


@settings(max_examples=100, deadline=None)
@given(st.binary(max_size=200))
def test_any_bytes_are_read_or_refused_in_a_sentence(data: bytes) -> None:
    try:
        read_svg(data, ReadOptions())
    except UnreadableError as told:
        assert told.message
