"""The sheet that goes with a coupon: where each patch lies, what it is, what is expected, room for what is seen.

A picture of each fill shows its scan lines much enlarged and to one scale: white is bared, grey is coat, dots are
frosting. It reads in black and white.
"""

import textwrap
from xml.sax.saxutils import escape

from core.burning.beam import cleared_width_mm
from core.burning.coupon import COUPON_KINDS, Coupon
from core.burning.patches import Patch
from core.units import MM_PER_INCH

PAGE_WIDTH_MM, PAGE_HEIGHT_MM, MARGIN_MM = 210.0, 297.0, 14.0
_MAP_MM = (182.0, 66.0)
_ROW_MM = 14.0
_SWATCH_MM = 11.0
_SWATCH_SCALE = 40.0
_WORDS_PER_LINE = 95
"""Two such lines hold the longest expectation."""


def looks_sheet_svg(coupon: Coupon) -> bytes:
    """A4 pages below one another in one SVG, mm."""
    head, y = _head(coupon)
    body: list[str] = []
    for patch in coupon.patches:
        if y % PAGE_HEIGHT_MM > PAGE_HEIGHT_MM - MARGIN_MM - _ROW_MM:
            y = (y // PAGE_HEIGHT_MM + 1) * PAGE_HEIGHT_MM + MARGIN_MM
        body += _row(coupon, patch, y)
        y += _ROW_MM
    pages = int(y // PAGE_HEIGHT_MM) + 1
    size = f'width="{PAGE_WIDTH_MM:g}mm" height="{pages * PAGE_HEIGHT_MM:g}mm"'
    view = f'viewBox="0 0 {PAGE_WIDTH_MM:g} {pages * PAGE_HEIGHT_MM:g}"'
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} {view} font-family="sans-serif" font-size="3.4">',
        f"<title>Expected looks of coupon {coupon.code}</title>",
        '<defs><pattern id="frost" width="1" height="1" patternUnits="userSpaceOnUse">'
        '<circle cx="0.3" cy="0.3" r="0.18"/><circle cx="0.8" cy="0.75" r="0.14"/></pattern></defs>',
        f'<rect width="{PAGE_WIDTH_MM:g}" height="{pages * PAGE_HEIGHT_MM:g}" fill="#fff"/>',
        *head,
        *body,
        "</svg>",
    ]
    return "\n".join(lines).encode()


def looks_text(coupon: Coupon) -> str:
    """The same in words, one line a patch."""
    rows = [f"  {patch.label:<4}{patch.caption:<12}{_expectation(patch)}" for patch in coupon.patches]
    return "\n".join([f"Coupon {coupon.code}, {coupon.kind}: {COUPON_KINDS[coupon.kind]}", *rows])


def _head(coupon: Coupon) -> tuple[list[str], float]:
    face = "front" if coupon.read_from == "front" else "back"
    lines = [
        _text(MARGIN_MM, 20.0, f"Coupon {coupon.code}", size=7.0, weight="bold"),
        _text(MARGIN_MM, 27.0, f"{coupon.kind}: {COUPON_KINDS[coupon.kind]}"),
        _text(MARGIN_MM, 32.5, f"{coupon.stock.name} on {coupon.machine.name}, {coupon.made or 'not dated'}."),
        _text(MARGIN_MM, 38.0, f"{coupon.width_mm:g} x {coupon.height_mm:g} mm, labels read from the {face}; back up "
              f"on the bed, turned {coupon.turn}."),
        _text(MARGIN_MM, 43.5, "Expected looks come from starting points or from what was measured so far: they are "
              "guesses to be proven."),
        _text(MARGIN_MM, 49.0, "Air, extraction and eye protection as the machine's manual asks; never unattended."),
    ]  # fmt: skip
    scale = min(_MAP_MM[0] / coupon.width_mm, _MAP_MM[1] / coupon.height_mm)
    top = 54.0
    lines.append(_rect(MARGIN_MM, top, coupon.width_mm * scale, coupon.height_mm * scale, "none"))
    for patch in coupon.patches:
        x, y = MARGIN_MM + patch.x_mm * scale, top + patch.y_mm * scale
        width, height = patch.width_mm * scale, patch.height_mm * scale
        lines.append(_rect(x, y, width, height, "#fff" if patch.purpose == "fill" else "none"))
        lines.append(_text(x + width / 2, y + height / 2 + 1.1, patch.label, anchor="middle"))
    return lines, top + coupon.height_mm * scale + 8.0


def _row(coupon: Coupon, patch: Patch, y: float) -> list[str]:
    """Swatch, label, settings, expectation, a line to write on."""
    recipe = patch.recipe
    settings = f"{recipe.speed_mm_s:g} mm/s, {recipe.power_pct:g} %"
    if patch.purpose == "fill":
        settings += f", {recipe.pitch_mm:.4f} mm ({MM_PER_INCH / recipe.pitch_mm:.0f} LPI), {recipe.scan_angle_deg:g}°"
    x = MARGIN_MM + _SWATCH_MM + 4.0
    words = textwrap.wrap(_expectation(patch), _WORDS_PER_LINE)[:2]
    return [
        *(_swatch(coupon, patch, MARGIN_MM, y) if patch.purpose == "fill" else []),
        _text(x, y + 3.2, f"{patch.label}  {settings}", weight="bold"),
        *(_text(x, y + 7.4 + 3.8 * number, line) for number, line in enumerate(words)),
        _text(PAGE_WIDTH_MM - MARGIN_MM - 34.0, y + 3.2, "seen:"),
        f'<path d="M{PAGE_WIDTH_MM - MARGIN_MM - 24:g} {y + 3.6:g}h24" stroke="#000" stroke-width="0.15"/>',
    ]


def _swatch(coupon: Coupon, patch: Patch, x: float, y: float) -> list[str]:
    """Scan lines at ``_SWATCH_SCALE``: what each bares, white on grey; dots over all where it should frost."""
    recipe = patch.recipe
    width = cleared_width_mm(recipe, coupon.machine, coupon.stock) * _SWATCH_SCALE
    pitch = recipe.pitch_mm * _SWATCH_SCALE
    lines = [_rect(x, y, _SWATCH_MM, _SWATCH_MM, "#999")]
    middle = min(pitch / 2, _SWATCH_MM / 2)
    while width and middle - width / 2 < _SWATCH_MM:
        top, bottom = max(0.0, middle - width / 2), min(_SWATCH_MM, middle + width / 2)
        lines.append(
            f'<rect x="{x:g}" y="{y + top:.3f}" width="{_SWATCH_MM:g}" height="{bottom - top:.3f}" fill="#fff"/>'
        )
        middle += pitch
    if patch.verdict == "frosts":
        lines.append(_rect(x, y, _SWATCH_MM, _SWATCH_MM, "url(#frost)"))
    return [*lines, _rect(x, y, _SWATCH_MM, _SWATCH_MM, "none")]


def _expectation(patch: Patch) -> str:
    return patch.expected[:1].upper() + patch.expected[1:].rstrip(".") + "."


def _rect(x: float, y: float, width: float, height: float, fill: str) -> str:
    place = f'x="{x:.3f}" y="{y:.3f}" width="{width:.3f}" height="{height:.3f}"'
    return f'<rect {place} fill="{fill}" stroke="#000" stroke-width="0.2"/>'


def _text(x: float, y: float, words: str, *, size: float = 3.4, weight: str = "normal", anchor: str = "start") -> str:
    style = f'font-size="{size:g}" font-weight="{weight}" text-anchor="{anchor}"'
    return f'<text x="{x:.3f}" y="{y:.3f}" {style}>{escape(words)}</text>'
