"""The sheet at hand and where the artwork lies on it, in the front frame."""

from dataclasses import dataclass, field
from typing import Literal

from core.geometry.affine import IDENTITY, Affine, compose, rotation, translation
from core.geometry.turning import Turn as Turn

Points = tuple[tuple[float, float], ...]
Surface = Literal["clear face", "coat"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Flaw:
    """A scratch, chip or stain, as it was noted.

    points: one for a "point", the course of a "line", the corners of a "patch", mm from the top left corner of the
    sheet's box as seen from ``noted_from``; ``turn`` is how the sheet was turned over for a look at its back.
    width_mm: diameter of a point, width of a line; patches are grown by half of it all round. surface: the shiny face
    with the clear sheet behind it, or the coat on the back.
    """

    kind: Literal["point", "line", "patch"]
    points: Points
    width_mm: float = 1.0
    surface: Surface = "coat"
    noted_from: Literal["front", "back"] = "front"
    turn: Turn = "sideways"
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A piece of stock lying front up, the top left corner of its box at the origin.

    outline: its rings, the outer one first, then holes; empty for a plain rectangle.
    """

    width_mm: float
    height_mm: float
    thickness_mm: float
    outline: tuple[Points, ...] = field(default=(), metadata={"omit_default": True})
    flaws: tuple[Flaw, ...] = field(default=(), metadata={"omit_default": True})


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where the drawing's page lies on the sheet: turned by rotation_deg about the page's top left, then put at (x, y).

    ``centred`` overrides x and y: what is burned is centred on the sheet.
    """

    x_mm: float = 0.0
    y_mm: float = 0.0
    rotation_deg: float = 0.0
    centred: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat:
    """One more copy of the artwork: turned about the page's top left, then put at (x, y), in the drawing's own frame.

    So all copies go where the first goes.
    """

    x_mm: float
    y_mm: float
    rotation_deg: float = 0.0


def placement_matrix(x_mm: float, y_mm: float, rotation_deg: float) -> Affine:
    """Drawing frame to the sheet's front frame; never mirrors."""
    return compose(translation(x_mm, y_mm), rotation(rotation_deg))


def copy_matrices(repeats: tuple[Repeat, ...]) -> tuple[Affine, ...]:
    """Drawing frame to drawing frame, one for each copy; the first leaves all where it is."""
    return (IDENTITY, *(placement_matrix(one.x_mm, one.y_mm, one.rotation_deg) for one in repeats))
