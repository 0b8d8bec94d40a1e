"""Shapes drawn together come out as each by itself: shapes, findings and what is missing."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.artwork.drawing import Drawing, ReadOptions
from core.artwork.svg import alike, plain_outlines, read_svg, walking
from core.artwork.svg import short_paths as short_paths_module

numbers = st.sampled_from(
    ["0", "12", "-3.5", "7.25", "4px", "1mm", "20%", "1e1", "", "abc", "9e7", " 5 ", "1_0", "1.5.5"]
)
plain = st.integers(-200, 900).map(lambda n: f"{n / 10}")
value = st.one_of(plain, plain, plain, numbers)
style = st.sampled_from(
    [
        "",
        'fill="none"',
        'fill="none" stroke="#f00"',
        'stroke="blue" stroke-width="2"',
        'fill="none" stroke="red" stroke-width="0"',
        'stroke="#00f" stroke-width="5%"',
        'stroke="#321" stroke-width="1mm"',
        'stroke="#000" stroke-dasharray="3"',
        'stroke="red" vector-effect="non-scaling-stroke"',
        'stroke="#111" marker-start="url(#m)"',
        'style="fill:#123;stroke:none"',
        'style="fill:url(#g)"',
        'style="r:3px;fill:red"',
        'style="transform:scale(2)"',
        'style="font-size:20px;stroke-width:.1em;stroke:#00f"',
        'class="thin"',
        'class="hidden"',
        'fill="currentColor" color="#0a0"',
        'fill="rgba(0,0,0,.5)"',
        'fill-opacity=".4"',
        'fill-rule="evenodd"',
        'opacity=".3"',
        'opacity="1" display="inline"',
        'display="none"',
        'visibility="hidden"',
        'clip-path="url(#c)"',
        'requiredExtensions="x"',
    ]
)
place = st.sampled_from(
    [
        "",
        "",
        "",
        'transform="translate(3 4)"',
        'transform="rotate(30)"',
        'transform="scale(0)"',
        'transform="nonsense"',
        'transform="scale(-2 3)" transform-origin="5 5"',
        'transform="translate(1em)"',
        'transform="scale(1e9)"',
    ]
)
name = st.sampled_from(["", "", 'id="leaf"', 'class="a b"', 'data-x="1"'])
data = st.sampled_from(
    ["M1 2h3v4z", "M0 0L5 5", "M0 0C1 2 3 4 5 6", "M0 0a5 5 0 0 1 9 9", "M0", "", "M1 1l2 2zl5 5", "path('M0')"]
)


@st.composite
def elements(draw) -> str:
    tag = draw(st.sampled_from(["circle", "ellipse", "line", "rect", "path", "polygon", "g", "use", "use"]))
    common = f"{draw(style)} {draw(place)} {draw(name)}"
    if common.count("class=") == 2:
        common = common.replace(' class="a b"', "")
    if tag == "path":
        return f'<path d="{draw(data)}" {common}/>'
    if tag == "use":
        href = draw(
            st.sampled_from(["#dot", "#dot", "#bar", "#bent", "#none", "#text", "#leaf", "#group", "other.svg#dot"])
        )
        said = [f'{one}="{draw(value)}"' for one in "xy" if draw(st.integers(0, 3))]
        return f'<use href="{href}" {" ".join(said)} {common}/>'
    if tag == "polygon":
        return f'<polygon points="0,0 {draw(value)},5 5 7" {common}/>'
    if tag == "g":
        return f'<g {common}><circle r="4"/></g>'
    of = {"circle": "cx cy r", "ellipse": "cx cy rx ry", "line": "x1 y1 x2 y2", "rect": "x y width height rx"}[tag]
    said = [f'{one}="{draw(value)}"' for one in of.split() if draw(st.integers(0, 5)) and one != "rx"]
    if draw(st.integers(0, 5)) == 0 and tag == "rect":
        said.append('rx="2"')
    return f"<{tag} {' '.join(said)} {common}/>"


DEFS = (
    '<defs><linearGradient id="g"><stop offset="0" stop-color="red"/><stop offset="1" stop-opacity="0"/>'
    '</linearGradient><clipPath id="c"><circle r="30"/></clipPath><marker id="m"><circle r="1"/></marker>'
    '<circle id="dot" r="2"/><rect id="bar" class="thin" width="3" height="2" rx="1" transform="rotate(20)"/>'
    '<path id="bent" d="M0 0L5 5 6" fill="none" stroke="red"/><text id="text">a</text>'
    '<g id="group"><path d="M0 0h2v2z"/></g>'
    "</defs>"
)
groups = st.sampled_from(
    [
        "<g>",
        '<g id="layer" class="x">',
        '<g opacity=".4">',
        '<g clip-path="url(#c)">',
        '<g fill="red" transform="scale(2)">',
    ]
)


FIELDS = (
    "id", "kind", "fill", "fill_rule", "stroke", "source_layer", "label", "names", "source_id", "is_text", "zero_width",
    "drawn_solid", "tones",
)  # fmt: skip


def _told(drawing: Drawing) -> list[object]:
    return [
        (
            *(getattr(shape, field) for field in FIELDS),
            [part.wkb if part is not None else None for part in (shape.area, shape.clip)],
            [column.tolist() for column in (shape.path.kinds, shape.path.starts, shape.path.closed)],
        )
        for shape in drawing.shapes
    ]


def _same(data: bytes) -> None:
    together = read_svg(data, ReadOptions())
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(walking, "LEAST", 10**9)
        alone = read_svg(data, ReadOptions())
    assert _told(together) == _told(alone)
    assert together.findings == alone.findings and together.missing == alone.missing
    for one, other in zip(together.shapes, alone.shapes, strict=True):
        np.testing.assert_allclose(one.path.segments, other.path.segments, rtol=1e-12, atol=1e-12)


@settings(max_examples=40)
@given(
    st.lists(elements(), min_size=8, max_size=20),
    groups,
    st.sampled_from(["", ".thin{stroke:red;fill:none}.hidden{display:none}"]),
)
def test_shapes_side_by_side_are_read_as_each_alone(shapes, group, sheet) -> None:
    body = "".join(shapes)
    head = '<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="90mm" viewBox="0 0 100 100">'
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(short_paths_module, "_LEAST_TOGETHER", 1)
        for module in (alike, walking):
            patch.setattr(module, "LEAST", 2)
        _same(f"{head}<style>{sheet}</style>{DEFS}{body}{group}{body}</g></svg>".encode())


def test_elements_that_say_nothing_strange_are_read_together(monkeypatch) -> None:
    circles = "".join(f'<circle cx="{i}" cy="2" r="1"/><use href="#dot" x="{i}"/>' for i in range(10))
    visited = []
    real = walking.Walker._visit
    monkeypatch.setattr(
        walking.Walker, "_visit", lambda self, node, *rest: visited.append(node) or real(self, node, *rest)
    )
    drawing = read_svg(
        f'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9">{DEFS}{circles}</svg>'.encode(), ReadOptions()
    )
    assert len(drawing.shapes) == 20 and [node.tag for node in visited] == ["defs"]


def test_long_paths_and_lots_of_them_are_read_as_each_alone(monkeypatch) -> None:
    monkeypatch.setattr(plain_outlines, "CHARACTERS_TOGETHER", 900)
    zigzag = "M1 2" + "l3 4-3 4" * 40
    paths = [f'<path d="{zigzag if i % 3 else "M0 0h5v5z"}" transform="translate({i} 1)"/>' for i in range(30)]
    far = f'<path d="{zigzag}" transform="scale(1e7)"/>'
    _same(f'<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9">{"".join([*paths, far])}</svg>'.encode())
