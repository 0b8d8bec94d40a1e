"""Plain shapes that stand side by side, drawn together.

Most elements of a large file are a basic shape with a fill or a stroke and nothing else. What they look like is worked
out once for all that say the same, their outlines come from ``plain_outlines``; whatever is not plain is handed back
and visited by itself, in its place.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from operator import itemgetter
from typing import Any

from core.artwork.svg.cascade import GEOMETRY, PRESENTATION
from core.artwork.svg.colours import Paint, hex_colour
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import PAINTED_FROM
from core.artwork.svg.inks import pen_for
from core.artwork.svg.limits import MAX_USE_DEPTH
from core.artwork.svg.markers import has_markers
from core.artwork.svg.outlines import BASIC_SHAPES
from core.artwork.svg.plain_outlines import NUMBERS, PLACES, copies_in_mm, outlines_in_mm
from core.artwork.svg.styles import Style
from core.artwork.svg.values import parse_transform, split_length
from core.artwork.svg.workbench import Workbench
from core.geometry.affine import IDENTITY, Affine, compose, determinant, mean_scale, translation
from core.geometry.path import Path
from core.geometry.stroke import Stroke

LEAST = 8
"""Shapes side by side from which they are drawn together."""

MOST = 8_192
"""Shapes drawn together at most."""

_TAGS = frozenset({"path", "use", *NUMBERS})
_CONDITIONS = frozenset({"requiredExtensions", "requiredFeatures", "systemLanguage"})
_NAMES = frozenset({"id", "class", ":label"})
_CORNERS = frozenset({"rx", "ry"})
_PLAIN_OWN = {
    "opacity": "1", "display": "inline", "clip-path": "none", "mask": "none", "filter": "none", "vector-effect": "none",
}  # fmt: skip
"""Properties of its own that an element may say if they say what they are anyway."""
_OWN_THAT_COUNTS = frozenset({*_PLAIN_OWN, "transform-origin", "transform-box"})
_MOST_LOOKS = 20_000
"""Looks (and spellings) that are remembered for one place."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Crowd:
    """Basic shapes and uses without children that stand side by side in ``here``."""

    nodes: list[Node]
    here: Context


@dataclass(slots=True, kw_only=True, eq=False)
class Look:
    """How elements are painted that say the same in the same place: colours as "#rrggbb". copy: of a ``use``."""

    font_size_px: float
    fill: str | None
    fill_rule: str
    pen: Stroke | None
    copy: "Copy | None" = None

    def pen_through(self, matrix: Affine) -> Stroke | None:
        """The pen of an element that this matrix takes to mm."""
        pen = self.pen
        if pen is None or pen.matrix is matrix:
            return pen
        if pen.matrix != matrix:
            pen = replace(pen, matrix=matrix, width_mm=pen.width * mean_scale(matrix))
        self.pen = pen  # neighbours often share a matrix
        return pen


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Copy:
    """What a ``use`` shows: a shape, its outline in its own user units, and its own transform."""

    shape: Node
    outline: Path
    matrix: Affine


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alike:
    """Outlines in mm with their paints, ready for the drawing: each is one shape. ``named``: whether any of the
    elements is called anything."""

    here: Context
    named: bool
    nodes: Sequence[Node]
    looks: Sequence[Look]
    pens: Sequence[Stroke | None]
    paths: Sequence[Path]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Spelling:
    """What an element's attributes, by their names alone, let it say. ``look_of``: its look, if no style sheet has a
    say in it."""

    look_of: Callable[[dict[str, str]], object]
    numbers: tuple[str, ...]
    moved: bool
    named: bool


def crowds(children: Sequence[Node], here: Context) -> list[tuple[Node, Context] | Crowd]:
    """The children to be visited, in order, plain shapes side by side as crowds."""
    visits: list[tuple[Node, Context] | Crowd] = []
    side_by_side: list[Node] = []

    def end() -> None:
        if len(side_by_side) < LEAST:
            visits.extend((node, here) for node in side_by_side)
        else:
            visits.extend(Crowd(nodes=side_by_side[i : i + MOST], here=here) for i in range(0, len(side_by_side), MOST))
        side_by_side.clear()

    for child in children:
        if child.tag in _TAGS and not child.children:
            side_by_side.append(child)
        else:
            end()
            visits.append((child, here))
    end()
    return visits


