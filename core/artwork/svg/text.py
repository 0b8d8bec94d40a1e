"""text, tspan and textPath as outlines (SVG 2, chapter 11): laid out chunk by chunk, shaped through installed fonts."""

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np

from core.artwork.fonts.bidi import visual_runs
from core.artwork.fonts.outlines import (
    FontAsked,
    FontUsed,
    Glyph,
    glyph_outline,
    main_metrics,
    shape_runs,
    split_families,
)
from core.artwork.svg.context import Context
from core.artwork.svg.document import Node
from core.artwork.svg.drawn import Bounds
from core.artwork.svg.outlines import BASIC_SHAPES, rectangle
from core.artwork.svg.outlining import draw_path
from core.artwork.svg.styles import Style
from core.artwork.svg.text_content import Character, Span, characters_of
from core.artwork.svg.transforms import transform_of
from core.artwork.svg.values import length_px, split_length
from core.artwork.svg.workbench import Sink, Workbench
from core.geometry.affine import Affine, compose, rotation, translation
from core.geometry.flattening import flatten
from core.geometry.path import Floats, Path, joined

_WEIGHTS = {"normal": 400.0, "bold": 700.0, "bolder": 700.0, "lighter": 300.0}
_STRETCHES = {
    "ultra-condensed": 50.0, "extra-condensed": 62.5, "condensed": 75.0, "semi-condensed": 87.5, "semi-expanded": 112.5,
    "expanded": 125.0, "extra-expanded": 150.0, "ultra-expanded": 200.0,
}  # fmt: skip
_FULL_CIRCLE_DEG = 360.0


@dataclass(slots=True, kw_only=True)
class _Placed:
    """A glyph on its line: offset of its origin from the chunk's start, user units."""

    glyph: Glyph
    character: Character
    x: float
    y: float
    advance: float
    stretch: float = 1.0


def draw_text(bench: Workbench, node: Node, here: Context, sink: Sink) -> None:
    """Hand the outlines of a text element to the sink, one for each element that says part of it."""
    characters = characters_of(bench, node, here)
    if not characters:
        return
    if here.style.values["writing-mode"] not in ("horizontal-tb", "lr", "lr-tb", "rl", "rl-tb"):
        bench.findings.add(
            "vertical-text", f"{node.name_for_people()} runs downwards; it was drawn from left to right."
        )
    outlines: dict[int, list[Path]] = {}
    boxes: list[Bounds] = []
    x = y = 0.0
    for chunk in _chunks(characters):
        x, y = _lay_out(bench, chunk, (x, y), outlines, boxes)
    if not boxes:
        return
    low, high = np.min(boxes, axis=0), np.max(boxes, axis=0)
    bounds = (float(low[0]), float(low[1]), float(high[2]), float(high[3]))
    said: dict[int, tuple[Span, list[str]]] = {}
    for character in characters:
        said.setdefault(id(character.span), (character.span, []))[1].append(character.text)
    for key, (span, words) in said.items():
        paths = outlines.get(key)
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
    bench: Workbench,
    chunk: list[Character],
    here: tuple[float, float],
    outlines: dict[int, list[Path]],
    boxes: list[Bounds],
) -> tuple[float, float]:
    """Place one chunk, starting where the last one ended unless it says where. Returns where it ends."""
    style = chunk[0].span.context.style
    placed, advance, drop = _shape_chunk(bench, chunk)
    placed, advance = _fitted(bench, chunk, placed, advance)
    anchor = style.values["text-anchor"]
    if style.values["direction"] == "rtl" and anchor in ("start", "end"):
        anchor = "end" if anchor == "start" else "start"
    shift = {"middle": -advance / 2, "end": -advance}.get(anchor, 0.0)
    path_node = chunk[0].span.path_node
    if path_node is not None:
        line = _Line.of(bench, path_node, chunk[0].span.context)
        if line is None:
            return here
        end = line.draw(placed, shift, outlines, boxes)
        return end if end is not None else here
    x0 = chunk[0].x if chunk[0].x is not None else here[0]
    y0 = chunk[0].y if chunk[0].y is not None else here[1]
    for one in placed:
        place = translation(x0 + shift + one.x, y0 + one.y)
        _draw_glyph(one, place, outlines, boxes)
    _draw_decorations(placed, (x0 + shift, y0), outlines)
    return x0 + shift + advance, y0 + drop


