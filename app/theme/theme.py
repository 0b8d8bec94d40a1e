"""Light, dark and high-contrast colours, spacing, looks of purposes; one place that everything drawn takes them from.

Contrast follows WCAG 2.2: 4.5:1 for text (1.4.3), 3:1 for parts and graphics that carry meaning (1.4.11); tests
compute it for every pair that is used. Purposes and marks are told apart by name and pattern first; their colours are
shades of the colour-vision-safe set of M. Okabe and K. Ito (Color Universal Design, 2008), darkened until they stand
out from the coat.
"""

from dataclasses import dataclass
from typing import Literal

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QColor

from core.purposes import LEAVE_OUT, UNDECIDED

DIM = 0.42
"""How far the coat goes towards ink below the map of what is left of it: bared sheet stands out at over 3:1."""
Mode = Literal["system", "light", "dark", "contrast"]
LinePattern = Literal["solid", "long dash", "dotted", "dash dot", "none"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """Colours of the window around the faces, as "#rrggbb".

    window: behind everything; surface: pages, lists, fields; raised: what lies above them (buttons at rest, cards).
    rule: hairlines that only part things; border: edges that tell where a field is (3:1). quiet: lesser text.
    accent_soft: ground of what is selected, with ``text`` on it; on_accent: text on ``accent``.
    """

    window: str
    surface: str
    raised: str
    pressed: str
    rule: str
    border: str
    text: str
    quiet: str
    disabled: str
    accent: str
    accent_hover: str
    on_accent: str
    accent_soft: str
    problem: str
    warning: str
    done: str
    note: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CanvasColours:
    """Colours of the sheet and what is drawn on it, as "#rrggbb".

    desk: around the sheet; bed: the machine's bed; page: plain ground of artwork as it was drawn. coat_bright and
    coat_deep: ends of the silver's sheen on the front; back: the coat's matt back. bared: sheet that shows once the
    coat is gone; through: what shows through it on the finished piece, until paint is behind it. frame, ruler_text,
    grid: the frames around the faces. left_over and spill lie over bared and coat. flaw: what is wrong with the
    sheet; trouble: where a place of the artwork is none.
    """

    desk: str
    bed: str
    bed_edge: str
    page: str
    coat_bright: str
    coat_deep: str
    back: str
    bared: str
    through: str
    sheet_edge: str
    ruler: str
    ruler_text: str
    ruler_line: str
    ink: str
    fill: str
    score: str
    guide: str
    undecided: str
    left_out: str
    left_over: str
    spill: str
    selection: str
    halo: str
    pointer: str
    snap: str
    flaw: str
    trouble: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PurposeLook:
    """How a purpose is told: its name, a line pattern with a width in px, and a colour; ``hatched`` for areas."""

    name: str
    colour: str
    line: LinePattern
    width_px: float
    hatched: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Theme:
    """All colours of one mode."""

    name: Literal["light", "dark", "contrast"]
    palette: Palette
    canvas: CanvasColours


LIGHT = Theme(
    name="light",
    palette=Palette(
        window="#f3f4f5",
        surface="#ffffff",
        raised="#f8f9fa",
        pressed="#e3e7ea",
        rule="#dde1e5",
        border="#858d96",
        text="#1a1e22",
        quiet="#58616b",
        disabled="#9aa2aa",
        accent="#0b6777",
        accent_hover="#095766",
        on_accent="#ffffff",
        accent_soft="#d5eaee",
        problem="#b3261e",
        warning="#845000",
        done="#1b6b3a",
        note="#365a86",
    ),
    canvas=CanvasColours(
        desk="#e4e7ea",
        bed="#d7dbdf",
        bed_edge="#5f6871",
        page="#f4f5f6",
        coat_bright="#e2e6ea",
        coat_deep="#c6ccd2",
        back="#c1c6cb",
        bared="#fafcfd",
        through="#414b55",
        sheet_edge="#4d555d",
        ruler="#f3f4f5",
        ruler_text="#4a525a",
        ruler_line="#79828b",
        ink="#111417",
        fill="#005a8e",
        score="#8a2766",
        guide="#565d64",
        undecided="#7d4c00",
        left_out="#646b72",
        left_over="#b04300",
        spill="#1d6a9c",
        selection="#0b6777",
        halo="#ffffff",
        pointer="#0b6777",
        snap="#a8216b",
        flaw="#3d2f7a",
        trouble="#a3221b",
    ),
)

DARK = Theme(
    name="dark",
    palette=Palette(
        window="#1b1e21",
        surface="#24282c",
        raised="#2d3237",
        pressed="#383e44",
        rule="#343a40",
        border="#7b848d",
        text="#e9ebed",
        quiet="#a8b0b8",
        disabled="#69727b",
        accent="#62c3d2",
        accent_hover="#7fd2df",
        on_accent="#06262c",
        accent_soft="#174650",
        problem="#ff8f86",
        warning="#f0b45f",
        done="#7fd09a",
        note="#9dbde8",
    ),
    canvas=CanvasColours(
        desk="#14171a",
        bed="#21262b",
        bed_edge="#8b949d",
        page="#dfe3e6",
        coat_bright="#c8ced4",
        coat_deep="#aeb5bc",
        back="#a9b0b7",
        bared="#edf1f4",
        through="#323b44",
        sheet_edge="#eef1f3",
        ruler="#1b1e21",
        ruler_text="#b4bcc4",
        ruler_line="#7b848d",
        ink="#0b0d0f",
        fill="#004f80",
        score="#76195a",
        guide="#434a51",
        undecided="#6b4000",
        left_out="#565d64",
        left_over="#9f3a00",
        spill="#0f5685",
        selection="#00515f",
        halo="#ffffff",
        pointer="#00515f",
        snap="#8f1258",
        flaw="#33276b",
        trouble="#8f1711",
    ),
)


CONTRAST = Theme(
    name="contrast",
    palette=Palette(
        window="#ffffff",
        surface="#ffffff",
        raised="#ffffff",
        pressed="#d9e4f2",
        rule="#000000",
        border="#000000",
        text="#000000",
        quiet="#000000",
        disabled="#595959",
        accent="#00308f",
        accent_hover="#001f5c",
        on_accent="#ffffff",
        accent_soft="#cfe0ff",
        problem="#8b0000",
        warning="#5c3200",
        done="#00491f",
        note="#00308f",
    ),
    canvas=CanvasColours(
        desk="#ffffff",
        bed="#ffffff",
        bed_edge="#000000",
        page="#ffffff",
        coat_bright="#e6e6e6",
        coat_deep="#dcdcdc",
        back="#d6d6d6",
        bared="#ffffff",
        through="#000000",
        sheet_edge="#000000",
        ruler="#ffffff",
        ruler_text="#000000",
        ruler_line="#000000",
        ink="#000000",
        fill="#003a63",
        score="#5c0a42",
        guide="#333333",
        undecided="#4d2f00",
        left_out="#3d3d3d",
        left_over="#7a2400",
        spill="#003a63",
        selection="#00308f",
        halo="#ffffff",
        pointer="#00308f",
        snap="#7a004d",
        flaw="#26115c",
        trouble="#8b0000",
    ),
)
"""Text at 7:1 and more (WCAG 2.2, 1.4.6), parts that carry meaning at 4.5:1, edges in black."""


class ThemeChanges(QObject):
    """Tells when other colours came into force."""

    changed = Signal()


_changes = ThemeChanges()
_current = LIGHT


def theme() -> Theme:
    """The theme in force."""
    return _current


def use(chosen: Theme) -> None:
    """Have ``theme()`` give this one; whoever calls it tells the others when all else is in place."""
    global _current
    _current = chosen


def theme_changes() -> ThemeChanges:
    """``theme_changes().changed`` tells when ``theme()`` gives another one."""
    return _changes


def purpose_look(purpose: str) -> PurposeLook:
    """The look of "fill", "cut", "score", "guide", "undecided" or "leave out" in the theme in force."""
    return purpose_look_in(_current, purpose)


def purpose_look_in(theme: Theme, purpose: str) -> PurposeLook:
    """The same in another theme, for drawing on other threads."""
    colours = theme.canvas
    return {
        "fill": PurposeLook(name="Fill", colour=colours.fill, line="solid", width_px=1.0, hatched=True),
        "cut": PurposeLook(name="Cut", colour=colours.ink, line="solid", width_px=2.5),
        "score": PurposeLook(name="Score", colour=colours.score, line="long dash", width_px=1.5),
        "guide": PurposeLook(name="Guide", colour=colours.guide, line="dotted", width_px=1.5),
        UNDECIDED: PurposeLook(name="Undecided", colour=colours.undecided, line="dash dot", width_px=1.75),
        LEAVE_OUT: PurposeLook(name="Left out", colour=colours.left_out, line="dotted", width_px=1.0),
    }[purpose]


def mixed(one: str, other: str, share: float) -> str:
    """The colour ``share`` of the way from one to the other."""
    a, b = QColor(one), QColor(other)
    red, green, blue = (
        x + (y - x) * share for x, y in ((a.redF(), b.redF()), (a.greenF(), b.greenF()), (a.blueF(), b.blueF()))
    )
    return QColor.fromRgbF(red, green, blue).name()


def burned_in(one: Theme) -> str:
    """What is burned as an area: the colour of fills, which stands out from the coat at over 3:1."""
    return mixed(one.canvas.fill, one.canvas.bared, 0.1)


def contrast_ratio(one: str, other: str) -> float:
    """Contrast ratio of two "#rrggbb" colours, 1 to 21 (WCAG 2.2, definition of contrast ratio)."""
    brighter, darker = sorted((_relative_luminance(one), _relative_luminance(other)), reverse=True)
    return (brighter + 0.05) / (darker + 0.05)


def _relative_luminance(colour: str) -> float:
    channels = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    linear = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return sum(weight * value for weight, value in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