def stands_plainly(here: Context) -> bool:
    """Whether what is drawn here shows as it is: nothing clips, fades, filters or measures it."""
    return (
        here.opacity == 1.0
        and here.clip is None
        and not (here.layers or here.masks or here.measuring)
        and here.blur is None
        and here.filter is None
    )


def drawn_together(bench: Workbench, crowd: Crowd) -> list[tuple[Node, Context] | Alike]:
    """The crowd in its order: those drawn together, and between them elements that must be visited."""
    here, nodes = crowd.here, crowd.nodes
    looks, matrices, said, named = _read(bench, nodes, here)
    paths: list[Path | None] = [None] * len(nodes)
    for tag, (places, texts) in said.items():
        through = [matrices[i] for i in places]
        if tag == "use":
            outlines = copies_in_mm([looks[i].copy.outline for i in places], through)
        else:
            outlines = outlines_in_mm(tag, texts, through)
        for i, outline in zip(places, outlines, strict=True):
            paths[i] = outline
    result: list[tuple[Node, Context] | Alike] = []
    first = 0
    for i in [*(i for i, path in enumerate(paths) if path is None), len(nodes)]:
        if i > first:
            result.append(
                Alike(
                    here=here,
                    named=named,
                    nodes=nodes[first:i],
                    looks=looks[first:i],
                    pens=[look.pen_through(m) for look, m in zip(looks[first:i], matrices[first:i], strict=True)],
                    paths=paths[first:i],  # type: ignore[arg-type]
                )
            )
        if i < len(nodes):
            result.append((nodes[i], here))
        first = i + 1
    return result


Said = dict[str, tuple[list[int], list[tuple[str, ...]]]]
"""By tag: which elements of the crowd are of it, and what they say of their outline."""


def _read(bench: Workbench, nodes: Sequence[Node], here: Context) -> tuple[list[Any], list[Any], Said, bool]:
    """Look and matrix of each element (None for those that are not plain), the outlines of the plain ones, and whether
    any has a name."""
    spellings: dict[tuple[str, ...], _Spelling | None] = bench.cache.setdefault(("spellings",), {})  # type: ignore[assignment]
    known: dict[Any, Look | None] = here.style.cache.setdefault(f"looks {here.viewport}", {})  # type: ignore[assignment]
    moved: dict[tuple[str, float], Affine | None] = {}
    looks: list[Look | None] = []
    matrices: list[Affine | None] = []
    said: Said = {}
    by_rules, named = bench.cascade.has_rules, False
    for i, node in enumerate(nodes):
        tag, attributes = node.tag, node.attributes
        names = (tag, *attributes)  # as they are written: elements of one program have them in one order
        spelling = spellings.get(names, _UNKNOWN)
        if spelling is _UNKNOWN:
            spelling = _spelling(names)
            if len(spellings) < _MOST_LOOKS:
                spellings[names] = spelling
        look = matrix = None
        if spelling is not None:
            named = named or spelling.named
            if by_rules:
                key = (tag, attributes.get("href"), *bench.cascade.declared(node).items())
            else:
                key = (spelling, spelling.look_of(attributes))
            look = known.get(key, _UNKNOWN)
            if look is _UNKNOWN:
                look = _copied_look(bench, node, here) if tag == "use" else _look(bench, node, here)
                if len(known) < _MOST_LOOKS:
                    known[key] = look
            if look is not None:
                matrix = here.matrix
                if spelling.moved:
                    text = (attributes["transform"], look.font_size_px)
                    if text not in moved:
                        moved[text] = _matrix(here.matrix, *text)
                    matrix = moved[text]
                if matrix is not None and look.copy is not None:
                    matrix = _matrix_of_copy(matrix, attributes, look.copy)
                if matrix is not None:
                    if tag not in said:
                        said[tag] = ([], [])
                    places, texts = said[tag]
                    places.append(i)
                    texts.append(tuple([attributes.get(name, "0") for name in spelling.numbers]))
        looks.append(look)
        matrices.append(matrix)
    return looks, matrices, said, named


_UNKNOWN: Any = object()


