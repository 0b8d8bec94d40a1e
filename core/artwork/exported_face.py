"""Which face a file that Tain exported shows, and the way back to the front."""

from typing import Any

from core.geometry.affine import IDENTITY, Affine
from core.geometry.turning import turned_over


def exported_face_to_front(document: dict[str, Any]) -> Affine:
    """From the frame of an exported file with this settings document to the sheet's front frame."""
    if document["face"] != "bed" or not document["turn_applied"]:
        return IDENTITY
    sheet = document["sheet"]
    return turned_over(document["turn"], float(sheet["width_mm"]), float(sheet["height_mm"]))
