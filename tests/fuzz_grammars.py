"""Mutations that keep to a format's grammar: trees stay trees, pairs stay pairs, and values are of their kind.

Bytes changed at random seldom get past a parser; these do, and meet the reader's own code.
"""

import copy
import random
from collections.abc import Callable

from lxml import etree

_NUMBERS = (
    "0", "-0", "1", "-1", "0.5", "1e-9", "-1e-300", "1e9", "-1e38", "1e308", "1e999", "NaN", "inf", ".", "100%", "-5%",
    "2em", "3mm", "1e5vw", "", "99999999999999999999", "0x10", "1,5",
)  # fmt: skip
_TRANSFORMS = (
    "scale(0)", "scale(1e9)", "scale(-1 1e-9)", "rotate(1e9)", "matrix(1 0 0 0 0 0)", "skewX(90)", "translate(1e38)",
    "matrix(1 2 3 4 5 NaN)", "rotate(45 1e9 0) scale(2", "none", "",
)  # fmt: skip
_PATHS = (
    "M0 0", "M0 0L", "M1 1A0 0 0 0 0 1 1", "M0 0A1e9 1 45 1 1 2 2Z", "M0 0c0 0 0 0 0 0", "M0 0h1e38v-1e38z", "Z",
    "M0 0L1e-9 0 0 1e-9zm5 5", "M5 5q1 1 2 2t1e300 0", "M0 0 9 9 0 9 9 0z" * 20, "m1,1" * 50,
)  # fmt: skip
_WORDS = (
    "none", "inherit", "userSpaceOnUse", "objectBoundingBox", "evenodd", "auto", "context-fill", "currentColor",
    "hidden", "non-scaling-stroke", "miter-clip", "rtl", "tb", "super", "luminanceToAlpha", "erode", "arithmetic",
    "reflect", "repeat", "xMidYMid slice", "auto-start-reverse", "fill-box", "bold", "#", "#12", "rgba(1,2,3,.2)",
    "var(--x)", "drop-shadow(1px 1px 9e9px red)", "blur(-1px)", "url(#a) url(#b)", "SourceAlpha", "1 2 3 4",
)  # fmt: skip
_TAGS = (
    "g", "use", "symbol", "svg", "path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "tspan",
    "textPath", "tref", "clipPath", "mask", "pattern", "marker", "linearGradient", "radialGradient", "stop", "filter",
    "feGaussianBlur", "feOffset", "feFlood", "feMerge", "feMergeNode", "feComposite", "feColorMatrix", "feMorphology",
    "feDropShadow", "feComponentTransfer", "feFuncA", "feBlend", "feTile", "switch", "image", "style", "defs",
)  # fmt: skip
_ATTRIBUTES = {
    "transform": _TRANSFORMS, "patternTransform": _TRANSFORMS, "gradientTransform": _TRANSFORMS, "d": _PATHS,
    "transform-origin": ("center", "0 0", "50% 1e9", "top left", "left top right"),
    "viewBox": ("0 0 1 1", "0 0 0 0", "-1 -1 1e-9 1e9", "0 0 1e38 1e38"),
    "points": ("", "1", "0 0 1", "0 0 1e9 1e9 1 NaN", "1 1 1 1 1 1"),
    "href": ("#", "#a", "other.svg#a", "data:,"),
    "style": ("fill:red", "mask:url(#m);filter:url(#f)", "font:9px x", ":"),
}  # fmt: skip
_REFERRING = ("href", "fill", "stroke", "clip-path", "mask", "filter", "marker-start", "marker-mid", "marker-end")


def mutated_svg(data: bytes, seed: int) -> bytes:
    """An SVG with a few things changed that leave it an SVG; what is no XML at all comes back with a byte changed."""
    rng = random.Random(seed)
    try:
        root = etree.fromstring(data, etree.XMLParser(resolve_entities=False, huge_tree=False))
    except (etree.XMLSyntaxError, ValueError):
        return _one_byte_changed(data, rng)
    for _ in range(rng.randint(1, 5)):
        nodes = [node for node in root.iter() if isinstance(node.tag, str)]
        rng.choice(_SVG_STEPS)(root, nodes, rng)
    return etree.tostring(root)


def _set_attribute(root: etree._Element, nodes: list[etree._Element], rng: random.Random) -> None:
    node = rng.choice(nodes)
    names = [name for name in node.attrib if isinstance(name, str)]
    name = rng.choice(names) if names and rng.random() < 0.6 else rng.choice([*_ATTRIBUTES, *_SVG_NAMES])
    node.set(name, rng.choice(_ATTRIBUTES.get(name, (*_NUMBERS, *_WORDS))))


def _refer(root: etree._Element, nodes: list[etree._Element], rng: random.Random) -> None:
    target = rng.choice(nodes)
    if not target.get("id"):
        target.set("id", f"n{rng.randint(0, 9)}")
    name = rng.choice(_REFERRING)
    rng.choice(nodes).set(name, f"#{target.get('id')}" if name == "href" else f"url(#{target.get('id')})")


def _copy(root: etree._Element, nodes: list[etree._Element], rng: random.Random) -> None:
    node, into = rng.choice(nodes), rng.choice(nodes)
    if node is not root and len(nodes) < 400:
        into.insert(rng.randint(0, len(into)), copy.deepcopy(node))


def _wrap(root: etree._Element, nodes: list[etree._Element], rng: random.Random) -> None:
    node = rng.choice(nodes)
    parent = node.getparent()
    if parent is None:
        return
    made = etree.Element(f"{{http://www.w3.org/2000/svg}}{rng.choice(_TAGS)}")
    parent.replace(node, made)
    made.append(node)