def _draw_glyph(one: _Placed, place: Affine, outlines: dict[int, list[Path]], boxes: list[Bounds]) -> None:
    """Add a glyph whose origin is at ``place``; offsets of the font and the character's own turn come on top."""
    style = one.character.span.context.style
    size = style.font_size_px
    if one.character.rotate_deg % _FULL_CIRCLE_DEG:
        place = compose(place, rotation(one.character.rotate_deg))
    rise = _baseline_rise(one.character.span)
    glyph = one.glyph
    place = compose(
        place, (size * one.stretch, 0.0, 0.0, size, glyph.dx_em * size * one.stretch, -glyph.dy_em * size - rise)
    )
    outline = glyph_outline(glyph.face, glyph.glyph, font_asked(style).weight)
    if len(outline):
        outlines.setdefault(id(one.character.span), []).append(outline.transformed(place))
    metrics = main_metrics(font_asked(style))
    ascent, descent = (metrics.ascent_em, metrics.descent_em) if metrics else (0.8, -0.2)
    corners = np.array([[0.0, -ascent], [one.advance / size if size else 0.0, -descent]])
    points = corners @ np.array([[place[0], place[1]], [place[2], place[3]]]) + np.array(place[4:])
    boxes.append((*points.min(0).tolist(), *points.max(0).tolist()))


def _shape_chunk(bench: Workbench, chunk: list[Character]) -> tuple[list[_Placed], float, float]:
    """Glyphs of a chunk on one line; its advance and how far its end stands below its start."""
    placed: list[_Placed] = []
    x = y = 0.0
    text = "".join(character.text for character in chunk)
    right_to_left = chunk[0].span.context.style.values["direction"] == "rtl"
    for run in visual_runs(text, right_to_left=right_to_left):
        for start, stop in _spans_of(chunk, run):
            span = chunk[start].span
            style = span.context.style
            asked = font_asked(style)
            letter, word = (_spacing(bench, style, name) for name in ("letter-spacing", "word-spacing"))
            spaced = asked if letter == 0 else replace(asked, features=(*asked.features, ("liga", 0), ("clig", 0)))
            glyphs, used = shape_runs(text, [(start, stop, run[2])], spaced)
            _report(bench, span, used)
            for glyph in glyphs:
                cluster = chunk[glyph.start : glyph.start + max(glyph.characters, 1)]
                advance = glyph.advance_em * style.font_size_px
                if glyph.characters:
                    x += sum(character.dx for character in cluster)
                    y += sum(character.dy for character in cluster)
                    advance += letter + (word if cluster[0].text in (" ", "\u00a0") else 0.0)
                placed.append(_Placed(glyph=glyph, character=cluster[0], x=x, y=y, advance=advance))
                x += advance
    return placed, x, y


def _spans_of(chunk: list[Character], run: tuple[int, int, int]) -> list[tuple[int, int]]:
    """(start, stop) of the parts of a run that one element says each, from left to right."""
    first, last, level = run
    parts: list[tuple[int, int]] = []
    for i in range(first, last):
        if parts and chunk[i].span is chunk[i - 1].span:
            parts[-1] = (parts[-1][0], i + 1)
        else:
            parts.append((i, i + 1))
    return parts[::-1] if level % 2 else parts


