"""What each mode of the view shows, and the regions that the paint mode adds."""

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from app.canvas.faces_layout import FaceName

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

CanvasMode = Literal["artwork", "layers", "sheet", "burn", "coverage", "paint", "hand over"]
Shown = Literal["as sent", "as it will look", "what is burned"]
"""What the front shows: the customer's file, the finished piece, or what the laser does."""
PictureKind = Literal["artwork", "purposes", "gaps", "paints", "look"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RegionLook:
    """A region (front frame) shown in a colour "#rrggbb", with a pattern in ``pattern_colour`` over it."""

    region: "BaseGeometry"
    colour: str
    pattern: Literal["plain", "hatch", "weave", "dots"] = "plain"
    pattern_colour: str = "#000000"
    angle_deg: float = 45.0
    opacity: float = 1.0


def usual_shown(mode: CanvasMode) -> Shown:
    """What the front shows in a mode until the maker says otherwise."""
    usual: dict[CanvasMode, Shown] = {
        "artwork": "as sent",
        "layers": "what is burned",
        "coverage": "what is burned",
    }
    return usual.get(mode, "as it will look")


def picture_kind(mode: CanvasMode, shown: Shown, face: FaceName) -> PictureKind:
    """The picture that a face shows. The bed shows what is burned there, whatever the front shows of the piece."""
    if shown == "as sent":
        return "artwork"
    if shown == "as it will look" and face == "front":
        return "look"
    if shown == "as it will look" and mode == "paint":
        return "paints"
    return "gaps" if mode == "coverage" else "purposes"
