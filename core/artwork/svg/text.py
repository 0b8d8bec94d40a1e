"""text, tspan and textPath as outlines (SVG 2, chapter 11): laid out chunk by chunk, shaped through installed fonts."""

import unicodedata
from collections.abc import Iterable

import numpy as np

from core.artwork.fonts.outlines import glyph_outline
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Bounds
from core.artwork.svg.outlines import rectangle
from core.artwork.svg.outlining import draw_path
from core.artwork.svg.styles import Style
from core.artwork.svg.text_content import Character, Span, characters_of
from core.artwork.svg.text_path import PathLine
from core.artwork.svg.text_shaping import Placed, metrics_of, shape_chunk
from core.artwork.svg.values import length_px, split_length
from core.artwork.svg.workbench import Sink, Workbench
from core.geometry.affine import Affine, compose, rotation, translation
from core.geometry.path import Path, joined

_ACROSS = ("horizontal-tb", "lr", "lr-tb", "rl", "rl-tb")
_FULL_CIRCLE_DEG = 360.0


class _Laid:
    """What has been set of a text: outlines of each element that says part of it, and the cells of all glyphs."""

    def __init__(self) -> None:
        self.outlines: dict[int, list[Path]] = {}
        self.cells: list[Bounds] = []

    def add(self, span: Span, path: Path) -> None:
        """An outline in user units."""
        self.outlines.setdefault(id(span), []).append(path)


def draw_text(bench: Workbench, node: Node, here: Context, sink: Sink) -> None:
    """Hand the outlines of a text element to the sink, one for each element that says part of it."""
    characters = characters_of(bench, node, here)
    if not characters:
        return
    downwards = here.style.values["writing-mode"] not in _ACROSS
    laid = _Laid()
    x = y = 0.0
    for chunk in _chunks(characters):
        x, y = _lay_out(bench, chunk, (x, y), laid, downwards=downwards)
    if not laid.cells:
        return
    low, high = np.min(laid.cells, axis=0), np.max(laid.cells, axis=0)
    bounds = (float(low[0]), float(low[1]), float(high[2]), float(high[3]))
    said: dict[int, tuple[Span, list[str]]] = {}
    for character in characters:
        said.setdefault(id(character.span), (character.span, []))[1].append(character.text)
    for key, (span, words) in said.items():
        paths = laid.outlines.get(key)
        if not paths or not (span.context.style.visible or here.measuring):
            continue
        label = "".join(words).strip()[:80]
        context = span.context._replace(label=here.label or label)
        draw_path(bench, node, joined(paths), context, sink, bounds=bounds, is_text=True)


def _chunks(characters: list[Character]) -> Iterable[list[Character]]:
    """Runs of characters that are placed (and anchored) together."""
    chunk: list[Character] = []
    for character in characters:
        moved = character.x is not None or character.y is not None
        other_line = bool(chunk) and character.span.path_node is not chunk[-1].span.path_node
        if chunk and (moved or other_line):
            yield chunk
            chunk = []
        chunk.append(character)
    if chunk:
        yield chunk


def _lay_out(
    bench: Workbench, chunk: list[Character], here: tuple[float, float], laid: _Laid, *, downwards: bool
) -> tuple[float, float]:
    """Place one chunk, starting where the last one ended unless it says where. Returns where it ends."""
    style = chunk[0].span.context.style
    path_node = chunk[0].span.path_node
    line = shape_chunk(bench, chunk, downwards=downwards and path_node is None)
    anchor = style.values["text-anchor"]
    if chunk[0].span.runs_to_the_left and anchor in ("start", "end"):
        anchor = "end" if anchor == "start" else "start"
    shift = {"middle": -line.advance / 2, "end": -line.advance}.get(anchor, 0.0)
    if path_node is not None:
        path = PathLine.of(bench, path_node, chunk[0].span.context)
        return here if path is None else _along(bench, path, line.placed, shift, laid) or here
    x0 = chunk[0].x if chunk[0].x is not None else here[0]
    y0 = chunk[0].y if chunk[0].y is not None else here[1]
    frame = compose(translation(x0, y0), rotation(90.0)) if downwards else translation(x0, y0)
    for one in line.placed:
        place = compose(frame, translation(shift + one.x, one.y))
        _draw_glyph(one, compose(place, _upright(one)) if downwards else place, laid)
        _draw_decorations(bench, one, place, laid)
    if downwards:
        return x0 - line.drop, y0 + shift + line.advance
    return x0 + shift + line.advance, y0 + line.drop


def _upright(one: Placed) -> Affine:
    """How a glyph stands on a line that runs downwards: wide letters upright, others turned with the line; both with
    the middle of their cell on it (UAX 50 in the main: what is as wide as an ideograph stands upright)."""
    style = one.character.span.context.style
    metrics = metrics_of(style)
    middle = (metrics.ascent_em + metrics.descent_em) / 2 * style.font_size_px if metrics else 0.0
    if unicodedata.east_asian_width(one.character.text[0]) not in ("W", "F"):
        return translation(0.0, middle)
    half = one.advance / 2
    return compose(compose(translation(half, 0.0), rotation(-90.0)), translation(-half, middle))


