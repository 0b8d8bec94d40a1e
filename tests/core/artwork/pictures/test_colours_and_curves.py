"""Flat colours are told apart, and curves stay as near to their contour as was asked."""

import numpy as np
import pytest

from core.artwork.pictures.colours import colour_fields
from core.artwork.pictures.contouring import contours_below
from core.artwork.pictures.corners import with_corners
from core.artwork.pictures.curve_fitting import fitted_path
from core.artwork.pictures.opening import Picture
from core.errors import UnreadableError
from core.geometry.flattening import flatten


def rings(field, level):
    return with_corners(contours_below(field, level))


def disc(radius):
    y, x = np.mgrid[0:80, 0:80] + 0.5
    return np.hypot(x - 40, y - 40) - radius


@pytest.mark.parametrize("tolerance_px", [0.05, 0.2])
def test_a_disc_is_few_curves_that_keep_to_its_edge(tolerance_px):
    path = fitted_path(rings(disc(25.0), 0.0), tolerance_px=tolerance_px)
    radius = np.hypot(*(flatten(path, 0.005).points - 40.0).T)
    assert np.abs(radius - 25.0).max() < tolerance_px + 0.05
    assert len(path) <= 16 and path.closed.all()


def test_a_square_has_four_corners_and_a_disc_has_none():
    y, x = np.mgrid[0:80, 0:80] + 0.5
    square = np.maximum(np.abs(x - 40), np.abs(y - 40)) - 20.0
    assert rings(square, 0.0).corner.sum() == 4
    assert rings(disc(20.0), 0.0).corner.sum() == 0


def painted(*colours):
    rgb = np.full((60, 90, 3), 255, np.uint8)
    for number, colour in enumerate(colours):
        rgb[10:50, 5 + 28 * number : 28 + 28 * number] = colour
    grey = rgb.mean(axis=2).astype(np.float32)
    return Picture(rgb=rgb, grey=grey, alpha=None, dpi=None, format="PNG")


def test_each_flat_colour_gets_the_field_of_its_own_pixels():
    colours = [(200, 30, 30), (30, 30, 160), (20, 20, 20)]
    found = {name: field for field, name in colour_fields(painted(*colours), 3)}
    assert set(found) == {"#c81e1e", "#1e1ea0", "#141414"}
    for number, name in enumerate(["#c81e1e", "#1e1ea0", "#141414"]):
        own = np.zeros((60, 90), bool)
        own[10:50, 5 + 28 * number : 28 + 28 * number] = True
        assert ((found[name] < 0) == own).all()


def test_a_picture_of_one_colour_is_refused():
    with pytest.raises(UnreadableError, match="all one colour"):
        colour_fields(painted(), 3)
