"""The line icons: one grid, one weight, drawn in the theme's colours at any density."""

from importlib.resources import files
from xml.etree import ElementTree

import pytest
from PySide6.QtCore import QSize
from PySide6.QtGui import QColor, QIcon

from app.theme.icons import app_icon, icon, icon_names, pixmap, purpose_icon, style_images
from app.theme.in_force import apply_theme
from app.theme.theme import DARK, LIGHT

STAGES = ("artwork", "layers", "sheet", "burn", "coverage", "paint", "hand over")


def colours_of(picture) -> set[str]:
    image = picture.toImage()
    pixels = (image.pixelColor(x, y) for x in range(image.width()) for y in range(image.height()))
    return {QColor(pixel.red(), pixel.green(), pixel.blue()).name() for pixel in pixels if pixel.alpha() > 250}


@pytest.mark.parametrize("name", icon_names())
def test_icons_share_grid_and_weight_and_show_something(name):
    root = ElementTree.fromstring((files("icons") / f"{name}.svg").read_text())
    assert root.get("viewBox") == "0 0 24 24"
    assert (root.get("stroke"), root.get("stroke-width")) == ("currentColor", "1.75")
    assert (root.get("stroke-linecap"), root.get("stroke-linejoin")) == ("round", "round")
    assert all(element.get("stroke-width") is None for element in root)
    drawn = pixmap(name, "text", 24).toImage()
    inked = sum(drawn.pixelColor(x, y).alpha() > 128 for x in range(24) for y in range(24))
    assert 10 < inked < 300


@pytest.mark.parametrize("stage", STAGES)
def test_stages_have_icons_by_their_keys(stage):
    assert not icon(stage).pixmap(24, 24).isNull()


def test_unknown_icon_is_an_error_at_once():
    with pytest.raises(FileNotFoundError):
        icon("no such thing")


def test_icons_take_the_colour_of_the_theme_in_force(qapp):
    made_before = icon("open")
    try:
        apply_theme(qapp, "dark")
        assert DARK.palette.text in colours_of(made_before.pixmap(48, 48))
    finally:
        apply_theme(qapp, "light")
    assert LIGHT.palette.text in colours_of(made_before.pixmap(48, 48))
    assert LIGHT.palette.disabled in colours_of(made_before.pixmap(48, 48, QIcon.Mode.Disabled))
    assert LIGHT.palette.warning in colours_of(icon("warning", "warning").pixmap(48, 48))
    assert "#123456" in colours_of(icon("open", "#123456").pixmap(48, 48))


def test_icons_are_rendered_anew_for_denser_screens(qapp):
    picture = icon("fit").pixmap(QSize(20, 20), 2.0)
    assert picture.size() == QSize(40, 40)
    assert picture.devicePixelRatio() == 2.0
    doubled = icon("fit").pixmap(QSize(20, 20), 1.0).scaled(40, 40)
    assert picture.toImage() != doubled.toImage()


def test_purposes_have_samples_that_differ_in_shape(qapp):
    grey = [
        purpose_icon(purpose).pixmap(QSize(40, 24), 1.0).toImage()
        for purpose in ("fill", "cut", "score", "guide", "undecided", "leave out")
    ]
    assert len({bytes(image.constBits()) for image in grey}) == len(grey)


def test_program_icon_comes_in_several_sizes(qapp):
    assert {size.width() for size in app_icon().availableSizes()} >= {16, 32, 64, 256}


def test_pictures_of_the_style_sheet_are_drawn_for_each_density_in_the_colours_in_force(qapp):
    try:
        apply_theme(qapp, "dark")
        paths = style_images()
        for name, path in paths.items():
            assert QIcon(path).isNull() is False, name
            assert QIcon(path).pixmap(QSize(12, 12), 3.0).toImage().size() == QSize(36, 36), name
        assert DARK.palette.text in colours_of(QIcon(paths["chevron_down"]).pixmap(QSize(48, 48)))
    finally:
        apply_theme(qapp, "light")
    assert style_images() == paths
    assert LIGHT.palette.text in colours_of(QIcon(paths["chevron_down"]).pixmap(QSize(48, 48)))
