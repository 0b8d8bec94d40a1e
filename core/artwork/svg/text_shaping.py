"""A chunk of text as glyphs on one line: fonts, shaping, kerning, spacing, both directions."""

import re
from dataclasses import dataclass, replace

from core.artwork.fonts.bidi import visual_runs
from core.artwork.fonts.outlines import (
    FontAsked,
    FontMetrics,
    FontUsed,
    Glyph,
    main_metrics,
    shape_runs,
    split_families,
)
from core.artwork.svg.styles import Style
from core.artwork.svg.text_content import Character, Span
from core.artwork.svg.values import length_px
from core.artwork.svg.workbench import Workbench

_WEIGHTS = {"normal": 400.0, "bold": 700.0}
_STRETCHES = {
    "ultra-condensed": 50.0, "extra-condensed": 62.5, "condensed": 75.0, "semi-condensed": 87.5, "semi-expanded": 112.5,
    "expanded": 125.0, "extra-expanded": 150.0, "ultra-expanded": 200.0,
}  # fmt: skip
_AXIS = re.compile(r"""["']([ -~]{4})["']\s+([-+]?[\d.]+)""")
_CURSIVE = (
    (0x0600, 0x06FF), (0x0700, 0x074F), (0x0750, 0x077F), (0x07C0, 0x07FF), (0x0840, 0x085F), (0x0860, 0x086F),
    (0x08A0, 0x08FF), (0x1800, 0x18AF), (0xA840, 0xA87F), (0xFB50, 0xFDFF), (0xFE70, 0xFEFF), (0x0900, 0x097F),
)  # fmt: skip
"""Scripts whose letters join, so that they are not spaced out (CSS Text 3, appendix D, and what joins by a line)."""


@dataclass(slots=True, kw_only=True)
class Placed:
    """A glyph on its line: offset of its origin from the chunk's start, user units."""

    glyph: Glyph
    character: Character
    x: float
    y: float
    advance: float
    width: float
    """Its advance less what is spaced out behind it."""
    stretch: float = 1.0


@dataclass(slots=True, kw_only=True)
class ShapedLine:
    """Glyphs of a chunk; how far it reaches along its line and how far its end stands below its start."""

    placed: list[Placed]
    advance: float
    drop: float


def shape_chunk(bench: Workbench, chunk: list[Character], *, downwards: bool) -> ShapedLine:
    """Glyphs of a chunk on one line; ``downwards`` swaps what dx and dy mean along it."""
    placed: list[Placed] = []
    x = y = 0.0
    text = "".join(character.text for character in chunk)
    for run in visual_runs(text, right_to_left=chunk[0].span.runs_to_the_left):
        for start, stop in _parts_of_one_font(bench, chunk, run):
            style = chunk[start].span.context.style
            letter = _spacing(bench, style, "letter-spacing")
            asked = font_asked(style)
            spaced = asked if letter == 0 else replace(asked, features=(*asked.features, ("liga", 0), ("clig", 0)))
            glyphs, used = shape_runs(text, [(start, stop, run[2])], spaced)
            report_font(bench, chunk[start].span, used)
            for glyph in glyphs:
                cluster = chunk[glyph.start : glyph.start + max(glyph.characters, 1)]
                own = cluster[0].span.context.style
                advance = width = glyph.advance_em * own.font_size_px
                if glyph.characters:
                    along, across = (sum(one.dx for one in cluster), sum(one.dy for one in cluster))
                    if downwards:
                        along, across = across, -along
                    x, y = x + along, y + across
                    if not _is_cursive(cluster[0].text):
                        advance += _spacing(bench, own, "letter-spacing")
                    if cluster[0].text in (" ", "\u00a0"):
                        advance += _spacing(bench, own, "word-spacing")
                placed.append(Placed(glyph=glyph, character=cluster[0], x=x, y=y, advance=advance, width=width))
                x += advance
    if placed and not _is_cursive(placed[-1].character.text):  # nothing follows the last letter
        last = _spacing(bench, placed[-1].character.span.context.style, "letter-spacing")
        placed[-1].advance -= last
        x -= last
    return fitted(chunk, ShapedLine(placed=placed, advance=x, drop=y))


def _is_cursive(character: str) -> bool:
    return any(low <= ord(character) <= high for low, high in _CURSIVE)