def _remove(root: etree._Element, nodes: list[etree._Element], rng: random.Random) -> None:
    node = rng.choice(nodes)
    parent = node.getparent()
    if parent is not None:
        parent.remove(node)


def _rename(root: etree._Element, nodes: list[etree._Element], rng: random.Random) -> None:
    node = rng.choice(nodes)
    if node is not root:
        node.tag = f"{{http://www.w3.org/2000/svg}}{rng.choice(_TAGS)}"


_SVG_NAMES = (
    "x", "y", "width", "height", "r", "rx", "cx", "offset", "opacity", "stroke-width", "stroke-dasharray", "font-size",
    "dx", "rotate", "textLength", "startOffset", "stdDeviation", "radius", "values", "in", "in2", "result", "operator",
    "refX", "markerWidth", "orient", "clipPathUnits", "maskUnits", "patternUnits", "filterUnits", "primitiveUnits",
    "mask-type", "fill-rule", "visibility", "writing-mode", "unicode-bidi", "baseline-shift", "letter-spacing",
    "vector-effect", "pathLength", "preserveAspectRatio", "fr", "fx", "spreadMethod", "flood-opacity", "filter",
)  # fmt: skip
_SVG_STEPS: tuple[Callable[[etree._Element, list[etree._Element], random.Random], None], ...] = (
    _set_attribute, _set_attribute, _set_attribute, _refer, _refer, _copy, _wrap, _remove, _rename,
)  # fmt: skip


_DXF_KINDS = (
    "LINE", "ARC", "CIRCLE", "ELLIPSE", "LWPOLYLINE", "POLYLINE", "VERTEX", "SEQEND", "SPLINE", "TEXT", "MTEXT",
    "INSERT", "HATCH", "POINT", "SOLID", "3DFACE", "DIMENSION", "LEADER", "ATTRIB", "IMAGE", "MLINE", "BLOCK", "ENDBLK",
    "NOTHING",
)  # fmt: skip
_DXF_WORDS = (
    "0",
    "BB",
    "*Model_Space",
    "BYLAYER",
    "CONTINUOUS",
    "Standard",
    "AcDbEntity",
    "",
    "\\P{\\H0;x",
    "%%d",
    "é",
)
_DXF_NUMBERS = (
    "0",
    "1",
    "-1",
    "3.5",
    "1e-12",
    "1e12",
    "-1e300",
    "NaN",
    "inf",
    "361",
    "32767",
    "-32768",
    "2147483648",
    "x",
)
_DXF_CODES = (
    0, 1, 2, 5, 6, 8, 10, 11, 20, 21, 30, 39, 40, 41, 42, 43, 48, 50, 51, 62, 66, 67, 70, 71, 72, 73, 74, 90, 91, 92,
    93, 100, 210, 230, 330, 370, 420, 1000, 1001, 1070,
)  # fmt: skip


def mutated_dxf(data: bytes, seed: int) -> bytes:
    """A DXF with a few things changed that leave it pairs of group code and value."""
    rng = random.Random(seed)
    lines = data.decode("latin-1").splitlines()
    if len(lines) < 4:
        return _one_byte_changed(data, rng)
    pairs = [[code.strip(), value] for code, value in zip(lines[0::2], lines[1::2], strict=False)]
    for _ in range(rng.randint(1, 6)):
        rng.choice(_DXF_STEPS)(pairs, rng)
    return "\n".join(line for pair in pairs for line in pair).encode("latin-1") + b"\n"


def _new_value(pairs: list[list[str]], rng: random.Random) -> None:
    pair = rng.choice(pairs)
    code = int(pair[0]) if pair[0].isdecimal() else 0
    if code == 0:
        pair[1] = rng.choice(_DXF_KINDS)
    else:
        pair[1] = rng.choice(_DXF_WORDS if code < 10 or code >= 1000 or code == 100 else _DXF_NUMBERS)


def _new_pair(pairs: list[list[str]], rng: random.Random) -> None:
    code = rng.choice(_DXF_CODES)
    pairs.insert(rng.randint(0, len(pairs)), [str(code), rng.choice(_DXF_WORDS if code < 10 else _DXF_NUMBERS)])


def _drop_pair(pairs: list[list[str]], rng: random.Random) -> None:
    if len(pairs) > 2:
        pairs.pop(rng.randrange(len(pairs)))


def _copy_entity(pairs: list[list[str]], rng: random.Random) -> None:
    starts = [i for i, pair in enumerate(pairs) if pair[0] == "0"]
    if len(starts) < 2 or len(pairs) > 4000:
        return
    which = rng.randrange(len(starts) - 1)
    entity = [list(pair) for pair in pairs[starts[which] : starts[which + 1]]]
    at = rng.choice(starts)
    pairs[at:at] = entity


def _drop_entity(pairs: list[list[str]], rng: random.Random) -> None:
    starts = [i for i, pair in enumerate(pairs) if pair[0] == "0"]
    if len(starts) > 3:
        which = rng.randrange(len(starts) - 1)
        del pairs[starts[which] : starts[which + 1]]


_DXF_STEPS: tuple[Callable[[list[list[str]], random.Random], None], ...] = (
    _new_value, _new_value, _new_value, _new_pair, _drop_pair, _copy_entity, _drop_entity,
)  # fmt: skip


def _one_byte_changed(data: bytes, rng: random.Random) -> bytes:
    if not data:
        return b"0"
    at = rng.randrange(len(data))
    return data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]
