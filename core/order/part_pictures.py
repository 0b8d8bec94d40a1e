"""Screened pictures of a part as elements of a sheet's SVG: each held once, shown wherever a part has it."""

import base64
import io

import numpy as np
from PIL import Image

from core.artwork.drawing import Shape
from core.artwork.painting import painted_region
from core.artwork.picture_decisions import PictureOptions
from core.geometry.svg_data import number, polygon_data, polygons

_CLIP_TOLERANCE_MM = 0.005


def options_of_sheets(design: PictureOptions) -> PictureOptions:
    """How a sheet's pictures are read: screened like the design's, whose tones and size are in them already."""
    return PictureOptions(way="screen", screen=design.screen, bared_is=design.bared_is)


class PartPictures:
    """Collects the pictures of a sheet. ``definitions``: elements for its ``defs``."""

    def __init__(self, design: PictureOptions) -> None:
        self.definitions: list[str] = []
        self._bared_is_light = design.bared_is == "light"
        self._names: dict[int, str] = {}
        self._clips = 0

    def element(self, shape: Shape) -> str:
        """A screened shape, already at its place; empty where nothing of it shows."""
        tones = shape.tones
        assert tones is not None
        region = painted_region(shape, tolerance_mm=_CLIP_TOLERANCE_MM)
        if region.is_empty:
            return ""
        name = self._names.get(id(tones.wanted))
        if name is None:
            name = self._names[id(tones.wanted)] = f"picture-{len(self._names) + 1}"
            self.definitions.append(self._image(name, tones.wanted))
        matrix = " ".join(f"{value:.9g}" for value in tones.to_mm)
        shown = f'<use href="#{name}" transform="matrix({matrix})"/>'
        if region.area > tones.wanted.size * tones.px_mm**2 * (1 - 1e-6):
            return shown
        self._clips += 1
        data = " ".join(polygon_data(polygon) for polygon in polygons(region))
        clip = f"clip-{self._clips}"
        self.definitions.append(f'<clipPath id="{clip}"><path clip-rule="evenodd" d="{data}"/></clipPath>')
        return f'<g clip-path="url(#{clip})">{shown}</g>'

    def _image(self, name: str, wanted: np.ndarray) -> str:
        greys = np.rint(255 * (wanted if self._bared_is_light else 1 - wanted)).astype(np.uint8)
        buffer = io.BytesIO()
        Image.fromarray(greys).save(buffer, "PNG")
        height, width = greys.shape
        href = f"data:image/png;base64,{base64.b64encode(buffer.getvalue()).decode()}"
        return f'<image id="{name}" width="{number(width)}" height="{number(height)}" href="{href}"/>'
