"""Which face a file that Tain exported shows, the way back to the front, and what was drawn where outlines moved."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from core.artwork.drawing import Shape
from core.geometry.affine import IDENTITY, Affine
from core.geometry.path import Path, joined, polyline
from core.geometry.turning import turned_over


def exported_face_to_front(document: dict[str, Any]) -> Affine:
    """From the frame of an exported file with this settings document to the sheet's front frame."""
    if document["face"] != "bed" or not document["turn_applied"]:
        return IDENTITY
    sheet = document["sheet"]
    return turned_over(document["turn"], float(sheet["width_mm"]), float(sheet["height_mm"]))


def drawn_outlines(document: dict[str, Any]) -> dict[str, tuple[Path, ...]]:
    """By layer id the areas as drawn, front frame, of layers whose exported outlines are compensated.

    Raises ValueError, KeyError or TypeError where the document is damaged.
    """
    found = {}
    for layer in document["layers"]:
        areas = layer.get("drawn_outlines_mm")
        if areas:
            rings = [[np.array(ring, float).reshape(-1, 2) for ring in area] for area in areas]
            found[str(layer["id"])] = tuple(
                joined([polyline(ring, closed=True) for ring in area if len(ring) > 2]) for area in rings
            )
    return found


def with_drawn_outlines(shapes: tuple[Shape, ...], drawn: Mapping[str, tuple[Path, ...]]) -> tuple[Shape, ...]:
    """The shapes (front frame, told by layer id) with those of compensated layers as they were drawn."""
    result: list[Shape] = []
    for layer_id, areas in drawn.items():
        mine = [shape for shape in shapes if shape.source_layer == layer_id]
        if not mine:
            continue
        for number, path in enumerate(areas):
            like = mine[min(number, len(mine) - 1)]
            own_id = like.id if number < len(mine) else f"{like.id}-{number}"
            result.append(replace(like, id=own_id, path=path, fill_rule="evenodd"))
    return tuple(result) + tuple(shape for shape in shapes if shape.source_layer not in drawn)
