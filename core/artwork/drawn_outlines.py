"""What was drawn where an export's outlines are moved so that what is bared ends on it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from core.artwork.drawing import Shape
from core.geometry.path import Path, joined, polyline


def drawn_outlines(document: dict[str, Any]) -> dict[str, tuple[Path, ...]]:
    """By layer id the areas as drawn, front frame, of layers whose exported outlines are compensated
    or which are exported as rows.

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
            colour = like.fill or (like.stroke.colour if like.stroke is not None else None)
            result.append(replace(like, id=own_id, path=path, fill=colour, stroke=None, fill_rule="evenodd"))
    return tuple(result) + tuple(shape for shape in shapes if shape.source_layer not in drawn)
