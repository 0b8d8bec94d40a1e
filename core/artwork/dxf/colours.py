"""DXF colours as "#rrggbb"."""

import ezdxf  # noqa: F401 - the whole before its parts (tests/test_libraries_whole_first)
from ezdxf.colors import aci2rgb, int2rgb

from core.artwork.dxf.pieces import BY_BLOCK, BY_LAYER


def entity_colour(rgb: int | None, index: int) -> str:
    """The colour of an entity from its groups 420 and 62: "#rrggbb", BY_LAYER or BY_BLOCK."""
    if rgb is not None:
        return true_colour(rgb)
    if index == 256:
        return BY_LAYER
    if index == 0:
        return BY_BLOCK
    return index_colour(index)


def index_colour(index: int) -> str:
    """A colour index as "#rrggbb"; 7 is the ink that shows on the background, black on paper."""
    if abs(index) == 7 or not 1 <= abs(index) <= 255:
        return "#000000"
    return "#{:02x}{:02x}{:02x}".format(*aci2rgb(abs(index)))


def true_colour(rgb: int) -> str:
    """A 24-bit colour as "#rrggbb"."""
    return "#{:02x}{:02x}{:02x}".format(*int2rgb(rgb))
