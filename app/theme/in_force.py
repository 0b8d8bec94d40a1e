"""Puts a theme in force: the application's palette and style sheet, then word to everything that paints itself."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QGuiApplication, QPalette
from PySide6.QtWidgets import QApplication

from app.theme.icons import style_images
from app.theme.style_sheet import style_sheet
from app.theme.theme import CONTRAST, DARK, LIGHT, Mode, Palette, Theme, theme_changes, use

_mode: Mode = "system"
_followed: QGuiApplication | None = None


def apply_theme(app: QApplication, mode: Mode = "system") -> None:
    """Give the application its colours and style sheet; "system" follows light and dark of the desktop from now on."""
    global _mode, _followed
    _mode = mode
    if _followed is not app:
        app.setStyle("Fusion")
        app.styleHints().colorSchemeChanged.connect(lambda scheme: _system_changed(app))
        _followed = app
    _put_in_force(app, chosen_theme(app, mode))


def chosen_theme(app: QGuiApplication, mode: Mode) -> Theme:
    """The theme of a mode; "system" asks the desktop, and light counts where it does not say."""
    if mode != "system":
        return {"light": LIGHT, "dark": DARK, "contrast": CONTRAST}[mode]
    return DARK if app.styleHints().colorScheme() == Qt.ColorScheme.Dark else LIGHT


def _system_changed(app: QApplication) -> None:
    if _mode == "system":
        _put_in_force(app, chosen_theme(app, _mode))


def _put_in_force(app: QApplication, chosen: Theme) -> None:
    use(chosen)
    app.setPalette(_qt_palette(chosen.palette))
    sheet = style_sheet(chosen.palette, style_images())
    if sheet != app.styleSheet():
        app.setStyleSheet("")  # over another sheet Qt polishes each widget once for each that it lies in
        app.setStyleSheet(sheet)
    theme_changes().changed.emit()


def _qt_palette(colours: Palette) -> QPalette:
    role = QPalette.ColorRole
    roles = {
        role.Window: colours.window,
        role.WindowText: colours.text,
        role.Base: colours.surface,
        role.AlternateBase: colours.raised,
        role.Text: colours.text,
        role.PlaceholderText: colours.quiet,
        role.Button: colours.raised,
        role.ButtonText: colours.text,
        role.BrightText: colours.on_accent,
        role.ToolTipBase: colours.text,
        role.ToolTipText: colours.surface,
        role.Highlight: colours.accent,
        role.HighlightedText: colours.on_accent,
        role.Link: colours.accent,
        role.LinkVisited: colours.accent,
        role.Light: colours.raised,
        role.Midlight: colours.raised,
        role.Mid: colours.rule,
        role.Dark: colours.border,
        role.Shadow: colours.border,
    }
    palette = QPalette()
    for each, colour in roles.items():
        palette.setColor(each, QColor(colour))
    for each in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, each, QColor(colours.disabled))
    palette.setColor(QPalette.ColorGroup.Disabled, role.Highlight, QColor(colours.rule))
    return palette