def _fitted(
    bench: Workbench, chunk: list[Character], placed: list[_Placed], advance: float
) -> tuple[list[_Placed], float]:
    """The chunk stretched to its textLength, where it has one."""
    span: Span | None = chunk[0].span
    while span is not None and "textLength" not in span.node.attributes:
        span = span.parent
    if span is None or not placed or advance <= 0:
        return placed, advance
    style = span.context.style
    wanted = length_px(
        span.node.attributes["textLength"], percent_of=span.context.viewport[0], font_size_px=style.font_size_px
    )
    if wanted is None or wanted < 0:
        return placed, advance
    if span.node.attributes.get("lengthAdjust") == "spacingAndGlyphs":
        ratio = wanted / advance
        for one in placed:
            one.x, one.advance, one.stretch = one.x * ratio, one.advance * ratio, ratio
        return placed, wanted
    if len(placed) > 1:
        extra = (wanted - advance) / (len(placed) - 1)
        for i, one in enumerate(placed):
            one.x += extra * i
    return placed, wanted


def _draw_decorations(placed: list[_Placed], start: tuple[float, float], outlines: dict[int, list[Path]]) -> None:
    """Lines under, over and through each element's part of the chunk."""
    by_span: dict[int, list[_Placed]] = {}
    for one in placed:
        by_span.setdefault(id(one.character.span), []).append(one)
    for parts in by_span.values():
        span = parts[0].character.span
        for declarer, word in _decorations(span):
            metrics = main_metrics(font_asked(declarer.context.style))
            if metrics is None:
                continue
            size = declarer.context.style.font_size_px
            middle = {
                "underline": metrics.underline_em,
                "overline": metrics.ascent_em,
                "line-through": metrics.strikeout_em,
            }[word]
            thickness = metrics.underline_thickness_em * size
            x0 = min(one.x for one in parts) + start[0]
            x1 = max(one.x + one.advance for one in parts) + start[0]
            y = start[1] + parts[0].y - middle * size - thickness / 2
            if x1 > x0:
                outlines.setdefault(id(span), []).append(rectangle(x0, y, x1 - x0, thickness))


def _decorations(span: Span) -> list[tuple[Span, str]]:
    found: list[tuple[Span, str]] = []
    step: Span | None = span
    while step is not None:
        words = step.context.style.own.get("text-decoration", "").split()
        found.extend((step, word) for word in words if word in ("underline", "overline", "line-through"))
        step = step.parent
    return found


def font_asked(style: Style) -> FontAsked:
    """What a style says of its font."""
    found = style.cache.get("font")
    if isinstance(found, FontAsked):
        return found
    values = style.values
    weight_text = values["font-weight"]
    weight = _WEIGHTS.get(weight_text, 400.0)
    if weight_text.replace(".", "", 1).isdigit():
        weight = min(max(float(weight_text), 1.0), 1000.0)
    features: list[tuple[str, int]] = []
    if values["font-kerning"] == "none":
        features.append(("kern", 0))
    if "small-caps" in values["font-variant"]:
        features.append(("smcp", 1))
    for part in values["font-feature-settings"].split(","):
        words = part.replace('"', " ").replace("'", " ").split()
        if words and len(words[0]) == 4 and words[0].isascii():
            setting = words[1] if len(words) > 1 else "on"
            features.append((words[0], int(setting) if setting.isdigit() else 0 if setting == "off" else 1))
    asked = FontAsked(
        families=split_families(values["font-family"]),
        weight=weight,
        italic=values["font-style"].split(" ")[0] in ("italic", "oblique"),
        width_pct=_STRETCHES.get(values["font-stretch"], 100.0),
        features=tuple(features),
    )
    style.cache["font"] = asked
    return asked


def _spacing(bench: Workbench, style: Style, name: str) -> float:
    text = style.values[name]
    value = length_px(
        text,
        percent_of=style.font_size_px,
        font_size_px=style.font_size_px,
        root_font_size_px=bench.styles.root_font_size_px,
    )
    return value if value is not None else 0.0


def _baseline_rise(span: Span) -> float:
    """How far the baseline is raised, user units: baseline-shift of all its elements, and the baseline it stands on."""
    rise = 0.0
    style = span.context.style
    step: Span | None = span
    while step is not None:
        shift = step.context.style.own.get("baseline-shift", "baseline")
        above = step.parent.context.style if step.parent is not None else step.context.style
        metrics = main_metrics(font_asked(above))
        if shift == "sub":
            rise -= (metrics.subscript_em if metrics else 0.2) * above.font_size_px
        elif shift == "super":
            rise += (metrics.superscript_em if metrics else 0.4) * above.font_size_px
        elif shift != "baseline":
            parts = split_length(shift)
            if parts is not None:
                rise += length_px(shift, percent_of=style.font_size_px, font_size_px=style.font_size_px) or 0.0
        step = step.parent
    metrics = main_metrics(font_asked(style))
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


