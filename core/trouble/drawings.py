"""Small drawings of faults, front and back, as SVG: an area of paint in a coat, and what is wrong with it.

Drawn here for this purpose. What is wrong is told by shape, not by colour alone.
"""

from collections.abc import Callable, Iterable
from typing import Literal

Face = Literal["front", "back"]
WIDTH, HEIGHT = 96, 64
COAT, PAINT, BARE, DARK, LIGHT, OTHER = "#b4bcc2", "#0072b2", "#f4f0e6", "#1f2326", "#ffffff", "#d55e00"
_X, _Y, _W, _H = 20, 14, 56, 36
_GOLDEN = 0.618034


def drawing_svg(code: str, face: Face) -> str:
    """The drawing of a fault from one side; the area without a fault for a code that is not known."""
    inner = _DRAWN[code](face) if code in _DRAWN else ""
    hatch = "" if face == "front" else f'<g stroke="#8d979e" stroke-width="0.7">{_hatch()}</g>'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}">'
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="{COAT}"/>{hatch}'
        f'<rect x="{_X}" y="{_Y}" width="{_W}" height="{_H}" fill="{PAINT}"/>{inner}'
        f'<rect x="0.5" y="0.5" width="{WIDTH - 1}" height="{HEIGHT - 1}" fill="none" stroke="{DARK}"/></svg>'
    )


def _hatch() -> str:
    """The back of the coat: slanting strokes round the area, each ending at the rim."""
    lines = []
    for x in range(8 - HEIGHT, WIDTH, 8):
        left, right = max(x, 0), min(x + HEIGHT, WIDTH)
        lines.append(f'<path d="M{left} {HEIGHT + x - left}L{right} {HEIGHT + x - right}"/>')
    return "".join(lines)


def _spread(count: int, *, margin: float = 3.0) -> list[tuple[float, float]]:
    """Places over the area that look strewn and never change."""
    return [
        (_X + margin + (i * _GOLDEN % 1) * (_W - 2 * margin), _Y + margin + (i + 0.5) / count * (_H - 2 * margin))
        for i in range(count)
    ]


def _dots(places: Iterable[tuple[float, float]], radius: float, fill: str, *, stroke: str = "none") -> str:
    return "".join(
        f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius}" fill="{fill}" stroke="{stroke}"/>' for x, y in places
    )


def _line(data: str, colour: str = DARK, width: float = 1.2, *, dashes: str = "") -> str:
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    return f'<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width}" stroke-linecap="round"{dashed}/>'


def _box(x: float, y: float, width: float, height: float, fill: str, more: str = "") -> str:
    return f'<rect x="{x}" y="{y}" width="{width}" height="{height}" fill="{fill}" {more}/>'


def _scan_lines(face: Face) -> str:
    return "".join(_box(_X, y, _W, 1.6 if face == "front" else 1.0, COAT) for y in range(_Y + 2, _Y + _H, 4))


def _frosted(face: Face) -> str:
    fill = "#7fb3d6" if face == "front" else LIGHT
    return _dots(_spread(110), 1.3, fill)


def _cracked(face: Face) -> str:
    net = "M24 14l8 11-5 10 9 15M32 25l14-4 9 8 12-6 9 4M46 21l3-7M55 29l-4 12 6 9M27 35l-7 3M51 41h-15M67 23l4 12-5 15"
    return _line(net, DARK if face == "front" else BARE, 1.4)


def _wrinkled(face: Face) -> str:
    width = 1.4 if face == "front" else 2.2
    return "".join(_line(f"M{_X + 2} {y}q6 -6 12 0t12 0t12 0t14 -1", "#7fb3d6", width) for y in range(20, 50, 6))


def _dull(face: Face) -> str:
    opacity = 0.55 if face == "front" else 0.4
    return _box(_X, _Y, _W, _H, LIGHT, f'opacity="{opacity}"') + _line("M26 44l10 -10M34 46l14 -14", "#dfe9f0", 1)


def _patchy(face: Face) -> str:
    clouds = ((32, 24, 10, 7), (58, 30, 13, 8), (40, 42, 11, 5))
    fill = "#8fc3e3" if face == "front" else "#003f63"
    return "".join(f'<ellipse cx="{x}" cy="{y}" rx="{a}" ry="{b}" fill="{fill}"/>' for x, y, a, b in clouds)


def _bled(face: Face) -> str:
    tongues = "M76 18q10 2 8 5t-8 2zM76 28q14 1 11 5t-11 2zM76 40q8 1 7 4t-7 2z"
    side = _box(80, _Y, 12, _H, BARE) if face == "front" else _box(78, _Y, 14, _H, "#e6d9a8", 'opacity="0.8"')
    return side + f'<path d="{tongues}" fill="{PAINT}"/>'


