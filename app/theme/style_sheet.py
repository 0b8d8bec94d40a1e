"""The style sheet of the whole window, the same in every theme: flat, quiet, on a 4 px grid.

Colours are those of the application's palette, by the roles they have in it (``app/theme/roles``); another theme is
another palette and never another sheet, over which Qt would take a tenth of a second.

Widgets ask for a look by a property ``role``: labels "title", "heading", "quiet", "figure", "refusal", "problem",
"warning", "done"; buttons "main" (the one main action), "plain" (no frame), "danger"; frames "page", "foot", "card",
"banner", "rail" (the stages at the left), "bar" (the line below).
"""

from collections.abc import Mapping
from string import Template

from app.theme.roles import CARRIERS

_SHEET = Template("""
* { outline: 0; }
QWidget { color: $text; }
QMainWindow, QDialog { background: $window; }
QToolTip { background: $text; color: $surface; border: 0; padding: 4px 8px; }

QLabel { background: transparent; }
QLabel[role="title"] { font-size: 16pt; font-weight: 600; }
QLabel[role="heading"] { font-weight: 600; }
QLabel[role="quiet"] { color: $quiet; }
QLabel[role="figure"] { font-weight: 600; }
QLabel[role="refusal"], QLabel[role="problem"] { color: $problem; }
QLabel[role="warning"] { color: $warning; }
QLabel[role="done"] { color: $done; }
QLabel:disabled { color: $disabled; }

QWidget[role="page"] { background: $surface; }
QWidget[role="welcome"] { background: $window; }
QFrame[role="foot"] { background: $surface; border: 0; border-top: 1px solid $rule; }
QFrame[role="rail"] { background: $window; border: 0; border-right: 1px solid $rule; }
QFrame[role="bar"] { background: $window; border: 0; border-top: 1px solid $rule; }
QFrame[role="strip"] { background: $window; border: 0; border-bottom: 1px solid $rule; }
QFrame[role="plate"] { background: $surface; border: 1px solid $border; border-radius: 8px; }
QFrame[role="card"] { background: $raised; border: 1px solid $rule; border-radius: 8px; }
QFrame[role="banner"] { background: $accent_soft; border: 1px solid $accent; border-radius: 8px; }

QPushButton, QToolButton {
    background: $raised; border: 1px solid $border; border-radius: 6px; padding: 6px 12px; min-height: 18px;
}
QPushButton:hover, QToolButton:hover { border-color: $accent; }
QPushButton:pressed, QToolButton:pressed { background: $pressed; }
QPushButton:focus, QToolButton:focus { border: 2px solid $accent; padding: 5px 11px; }
QPushButton:checked, QToolButton:checked { background: $accent_soft; border-color: $accent; }
QPushButton:disabled, QToolButton:disabled { color: $disabled; border-color: $rule; background: $raised; }
QPushButton[role="main"] {
    background: $accent; color: $on_accent; border: 1px solid $accent; padding: 9px 16px; font-weight: 600;
}
QPushButton[role="main"]:hover { background: $accent_hover; border-color: $accent_hover; }
QPushButton[role="main"]:focus { border: 2px solid $text; padding: 8px 15px; }
QPushButton[role="main"]:disabled { background: $pressed; border-color: $pressed; color: $disabled; }
QPushButton[role="door"] { text-align: left; padding: 8px 12px; background: transparent; border-color: $rule; }
QPushButton[role="door"]:hover { background: $pressed; border-color: $border; }
QPushButton[role="door"]:focus { border: 2px solid $accent; padding: 7px 11px; }
QPushButton[role="danger"] { color: $problem; border-color: $problem; }
QToolButton, QPushButton[role="plain"] { background: transparent; border-color: transparent; padding: 5px 7px; }
QToolButton:hover, QPushButton[role="plain"]:hover { background: $pressed; border-color: transparent; }
QToolButton:focus, QPushButton[role="plain"]:focus { border: 2px solid $accent; padding: 4px 6px; }
QToolButton:disabled, QPushButton[role="plain"]:disabled { background: transparent; border-color: transparent; }
QToolButton[role="segment"] {
    background: $surface; border: 1px solid $border; border-radius: 6px; padding: 4px 10px;
}
QToolButton[role="segment"][signs="true"] { padding: 4px; }
QToolButton[role="segment"][signs="true"]:focus { padding: 3px; }
QToolButton[role="segment"]:hover { background: $pressed; border-color: $border; }
QToolButton[role="segment"]:checked { background: $accent_soft; border-color: $accent; font-weight: 600; }
QToolButton[role="segment"]:focus { border: 2px solid $accent; padding: 3px 9px; }
QToolButton[role="segment"]:disabled { color: $disabled; border-color: $rule; background: $window; }
QToolButton[role="tile"] {
    background: $surface; border: 1px solid $rule; border-radius: 8px; padding: 4px; text-align: center;
}
QToolButton[role="tile"]:hover { border-color: $accent; background: $surface; }
QToolButton[role="tile"]:focus { border: 2px solid $accent; padding: 3px; }
QToolButton[role="step"] {
    background: $surface; border: 1px solid $border; border-radius: 6px; padding: 4px 2px;
}
QToolButton[role="step"]:hover { background: $pressed; border-color: $border; }
QToolButton[role="step"]:checked { background: $accent_soft; border-color: $accent; }
QToolButton[role="step"]:focus { border: 2px solid $accent; padding: 3px 1px; }
QToolButton::menu-indicator { image: none; }
QPushButton::menu-indicator { image: url("$chevron_down"); subcontrol-position: right center; right: 6px; }

QLineEdit, QAbstractSpinBox, QComboBox, QPlainTextEdit, QTextEdit {
    background: $surface; border: 1px solid $border; border-radius: 6px; padding: 4px 8px; min-height: 20px;
    selection-background-color: $accent; selection-color: $on_accent;
}
QLineEdit:hover, QAbstractSpinBox:hover, QComboBox:hover { border-color: $accent; }
QLineEdit:focus, QAbstractSpinBox:focus, QComboBox:focus, QPlainTextEdit:focus, QTextEdit:focus {
    border: 2px solid $accent; padding: 3px 7px;
}
QLineEdit:disabled, QAbstractSpinBox:disabled, QComboBox:disabled {
    color: $disabled; border-color: $rule; background: $raised;
}
QLineEdit[refused="true"], QAbstractSpinBox[refused="true"] { border: 2px solid $problem; padding: 3px 7px; }
QAbstractSpinBox QLineEdit, QComboBox QLineEdit {
    background: transparent; border: 0; border-radius: 0; padding: 0; min-height: 0;
}
QAbstractSpinBox::up-button, QAbstractSpinBox::down-button {
    subcontrol-origin: border; width: 20px; border: 0; background: transparent;
}
QAbstractSpinBox::up-button { subcontrol-position: top right; margin: 2px 2px 0 0; }
QAbstractSpinBox::down-button { subcontrol-position: bottom right; margin: 0 2px 2px 0; }
QAbstractSpinBox::up-button:hover, QAbstractSpinBox::down-button:hover { background: $pressed; border-radius: 4px; }
QAbstractSpinBox[compact="true"] { padding: 4px 8px 4px 2px; }
QAbstractSpinBox[compact="true"]:focus { padding: 3px 7px 3px 1px; }
QAbstractSpinBox[compact="true"]::up-button, QAbstractSpinBox[compact="true"]::down-button {
    width: 0; margin: 0; border: 0;
}
QAbstractSpinBox::up-arrow { image: url("$chevron_up"); width: 10px; height: 10px; }
QAbstractSpinBox::down-arrow { image: url("$chevron_down"); width: 10px; height: 10px; }
QAbstractSpinBox::up-arrow:disabled, QAbstractSpinBox::up-arrow:off { image: url("$chevron_up_faint"); }
QAbstractSpinBox::down-arrow:disabled, QAbstractSpinBox::down-arrow:off { image: url("$chevron_down_faint"); }
QAbstractSpinBox[compact="true"]::up-arrow, QAbstractSpinBox[compact="true"]::down-arrow {
    image: none; width: 0; height: 0;
}
QComboBox { padding-right: 24px; }
QComboBox::drop-down { subcontrol-origin: border; subcontrol-position: center right; width: 24px; border: 0; }
QComboBox::down-arrow { image: url("$chevron_down"); width: 12px; height: 12px; }
QComboBox::down-arrow:disabled { image: url("$chevron_down_faint"); }
QComboBox QAbstractItemView { background: $surface; border: 1px solid $border; padding: 4px; }

QCheckBox, QRadioButton { background: transparent; spacing: 8px; min-height: 22px; }
QCheckBox:disabled, QRadioButton:disabled { color: $disabled; }
QCheckBox::indicator, QRadioButton::indicator, QAbstractItemView::indicator {
    width: 16px; height: 16px; border: 1px solid $border; background: $surface;
}
QCheckBox::indicator, QAbstractItemView::indicator { border-radius: 4px; }
QRadioButton::indicator { border-radius: 9px; }
QCheckBox::indicator:hover, QRadioButton::indicator:hover { border-color: $accent; }
QCheckBox::indicator:focus, QRadioButton::indicator:focus { border: 2px solid $accent; width: 14px; height: 14px; }
QCheckBox:focus, QRadioButton:focus { text-decoration: underline; }
QCheckBox::indicator:checked, QAbstractItemView::indicator:checked {
    background: $accent; border-color: $accent; image: url("$tick");
}
QCheckBox::indicator:indeterminate { background: $accent; border-color: $accent; image: url("$dash"); }
QRadioButton::indicator:checked { background: $accent; border-color: $accent; image: url("$dot"); }
QCheckBox::indicator:disabled, QRadioButton::indicator:disabled { border-color: $rule; background: $raised; }
QCheckBox::indicator:checked:disabled, QRadioButton::indicator:checked:disabled { background: $disabled; }

QAbstractItemView {
    background: $surface; alternate-background-color: $raised; border: 1px solid $rule; border-radius: 6px;
    selection-background-color: $accent_soft; selection-color: $text;
}
QAbstractItemView:focus { border: 1px solid $accent; }
/* setting the spacing makes a list lay its rows out again after it got its style, or they overlap */
QListView { qproperty-spacing: 0; }
QListView::item, QTreeView::item, QTableView::item { padding: 4px 8px; min-height: 20px; }
QListView::item:hover, QTreeView::item:hover, QTableView::item:hover { background: $raised; }
QListView::item:selected, QTreeView::item:selected, QTableView::item:selected {
    background: $accent_soft; color: $text;
}
QHeaderView { background: $surface; border: 0; }
QHeaderView::section {
    background: $surface; color: $quiet; border: 0; border-bottom: 1px solid $rule; padding: 4px 8px;
}
QTableView { gridline-color: $rule; }
QTableCornerButton::section { background: $surface; border: 0; }

QScrollArea { background: transparent; border: 0; }
QScrollBar { background: transparent; border: 0; margin: 0; }
QScrollBar:vertical { width: 12px; }
QScrollBar:horizontal { height: 12px; }
QScrollBar::handle { background: $border; border-radius: 3px; margin: 3px; }
QScrollBar::handle:vertical { min-height: 32px; }
QScrollBar::handle:horizontal { min-width: 32px; }
QScrollBar::handle:hover { background: $quiet; }
QScrollBar::add-line, QScrollBar::sub-line { width: 0; height: 0; }
QScrollBar::add-page, QScrollBar::sub-page { background: transparent; }

QSlider::groove:horizontal { height: 4px; border-radius: 2px; background: $border; }
QSlider::sub-page:horizontal { background: $accent; border-radius: 2px; }
QSlider::handle:horizontal {
    width: 14px; height: 14px; margin: -6px 0; border-radius: 8px; background: $surface; border: 1px solid $accent;
}
QSlider::handle:horizontal:focus { border: 2px solid $accent; }

QProgressBar {
    background: $pressed; border: 0; border-radius: 3px; min-height: 6px; max-height: 6px; color: transparent;
}
QProgressBar::chunk { background: $accent; border-radius: 3px; }

QMenuBar { background: $window; padding: 2px 4px; }
QMenuBar::item { background: transparent; padding: 4px 10px; border-radius: 6px; }
QMenuBar::item:selected { background: $pressed; }
QMenu { background: $surface; border: 1px solid $border; padding: 4px; }
QMenu::item { padding: 6px 28px 6px 12px; border-radius: 4px; }
QMenu::item:selected { background: $accent_soft; color: $text; }
QMenu::item:disabled { color: $disabled; }
QMenu::icon { padding-left: 8px; }
QMenu::separator { height: 1px; background: $rule; margin: 4px 8px; }
QMenu::indicator { width: 14px; height: 14px; margin-left: 6px; }
QMenu::indicator:checked { image: url("$tick_text"); }

QToolBar { background: $window; border: 0; border-bottom: 1px solid $rule; padding: 4px; spacing: 4px; }
QToolBar::separator { width: 1px; background: $rule; margin: 4px; }
QStatusBar { background: $window; border-top: 1px solid $rule; }
QStatusBar::item { border: 0; }
QSplitter { background: $window; }
QSplitter::handle { background: $rule; }
QSplitter::handle:hover { background: $accent; }
QSplitter::handle:horizontal { width: 1px; }
QSplitter::handle:vertical { height: 1px; }

QGroupBox { border: 1px solid $rule; border-radius: 8px; margin-top: 20px; padding: 12px; }
QGroupBox::title { subcontrol-origin: margin; subcontrol-position: top left; padding: 0 4px; color: $quiet; }
QTabWidget::pane { border: 0; border-top: 1px solid $rule; }
QTabBar::tab { background: transparent; border: 0; padding: 8px 12px; color: $quiet; }
QTabBar::tab:selected { color: $text; border-bottom: 2px solid $accent; }
QTabBar::tab:hover { color: $text; }
""")


def style_sheet(images: Mapping[str, str]) -> str:
    """The sheet; ``images``: the pictures it needs, from ``icons.style_images``."""
    return _SHEET.substitute({name: f"palette({carrier.css})" for name, carrier in CARRIERS.items()}, **images)
