"""Which colour an entity has: its own before its index, its layer's or block's where it says so."""

import pytest

from core.artwork.dxf.colours import entity_colour, index_colour
from core.artwork.dxf.pieces import BY_BLOCK, BY_LAYER


@pytest.mark.parametrize(
    ("rgb", "index", "colour"),
    (
        (0x12AB34, 1, "#12ab34"),
        (0, 256, "#000000"),  # black is a colour, not "none given"
        (None, 256, BY_LAYER),
        (None, 0, BY_BLOCK),
        (None, 1, "#ff0000"),
        (None, 5, "#0000ff"),
    ),
)
def test_true_colour_before_index_before_layer(rgb, index, colour):
    assert entity_colour(rgb, index) == colour


@pytest.mark.parametrize("index", (7, -7, 0, 256, 9999))
def test_ink_that_shows_on_any_background_is_black_on_paper_and_so_is_no_colour_at_all(index):
    assert index_colour(index) == "#000000"


def test_a_layer_that_is_off_keeps_its_colour():
    assert index_colour(-3) == index_colour(3) == "#00ff00"