def _peeling(face: Face) -> str:
    flakes = "M26 18l10 3-2 9-9-2zM48 30l12-4 3 10-11 4zM62 16l8 2-1 7-8-1zM30 40l8-2 4 7-9 2z"
    shape = f'<path d="{flakes}" fill="{BARE}" stroke="{DARK}" stroke-width="0.8"/>'
    return shape + (_line("M36 21q5 1 6 -4M60 26q5 3 8 -1", "#9ccbe8", 1.6) if face == "back" else "")


def _showing(face: Face) -> str:
    return _box(48, _Y, 28, _H, OTHER, 'opacity="0.45"' if face == "front" else "")


def _pinholes(face: Face) -> str:
    return _dots(_spread(16), 1.5, LIGHT, stroke="none" if face == "front" else DARK)


def _halo(face: Face) -> str:
    bright = LIGHT if face == "front" else BARE
    return _box(_X, _Y, 3, _H, bright) + _box(_X, _Y, _W, 3, bright)


def _ghost(face: Face) -> str:
    outline = '<rect x="34" y="20" width="28" height="24" rx="6" fill="none" stroke="#6fb0d8" stroke-width="2"'
    return outline + (' stroke-dasharray="3 2"/>' if face == "back" else "/>")


def _marks(face: Face) -> str:
    return _line("M4 8l22 12M60 4l12 6M8 50l14 6", LIGHT if face == "front" else DARK, 1.4) + _dots(
        [(86, 22), (84, 54), (12, 30)], 2.2, "#7c868c"
    )


def _blisters(face: Face) -> str:
    glue = _box(0, 52, WIDTH, 12, "#e8dfae", 'opacity="0.9"') if face == "back" else ""
    return glue + _dots([(12, 50), (28, 55), (46, 57), (64, 54), (82, 49)], 4.5, "#8c969c", stroke=DARK)


def _creeping(face: Face) -> str:
    edge = "M0 0v64q6-6 3-12t4-10-4-12 5-10-3-10 2-10z"
    return f'<path d="{edge}" fill="{"#3a3128" if face == "front" else "#6d5a45"}"/>'


def _crazing(face: Face) -> str:
    threads = "M0 10l10 3M0 18l14 1M0 26l9 4M0 34l16 0M0 42l10 -3M0 50l13 -1M0 58l8 -4"
    cement = _box(0, 0, 4, HEIGHT, "#e8dfae") if face == "back" else ""
    return cement + _line(threads, LIGHT if face == "front" else DARK, 1.1)


def _burned(face: Face) -> str:
    stain = '<path d="M8 58q6-16 20-12t24-2 24 6 14 4v10H8z" fill="#6b4a2b" opacity="0.75"/>'
    return stain + (_dots([(20, 56), (44, 55), (70, 58)], 3, "#e8dfae", stroke=DARK) if face == "back" else "")


def _uncut(face: Face) -> str:
    ring = '<rect x="10" y="6" width="76" height="52" fill="none" stroke="#d9dee2" stroke-width="2.4"/>'
    held = _box(42, 55, 16, 6, COAT) + _box(84, 26, 6, 10, COAT)
    return ring + (held if face == "front" else _line("M10 58h76", "#d9dee2", 1.2, dashes="3 3"))


def _size(face: Face) -> str:
    wanted = _line("M10 6h76v52h-76z", DARK, 1, dashes="4 3")
    rule = _line("M10 61h76M10 59v4M86 59v4") if face == "front" else ""
    return wanted + _line("M16 11h64v42h-64z", LIGHT, 1.6) + rule


def _mirrored(face: Face) -> str:
    """An R, and its mirror image on the side it is seen from."""
    letter = "M40 44v-24h12q6 0 6 7t-6 7h-12M50 34l9 10"
    turned = f'transform="matrix(-1 0 0 1 {WIDTH} 0)"' if face == "front" else ""
    return f'<g {turned}><path d="{letter}" fill="none" stroke="{LIGHT}" stroke-width="4"/></g>'


_DRAWN: dict[str, Callable[[Face], str]] = {
    "scan-lines": _scan_lines,
    "frosted": _frosted,
    "cracked": _cracked,
    "wrinkled": _wrinkled,
    "dull": _dull,
    "patchy": _patchy,
    "bled": _bled,
    "peeling": _peeling,
    "showing-through": _showing,
    "pinholes": _pinholes,
    "edge-halo": _halo,
    "mask-ghost": _ghost,
    "coat-marks": _marks,
    "joint-blisters": _blisters,
    "creeping": _creeping,
    "crazing": _crazing,
    "burned-film": _burned,
    "not-cut-through": _uncut,
    "wrong-size": _size,
    "mirrored-word": _mirrored,
}