def _parts_of_one_font(bench: Workbench, chunk: list[Character], run: tuple[int, int, int]) -> list[tuple[int, int]]:
    """(start, stop) of the parts of a run that are set in one font, from left to right: elements that only differ in
    size or colour are shaped together, as kerning and joined letters go across them."""
    first, last, level = run
    parts: list[tuple[int, int]] = []
    for i in range(first, last):
        if parts and _same_font(bench, chunk[i - 1].span, chunk[i].span):
            parts[-1] = (parts[-1][0], i + 1)
        else:
            parts.append((i, i + 1))
    return parts[::-1] if level % 2 else parts


def _same_font(bench: Workbench, one: Span, other: Span) -> bool:
    if one is other:
        return True
    first, second = one.context.style, other.context.style
    spaced = [_spacing(bench, style, "letter-spacing") != 0 for style in (first, second)]
    return font_asked(first) == font_asked(second) and spaced[0] == spaced[1]


def fitted(chunk: list[Character], line: ShapedLine) -> ShapedLine:
    """The chunk stretched to its textLength, where it has one."""
    placed, advance = line.placed, line.advance
    span: Span | None = chunk[0].span
    while span is not None and "textLength" not in span.node.attributes:
        span = span.parent
    if span is None or not placed or advance <= 0:
        return line
    style = span.context.style
    wanted = length_px(
        span.node.attributes["textLength"], percent_of=span.context.viewport[0], font_size_px=style.font_size_px
    )
    if wanted is None or wanted < 0:
        return line
    if span.node.attributes.get("lengthAdjust") == "spacingAndGlyphs":
        ratio = wanted / advance
        for one in placed:
            one.x, one.advance, one.stretch = one.x * ratio, one.advance * ratio, ratio
            one.width *= ratio
    elif len(placed) > 1:
        extra = (wanted - advance) / (len(placed) - 1)
        for i, one in enumerate(placed):
            one.x += extra * i
    return ShapedLine(placed=placed, advance=wanted, drop=line.drop)


def font_asked(style: Style) -> FontAsked:
    """What a style says of its font."""
    found = style.cache.get("font")
    if isinstance(found, FontAsked):
        return found
    values = style.values
    weight_text = values["font-weight"]
    weight = _WEIGHTS.get(weight_text, 400.0)
    if weight_text.replace(".", "", 1).isdecimal() and 1.0 <= float(weight_text) <= 1000.0:
        weight = float(weight_text)
    features: list[tuple[str, int]] = []
    if values["font-kerning"] == "none" or values["kerning"].strip() in ("0", "0px"):
        features.append(("kern", 0))
    if "small-caps" in values["font-variant"]:
        features.append(("smcp", 1))
    for part in values["font-feature-settings"].split(","):
        words = part.replace('"', " ").replace("'", " ").split()
        if words and len(words[0]) == 4 and words[0].isascii():
            setting = words[1] if len(words) > 1 else "on"
            features.append((words[0], int(setting) if setting.isdecimal() else 0 if setting == "off" else 1))
    asked = FontAsked(
        families=split_families(values["font-family"]),
        weight=weight,
        italic=values["font-style"].split(" ")[0] in ("italic", "oblique"),
        width_pct=_STRETCHES.get(values["font-stretch"], 100.0),
        features=tuple(features),
        axes=tuple((tag, float(value)) for tag, value in _AXIS.findall(values["font-variation-settings"])),
    )
    style.cache["font"] = asked
    return asked


def metrics_of(style: Style) -> FontMetrics | None:
    """The metrics of a style's font."""
    return main_metrics(font_asked(style))


def _spacing(bench: Workbench, style: Style, name: str) -> float:
    text = style.values[name]
    if text == "normal":
        return 0.0
    value = length_px(
        text,
        percent_of=style.font_size_px,
        font_size_px=style.font_size_px,
        root_font_size_px=bench.styles.root_font_size_px,
    )
    return value if value is not None else 0.0


def report_font(bench: Workbench, span: Span, used: FontUsed) -> None:
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
    if used.axes_missing:
        findings.add(
            "font-style-missing",
            f"The font {used.family} can't be varied by {', '.join(used.axes_missing)} as {what} asks.",
        )
    if used.without_glyph:
        findings.add("glyph-missing", f"No installed font has “{used.without_glyph[:20]}” in {what}.")
    for family, letters in _by_family(used).items():
        findings.add(
            "glyph-borrowed",
            f"The font {used.family} has no “{letters[:20]}”; in {what} it was taken from {family}.",
            severity="note",
        )


def _by_family(used: FontUsed) -> dict[str, str]:
    """The letters that were taken from other fonts, by their families."""
    families: dict[str, str] = {}
    for letter, family in used.borrowed:
        families[family] = families.get(family, "") + letter
    return families
