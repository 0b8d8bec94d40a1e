"""A piece that is burned to be read: its patches, what is burned and expected in each, and words on it."""

from dataclasses import dataclass, field
from typing import Literal

from core.burning.machines import Machine
from core.errors import JobError
from core.purposes import Purpose
from core.sheet.placement import Turn
from core.sheet.recipes import Recipe
from core.sheet.stock import Stock

Side = Literal["front", "back"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """One patch: where it lies in the frame the piece is read in, what is burned, what is expected.

    label: "B3"; caption: what stands under it. strips: into how many a cut patch is parted. comb_step_mm: by how much
    the gaps of a comb lie further from their lines from pair to pair; 0: no comb. expected: the look that is
    foretold, in words; verdict: of the fill's dose model, empty for cuts and single lines.
    """

    label: str
    caption: str
    purpose: Purpose
    recipe: Recipe
    expected: str
    verdict: str = ""
    strips: int = field(default=1, metadata={"omit_default": True})
    comb_step_mm: float = field(default=0.0, metadata={"omit_default": True})
    x_mm: float = 0.0
    y_mm: float = 0.0
    width_mm: float = 0.0
    height_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """A scored line of text; (x, y) is its cap line's left end in the frame the piece is read in."""

    text: str
    x_mm: float
    y_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BurnedPiece:
    """An offcut with patches, laid out in the frame that it is read in. ``code`` stands on it."""

    code: str
    width_mm: float
    height_mm: float
    read_from: Side
    turn: Turn
    stock: Stock
    machine: Machine
    patches: tuple[Patch, ...]
    labels: tuple[Label, ...]

    def patch(self, label: str) -> Patch:
        """The patch of that label. Raises JobError when there is none."""
        for patch in self.patches:
            if patch.label == label.strip().upper():
                return patch
        raise JobError(
            f"{self.code} has no patch {label}.", hint=f"It has {', '.join(patch.label for patch in self.patches)}."
        )

    def patch_at(self, x_mm: float, y_mm: float) -> Patch | None:
        """The patch at a place of the frame that it is read in; None beside all of them."""
        for patch in self.patches:
            if 0 <= x_mm - patch.x_mm <= patch.width_mm and 0 <= y_mm - patch.y_mm <= patch.height_mm:
                return patch
        return None
