"""A stroke as it is painted: the colour is carried along, the rest says where its ink lies."""

from dataclasses import dataclass
from typing import Literal

from core.geometry.affine import IDENTITY, Affine


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """A painted outline. Width, dashes and limit are in the shape's own space; ``matrix`` takes that to mm.

    The pen is round in its own space only, so a squashing matrix gives a stroke of uneven width.
    """

    colour: str
    width: float
    matrix: Affine = IDENTITY
    cap: Literal["butt", "round", "square"] = "butt"
    join: Literal["miter", "miter-clip", "round", "bevel"] = "miter"
    miter_limit: float = 4.0
    dashes: tuple[float, ...] = ()
    dash_offset: float = 0.0
    width_mm: float
    """Mean width after the matrix: what is compared with the line threshold."""
