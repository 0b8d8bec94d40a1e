"""By which role of Qt's palette each colour of a theme reaches the style sheet.

A style sheet can name a role of the palette (``palette(mid)``) and no colour of our own. Colours that Qt has no role
for take one that it draws nothing with here: the style sheet draws all that would show it.
"""

from dataclasses import dataclass

from PySide6.QtGui import QColor, QPalette

from app.theme.theme import Palette

Role = QPalette.ColorRole


@dataclass(frozen=True, slots=True)
class Carrier:
    """A role of the palette, and its name in a style sheet (Qt's documentation, "Qt Style Sheets Reference")."""

    role: QPalette.ColorRole
    css: str


CARRIERS = {
    "window": Carrier(Role.Window, "window"),
    "surface": Carrier(Role.Base, "base"),
    "raised": Carrier(Role.Button, "button"),
    "pressed": Carrier(Role.Midlight, "midlight"),
    "rule": Carrier(Role.Mid, "mid"),
    "border": Carrier(Role.Dark, "dark"),
    "text": Carrier(Role.WindowText, "window-text"),
    "quiet": Carrier(Role.PlaceholderText, "placeholder-text"),
    "disabled": Carrier(Role.Shadow, "shadow"),
    "accent": Carrier(Role.Highlight, "highlight"),
    "accent_hover": Carrier(Role.LinkVisited, "link-visited"),
    "on_accent": Carrier(Role.HighlightedText, "highlighted-text"),
    "accent_soft": Carrier(Role.Light, "light"),
    "problem": Carrier(Role.BrightText, "bright-text"),
    "warning": Carrier(Role.ToolTipBase, "tooltip-base"),
    "done": Carrier(Role.ToolTipText, "tooltip-text"),
}
"""A field of ``Palette``, and what carries it."""
_ALSO = {
    Role.AlternateBase: "raised",
    Role.Text: "text",
    Role.ButtonText: "text",
    Role.Link: "accent",
    Role.Accent: "accent",
}


def qt_palette(colours: Palette) -> QPalette:
    """The palette that carries them all."""
    palette = QPalette()
    for name, carrier in CARRIERS.items():
        palette.setColor(carrier.role, QColor(getattr(colours, name)))
    for role, name in _ALSO.items():
        palette.setColor(role, QColor(getattr(colours, name)))
    for role in (Role.WindowText, Role.Text, Role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, role, QColor(colours.disabled))
    palette.setColor(QPalette.ColorGroup.Disabled, Role.Highlight, QColor(colours.rule))
    return palette
