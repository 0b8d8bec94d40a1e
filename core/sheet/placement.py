"""The sheet at hand and where the artwork lies on it, in the front frame."""

from dataclasses import dataclass
from typing import Literal

from core.affine import Affine, compose, rotation, translation

Turn = Literal["sideways", "endways"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A rectangular piece of stock lying front up, its top left corner at the origin."""

    width_mm: float
    height_mm: float
    thickness_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where the drawing's page lies on the sheet: turned by rotation_deg about the page's top left, then put at (x, y).

    ``centred`` overrides x and y: what is burned is centred on the sheet.
    """

    x_mm: float = 0.0
    y_mm: float = 0.0
    rotation_deg: float = 0.0
    centred: bool = True


def placement_matrix(x_mm: float, y_mm: float, rotation_deg: float) -> Affine:
    """Drawing frame to the sheet's front frame; never mirrors."""
    return compose(translation(x_mm, y_mm), rotation(rotation_deg))