def _along(
    bench: Workbench, path: PathLine, placed: list[Placed], shift: float, laid: _Laid
) -> tuple[float, float] | None:
    """Put glyphs along a path, each turned about its middle; those beyond its ends are not drawn. Returns where the
    last one ends."""
    end = None
    offset = placed[0].character.x or 0.0 if placed else 0.0
    for one in placed:
        frame = path.place(path.start + shift + offset + one.x + one.width / 2)
        if frame is None:
            continue
        place = compose(frame, translation(-one.width / 2, one.y))
        _draw_glyph(one, place, laid)
        _draw_decorations(bench, one, place, laid)
        ahead = compose(frame, translation(one.width / 2, 0.0))
        end = (ahead[4], ahead[5])
    return end


def _draw_glyph(one: Placed, place: Affine, laid: _Laid) -> None:
    """Add a glyph whose origin is at ``place``; offsets of the font and the character's own turn come on top."""
    span = one.character.span
    style = span.context.style
    size, glyph, rise = style.font_size_px, one.glyph, baseline_rise(span)
    place = _turned(one, compose(place, translation(0.0, -rise)))
    place = compose(place, (size * one.stretch, 0.0, 0.0, size, glyph.dx_em * size * one.stretch, -glyph.dy_em * size))
    outline = glyph_outline(glyph.face, glyph.glyph, glyph.variation)
    if len(outline):
        laid.add(span, outline.transformed(place))
    metrics = metrics_of(style)
    ascent, descent = (metrics.ascent_em, metrics.descent_em) if metrics else (0.8, -0.2)
    width = one.advance / size / one.stretch if size and one.stretch else 0.0
    corners = np.array([[0.0, -ascent], [width, -ascent], [width, -descent], [0.0, -descent]])
    points = corners @ np.array([[place[0], place[1]], [place[2], place[3]]]) + np.array(place[4:])
    laid.cells.append((*points.min(0).tolist(), *points.max(0).tolist()))


def _draw_decorations(bench: Workbench, one: Placed, place: Affine, laid: _Laid) -> None:
    """The part of the lines under, over and through a text that belongs to one glyph, in its place."""
    if one.advance <= 0:
        return
    span = one.character.span
    for style, word in _decorations(bench, span):
        metrics = metrics_of(style)
        if metrics is None:
            continue
        size = style.font_size_px
        middle = {
            "underline": metrics.underline_em,
            "overline": metrics.ascent_em,
            "line-through": metrics.strikeout_em,
        }[word]
        thickness = metrics.underline_thickness_em * size
        line = rectangle(0.0, -middle * size - thickness / 2, one.advance, thickness)
        laid.add(span, line.transformed(_turned(one, place)))


def _turned(one: Placed, place: Affine) -> Affine:
    """A place with the character's own turn."""
    turn = one.character.rotate_deg
    return compose(place, rotation(turn)) if turn % _FULL_CIRCLE_DEG else place


def _decorations(bench: Workbench, span: Span) -> list[tuple[Style, str]]:
    """Each line with the style that it is drawn in: asked for by the elements of the text, or by groups around it."""
    asked: list[tuple[str, Style]] = []
    step: Span | None = span
    root = span
    while step is not None:
        asked.append((step.context.style.own.get("text-decoration", ""), step.context.style))
        root, step = step, step.parent
    above = root.node.parent
    while above is not None and above.tag != "svg":
        asked.append((bench.styles.standing(above).own.get("text-decoration", ""), root.context.style))
        above = above.parent
    found: dict[str, Style] = {}
    for text, style in asked:
        for word in text.split():
            if word in ("underline", "overline", "line-through"):
                found.setdefault(word, style)
    return [(style, word) for word, style in found.items()]


def baseline_rise(span: Span) -> float:
    """How far the baseline is raised, user units: baseline-shift of all its elements but the text itself, which has
    no line to be shifted on, and the baseline it stands on."""
    rise = 0.0
    style = span.context.style
    step: Span | None = span
    while step is not None and step.parent is not None:
        shift = step.context.style.own.get("baseline-shift", "baseline")
        above = step.parent.context.style
        metrics = metrics_of(above)
        if shift == "sub":
            rise -= (metrics.subscript_em if metrics else 0.2) * above.font_size_px
        elif shift == "super":
            rise += (metrics.superscript_em if metrics else 0.4) * above.font_size_px
        elif shift != "baseline" and split_length(shift) is not None:
            rise += length_px(shift, percent_of=style.font_size_px, font_size_px=style.font_size_px) or 0.0
        step = step.parent
    metrics = metrics_of(style)
    baseline = style.own.get("alignment-baseline", "auto")
    if baseline in ("auto", "baseline"):
        baseline = style.values["dominant-baseline"]
    if metrics is None or baseline in ("auto", "alphabetic", "baseline", "no-change", "use-script"):
        return rise
    heights = {
        "middle": metrics.x_height_em / 2,
        "central": (metrics.ascent_em + metrics.descent_em) / 2,
        "hanging": metrics.ascent_em * 0.8,
        "mathematical": metrics.ascent_em / 2,
        "text-before-edge": metrics.ascent_em,
        "before-edge": metrics.ascent_em,
        "text-top": metrics.ascent_em,
        "text-after-edge": metrics.descent_em,
        "after-edge": metrics.descent_em,
        "text-bottom": metrics.descent_em,
        "ideographic": metrics.descent_em,
    }
    return rise - heights.get(baseline, 0.0) * style.font_size_px