def _report(bench: Workbench, span: Span, used: FontUsed) -> None:
    """Say which font was used where it is not the one asked for."""
    findings, what = bench.findings, span.node.name_for_people()
    if used.family is None:
        findings.add("no-font", "This machine has no font; text was left out.", severity="problem")
    elif used.substituted:
        findings.add(
            "font-missing", f"The font “{used.asked}” is not installed; text was drawn in {used.family} instead."
        )
    elif not used.asked:
        findings.add("font-missing", f"Text names no font; it was drawn in {used.family}.")
    else:
        findings.add("text-outlined", f"Text was turned into outlines of the font {used.family}.", severity="note")
    if used.style_differs:
        findings.add("font-style-missing", f"The font {used.family} is not installed as bold or italic as {what} asks.")
    if used.without_glyph:
        findings.add("glyph-missing", f"No installed font has “{used.without_glyph[:20]}” in {what}.")


@dataclass(slots=True, kw_only=True)
class _Line:
    """The path under a textPath: points along it and how far each is from the start, user units."""

    points: Floats
    reach: Floats
    start: float

    @staticmethod
    def of(bench: Workbench, node: Node, here: Context) -> "_Line | None":
        """The line of a textPath element; None where there is none."""
        target = bench.referenced(node)
        if target is None or target.tag not in BASIC_SHAPES:
            return None
        style = bench.styles.standing(target)
        path = bench.outlines.path(target, style, here.viewport, lambda code, what: None)
        if not len(path):
            return None
        box = (0.0, 0.0, *here.viewport)
        own = transform_of(bench, target, bench.styles.transform_text(target), style, box)
        path = path.subpath(0) if own is None else path.subpath(0).transformed(own)
        bench.budget.spend(len(path))
        size = float(np.abs(path.segments[:, :6]).max()) or 1.0
        points = flatten(path, size / 10_000).points
        legs = np.hypot(*np.diff(points, axis=0).T)
        reach = np.concatenate([[0.0], np.cumsum(legs)])
        if reach[-1] <= 0:
            return None
        text = node.attributes.get("startOffset", "0")
        scale = 1.0
        declared = length_px(target.attributes.get("pathLength"), percent_of=0.0, font_size_px=style.font_size_px)
        if declared and not text.strip().endswith("%"):
            scale = float(reach[-1]) / declared
        start = (length_px(text, percent_of=float(reach[-1]), font_size_px=here.style.font_size_px) or 0.0) * scale
        return _Line(points=points, reach=reach, start=start)

    def draw(
        self, placed: list[_Placed], shift: float, outlines: dict[int, list[Path]], boxes: list[Bounds]
    ) -> tuple[float, float] | None:
        """Put glyphs along the line, each turned about its middle; those beyond its ends are not drawn. Returns
        where the last one ends."""
        end = None
        for one in placed:
            middle = self.start + shift + one.x + one.advance / 2
            if not 0 <= middle <= self.reach[-1]:
                continue
            i = min(int(np.searchsorted(self.reach, middle, side="right")) - 1, len(self.points) - 2)
            leg = self.reach[i + 1] - self.reach[i]
            share = (middle - self.reach[i]) / leg if leg > 0 else 0.0
            point = self.points[i] + (self.points[i + 1] - self.points[i]) * share
            way = self.points[i + 1] - self.points[i]
            turn = math.degrees(math.atan2(way[1], way[0]))
            place = compose(translation(float(point[0]), float(point[1])), rotation(turn))
            _draw_glyph(one, compose(place, translation(-one.advance / 2, one.y)), outlines, boxes)
            ahead = point + way / leg * one.advance / 2 if leg > 0 else point
            end = (float(ahead[0]), float(ahead[1]))
        return end
