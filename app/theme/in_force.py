"""Puts a theme in force: the application's palette, its style at first; then word to all that paints itself."""

from PySide6.QtCore import Qt
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from app.theme.icons import style_images
from app.theme.polishing import take_up_palette
from app.theme.roles import qt_palette
from app.theme.style_sheet import style_sheet
from app.theme.theme import CONTRAST, DARK, LIGHT, Mode, Theme, theme_changes, use

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
    app.setPalette(qt_palette(chosen.palette))
    sheet = style_sheet(style_images())
    if sheet != app.styleSheet():
        app.setStyleSheet(sheet)
    else:
        take_up_palette(app)
    theme_changes().changed.emit()
