"""The sheet at hand and where the artwork lies on it, in the front frame."""

from dataclasses import dataclass, field
from typing import Literal

from core.figures import figure
from core.geometry.affine import IDENTITY, Affine, compose, rotation, translation
from core.geometry.turning import Turn as Turn

Points = tuple[tuple[float, float], ...]
Surface = Literal["clear face", "coat"]
FARTHEST_MM = 100_000.0
"""No sheet is larger and nothing lies farther off."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Flaw:
    """A scratch, chip or stain, as it was noted.

    points: one for a "point", the course of a "line", the corners of a "patch", mm from the top left corner of the
    sheet's box as seen from ``noted_from``; ``turn`` is how the sheet was turned over for a look at its back.
    width_mm: diameter of a point, width of a line; patches are grown by half of it all round. surface: the shiny face
    with the clear sheet behind it, or the coat on the back.
    """

    kind: Literal["point", "line", "patch"]
    points: Points = figure(words="Place of a flaw", unit="mm", least=-FARTHEST_MM, most=FARTHEST_MM)
    width_mm: float = figure(1.0, words="Width of a flaw", unit="mm", least=0, most=1_000, always_kept=True)
    surface: Surface = "coat"
    noted_from: Literal["front", "back"] = "front"
    turn: Turn = "sideways"
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A piece of stock lying front up, the top left corner of its box at the origin.

    outline: its rings, the outer one first, then holes; empty for a plain rectangle.
    """

    width_mm: float = figure(words="Width", unit="mm", least=0.1, most=FARTHEST_MM)
    height_mm: float = figure(words="Height", unit="mm", least=0.1, most=FARTHEST_MM)
    thickness_mm: float = figure(words="Thickness", unit="mm", least=0.01, most=1_000, step=0.1)
    outline: tuple[Points, ...] = figure((), words="Outline", unit="mm", least=-FARTHEST_MM, most=FARTHEST_MM)
    flaws: tuple[Flaw, ...] = field(default=(), metadata={"omit_default": True})


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """Where the drawing's page lies on the sheet: turned by rotation_deg about the page's top left, then put at (x, y).

    ``centred`` overrides x and y: what is burned is centred on the sheet.
    """

    x_mm: float = figure(0.0, words="Place across", unit="mm", least=-FARTHEST_MM, most=FARTHEST_MM, always_kept=True)
    y_mm: float = figure(0.0, words="Place down", unit="mm", least=-FARTHEST_MM, most=FARTHEST_MM, always_kept=True)
    rotation_deg: float = figure(0.0, words="Rotation", unit="°", least=-36_000, most=36_000, always_kept=True)
    centred: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Repeat:
    """One more copy of the artwork: turned about the page's top left, then put at (x, y), in the drawing's own frame.

    So all copies go where the first goes.
    """

    x_mm: float = figure(words="Place of a copy across", unit="mm", least=-FARTHEST_MM, most=FARTHEST_MM)
    y_mm: float = figure(words="Place of a copy down", unit="mm", least=-FARTHEST_MM, most=FARTHEST_MM)
    rotation_deg: float = figure(
        0.0, words="Rotation of a copy", unit="°", least=-36_000, most=36_000, always_kept=True
    )


def placement_matrix(x_mm: float, y_mm: float, rotation_deg: float) -> Affine:
    """Drawing frame to the sheet's front frame; never mirrors."""
    return compose(translation(x_mm, y_mm), rotation(rotation_deg))


def copy_matrices(repeats: tuple[Repeat, ...]) -> tuple[Affine, ...]:
    """Drawing frame to drawing frame, one for each copy; the first leaves all where it is."""
    return (IDENTITY, *(placement_matrix(one.x_mm, one.y_mm, one.rotation_deg) for one in repeats))