def _spelling(names: tuple[str, ...]) -> _Spelling | None:
    """None where an element with these attributes is not plain."""
    tag, has = names[0], frozenset(names[1:])
    numbers = {"path": ("d",), "use": ()}.get(tag) or NUMBERS.get(tag, ())
    if tag == "use" and "href" not in has:
        return None
    if has & _CONDITIONS or not has >= set(numbers) - PLACES or (tag == "rect" and has & _CORNERS):
        return None
    counts = sorted(has & (PRESENTATION | {"style", "href"}))
    return _Spelling(
        look_of=itemgetter(*counts) if counts else lambda attributes: None,
        numbers=numbers,
        moved="transform" in has,
        named=tag == "use" or not has.isdisjoint(_NAMES),
    )


def _matrix(outer: Affine, text: str, font_size_px: float) -> Affine | None:
    own = parse_transform(text, font_size_px)
    if own is None:
        return None
    matrix = compose(outer, own)
    return None if determinant(matrix) == 0.0 else matrix


def _look(bench: Workbench, node: Node, here: Context) -> Look | None:
    """How the element looks; None where it takes more than this to tell."""
    style = _plain_style(bench, node, here)
    if style is None or not style.visible:
        return None
    inside = here._replace(style=style)
    if has_markers(inside) or not (_is_plain(style.fill) and _is_plain(style.stroke)):
        return None
    fill = _colour(style, style.fill, style.fill_opacity)
    stroke = _colour(style, style.stroke, style.stroke_opacity)
    pen = pen_for(bench, inside, stroke) if stroke else None
    if _FAINT in (fill, stroke) or (not fill and not stroke) or (stroke and (pen is None or pen.dashes)):
        return None
    fill_rule = "evenodd" if style.values["fill-rule"] == "evenodd" else "nonzero"
    return Look(font_size_px=style.font_size_px, fill=fill, fill_rule=fill_rule, pen=pen)


def _plain_style(bench: Workbench, node: Node, here: Context) -> Style | None:
    """The element's style, None where it says more than paint."""
    style = bench.styles.computed(node, here.style)
    declared = bench.cascade.declared(node)
    if "transform" in declared or not GEOMETRY.isdisjoint(declared):
        return None
    if any(_PLAIN_OWN.get(name) != value for name, value in style.own.items() if name in _OWN_THAT_COUNTS):
        return None
    return style


def _copied_look(bench: Workbench, node: Node, here: Context) -> Look | None:
    """The same for a ``use``, by the shape that it shows."""
    style = _plain_style(bench, node, here)
    href = node.attributes["href"].strip()
    shape = bench.document.by_id.get(href[1:]) if href.startswith("#") else None
    if style is None or shape is None or shape.tag not in BASIC_SHAPES or shape.children:
        return None
    if shape in here.uses or here.depth >= MAX_USE_DEPTH or not _CONDITIONS.isdisjoint(shape.attributes):
        return None
    if bench.document.mentions("context-"):  # what that means depends on the use
        return None
    inside = here._replace(style=style)
    look = _look(bench, shape, inside)
    own = _matrix(IDENTITY, shape.attributes.get("transform", ""), look.font_size_px) if look is not None else None
    if look is None or own is None:
        return None
    faults: list[str] = []
    style_of_shape = bench.styles.computed(shape, style)
    outline = bench.outlines.path(shape, style_of_shape, here.viewport, lambda code, what: faults.append(code))
    if faults or not len(outline):
        return None
    return replace(look, font_size_px=style.font_size_px, copy=Copy(shape=shape, outline=outline, matrix=own))


def _matrix_of_copy(outer: Affine, attributes: dict[str, str], copy: Copy) -> Affine | None:
    """The matrix of what a ``use`` shows, None where its place is not written plainly."""
    x, y = split_length(attributes.get("x", "0")), split_length(attributes.get("y", "0"))
    if x is None or y is None or x[1] not in ("", "px") or y[1] not in ("", "px"):
        return None
    matrix = compose(outer, translation(x[0], y[0]))
    if copy.matrix != IDENTITY:
        matrix = compose(matrix, copy.matrix)
    return None if determinant(matrix) == 0.0 else matrix


_FAINT = "faint"


def _is_plain(paint: Paint) -> bool:
    return paint.server is None and not paint.context


def _colour(style: Style, paint: Paint, opacity: float) -> str | None:
    """The colour of a plain paint as "#rrggbb", None for none."""
    colour = style.colour if paint.current else paint.colour
    if colour is None:
        return None
    return hex_colour(colour) if colour[3] * opacity >= PAINTED_FROM else _FAINT
